"""Scope and context: what a claim speaks on, the cars it applies to, and the ways an unknown car could be.

A dimension of a scope holds values, "all" (the source says that it holds for all), or None (the source is silent).
Silence is not "all": a silent claim applies to every car, and gives way to one that speaks (see selection).
"""

from collections.abc import Sequence
from enum import StrEnum
from itertools import pairwise, product
from math import prod
from typing import Final, Literal

import msgspec


class Dimension(StrEnum):
    """The four ways in which one vehicle's cars differ."""

    YEARS = "years"
    BODIES = "bodies"
    ROOFS = "roofs"
    MARKETS = "markets"


class Body(StrEnum):
    """Bodies, as handbooks name them."""

    HATCH = "hatch"
    SEDAN = "sedan"
    WAGON = "wagon"
    VAN = "van"
    SINGLE_CAB = "single_cab"
    EXTRA_CAB = "extra_cab"
    DUAL_CAB = "dual_cab"
    COUPE = "coupe"
    CONVERTIBLE = "convertible"
    OTHER = "other"


class Roof(StrEnum):
    """What a roof has on it or is made of; a car may have several."""

    BARE = "bare"
    GUTTER = "gutter"
    FIXED_POINTS = "fixed_points"
    FLUSH_RAIL = "flush_rail"
    RAISED_RAIL = "raised_rail"
    TRACK = "track"
    GLASS = "glass"


ALL: Final = "all"
All = Literal["all"]

FIRST_YEAR = 1900
LAST_YEAR = 9999


class Years(msgspec.Struct, frozen=True, order=True):
    """Model years, both ends included; `last` None means that the vehicle is still made."""

    first: int = msgspec.field(name="from")
    last: int | None = msgspec.field(name="to", default=None)

    @property
    def end(self) -> int:
        """The last year as a number that compares."""
        return LAST_YEAR if self.last is None else self.last

    def within(self, other: "Years") -> bool:
        """Whether every year of this is one of the other's."""
        return other.first <= self.first and self.end <= other.end

    def overlaps(self, other: "Years") -> bool:
        """Whether some year is in both."""
        return self.first <= other.end and other.first <= self.end


YearsSpoken = Years | All | None
NamesSpoken = tuple[str, ...] | All | None


class Scope(msgspec.Struct, frozen=True, omit_defaults=True):
    """What a claim speaks on. Names stand in the order of their own spelling, once each."""

    years: YearsSpoken = None
    bodies: NamesSpoken = None
    roofs: NamesSpoken = None
    markets: NamesSpoken = None

    def spoken(self, dimension: Dimension) -> Years | tuple[str, ...] | All | None:
        """What is said on one dimension."""
        match dimension:
            case Dimension.YEARS:
                return self.years
            case Dimension.BODIES:
                return self.bodies
            case Dimension.ROOFS:
                return self.roofs
            case Dimension.MARKETS:
                return self.markets


SILENT = Scope()


class Context(msgspec.Struct, frozen=True):
    """What the asker says about the car in front of them; None is not said. A car may have several roofs."""

    year: int | None = None
    body: str | None = None
    roofs: tuple[str, ...] | None = None
    market: str | None = None

    def knows(self, dimension: Dimension) -> bool:
        """Whether the asker says anything on one dimension."""
        match dimension:
            case Dimension.YEARS:
                return self.year is not None
            case Dimension.BODIES:
                return self.body is not None
            case Dimension.ROOFS:
                return self.roofs is not None
            case Dimension.MARKETS:
                return self.market is not None


UNKNOWN = Context()


class Range(msgspec.Struct, frozen=True):
    """What a vehicle's record allows: None is open. Only a confirmed record closes anything."""

    years: Years | None = None
    bodies: tuple[str, ...] | None = None
    roofs: tuple[str, ...] | None = None
    markets: tuple[str, ...] | None = None

    def names(self, dimension: Dimension) -> tuple[str, ...] | None:
        """The values that one dimension other than the years may take, or None where it is open."""
        match dimension:
            case Dimension.YEARS:
                return None
            case Dimension.BODIES:
                return self.bodies
            case Dimension.ROOFS:
                return self.roofs
            case Dimension.MARKETS:
                return self.markets


OPEN = Range()

NONE_OF_THESE = "none_of_these"
"""The cell of every value that no claim names."""

Value = Years | str


class Cell(msgspec.Struct, frozen=True):
    """Values of one dimension among which no claim tells the cars apart."""

    dimension: Dimension
    values: tuple[Value, ...]


class Car(msgspec.Struct, frozen=True):
    """One fully known car, or a completion: one way in which the car could be."""

    year: int
    body: str
    roofs: tuple[str, ...]
    market: str
    cells: tuple[Cell, ...] = ()


def applies(scope: Scope, car: Car) -> bool:
    """A claim applies to a car unless it gives values none of which the car has."""
    years, bodies, roofs, markets = scope.years, scope.bodies, scope.roofs, scope.markets
    return (
        (years is None or years == ALL or (isinstance(years, Years) and years.first <= car.year <= years.end))
        and (bodies is None or bodies == ALL or car.body in bodies)
        and (roofs is None or roofs == ALL or any(roof in roofs for roof in car.roofs))
        and (markets is None or markets == ALL or car.market in markets)
    )


