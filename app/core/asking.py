"""From a question to an answer: gather what the dossiers say about one car, work it out, and say what is not known.

Where the asker leaves a dimension of the car open, the lowest counts, and the answer carries the question that would
narrow it.
"""

from collections.abc import Callable, Hashable, Iterable, Sequence
from typing import Literal, TypeVar, cast

import msgspec

from app.core import budget
from app.core.budget import Budget, Fitted, Item, Part, Setup, load_of, work_out
from app.core.claim import Condition, SubjectKind
from app.core.conditions import ON_ROOF, Figures, Ruling, concerned, lowest, ruling_for
from app.core.confidence import SETS_AT
from app.core.errors import CantrailError, Fault, Kind, invalid
from app.core.given import GivenPart, GivenRoof, as_given
from app.core.refusal import (
    Refusal,
    RefusalKind,
    Unreviewed,
    refusal,
    unreviewed_factors,
    unreviewed_limits,
    unreviewed_masses,
)
from app.core.scope import Car, Context, Dimension, Scope, Value, completions, ruled_out
from app.core.scoring import Dossier, FitmentFigures
from app.core.selection import Conflict, Line, MassAnswer, Side, Standard, factor_for, mass_at

Remembered = TypeVar("Remembered")

MOST_REMEMBERED = 4096


def remembered(dossier: Dossier, key: Hashable, work: Callable[[], Remembered]) -> Remembered:
    """Work out once what depends on one dossier only, and keep it as long as the dossier."""
    memory = dossier.memory
    if key not in memory:
        if len(memory) >= MOST_REMEMBERED:
            memory.clear()
        memory[key] = work()
    return cast(Remembered, memory[key])


# The vehicle's roof


class Answer(msgspec.Struct, frozen=True):
    """What one value of an open dimension would give."""

    value: Value
    ruling: Ruling
    fitted: tuple[Fitted, ...]


class OpenDimension(msgspec.Struct, frozen=True):
    """A dimension that the asker did not give and on which the answer depends."""

    dimension: Dimension
    answers: tuple[Answer, ...]


class RoofAnswer(msgspec.Struct, frozen=True):
    """A vehicle's roof in one condition for one context, with the fitments asked about."""

    ruling: Ruling
    fitted: tuple[Fitted, ...]
    open: tuple[OpenDimension, ...]
    scopes_differ: bool


class _Way(msgspec.Struct, frozen=True):
    car: Car
    ruling: Ruling
    fitted: tuple[Fitted, ...]


def roof(
    vehicle: Dossier,
    context: Context,
    condition: Condition,
    demand: float,
    fitments: tuple[tuple[int, FitmentFigures], ...] = (),
) -> RoofAnswer:
    """The roof of one vehicle, for the car as far as it is known: the lowest of all that it could be.

    No fitment is needed, so no demand fills or refuses one: it binds as it stands at 0.80.
    """
    key = ("roof", context, condition, demand, tuple((place, fitment.id) for place, fitment in fitments))
    return remembered(vehicle, key, lambda: _roof(vehicle, context, condition, demand, fitments))


def _roof(
    vehicle: Dossier,
    context: Context,
    condition: Condition,
    demand: float,
    fitments: tuple[tuple[int, FitmentFigures], ...],
) -> RoofAnswer:
    ways = [
        _Way(
            car,
            ruling_for(vehicle.figures, car, condition, demand, is_roof=True),
            tuple(
                Fitted(fitment.id, place, ruling_for(fitment.figures, car, condition, SETS_AT, is_roof=False))
                for place, fitment in fitments
            ),
        )
        for car in completions(context, vehicle.record.range, _scopes(vehicle, condition, fitments))
    ]
    ruling, fitted = _lowest(ways)
    return RoofAnswer(
        ruling,
        fitted,
        tuple(_open_dimensions(ways)),
        any(way.ruling.figure for way in ways),
    )


def _scopes(vehicle: Dossier, condition: Condition, fitments: tuple[tuple[int, FitmentFigures], ...]) -> list[Scope]:
    concerning = [vehicle.figures, *(fitment.figures for _, fitment in fitments)]
    return [candidate.scope for figures in concerning for candidate in concerned(figures, condition)]


def _lowest(ways: Sequence[_Way]) -> tuple[Ruling, tuple[Fitted, ...]]:
    fitted = tuple(
        msgspec.structs.replace(each, rating=lowest([way.fitted[place].rating for way in ways], needed=False))
        for place, each in enumerate(ways[0].fitted)
    )
    return lowest([way.ruling for way in ways]), fitted


