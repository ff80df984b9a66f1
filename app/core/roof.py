"""A vehicle's roof, or a part's rating, for a car as far as it is known: the lowest of all that the car could be, and
the dimensions that would narrow it."""

from collections.abc import Callable, Hashable, Iterable, Sequence
from typing import TypeVar, cast

import msgspec

from app.core.budget import Fitted
from app.core.claim import Condition
from app.core.conditions import Figures, Ruling, concerned, lowest, ruling_for, without_figure
from app.core.confidence import SETS_AT
from app.core.errors import CantrailError, Fault, Kind
from app.core.scope import Car, Cell, Context, Dimension, Range, Value, completions, ruled_out, ways_of
from app.core.scoring import Dossier, FitmentFigures
from app.core.selection import Side

Remembered = TypeVar("Remembered")

MOST_REMEMBERED = 512
MOST_WAYS = 20_000
"""More ways in which one car could be than these are not gone through."""


def remembered(dossier: Dossier, key: Hashable, work: Callable[[], Remembered]) -> Remembered:
    """Work out once what depends on one dossier only, and keep it as long as the dossier."""
    memory = dossier.memory
    found = memory.get(key, memory)
    if found is memory:
        found = work()
        if len(memory) >= MOST_REMEMBERED:
            memory.clear()
        memory[key] = found
    return cast(Remembered, found)


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


class _Way(msgspec.Struct, frozen=True):
    car: Car | None
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
    named = tuple((place, fitment.id, fitment.figures.factors) for place, fitment in fitments)
    key = ("roof", context, condition, demand, named)
    return remembered(vehicle, key, lambda: _roof(vehicle, context, condition, demand, fitments))


def _roof(
    vehicle: Dossier,
    context: Context,
    condition: Condition,
    demand: float,
    fitments: tuple[tuple[int, FitmentFigures], ...],
) -> RoofAnswer:
    def way(car: Car | None) -> _Way:
        return _Way(
            car,
            ruling_for(vehicle.figures, car, condition, demand, is_roof=True),
            tuple(
                Fitted(fitment.id, place, ruling_for(fitment.figures, car, condition, None, is_roof=False))
                for place, fitment in fitments
            ),
        )

    concerning = [vehicle.figures, *(fitment.figures for _, fitment in fitments)]
    return _answered(concerning, context, vehicle.record.range, condition, demand, way)


def _answered(
    concerning: Sequence[Figures],
    context: Context,
    allowed: Range,
    condition: Condition,
    demand: float,
    way: Callable[[Car | None], _Way],
) -> RoofAnswer:
    """The lowest over all that the car could be. Where that is more than can be gone through, nothing is proven for
    this car, and what would limit it if every claim spoke of it still limits it: the asker has to say more."""
    scopes = [
        candidate.scope
        for figures in concerning
        for candidate in concerned(figures, condition)
        if candidate.binds or candidate.confidence >= min(demand, SETS_AT)
    ]
    if ways_of(context, allowed, scopes) > MOST_WAYS:
        whole = way(None)
        return RoofAnswer(without_figure(whole.ruling), whole.fitted, ())
    ways = [way(car) for car in completions(context, allowed, scopes)]
    return RoofAnswer(*_lowest(ways), tuple(_open_dimensions(ways)))


def _lowest(ways: Sequence[_Way]) -> tuple[Ruling, tuple[Fitted, ...]]:
    fitted = tuple(
        msgspec.structs.replace(each, rating=lowest([way.fitted[place].rating for way in ways], needed=False))
        for place, each in enumerate(ways[0].fitted)
    )
    return lowest([way.ruling for way in ways]), fitted


def _open_dimensions(ways: Sequence[_Way]) -> Iterable[OpenDimension]:
    """The dimensions on which completions that are alike in all else differ, each with what every value would give,
    whatever the rest turns out to be."""
    cells = [way.car.cells if way.car else () for way in ways]
    for place, cell in enumerate(cells[0]):
        groups: dict[tuple[Value, ...], list[_Way]] = {}
        alike: dict[tuple[Cell, ...], set[tuple[object, ...]]] = {}
        for way, its_cells in zip(ways, cells, strict=True):
            groups.setdefault(its_cells[place].values, []).append(way)
            rest = (*its_cells[:place], *its_cells[place + 1 :])
            alike.setdefault(rest, set()).add(_amounts(way.ruling, way.fitted))
        if any(len(amounts) > 1 for amounts in alike.values()):
            found = {values: _lowest(group) for values, group in groups.items()}
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
        for dimension in Dimension
        if all(dimension in ruled_out(context, allowed) for allowed in vehicle.record.ranges)
    ]
    if faults:
        raise CantrailError(Kind.INVALID, "context_ruled_out", faults[0].message, faults=faults)


def _recorded(vehicle: Dossier, dimension: Dimension) -> str:
    allowed = vehicle.record.ranges[0]
    years = allowed.years
    if dimension is Dimension.YEARS and years is not None:
        return f"{years.first} to {'now' if years.last is None else years.last}"
    return ", ".join(allowed.names(dimension) or ())


def part_rating(part: Dossier, context: Context, condition: Condition, demand: float) -> RoofAnswer:
    """A part's rating; only a fitment's claims have a scope."""
    key = ("part", context, condition, demand)
    return remembered(part, key, lambda: _part_ways(part, context, condition, demand))


def _part_ways(part: Dossier, context: Context, condition: Condition, demand: float) -> RoofAnswer:
    def way(car: Car | None) -> _Way:
        return _Way(car, ruling_for(part.figures, car, condition, demand, is_roof=False), ())

    return _answered([part.figures], context, part.record.range, condition, demand, way)
