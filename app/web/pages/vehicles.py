"""A vehicle: its plate first, the questions that would narrow it, what it rests on, and all that is known around it."""

from typing import Any, Final

import msgspec
from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Condition, Subject, SubjectKind
from app.core.errors import CantrailError, Kind
from app.core.scope import Body, Roof, Years
from app.persistence.session import ReadSession
from app.services import looking, sheets, vehicle_history
from app.services.asked import LimitIn
from app.services.calling import called
from app.services.sheets import FitView, Sheet
from app.services.views.answers import LimitView
from app.services.views.enquiries import EnquiryView, enquiry_page
from app.services.views.plates import PlateFieldView
from app.services.views.records import Page, RecordView, record_view
from app.web.pages import briefly
from app.web.pages.car import Car, car_or_fault
from app.web.pages.forms import Faulty
from app.web.pages.improving import asked_at, steps, submit_at
from app.web.pages.narrowing import questions
from app.web.pages.plates import claims_behind, fields, mass_unit
from app.web.pages.telling import Told, tell
from app.web.pages.visiting import PageRoute, Visit, Visiting
from app.web.pages.writing import value, years

router = APIRouter(route_class=PageRoute, include_in_schema=False)

CLAIMS: Final = 12
FITS: Final = 12
AT_HAND: Final = 4
"""So many racks stand beside the plate, to plan with at once."""

ENQUIRIES: Final = 6
ENTRIES: Final = 12
MOST_FIELDS: Final = 60
"""So many fields of a whole plate are shown: there are three for every kind of car that claims tell apart."""

LIMIT: Final = msgspec.json.Decoder(LimitView)


@router.get("/vehicles/{id}")
def vehicle(id: str, visit: Visiting) -> Response:
    """A vehicle's page, for the car as far as the address says it."""
    car, refused = car_or_fault(visit.request, id)
    subject = Subject(SubjectKind.VEHICLE, id)
    try:
        answers = limits(visit, subject, car)
    except CantrailError as error:
        if error.kind is not Kind.INVALID or refused is not None:
            raise
        car, refused = Car(id), error
        answers = limits(visit, subject, car)
    around = visit.read(lambda session: _around(session, visit, subject, answers))
    record = around["sheet"].record
    if isinstance(record.merged_into, str):
        return visit.go(car.at(f"/vehicles/{record.merged_into}"))
    return visit.page("vehicle.html", 200 if refused is None else 422, **_shown(visit, car, answers, around, refused))


@router.get("/vehicles/{id}/timeline")
def timeline(id: str, visit: Visiting) -> Response:
    """What happened to a vehicle, the latest first."""
    before = looking.number(visit.request.query_params.get("before")) or None

    def look(session: ReadSession) -> tuple[list[Told], int | None, str]:
        found = vehicle_history.timeline(session, id, before=before, limit=ENTRIES, unit=visit.unit)
        if not found.items:
            record_view(session, Subject(SubjectKind.VEHICLE, id))
        return tell(session, found.items, visit.unit), found.older, _name(session, id)

    told, older, name = visit.read(look)
    return visit.page("vehicle_timeline.html", id=id, name=name, told=told, older=older, before=before)


def limits(visit: Visit, subject: Subject, car: Car) -> list[LimitView]:
    """The limit in each condition, exactly as the API answers it. Raises not_found, and bad input for a car that the
    record rules out."""
    return [
        LIMIT.decode(
            visit.registry.answers.limit(
                subject,
                LimitIn(
                    condition=condition,
                    context=car.context,
                    min_confidence=car.min_confidence,
                    unit=mass_unit(visit.unit),
                ),
            ).body
        )
        for condition in Condition
    ]


def named_in(answers: list[LimitView]) -> list[str]:
    """Every claim that some answers name, those first that give them."""
    found = [claim for answer in answers for claim in claims_behind(answer)]
    for answer in answers:
        found += [each.claim for each in answer.unreviewed_lower]
        found += [claim for each in answer.conflicts for claim in each.claims]
        if answer.refusal is not None and answer.refusal.best is not None:
            found.append(answer.refusal.best.claim)
        for side in () if answer.cap is None else (answer.cap.gross, answer.cap.net):
            found += () if side is None else side.claims
    return list(dict.fromkeys(found))


def _around(session: ReadSession, visit: Visit, subject: Subject, answers: list[LimitView]) -> dict[str, Any]:
    """All that is shown beside the answers, from the place in each list that the address names."""
    asked = visit.request.query_params
    found: Sheet = sheets.sheet(
        session,
        visit.registry.answers.dossier(subject),
        unit=visit.unit,
        named=named_in(answers),
        after=looking.number(asked.get("claims_after")),
        limit=CLAIMS,
    )
    fits: Page[FitView] = sheets.fits(
        session, vehicle=subject.id, after=looking.number(asked.get("fits_after")), limit=FITS
    )
    enquiries: Page[EnquiryView] = enquiry_page(
        session, after=0, limit=ENQUIRIES, subject_kind=SubjectKind.VEHICLE, subject=subject.id, newest_first=True
    )
    return {"sheet": found, "fits": fits, "enquiries": enquiries}


