"""From a budget request to its answer: gather what the dossiers say about one car and what stands on its roof, work it
out, and say what is not known."""

from collections.abc import Hashable, Iterable
from typing import Literal

import msgspec

from app.core import budget
from app.core.budget import Budget, Item, Part, Setup, Stack, load_of, load_up, stack_up
from app.core.claim import ON_ROOF, Condition
from app.core.conditions import Figures, Ruling, ruling_for
from app.core.confidence import SETS_AT
from app.core.errors import invalid
from app.core.given import GivenPart, GivenRoof, as_given
from app.core.limits import found_mass, limit, own_mass
from app.core.refusal import Refusal, RefusalKind, Unreviewed, unreviewed_limits, unreviewed_masses
from app.core.roof import OpenDimension, RoofAnswer, check_context, remembered, roof
from app.core.scope import UNKNOWN, Context, Dimension, Value
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


class StackAnswer(msgspec.Struct, frozen=True):
    """What a stack allows on a car, with all that is said beside it, whatever is then carried.

    `key` names it among what the vehicle's dossier remembers; None where the asker's own figures are part of it.
    """

    key: Hashable | None
    setup: Setup
    stack: Stack
    questions: tuple[BudgetQuestion, ...]
    refusals: tuple[Refusal, ...]
    unreviewed_lower: tuple[Unreviewed, ...]
    conflicts: tuple[Conflict, ...]
    estimate: Estimate | None
    notes: tuple[str, ...]


class BudgetAnswer(msgspec.Struct, frozen=True):
    """A budget: what the stack allows, and what is carried."""

    stacked: StackAnswer
    budget: Budget
    refusals: tuple[Refusal, ...]


def ask(request: Request) -> BudgetAnswer:
    """Answer one budget request. Raises bad input for people on the roof while driving, for a car that the vehicle's
    confirmed record rules out, and where neither a vehicle nor a roof limit is named."""
    _check(request)
    stacked = stack_answer(request)
    load = load_of((*request.items, *request.people))
    refusals = (*stacked.refusals, *(Refusal("mass", name, RefusalKind.NO_CLAIM, None) for name in load.missing))
    return BudgetAnswer(stacked, load_up(stacked.stack, load), refusals)


def stack_answer(request: Request) -> StackAnswer:
    """What the stack of a request allows: worked out once, for as long as its dossiers hold."""
    key = _key(request)
    if key is None or request.vehicle is None:
        return _stack_answer(request, None)
    return remembered(request.vehicle, key, lambda: _stack_answer(request, key))


def _key(request: Request) -> Hashable | None:
    """All that the answer for a stack depends on. A dossier's subject and entry say all that it says."""
    parts = [request.fixing, *request.carriers]
    if request.given_roof is not None or any(isinstance(each, GivenPart) for each in parts):
        return None
    named = tuple((each.subject, each.as_of) if isinstance(each, Dossier) else each for each in parts)
    return ("stack", request.condition, request.demand, request.context, request.parked_multiple, named)


def _stack_answer(request: Request, key: Hashable | None) -> StackAnswer:
    check_car(request)
    found = None
    if request.vehicle is not None:
        fitments = compatible(request.vehicle, request)
        found = roof(request.vehicle, request.context, request.condition, request.demand, fitments)
    setup = set_up(request, found)
    stack = stack_up(setup)
    return StackAnswer(
        key,
        setup,
        stack,
        tuple(_questions(setup, stack, found.open)) if found and found.open else (),
        tuple(_refusals(request, setup)),
        tuple(dict.fromkeys(unreviewed(request, setup))),
        tuple(dict.fromkeys(_conflicts(request, setup))),
        _estimate(request, setup),
        notes(setup),
    )


def set_up(request: Request, found: RoofAnswer | None) -> Setup:
    """What stands on the roof of a request; the roof itself, with the fitments that bind there, as it was found."""
    fixing = None if request.fixing == "built_in" else request.fixing
    return Setup(
        condition=request.condition,
        vehicle=request.vehicle.subject.id if request.vehicle else None,
        roof=found.ruling if found else None,
        given_roof=_given_roof(request),
        fixing=None if fixing is None else part(fixing, "fixing", request.condition, request.demand),
        carriers=tuple(
            part(each, f"carrier {place}", request.condition, request.demand)
            for place, each in enumerate(request.carriers, start=1)
        ),
        fitments=found.fitted if found else (),
        fixing_said=fixing is not None or built_in(request),
    )


def _check(request: Request) -> None:
    if request.vehicle is None and request.given_roof is None:
        message = "Name a vehicle, or give its roof limit yourself in given_roof."
        raise invalid("/vehicle", "roof_missing", message)
    if request.people and request.condition is not Condition.PARKED:
        message = "Nobody rides on a roof: people count for parked only. Leave people out, or ask for parked."
        raise invalid("/people", "people_while_driving", message)


def check_car(request: Request) -> None:
    """Raises bad input where the vehicle's confirmed record has no such car."""
    if request.vehicle is not None:
        check_context(request.vehicle, request.context)


