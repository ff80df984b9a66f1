"""From a budget request to its answer: gather what the dossiers say about one car and what stands on its roof, work it
out, and say what is not known."""

from collections.abc import Iterable
from typing import Literal

import msgspec

from app.core import budget
from app.core.budget import Budget, Item, Part, Setup, load_of, work_out
from app.core.claim import Condition, SubjectKind
from app.core.conditions import ON_ROOF, Figures, Ruling, ruling_for
from app.core.confidence import SETS_AT
from app.core.errors import invalid
from app.core.given import GivenPart, GivenRoof, as_given
from app.core.limits import limit, mass_of, own_mass
from app.core.refusal import Refusal, RefusalKind, Unreviewed, unreviewed_factors, unreviewed_limits, unreviewed_masses
from app.core.roof import OpenDimension, check_context, remembered, roof
from app.core.scope import Context, Dimension, Value
from app.core.scoring import Dossier, FitmentFigures
from app.core.selection import Conflict, Line, Side, Standard, factor_for


class Request(msgspec.Struct, frozen=True):
    """What is asked: a car as far as it is known, a condition, and what is to stand on its roof, from the roof up.

    `fixing` is a dossier, the asker's own, "built_in", or None where nothing is said.
    """

    condition: Condition
    demand: float
    vehicle: Dossier | None
    context: Context
    fixing: "Dossier | GivenPart | Literal['built_in'] | None"
    carriers: "tuple[Dossier | GivenPart, ...]"
    items: tuple[Item, ...]
    people: tuple[Item, ...] = ()
    given_roof: GivenRoof | None = None
    parked_multiple: int | None = None


class BudgetQuestion(msgspec.Struct, frozen=True):
    """A dimension that would change the budget, with the cargo that each value would allow (None: not known)."""

    dimension: Dimension
    answers: tuple[tuple[Value, int | None], ...]


class Estimate(msgspec.Struct, frozen=True):
    """A guess at a parked limit by a multiple of the on-road one: common practice, no source, never vetted."""

    multiple: int
    parked_limit: int
    cargo_allowed: int


class BudgetAnswer(msgspec.Struct, frozen=True):
    """A budget with all that is said beside it."""

    setup: Setup
    budget: Budget
    questions: tuple[BudgetQuestion, ...]
    refusals: tuple[Refusal, ...]
    unreviewed_lower: tuple[Unreviewed, ...]
    conflicts: tuple[Conflict, ...]
    estimate: Estimate | None
    notes: tuple[str, ...]


def ask(request: Request) -> BudgetAnswer:
    """Answer one budget request. Raises bad input for people on the roof while driving, for a car that the vehicle's
    confirmed record rules out, and where neither a vehicle nor a roof limit is named."""
    _check(request)
    fixing = None if request.fixing == "built_in" else request.fixing
    fixing_part = None if fixing is None else part(fixing, "fixing", request.condition, request.demand)
    carriers = tuple(
        part(each, f"carrier {place}", request.condition, request.demand)
        for place, each in enumerate(request.carriers, start=1)
    )
    found = None
    if request.vehicle is not None:
        fitments = compatible(request.vehicle, request)
        found = roof(request.vehicle, request.context, request.condition, request.demand, fitments)
    setup = Setup(
        condition=request.condition,
        vehicle=request.vehicle.subject.id if request.vehicle else None,
        roof=found.ruling if found else None,
        given_roof=_given_roof(request),
        fixing=fixing_part,
        carriers=carriers,
        fitments=found.fitted if found else (),
        load=load_of((*request.items, *request.people)),
        fixing_said=fixing is not None or _built_in(request),
    )
    worked = work_out(setup)
    return BudgetAnswer(
        setup,
        worked,
        tuple(_questions(setup, found.open)) if found and found.open else (),
        tuple(_refusals(request, worked)),
        tuple(_unreviewed(request, setup)),
        tuple(_conflicts(request, setup)),
        _estimate(request, setup),
        tuple(_notes(setup)),
    )


