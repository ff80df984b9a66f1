"""The API's documentation, made from the application's own OpenAPI document."""

from collections.abc import Mapping
from typing import Final

from fastapi import APIRouter
from starlette.convertors import StringConvertor, register_url_convertor
from starlette.requests import Request
from starlette.responses import Response

from app.core.errors import CantrailError, Kind
from app.web.pages.api_reading import Call, Described, described
from app.web.pages.visiting import PageRoute, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

_TOPICS: Final[Mapping[str, tuple[str, str]]] = {
    "answers": ("Answers", "What may still go up, and single figures."),
    "vehicles": ("Vehicles", "Records, plates, claims and letters."),
    "carriers": ("Racks", "What is bolted to a roof to put things on."),
    "fixings": ("Fixings", "What joins a rack to a roof."),
    "gear": ("Gear", "What is carried, and what it usually weighs."),
    "fitments": ("Fitments", "What fits what, with which fixing."),
    "publishers": ("Publishers", "Makers, importers, dealers, shops."),
    "claims": ("Claims", "Figures, their evidence, readings, decisions and disputes."),
    "derivations": ("Figures worked back", "Limits from what accessory pages say."),
    "documents": ("Documents", "Evidence: files, pages, pictures, copies."),
    "enquiries": ("Enquiries", "Who was asked, and what came back."),
    "coverage": ("Coverage", "What is missing and most asked for."),
    "changes": ("Changes", "The feed: entries in order, and what each did to plates."),
    "receipts": ("Receipts", "Answers that were kept."),
    "ledger": ("Ledger", "Entries, the signed head, and proofs."),
    "desk": ("Desk", "What waits for reviewers, and how reviewing goes."),
    "placements": ("Mergers and splits", "Which subjects are one, or two."),
    "sessions": ("Signing in", "Sessions, and new passwords."),
    "accounts": ("Accounts", "One’s own: tokens, passwords, interests; and those of others, for stewards."),
    "health": ("Health", "Whether the server is well."),
}
"""Headings for what calls are about, in the order in which they are wanted. What has none comes last, by its own name."""


class Topic:
    """Calls about one thing."""

    def __init__(self, id: str, calls: Mapping[str, Call]) -> None:
        self.id = id
        self.title, self.about = _TOPICS.get(id, (id.capitalize(), ""))
        self.calls = calls


def topics(request: Request) -> dict[str, Topic]:
    """The documentation, read from the document once for as long as the application runs."""
    state = request.app.state
    known: dict[str, Topic] | None = getattr(state, "api_topics", None)
    if known is None:
        known = state.api_topics = _in_order(described(request.app.openapi()))
    return known


def _in_order(found: Described) -> dict[str, Topic]:
    ids = [*(id for id in _TOPICS if id in found), *sorted(found.keys() - _TOPICS.keys())]
    return {id: Topic(id, found[id]) for id in ids}


class TopicConvertor(StringConvertor):
    """A part of an address that is not the API's own."""

    regex = "(?!v1/)[^/]+"


register_url_convertor("topic", TopicConvertor())


@router.get("/api")
def contents(visit: Visiting) -> Response:
    """What there is to call."""
    return visit.page("api.html", topics=list(topics(visit.request).values()))


@router.get("/api/{topic:topic}")
def about(visit: Visiting, topic: str) -> Response:
    """The calls about one thing."""
    return visit.page("api_topic.html", topic=_topic(visit.request, topic))


@router.get("/api/{topic:topic}/{anchor}")
def one(visit: Visiting, topic: str, anchor: str) -> Response:
    """One call, whole."""
    found = _topic(visit.request, topic)
    call = found.calls.get(anchor)
    if call is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_call", "The API has no such call. Look under /api.")
    return visit.page("api_call.html", topic=found, call=call)


def _topic(request: Request, id: str) -> Topic:
    found = topics(request).get(id)
    if found is None:
        raise CantrailError(
            Kind.NOT_FOUND, "no_such_topic", "The API's documentation has no such page. Look under /api."
        )
    return found