def covers(wide: Scope, narrow: Scope) -> bool:
    """Whether every car of `narrow` is surely one of `wide`'s: on each dimension silence and "all" cover whatever
    is said, values cover values among them."""
    for dimension in Dimension:
        outer, inner = wide.spoken(dimension), narrow.spoken(dimension)
        if outer is None or outer == ALL:
            continue
        if not values_within(inner, outer):
            return False
    return True


def overlap(one: Scope, other: Scope) -> bool:
    """Whether some car could be in both: no dimension on which both give values and share none."""
    years, theirs = one.years, other.years
    return (
        not (isinstance(years, Years) and isinstance(theirs, Years) and not years.overlaps(theirs))
        and _share_some(one.bodies, other.bodies)
        and _share_some(one.roofs, other.roofs)
        and _share_some(one.markets, other.markets)
    )


def _share_some(one: NamesSpoken, other: NamesSpoken) -> bool:
    return not (isinstance(one, tuple) and isinstance(other, tuple)) or not set(one).isdisjoint(other)


def more_specific(scope: Scope, than: Scope) -> bool:
    """Whether `scope` speaks on every dimension on which `than` speaks, with values within its values, and gives
    values on at least one dimension on which `than` is silent."""
    fills_a_silence = False
    for dimension in Dimension:
        mine, theirs = scope.spoken(dimension), than.spoken(dimension)
        if theirs is None:
            fills_a_silence = fills_a_silence or isinstance(mine, Years | tuple)
        elif mine is None or (theirs != ALL and not values_within(mine, theirs)):
            return False
    return fills_a_silence


def values_within(inner: YearsSpoken | NamesSpoken, outer: YearsSpoken | NamesSpoken) -> bool:
    """Whether values given on one dimension all lie within others given on it."""
    if isinstance(inner, Years) and isinstance(outer, Years):
        return inner.within(outer)
    if isinstance(inner, tuple) and isinstance(outer, tuple):
        return set(inner) <= set(outer)
    return False


def ruled_out(context: Context, allowed: Range) -> tuple[Dimension, ...]:
    """The dimensions on which the asker says something that the vehicle's confirmed record rules out."""
    out = []
    if context.year is not None and allowed.years is not None:
        if not allowed.years.first <= context.year <= allowed.years.end:
            out.append(Dimension.YEARS)
    if context.body is not None and allowed.bodies is not None and context.body not in allowed.bodies:
        out.append(Dimension.BODIES)
    if context.roofs is not None and allowed.roofs is not None and not set(context.roofs) <= set(allowed.roofs):
        out.append(Dimension.ROOFS)
    if context.market is not None and allowed.markets is not None and context.market not in allowed.markets:
        out.append(Dimension.MARKETS)
    return tuple(out)


def completions(context: Context, allowed: Range, scopes: Sequence[Scope]) -> tuple[Car, ...]:
    """Every way in which the car could be, as far as the claims with these scopes tell cars apart.

    One roof at a time is enough: a car with two roofs is never allowed less than the lower of the two.
    """
    unsaid = [cells(dimension, allowed, scopes) for dimension in Dimension if not context.knows(dimension)]
    return tuple(_car(context, way) for way in product(*unsaid))


def ways_of(context: Context, allowed: Range, scopes: Sequence[Scope]) -> int:
    """How many completions there are."""
    return prod(len(cells(each, allowed, scopes)) for each in Dimension if not context.knows(each))


def cells(dimension: Dimension, allowed: Range, scopes: Sequence[Scope]) -> list[Cell]:
    """The cells into which the claims' values divide one dimension; one cell where no claim gives values."""
    if dimension is Dimension.YEARS:
        return _year_cells(allowed.years, [scope.years for scope in scopes if isinstance(scope.years, Years)])
    given = [spoken for scope in scopes if isinstance(spoken := scope.spoken(dimension), tuple)]
    named = sorted({name for names in given for name in names})
    possible = allowed.names(dimension)
    values = [*named, NONE_OF_THESE] if possible is None else list(possible)
    groups: dict[tuple[bool, ...], list[Value]] = {}
    for value in values:
        groups.setdefault(tuple(value in names for names in given), []).append(value)
    return [Cell(dimension, tuple(group)) for group in groups.values()]


def _year_cells(allowed: Years | None, given: list[Years]) -> list[Cell]:
    span = allowed or Years(FIRST_YEAR, LAST_YEAR)
    cuts = {span.first, span.end + 1}
    for years in given:
        cuts.update(cut for cut in (years.first, years.end + 1) if span.first < cut <= span.end)
    edges = sorted(cuts)
    groups: dict[tuple[bool, ...], list[Value]] = {}
    for first, after in pairwise(edges):
        inside = tuple(years.first <= first <= years.end for years in given)
        value: Value = Years(first, None if after > LAST_YEAR else after - 1)
        if allowed is None and not any(inside):
            value = NONE_OF_THESE
        group = groups.setdefault(inside, [])
        if value not in group:
            group.append(value)
    return [Cell(Dimension.YEARS, tuple(group)) for group in groups.values()]


def _car(context: Context, open_cells: tuple[Cell, ...]) -> Car:
    first = {cell.dimension: cell.values[0] for cell in open_cells}
    year = first.get(Dimension.YEARS)
    return Car(
        year=context.year if context.year is not None else year.first if isinstance(year, Years) else 0,
        body=context.body or str(first[Dimension.BODIES]),
        roofs=context.roofs if context.roofs is not None else (str(first[Dimension.ROOFS]),),
        market=context.market or str(first[Dimension.MARKETS]),
        cells=open_cells,
    )