def _shown(
    visit: Visit, car: Car, answers: list[LimitView], around: dict[str, Any], refused: CantrailError | None
) -> dict[str, Any]:
    sheet: Sheet = around["sheet"]
    record = sheet.record
    open_questions = questions(answers, car, record, visit.now)
    return {
        **around,
        "id": car.vehicle,
        "car": car,
        "faulty": Faulty(refused),
        "typed": visit.request.query_params if refused is not None else dict(car.pairs),
        "chosen_roofs": car.context.roofs or (),
        "fields": fields(answers, sheet.name),
        "answers": answers,
        "questions": open_questions,
        "told": recorded(record),
        "years": _years(record),
        "bodies": _possible(record, record.bodies, Body),
        "roofs": _possible(record, record.roofs, Roof),
        "markets": record.markets if isinstance(record.markets, tuple) else (),
        "racks": _racks(around["fits"].items, car),
        "planned_with": lambda fit: planned_with(fit, car),
        "uses": _uses(answers),
        "nearest": _nearest(answers, sheet),
        "lower": lower_in(answers),
        "conflicts": conflicts_in(answers),
        "steps": steps(car.vehicle, answers, sheet.named),
        "gaps": [(gap, submit_at(car.vehicle, gap), asked_at(car.vehicle, gap)) for gap in sheet.gaps],
        "rows": _rows(sheet.plate),
        "words": briefly,
        "claims_on": visit.request.query_params.get("claims_after"),
    }


def _racks(fits: list[FitView], car: Car) -> list[tuple[str, str]]:
    """The first racks that go on this car, each with the plan of a load on it."""
    roofs = car.context.roofs
    on_it = [fit for fit in fits if not fit.roofs or roofs is None or set(fit.roofs) & set(roofs)]
    held: dict[str, list[FitView]] = {}
    for fit in on_it:
        held.setdefault(fit.carrier, []).append(fit)
    # Of several fixings none is taken for granted: the planner asks.
    return [
        (some[0].carrier_name, planned_with(some[0], car) if len(some) == 1 else car.planned_on(("carrier", id)))
        for id, some in held.items()
    ][:AT_HAND]


def planned_with(fit: FitView, car: Car) -> str:
    """Where a load is planned on a rack that fits, held by what it is recorded with."""
    held = [("fixing", fit.fixing)] if fit.fixing else []
    return car.planned_on(("carrier", fit.carrier), *held)


def recorded(record: RecordView) -> str:
    """What a vehicle's record says, in one line."""
    told = [years(record.years)] if isinstance(record.years, Years) else []
    for dimension, given in (("bodies", record.bodies), ("roofs", record.roofs), ("markets", record.markets)):
        if isinstance(given, tuple):
            told.append(" or ".join(value(each, dimension) for each in given))
    return " · ".join(told)


def _years(record: RecordView) -> tuple[int, int] | None:
    return (record.years.first, min(record.years.end, 2100)) if isinstance(record.years, Years) else None


def _possible(record: RecordView, given: Any, every: type[Body] | type[Roof]) -> tuple[str, ...]:
    """The values that a car of this vehicle may have: what is recorded closes nothing before it is confirmed."""
    return given if record.confirmed and isinstance(given, tuple) and given else tuple(every)


def _uses(answers: list[LimitView]) -> dict[str, list[str]]:
    """The claims that give the answers, each with the conditions in which it does."""
    found: dict[str, list[str]] = {}
    for answer in answers:
        for claim in claims_behind(answer):
            found.setdefault(claim, []).append(answer.condition)
    return found


def _nearest(answers: list[LimitView], sheet: Sheet) -> list[str]:
    """The best claims where there is no figure, which are not good enough."""
    refused = [answer.refusal for answer in answers if answer.refusal is not None]
    best = dict.fromkeys(each.best.claim for each in refused if each.best is not None)
    return [claim for claim in best if claim in sheet.named and claim not in _uses(answers)]


def lower_in(answers: list[LimitView]) -> dict[str, tuple[float | None, list[str]]]:
    """The undecided claims that say less than some answers: what they say, and in which conditions; the least first."""
    found: dict[str, tuple[float | None, list[str]]] = {}
    for answer in answers:
        for each in answer.unreviewed_lower:
            found.setdefault(each.claim, (each.value, []))[1].append(answer.condition)
    return dict(sorted(found.items(), key=lambda item: item[1][0] or 0.0))


def conflicts_in(answers: list[LimitView]) -> dict[tuple[str, ...], tuple[float, float, list[str]]]:
    """The claims that cannot all be right: the lowest and the highest that they say, and in which conditions."""
    found: dict[tuple[str, ...], tuple[float, float, list[str]]] = {}
    for answer in answers:
        for each in answer.conflicts:
            found.setdefault(each.claims, (each.low, each.high, []))[2].append(answer.condition)
    return found


def _rows(plate: list[PlateFieldView]) -> list[tuple[str, list[PlateFieldView]]]:
    """A whole plate as rows: the cars of one cell, and their three fields."""
    rows: dict[str, list[PlateFieldView]] = {}
    for each in plate[:MOST_FIELDS]:
        rows.setdefault(briefly.cell_words(each.cells), []).append(each)
    return list(rows.items())


def _name(session: ReadSession, id: str) -> str:
    subject = Subject(SubjectKind.VEHICLE, id)
    return called(session, [subject])[subject]