def _open_dimensions(ways: Sequence[_Way]) -> Iterable[OpenDimension]:
    """The dimensions on which the completions differ, each with what every value would give."""
    for place, cell in enumerate(ways[0].car.cells):
        groups: dict[tuple[Value, ...], list[_Way]] = {}
        for way in ways:
            groups.setdefault(way.car.cells[place].values, []).append(way)
        found = {values: _lowest(group) for values, group in groups.items()}
        if len({_amounts(ruling, fitted) for ruling, fitted in found.values()}) > 1:
            yield OpenDimension(
                cell.dimension,
                tuple(Answer(value, ruling, fitted) for values, (ruling, fitted) in found.items() for value in values),
            )


def _amounts(ruling: Ruling, fitted: tuple[Fitted, ...]) -> tuple[object, ...]:
    return (
        _figure_amounts(ruling),
        frozenset((line.side, line.grams) for line in ruling.reduced),
        tuple(_figure_amounts(each.rating) for each in fitted),
    )


def _figure_amounts(ruling: Ruling) -> tuple[object, ...]:
    gross, net = ruling.line(Side.GROSS), ruling.line(Side.NET)
    return (gross and gross.grams, gross and gross.firmness, net and net.grams, net and net.firmness)


def check_context(vehicle: Dossier, context: Context) -> None:
    """Raises bad input where the vehicle's confirmed record rules out what the asker says about the car."""
    pointers = {
        Dimension.YEARS: "/context/year",
        Dimension.BODIES: "/context/body",
        Dimension.ROOFS: "/context/roofs",
        Dimension.MARKETS: "/context/market",
    }
    faults = [
        Fault(
            pointers[dimension],
            "ruled_out",
            f"The confirmed record of {vehicle.subject.id} has no such car: its {dimension} are "
            f"{_recorded(vehicle, dimension)}. Correct this, or leave it out if you do not know.",
        )
        for dimension in ruled_out(context, vehicle.record.range)
    ]
    if faults:
        raise CantrailError(Kind.INVALID, "context_ruled_out", faults[0].message, faults=faults)


def _recorded(vehicle: Dossier, dimension: Dimension) -> str:
    years = vehicle.record.range.years
    if dimension is Dimension.YEARS and years is not None:
        return f"{years.first} to {'now' if years.last is None else years.last}"
    return ", ".join(vehicle.record.range.names(dimension) or ())


# A limit or another figure by itself


class Figure(msgspec.Struct, frozen=True):
    """A limit or rating as asked for by itself, with all that is said beside it."""

    condition: Condition
    ruling: Ruling
    open: tuple[OpenDimension, ...]
    refusal: Refusal | None
    unreviewed_lower: tuple[Unreviewed, ...]


def limit(subject: Dossier, context: Context, condition: Condition, demand: float) -> Figure:
    """A vehicle's roof limit, or a carrier's, fixing's or fitment's rating, in one condition."""
    is_roof = subject.subject.kind is SubjectKind.VEHICLE
    if is_roof:
        check_context(subject, context)
    found = roof(subject, context, condition, demand) if is_roof else _part(subject, context, condition, demand)
    return Figure(
        condition,
        found.ruling,
        found.open,
        None
        if found.ruling.figure
        else refusal(
            "roof_limit" if is_roof else "load_rating",
            subject.subject.id,
            concerned(subject.figures, condition),
            subject.figures.of(condition),
            demand,
            found.ruling.below,
        ),
        unreviewed_limits(subject.figures, context, subject.record.range, condition, found.ruling, is_roof=is_roof),
    )


def _part(part: Dossier, context: Context, condition: Condition, demand: float) -> RoofAnswer:
    """A part's rating; only a fitment's claims have a scope."""
    key = ("part", context, condition, demand)
    return remembered(part, key, lambda: _part_ways(part, context, condition, demand))


def _part_ways(part: Dossier, context: Context, condition: Condition, demand: float) -> RoofAnswer:
    scopes = [candidate.scope for candidate in concerned(part.figures, condition)]
    ways = [
        _Way(car, ruling_for(part.figures, car, condition, demand, is_roof=False), ())
        for car in completions(context, part.record.range, scopes)
    ]
    ruling, fitted = _lowest(ways)
    return RoofAnswer(ruling, fitted, tuple(_open_dimensions(ways)), any(way.ruling.figure for way in ways))


class MassFigure(msgspec.Struct, frozen=True):
    """An own mass as asked for by itself."""

    found: MassAnswer
    refusal: Refusal | None
    unreviewed_higher: tuple[Unreviewed, ...]


def own_mass(subject: Dossier, demand: float) -> MassFigure:
    """What a carrier, a fixing or a gear item itself weighs."""
    found = _mass(subject, demand)
    masses = subject.figures.masses
    return MassFigure(
        found,
        None if found.mass else refusal("own_mass", subject.subject.id, masses, masses, demand, found.below),
        unreviewed_masses(masses, found.mass),
    )


def _mass(subject: Dossier, demand: float) -> MassAnswer:
    return remembered(subject, ("mass", demand), lambda: mass_at(subject.figures.masses, demand))


# The budget


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
        _mass(of, demand).mass,
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
            yield from _mass(dossier, request.demand).conflicts
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
