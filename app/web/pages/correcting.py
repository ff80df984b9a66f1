"""Correct a record: a steward says what it should say, and two others check it."""

from collections.abc import Callable, Sequence
from typing import Any, Final, NamedTuple

import msgspec
from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError, Kind
from app.core.gear import CATEGORIES
from app.core.permissions import may_govern
from app.core.scope import Years
from app.persistence.session import ReadSession
from app.services import correcting
from app.services.calling import called
from app.services.placing_inputs import (
    CorrectedCarrier,
    CorrectedFitment,
    CorrectedFixing,
    CorrectedGear,
    CorrectedVehicle,
)
from app.services.views.records import RecordView, record_view
from app.web.bodies import BodyDecoder
from app.web.pages.adding_said import FORMS
from app.web.pages.finding import apart
from app.web.pages.forms import Faulty, Filled, Sent
from app.web.pages.people_forms import again
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

MAY_BE_UNSAID: Final = frozenset({"series", "bodies", "roofs", "markets", "first_year", "bars", "fixing", "feet"})
"""What a record may leave open. The rest of it is there or is asked for."""


class Correcting(NamedTuple):
    """A form: of which kind, the place of its pages, how it is read, and as which body."""

    kind: SubjectKind
    plural: str
    said: Callable[[Sent], dict[str, Any]]
    decoder: BodyDecoder[Any]


def _fitment(sent: Sent) -> dict[str, Any]:
    return {"fixing": sent.text("fixing"), "roofs": sent.many("roofs")}


_BODIES: Final = {
    SubjectKind.VEHICLE: CorrectedVehicle,
    SubjectKind.CARRIER: CorrectedCarrier,
    SubjectKind.FIXING: CorrectedFixing,
    SubjectKind.GEAR: CorrectedGear,
}

KINDS: Final = (
    *(Correcting(each.kind, each.plural, each.said, BodyDecoder(_BODIES[each.kind])) for each in FORMS),
    Correcting(SubjectKind.FITMENT, "fitments", _fitment, BodyDecoder(CorrectedFitment)),
)


def _form_of(correcting_of: Correcting) -> Callable[[str, Visit], Response]:
    def form(id: str, visit: Visiting) -> Response:
        may_govern(visit.need().caller.role)
        record = visit.read(lambda session: record_view(session, Subject(correcting_of.kind, id)))
        return _shown(visit, correcting_of, record, typed_of(record), chosen_of(record))

    form.__doc__ = f"The form that corrects what the record of a {correcting_of.kind} says."
    return form


def _sent_to(correcting_of: Correcting) -> Callable[[str, Visit, Sent], Response]:
    def correct(id: str, visit: Visiting, sent: Filled) -> Response:
        may_govern(visit.need().caller.role)
        subject = Subject(correcting_of.kind, id)
        try:
            new = correcting_of.decoder.decode(msgspec.json.encode(_body(correcting_of, sent)))
            visit.write(sent, lambda work: correcting.correct(work, subject, new))
        except CantrailError as error:
            near = _near(correcting_of, error)
            return again(
                visit, error, lambda status, faulty: _again(visit, correcting_of, id, sent, near, status, faulty)
            )
        return visit.go(f"/{correcting_of.plural}/{id}")

    correct.__doc__ = f"Replace what the record of a {correcting_of.kind} says."
    return correct


def _body(correcting_of: Correcting, sent: Sent) -> dict[str, Any]:
    """The whole record as it should be: what was left empty is not said."""
    said = {"model": sent.text("model"), "series": sent.text("series"), **correcting_of.said(sent)}
    if correcting_of.kind is SubjectKind.FITMENT:
        said = correcting_of.said(sent)
    elif sent.text("is_distinct"):
        said["distinct_from"] = sent.many("distinct_from")
    said["reason"] = sent.text("reason")
    empty = {name: None if name in MAY_BE_UNSAID else text for name, text in said.items() if not text}
    return {name: text for name, text in {**said, **empty}.items() if text or name in MAY_BE_UNSAID or name == "years"}


def typed_of(record: RecordView) -> dict[str, str]:
    """What a record says, as it would be typed."""
    years = record.years if isinstance(record.years, Years) else None
    said: dict[str, object] = {
        "model": record.model,
        "series": record.series,
        "from": None if years is None else years.first,
        "to": None if years is None else years.last,
        "markets": " ".join(record.markets) if isinstance(record.markets, tuple) else None,
        "kind": record.carrier_kind,
        "bars": record.bars,
        "fixing": record.fixing,
        "feet": record.feet,
        "first_year": record.first_year,
        "category": record.category,
    }
    return {name: str(each) for name, each in said.items() if each is not None and each is not msgspec.UNSET}


def chosen_of(record: RecordView) -> list[str]:
    """What of a record is ticked: bodies, roofs, and what a fixing holds on to."""
    return [each for given in (record.bodies, record.roofs, record.holds) if isinstance(given, tuple) for each in given]


def _near(correcting_of: Correcting, error: CantrailError) -> list[Subject]:
    """What the record would be called like."""
    resembles: Any = error.details.get("resembles", []) if error.kind is Kind.CONFLICT else []
    return [Subject(correcting_of.kind, each["id"]) for each in resembles]


def _again(
    visit: Visit,
    correcting_of: Correcting,
    id: str,
    sent: Sent,
    near: Sequence[Subject],
    status: int,
    faulty: Faulty,
) -> Response:
    record = visit.read(lambda session: record_view(session, Subject(correcting_of.kind, id)))
    chosen = [each for name in ("bodies", "roofs", "holds") for each in sent.many(name)]
    told = Faulty() if near else faulty
    return _shown(visit, correcting_of, record, dict(sent.values()), chosen, faulty=told, near=near, status=status)


def _shown(
    visit: Visit,
    correcting_of: Correcting,
    record: RecordView,
    typed: dict[str, str],
    chosen: Sequence[str],
    *,
    faulty: Faulty | None = None,
    near: Sequence[Subject] = (),
    status: int = 200,
) -> Response:
    subject = Subject(correcting_of.kind, record.id)

    def look(session: ReadSession) -> tuple[str, list[tuple[str, str, str]]]:
        names = called(session, [subject, *near])
        return names[subject], [(each.id, names[each], apart(record_view(session, each))) for each in near]

    name, resembling = visit.read(look)
    return visit.form(
        "correction.html",
        status,
        about=correcting_of.kind,
        here=f"/{correcting_of.plural}/{record.id}",
        plural=correcting_of.plural,
        name=name,
        record=record,
        typed=typed,
        chosen=chosen,
        faulty=faulty or Faulty(),
        near=resembling,
        categories=[(each.id, each.name) for each in CATEGORIES.values()],
    )


for _each in KINDS:
    _path = f"/{_each.plural}/{{id}}/correction"
    router.add_api_route(_path, _form_of(_each), methods=["GET"], name=f"form_of_{_each.kind}_correction")
    router.add_api_route(_path, _sent_to(_each), methods=["POST"], name=f"correct_{_each.kind}")
