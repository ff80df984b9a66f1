"""Enter what fits what: a rack that goes on a vehicle, with which fixing, on which roofs."""

from collections.abc import Mapping
from typing import Any, Final

import msgspec
from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError, Kind
from app.core.scope import Roof
from app.persistence.session import ReadSession
from app.services import looking, sheets, subjects
from app.services.calling import called
from app.services.inputs import NewFitment
from app.services.sheets import FitView
from app.web.bodies import BodyDecoder
from app.web.errors import STATUSES
from app.web.pages.finding import apart
from app.web.pages.forms import Faulty, Filled, Sent
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

FITMENT: Final = BodyDecoder(NewFitment)
OFFERED: Final = 8
MOST_WORDS: Final = 100


@router.get("/fitments/new")
def form(visit: Visiting) -> Response:
    """The form for one vehicle, with the racks and fixings that are called something like what was looked for."""
    visit.need()
    return _shown(visit, visit.request.query_params)


@router.post("/fitments/new")
def add(visit: Visiting, sent: Filled) -> Response:
    """Enter it, and back to the vehicle."""
    visit.need()
    try:
        new = _body(sent)
        visit.write(sent, lambda work: subjects.add_fitment(work, new))
    except CantrailError as error:
        if error.kind not in {Kind.INVALID, Kind.CONFLICT}:
            raise
        visit.request.state.code = error.code
        return _shown(visit, sent.values(), sent.many("roofs"), error)
    return visit.go(f"/vehicles/{new.vehicle}")


def _body(sent: Sent) -> NewFitment:
    said: dict[str, Any] = {name: sent.text(name) for name in ("vehicle", "carrier", "fixing")}
    said["roofs"] = sent.many("roofs")
    said["distinct_from"] = sent.many("distinct_from") if sent.text("is_distinct") else []
    return FITMENT.decode(msgspec.json.encode({name: each for name, each in said.items() if each}))


def _shown(
    visit: Visit, typed: Mapping[str, str], roofs: list[str] | None = None, error: CantrailError | None = None
) -> Response:
    vehicle = typed.get("vehicle", "")[:MOST_WORDS]
    words = {name: typed.get(name, "")[:MOST_WORDS].strip() for name in ("rack", "with")}

    def look(session: ReadSession) -> dict[str, Any]:
        record = looking.record(session, Subject(SubjectKind.VEHICLE, vehicle))
        return {
            "name": called(session, [Subject(SubjectKind.VEHICLE, record.id)]).popitem()[1],
            "racks": _offered(visit, session, SubjectKind.CARRIER, words["rack"]),
            "fixings": _offered(visit, session, SubjectKind.FIXING, words["with"]),
            "near": _near(session, error),
        }

    found = visit.read(look)
    return visit.form(
        "fitment_new.html",
        200 if error is None else STATUSES[error.kind],
        **found,
        vehicle=vehicle,
        words=words,
        typed=typed,
        chosen=roofs or [],
        roofs=tuple(Roof),
        faulty=Faulty(None if found["near"] else error),
    )


def _offered(visit: Visit, session: ReadSession, kind: SubjectKind, words: str) -> list[tuple[str, str, str]]:
    if not words:
        return []
    found = visit.registry.finder.find(kind, words, limit=OFFERED)
    records = looking.found_records(session, kind, found, year=None, category=None, limit=OFFERED).items
    names = called(session, [Subject(kind, record.id) for record in records])
    return [(record.id, names[Subject(kind, record.id)], apart(record)) for record in records]


def _near(session: ReadSession, error: CantrailError | None) -> list[FitView]:
    """What joins the two already."""
    resembles: Any = [] if error is None else error.details.get("resembles", [])
    return [sheets.fit(session, each["id"]) for each in resembles]