def _check(request: Request) -> None:
    if request.vehicle is None and request.given_roof is None:
        message = "Name a vehicle, or give its roof limit yourself in given_roof."
        raise invalid("/vehicle", "roof_missing", message)
    if request.people and request.condition is not Condition.PARKED:
        message = "Nobody rides on a roof: people count for parked only. Leave people out, or ask for parked."
        raise invalid("/people", "people_while_driving", message)
    if request.vehicle is not None:
        check_context(request.vehicle, request.context)


def _built_in(request: Request) -> bool:
    """Whether the lowest carrier's confirmed record says that its fixing is part of it."""
    lowest_carrier = request.carriers[0] if request.carriers else None
    return isinstance(lowest_carrier, Dossier) and lowest_carrier.record.fixing_built_in


def part(of: Dossier | GivenPart, name: str, condition: Condition, demand: float) -> Part:
    """A carrier or fixing in a stack."""
    if isinstance(of, GivenPart):
        ruling = as_given(ruling_for(of.figures(), None, condition, demand, is_roof=False))
        factor, sticker = of.roof_factor, _sticker(of.figures(), demand)
        return Part(f"given {name}", of.mass, ruling, factor, factor, sticker, given=True)
    return remembered(of, ("stacked", condition, demand), lambda: _recorded_part(of, condition, demand))


def _recorded_part(of: Dossier, condition: Condition, demand: float) -> Part:
    return Part(
        of.subject.id,
        mass_of(of, demand).mass,
        ruling_for(of.figures, None, condition, demand, is_roof=False),
        factor_for(of.figures.factors_on(ON_ROOF)),
        factor_for(of.figures.factors_on(ON_ROOF), standard=Standard(min(demand, SETS_AT))),
        _sticker(of.figures, demand),
    )


def _sticker(figures: Figures, demand: float) -> int | None:
    """The on-road rating as its maker gives it, whatever it counts."""
    ruling = ruling_for(figures, None, Condition.ON_ROAD, demand, is_roof=False)
    return min((line.grams for line in ruling.figure), default=None)


def compatible(vehicle: Dossier, request: Request) -> tuple[tuple[int, FitmentFigures], ...]:
    """The vehicle's fitments of these carriers that go with what is known of roof and fixing."""
    found = []
    for place, carrier in enumerate(request.carriers):
        if not isinstance(carrier, Dossier):
            continue
        for fitment in vehicle.fitments:
            roofs = request.context.roofs
            on_this_roof = fitment.roofs is None or roofs is None or bool(set(fitment.roofs) & set(roofs))
            if fitment.carrier == carrier.subject.id and on_this_roof and _same_fixing(fitment, request):
                found.append((place, _with_carrier_factor(fitment, carrier)))
    return tuple(found)


def _same_fixing(fitment: FitmentFigures, request: Request) -> bool:
    if fitment.fixing is None or request.fixing is None or isinstance(request.fixing, GivenPart):
        return True
    return isinstance(request.fixing, Dossier) and request.fixing.subject.id == fitment.fixing


def _with_carrier_factor(fitment: FitmentFigures, carrier: Dossier) -> FitmentFigures:
    """A fitment's on-road rating is multiplied by its carrier's own factor."""
    figures = msgspec.structs.replace(fitment.figures, factors=carrier.figures.factors)
    return msgspec.structs.replace(fitment, figures=figures)


def _given_roof(request: Request) -> Ruling | None:
    if request.given_roof is None:
        return None
    figures = request.given_roof.figures()
    return as_given(ruling_for(figures, None, request.condition, request.demand, is_roof=True))


def _questions(setup: Setup, open_dimensions: tuple[OpenDimension, ...]) -> Iterable[BudgetQuestion]:
    for asked in open_dimensions:
        answers = []
        worked: dict[tuple[int, int], int | None] = {}
        for answer in asked.answers:
            key = (id(answer.ruling), id(answer.fitted))
            if key not in worked:
                supposed = msgspec.structs.replace(setup, roof=answer.ruling, fitments=answer.fitted)
                worked[key] = work_out(supposed).allowed
            answers.append((answer.value, worked[key]))
        if len({allowed for _, allowed in answers}) > 1:
            yield BudgetQuestion(asked.dimension, tuple(answers))