def built_in(request: Request) -> bool:
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
        found_mass(of, demand).mass,
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
    """Whether a fitment may be with the fixing that is meant. That it is built in counts where the record says so."""
    if fitment.fixing is None:
        return True
    if request.fixing == "built_in":
        return not built_in(request)
    return not isinstance(request.fixing, Dossier) or request.fixing.subject.id == fitment.fixing


def _with_carrier_factor(fitment: FitmentFigures, carrier: Dossier) -> FitmentFigures:
    """A fitment's on-road rating is multiplied by its carrier's own factor."""
    figures = msgspec.structs.replace(fitment.figures, factors=carrier.figures.factors)
    return msgspec.structs.replace(fitment, figures=figures)


def _given_roof(request: Request) -> Ruling | None:
    if request.given_roof is None:
        return None
    figures = request.given_roof.figures()
    return as_given(ruling_for(figures, None, request.condition, request.demand, is_roof=True))


def _questions(setup: Setup, stack: Stack, open_dimensions: tuple[OpenDimension, ...]) -> Iterable[BudgetQuestion]:
    """The questions whose answers would change the budget; where only the roof is not known, also those that do so
    together."""
    only_the_roof = {missing.figure for missing in stack.missing} == {"roof_limit"}
    for asked in open_dimensions:
        answers = []
        worked: dict[tuple[int, int], int | None] = {}
        for answer in asked.answers:
            key = (id(answer.ruling), id(answer.fitted))
            if key not in worked:
                supposed = msgspec.structs.replace(setup, roof=answer.ruling, fitments=answer.fitted)
                worked[key] = stack_up(supposed).allowed
            answers.append((answer.value, worked[key]))
        if only_the_roof or len({allowed for _, allowed in answers}) > 1:
            yield BudgetQuestion(asked.dimension, tuple(answers))


def _refusals(request: Request, setup: Setup) -> Iterable[Refusal]:
    """Why each figure that is needed is missing."""
    if request.vehicle is not None and setup.roof is not None and not setup.roof.figure:
        yield from _refusal_of(limit(request.vehicle, request.context, request.condition, request.demand).refusal)
    for whose, stacked in _stacked_parts(request, setup):
        if stacked.mass is None:
            if isinstance(whose, Dossier):
                yield from _refusal_of(own_mass(whose, request.demand).refusal)
            else:
                yield Refusal("own_mass", stacked.id, RefusalKind.NO_CLAIM, None)
        if not stacked.rating.figure:
            if isinstance(whose, Dossier):
                yield from _refusal_of(limit(whose, UNKNOWN, request.condition, request.demand).refusal)
            else:
                yield Refusal("load_rating", stacked.id, RefusalKind.NO_CLAIM, None)


def _refusal_of(found: Refusal | None) -> Iterable[Refusal]:
    return () if found is None else (found,)


def _stacked_parts(request: Request, setup: Setup) -> Iterable[tuple[Dossier | GivenPart | None, Part]]:
    """What is stacked, each with whose figures it has."""
    if setup.fixing is not None:
        yield (None if request.fixing == "built_in" else request.fixing), setup.fixing
    yield from zip(request.carriers, setup.carriers, strict=True)


def unreviewed(request: Request, setup: Setup) -> Iterable[Unreviewed]:
    """The undecided claims on what is asked about that would lower its answer; each may be named more than once."""
    vehicle = request.vehicle
    if vehicle is not None and setup.roof is not None:
        yield from _unreviewed_on_roof(vehicle, request, setup.roof)
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
    for whose, stacked in _stacked_parts(request, setup):
        if isinstance(whose, Dossier):
            yield from unreviewed_limits(
                whose.figures, UNKNOWN, whose.record.range, request.condition, stacked.rating, is_roof=False
            )
            yield from unreviewed_masses(whose.figures.masses, stacked.mass)


def _unreviewed_on_roof(vehicle: Dossier, request: Request, ruling: Ruling) -> tuple[Unreviewed, ...]:
    """Those on the roof, found once for all racks that are compared on it."""
    return remembered(
        vehicle,
        ("unreviewed", request.condition, request.demand, request.context),
        lambda: unreviewed_limits(
            vehicle.figures, request.context, vehicle.record.range, request.condition, ruling, is_roof=True
        ),
    )


def _conflicts(request: Request, setup: Setup) -> Iterable[Conflict]:
    if setup.roof is not None:
        yield from setup.roof.conflicts
    for fitted in setup.fitments:
        yield from fitted.rating.conflicts
    for whose, stacked in _stacked_parts(request, setup):
        yield from stacked.rating.conflicts
        if isinstance(whose, Dossier):
            yield from found_mass(whose, request.demand).conflicts


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


def notes(setup: Setup) -> tuple[str, ...]:
    """What is to be said of the figures on a roof: what stands in for what."""
    rulings = [
        *([setup.roof] if setup.roof else []),
        *(each.rating for each in budget.parts(setup)),
        *(each.rating for each in setup.fitments),
    ]
    return tuple(dict.fromkeys(note for ruling in rulings for note in ruling.notes))
