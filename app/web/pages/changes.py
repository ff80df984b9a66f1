"""What changed: the latest entries of the ledger and what each did to plates, as a page and as an Atom feed."""

import re
from datetime import datetime
from typing import Annotated, Final
from uuid import UUID, uuid5

from fastapi import APIRouter, Header
from msgspec import Meta
from starlette.responses import Response

from app.core.mass import Unit
from app.persistence.session import ReadSession
from app.services.inputs import Input, Slug
from app.web.bodies import query
from app.web.pages.explaining import licence
from app.web.pages.rendering import rendered
from app.web.pages.telling import Told, tell
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

A_PAGE: Final = 20
A_FEED: Final = 40
ATOM: Final = "application/atom+xml"
OLDEST: Final = 60
"""Seconds for which a follower may keep the feed before asking again."""

_SPACE: Final = UUID("8c1f6a52-6f0e-5d0b-9d5c-3f1a7d5c2b90")
"""Within it, a ledger's entries have ids that nothing else has (RFC 9562, version 5)."""


_NO_XML: Final = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""The characters that XML 1.0 has no place for."""


class AskChanges(Input, frozen=True, kw_only=True):
    """The latest changes, or those before an entry; of everything, or of one vehicle."""

    before: Annotated[int, Meta(ge=1, le=2**53)] | None = None
    vehicle: Slug | None = None


@router.get("/changes")
def changes(visit: Visiting) -> Response:
    """The latest entries, newest first. Those of one vehicle are its timeline."""
    asked = query(visit.request.scope["query_string"], AskChanges)
    if asked.vehicle is not None:
        before = {} if asked.before is None else {"before": str(asked.before)}
        return visit.go(f"/vehicles/{asked.vehicle}/timeline", **before)

    def look(session: ReadSession) -> tuple[list[Told], int | None, int]:
        latest = visit.registry.news.latest(session, before=asked.before, limit=A_PAGE, unit=visit.unit)
        return tell(session, latest.items, visit.unit), latest.older, latest.head

    told, older, head = visit.read(look)
    return visit.page("changes.html", days=by_day(told), older=older, head=head, before=asked.before)


@router.get("/changes.atom")
def feed(visit: Visiting, if_none_match: Annotated[str | None, Header()] = None) -> Response:
    """The latest entries as an Atom feed (RFC 4287), in kilograms, the same for everybody."""
    tag = f'"changes-{visit.registry.database.probe()}"'
    headers = {"ETag": tag, "Cache-Control": f"public, max-age={OLDEST}"}
    if if_none_match is not None and tag in (each.strip().removeprefix("W/") for each in if_none_match.split(",")):
        return Response(None, 304, headers)

    def look(session: ReadSession) -> list[Told]:
        latest = visit.registry.news.latest(session, before=None, limit=A_FEED, unit=Unit.KG)
        return tell(session, latest.items, Unit.KG)

    return Response(atom(visit, visit.read(look)), 200, headers, ATOM)


def atom(visit: Visit, told: list[Told]) -> str:
    """The feed as XML. It names no host, for the one in a request is whatever somebody wrote there: ids stand by
    themselves, and links lead from where the feed was found."""
    key = visit.registry.checkpoints.key
    named = key.verifier().name if key.exists() else "cantrail"
    entries = [(entry_id(named, each), each) for each in told]
    written = rendered(
        "changes.xml",
        {
            "id": uuid5(_SPACE, named).urn,
            "updated": told[0].at if told else visit.now.isoformat(),
            "entries": entries,
            "licence": licence(visit.registry.settings.data_licence),
        },
    )
    return _NO_XML.sub("\N{REPLACEMENT CHARACTER}", written)


def entry_id(origin: str, told: Told) -> str:
    """The id of an entry: the same for ever, wherever the ledger is served from."""
    return uuid5(_SPACE, f"{origin} {told.seq} {told.at}").urn


def by_day(told: list[Told]) -> list[tuple[str, list[Told]]]:
    """Entries under the day on which they were entered."""
    days: dict[str, list[Told]] = {}
    for each in told:
        days.setdefault(datetime.fromisoformat(each.at).date().isoformat(), []).append(each)
    return list(days.items())