def _refusals(request: Request, worked: Budget) -> Iterable[Refusal]:
    """Why each figure that is needed is missing."""
    dossiers = {each.subject.id: each for each in _dossiers(request)}
    for missing in worked.missing:
        subject = dossiers.get(missing.subject)
        if subject is None:
            yield Refusal(missing.figure, missing.subject, RefusalKind.NO_CLAIM, None)
        elif missing.figure == "own_mass":
            refused = own_mass(subject, request.demand).refusal
            if refused:
                yield refused
        else:
            refused = limit(subject, _context_for(subject, request), request.condition, request.demand).refusal
            if refused:
                yield refused


def _context_for(subject: Dossier, request: Request) -> Context:
    return request.context if subject.subject.kind is SubjectKind.VEHICLE else Context()


def _dossiers(request: Request) -> list[Dossier]:
    named = [request.vehicle, request.fixing, *request.carriers]
    return [each for each in named if isinstance(each, Dossier)]


def _unreviewed(request: Request, setup: Setup) -> Iterable[Unreviewed]:
    vehicle = request.vehicle
    if vehicle is not None and setup.roof is not None:
        yield from _remembered_unreviewed(vehicle, request, setup.roof, is_roof=True)
        for fitment in vehicle.fitments:
            for fitted in setup.fitments:
                if fitted.id == fitment.id:
                    yield from unreviewed_limits(
                        fitment.figures,
                        request.context,
                        vehicle.record.range,
                        request.condition,
                        fitted.rating,
                        is_roof=False,
                    )
    parts = [] if setup.fixing is None else [(request.fixing, setup.fixing)]
    for dossier, stacked in [*parts, *zip(request.carriers, setup.carriers, strict=True)]:
        if isinstance(dossier, Dossier):
            yield from _remembered_unreviewed(dossier, request, stacked.rating, is_roof=False)
            yield from unreviewed_masses(dossier.figures.masses, stacked.mass)


def _remembered_unreviewed(of: Dossier, request: Request, ruling: Ruling, *, is_roof: bool) -> tuple[Unreviewed, ...]:
    context = _context_for(of, request)
    key = ("unreviewed", context, request.condition, request.demand)
    return remembered(
        of,
        key,
        lambda: (
            *unreviewed_limits(of.figures, context, of.record.range, request.condition, ruling, is_roof=is_roof),
            *unreviewed_factors(of.figures, request.condition),
        ),
    )


def _conflicts(request: Request, setup: Setup) -> Iterable[Conflict]:
    if setup.roof is not None:
        yield from setup.roof.conflicts
    for fitted in setup.fitments:
        yield from fitted.rating.conflicts
    for dossier in _dossiers(request):
        if dossier.subject.kind is not SubjectKind.VEHICLE:
            yield from mass_of(dossier, request.demand).conflicts
    for stacked in (*((setup.fixing,) if setup.fixing else ()), *setup.carriers):
        yield from stacked.rating.conflicts


def _estimate(request: Request, setup: Setup) -> Estimate | None:
    """A parked limit guessed at by a multiple, only when asked for; it changes nothing else."""
    if request.parked_multiple is None or request.condition is not Condition.PARKED or request.vehicle is None:
        return None
    driving = roof(request.vehicle, request.context, Condition.ON_ROAD, request.demand).ruling
    figures = driving.figure
    if not figures:
        return None
    mass = sum(each.mass.grams for each in budget.parts(setup) if each.mass)
    multiplied: list[tuple[Line, int]] = [(line, line.grams * request.parked_multiple) for line in figures]
    cargo = min(grams - (mass if line.side is Side.GROSS else 0) for line, grams in multiplied)
    return Estimate(request.parked_multiple, min(grams for _, grams in multiplied), max(0, cargo))


def _notes(setup: Setup) -> Iterable[str]:
    rulings = [
        *([setup.roof] if setup.roof else []),
        *(each.rating for each in budget.parts(setup)),
        *(each.rating for each in setup.fitments),
    ]
    return dict.fromkeys(note for ruling in rulings for note in ruling.notes)
