"""What the pages about two records share: the form for each kind of record, finding the other one by its name, and what
a proposal would change."""

from collections.abc import Callable
from typing import Any, Final, NamedTuple

from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError
from app.core.permissions import may_govern
from app.persistence.session import ReadSession
from app.services.calling import called
from app.services.foreseeing_placements import PlacementForeseen, Placing, foresee
from app.services.looking import found_records
from app.web.pages.finding import apart
from app.web.pages.foreseen_said import Foretold, foretold
from app.web.pages.forms import Filled, Sent
from app.web.pages.people_forms import again
from app.web.pages.submitting_forms import asked
from app.web.pages.visiting import Visit, Visiting

PLURALS: Final = {
    SubjectKind.VEHICLE: "vehicles",
    SubjectKind.CARRIER: "carriers",
    SubjectKind.FIXING: "fixings",
    SubjectKind.GEAR: "gear",
}
MOST_FOUND: Final = 12
LONGEST: Final = 100


class Other(NamedTuple):
    """A record that may be meant: its id, what it is called, and what tells it apart."""

    id: str
    name: str
    apart: str


class Ahead(NamedTuple):
    """What somebody else's agreement would bring about: the figures in words, and what becomes of claims."""

    told: Foretold
    claims: PlacementForeseen


def found_by_name(visit: Visit, session: ReadSession, subject: Subject, words: str) -> list[Other]:
    """The other records of a kind that are called like some words, the likest first; none that was merged."""
    found = visit.registry.finder.find(subject.kind, words, limit=MOST_FOUND + 1)
    records = found_records(session, subject.kind, found, year=None, category=None, limit=MOST_FOUND + 1).items
    others = [each for each in records if each.id != subject.id and not isinstance(each.merged_into, str)]
    names = called(session, [Subject(subject.kind, each.id) for each in others])
    return [Other(each.id, names[Subject(subject.kind, each.id)], apart(each)) for each in others[:MOST_FOUND]]


def ahead(visit: Visit, session: ReadSession, placing: Placing) -> Ahead:
    """What a proposal would change if somebody else agreed with it now."""
    found = foresee(session, placing, visit.entered().caller.account, visit.now, visit.unit)
    return Ahead(foretold(session, found.changed, visit.unit), found)


Shows = Callable[..., Response]
"""Shows the form to somebody, about a record, with what was typed; and then, if it was refused, with which status and what
is wrong with it."""

Takes = Callable[[Visit, Subject, Sent], Response]
"""Does what was sent about a record. What it refuses is told in the form."""


def offer(router: APIRouter, act: str, *, shows: Shows, takes: Takes, asks: str, does: str) -> None:
    """Let stewards fill in a form about a record of each kind. `asks` and `does` say what for, with a place for the kind."""
    for kind, plural in PLURALS.items():
        path = f"/{plural}/{{id}}/{act}"
        form, send = _form_of(kind, shows), _sent_to(kind, shows, takes)
        form.__doc__, send.__doc__ = asks.format(kind), does.format(kind)
        router.add_api_route(path, form, methods=["GET"], name=f"form_of_{kind}_{act}")
        router.add_api_route(path, send, methods=["POST"], name=f"propose_{kind}_{act}")


def _form_of(kind: SubjectKind, shows: Shows) -> Any:
    def form(id: str, visit: Visiting) -> Response:
        may_govern(visit.need().caller.role)
        return shows(visit, Subject(kind, id), asked(visit.request.query_params))

    return form


def _sent_to(kind: SubjectKind, shows: Shows, takes: Takes) -> Any:
    def send(id: str, visit: Visiting, sent: Filled) -> Response:
        may_govern(visit.need().caller.role)
        subject = Subject(kind, id)
        try:
            return takes(visit, subject, sent)
        except CantrailError as error:
            return again(visit, error, lambda status, faulty: shows(visit, subject, sent, status, faulty))

    return send
