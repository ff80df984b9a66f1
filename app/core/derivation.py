"""Limits worked back from accessory pages (section 2.5), and by the other methods.

A page that says how much an accessory may carry on a vehicle tells something of that vehicle's roof. Whatever the pages
leave open is read in the way that allows least. All sums are exact, and each figure is rounded down once.
"""

from collections.abc import Callable, Sequence
from enum import StrEnum
from fractions import Fraction
from itertools import combinations
from typing import Final

import msgspec

from app.core.claim import ON_ROOF, Basis, Bound, Condition, Quantity, Statement, factor_of
from app.core.errors import invalid
from app.core.mass import Counts, Per, Stated, ceil, floor, limit_grams, parse_mass

MOST_ROWS: Final = 200
MOST_TIMES: Final = 10


class Agreement(StrEnum):
    """What a table of accessories agrees on."""

    SUMS_AGREE = "sums_agree"
    LOADS_AGREE = "loads_agree"
    NO_AGREEMENT = "no_agreement"


class Role(StrEnum):
    """A row's part in the outcome. Where the table does not agree, some rows may agree but for the outliers; where not
    even two do, each row stands alone."""

    AGREES = "agrees"
    SELF_LIMITED = "self_limited"
    OUTLIER = "outlier"
    ALONE = "alone"


class Row(msgspec.Struct, frozen=True):
    """What a page says of one accessory on this vehicle: its own mass, the load that it may take there, whether the page
    says that this load leaves the accessory out, and its general rating. `lighter` is a lower own mass, in grams, that
    an approved claim gives for the accessory."""

    accessory: str
    mass: Stated
    load: Stated
    leaves_out: bool
    rating: Stated | None = None
    lighter: int | None = None


class Interval(msgspec.Struct, frozen=True):
    """Where a true mass lies, in exact grams, both ends included."""

    low: Fraction
    high: Fraction

    @property
    def grams(self) -> tuple[int, int]:
        """Both ends in whole grams, rounded outward."""
        return floor(self.low), ceil(self.high)

    def holds(self, point: Fraction) -> bool:
        """Whether the true mass may be this."""
        return self.low <= point <= self.high

    def apart(self, other: "Interval") -> bool:
        """Whether the two share no point."""
        return self.high < other.low or other.high < self.low


class Reading(msgspec.Struct, frozen=True):
    """A row with its reading uncertainty: `total` is mass and load together. It is self-limited if the load is the
    accessory's own rating, and lightened if the lower own mass of an approved claim took the place of the page's."""

    row: Row
    mass: Interval
    load: Interval
    total: Interval
    self_limited: bool
    lightened: bool = False
    role: Role = Role.ALONE

    @property
    def least(self) -> Fraction:
        """The least that the roof takes by this row alone: the accessory counts only where its page leaves it out."""
        return self.total.low if self.row.leaves_out else self.load.low


class Worked(msgspec.Struct, frozen=True):
    """What a table tells of the roof limit in grams, the carrier counted, and a reading for each row as given.

    `interval` is where the pages put what they agree on; None where they do not agree. `nearly` is what some rows would
    agree on but for others. `uncapped` is the figure of the pages by themselves, where a cap has lowered it.
    """

    kind: Agreement
    bound: Bound
    figure: int
    interval: tuple[int, int] | None
    rows: tuple[Reading, ...]
    nearly: Agreement | None = None
    uncapped: int | None = None
    basis: Basis = Basis.INCLUDES_CARRIER

    @property
    def self_limited(self) -> tuple[int, ...]:
        """The places of the rows whose load is the accessory's own rating."""
        return tuple(place for place, row in enumerate(self.rows) if row.self_limited)

    @property
    def would_agree(self) -> tuple[int, ...]:
        """The places of the rows that would agree but for others."""
        return () if self.nearly is None else self.places(Role.AGREES)

    @property
    def others(self) -> tuple[int, ...]:
        """The places of the rows that keep the rest from agreeing."""
        return self.places(Role.OUTLIER)

    def places(self, role: Role) -> tuple[int, ...]:
        """The places of the rows with this part in the outcome."""
        return tuple(place for place, row in enumerate(self.rows) if row.role is role)


# Accessory pages


def solve(rows: Sequence[Row], cap: int | None = None) -> Worked:
    """What a table of accessories tells of the roof limit of their vehicle, never above `cap` (grams).

    Raises `invalid` for an empty table, one of more than 200 rows, or a figure that is no plain decimal.
    """
    if not rows:
        raise invalid("/rows", "no_rows", "Give at least one row: an accessory, its own mass and the load it may take.")
    if len(rows) > MOST_ROWS:
        raise invalid("/rows", "too_many_rows", f"Give at most {MOST_ROWS} rows, all for one vehicle and condition.")
    readings = [_reading(row, f"/rows/{place}") for place, row in enumerate(rows)]
    worked = _work_out(readings)
    lightened = [_lightened(reading) for reading in readings]
    if lightened != readings:
        # A lower mass may make rows agree that did not; it must not raise what they tell without it.
        worked = min(_work_out(lightened), worked, key=lambda each: (each.figure, each.bound is Bound.EXACT))
    return worked if cap is None else _capped(worked, cap)


def least_lightened(rows: Sequence[Row]) -> int | None:
    """The least in grams that any row tells with the lower own masses; None where no mass is lower than its page's."""
    readings = [_reading(row, f"/rows/{place}") for place, row in enumerate(rows)]
    lightened = [_lightened(reading) for reading in readings]
    if lightened == readings:
        return None
    heard = [each for each in lightened if not each.self_limited] or lightened
    return floor(min(each.least for each in heard))


def shared_by(spans: Sequence[Interval]) -> Interval:
    """What intervals that share a point share in all."""
    return Interval(max(each.low for each in spans), min(each.high for each in spans))


def interval_of(stated: Stated, pointer: str) -> Interval:
    """What a stated mass may be: half a unit in its last digit either way, never below nothing."""
    said = parse_mass(stated, pointer)
    decimals = len(stated.value.partition(".")[2])
    half = parse_mass(Stated("0.5", stated.unit)) / 10**decimals
    return Interval(max(Fraction(0), said - half), said + half)


def _reading(row: Row, pointer: str) -> Reading:
    mass = interval_of(row.mass, f"{pointer}/mass/value")
    load = interval_of(row.load, f"{pointer}/load/value")
    rating = None if row.rating is None else interval_of(row.rating, f"{pointer}/rating/value")
    return Reading(row, mass, load, _together(mass, load), self_limited=rating is not None and not load.apart(rating))


def _together(mass: Interval, load: Interval) -> Interval:
    return Interval(mass.low + load.low, mass.high + load.high)


def _lightened(reading: Reading) -> Reading:
    """The same row with the lower own mass of an approved claim, where that is below all that its page may mean."""
    lighter = reading.row.lighter
    if lighter is None or lighter >= reading.mass.low:
        return reading
    mass = Interval(Fraction(lighter), Fraction(lighter))
    total = _together(mass, reading.load)
    return msgspec.structs.replace(reading, mass=mass, total=total, lightened=True)


def _work_out(readings: Sequence[Reading]) -> Worked:
    """What the rows agree on, each counted once however often it is stated."""
    distinct = tuple(dict.fromkeys(readings))
    heard = tuple(each for each in distinct if not each.self_limited) or distinct
    by_sum = _most_agreeing(heard, lambda each: each.total, _loads_follow_masses)
    by_load = _most_agreeing(heard, lambda each: each.load, _masses_differ)

    if len(by_sum) == len(heard):
        shared = shared_by([each.total for each in heard])
        return _agreed(Agreement.SUMS_AGREE, Bound.EXACT, shared, _with_roles(readings, heard, by_sum))
    if len(by_load) == len(heard):
        shared = shared_by([each.load for each in heard])
        return _agreed(Agreement.LOADS_AGREE, Bound.AT_LEAST, shared, _with_roles(readings, heard, by_load))
    nearly = Agreement.SUMS_AGREE if by_sum else Agreement.LOADS_AGREE if by_load else None
    return Worked(
        Agreement.NO_AGREEMENT,
        Bound.AT_LEAST,
        floor(min(each.least for each in heard)),
        None,
        _with_roles(readings, heard, by_sum or by_load),
        nearly,
    )


def _masses_differ(one: Reading, other: Reading) -> bool:
    return one.mass.apart(other.mass)


def _loads_follow_masses(one: Reading, other: Reading) -> bool:
    return one.mass.apart(other.mass) and one.load.apart(other.load)


def _most_agreeing(
    heard: Sequence[Reading], span: Callable[[Reading], Interval], telling: Callable[[Reading, Reading], bool]
) -> frozenset[Reading]:
    """The most rows that share a point with two among them that tell something; of as many, those that share the lowest.

    Rows that share any point share the highest of their low ends, so that only low ends need be tried.
    """
    spans = [span(each) for each in heard]
    tells: list[set[int]] = [set() for _ in heard]
    for (place, one), (further, other) in combinations(enumerate(heard), 2):
        if telling(one, other):
            tells[place].add(further)
            tells[further].add(place)
    best: frozenset[int] = frozenset()
    for point in sorted({each.low for each in spans}):
        here = frozenset(place for place, each in enumerate(spans) if each.holds(point))
        if len(here) > len(best) and any(not tells[place].isdisjoint(here) for place in here):
            best = here
    return frozenset(heard[place] for place in best)


def _agreed(kind: Agreement, bound: Bound, shared: Interval, rows: tuple[Reading, ...]) -> Worked:
    return Worked(kind, bound, floor(shared.low), shared.grams, rows)


def _with_roles(
    readings: Sequence[Reading], heard: Sequence[Reading], agreeing: frozenset[Reading]
) -> tuple[Reading, ...]:
    roles = dict.fromkeys(readings, Role.SELF_LIMITED)
    roles.update(dict.fromkeys(heard, Role.OUTLIER if agreeing else Role.ALONE))
    roles.update(dict.fromkeys(agreeing, Role.AGREES))
    return tuple(msgspec.structs.replace(each, role=roles[each]) for each in readings)


def _capped(worked: Worked, cap: int) -> Worked:
    """No figure above a cap, and nothing said to lie above it."""
    interval = None if worked.interval is None else (min(worked.interval[0], cap), min(worked.interval[1], cap))
    lowered = worked.figure > cap
    return msgspec.structs.replace(
        worked,
        figure=min(worked.figure, cap),
        interval=interval,
        uncapped=worked.figure if lowered else None,
    )


# The other methods. Each takes in claims on a vehicle's roof limit, /takes/0 first.


class Derived(msgspec.Struct, frozen=True):
    """A roof limit worked back from others, in grams. `may_set` is False for a guess, which never sets at 0.80."""

    grams: int
    bound: Bound
    basis: Basis
    condition: Condition
    excluded_mass: Stated | None = None
    may_set: bool = True


def net_to_gross(limit: Statement, mass: Statement, counts: Counts) -> Derived:
    """What a roof takes, carrier counted, where its limit leaves a carrier out: the limit and that carrier's own mass,
    taken at the low end of its reading. `counts` are those of the carrier's confirmed record."""
    condition = _condition_of(limit)
    if limit.basis is not Basis.EXCLUDES_CARRIER:
        raise invalid("/takes/0", "not_net", "Take in a limit that excludes the carrier; any other counts it already.")
    if limit.excluded_mass is not None:
        raise invalid(
            "/takes/0", "mass_already_said", "The limit says itself how heavy the carrier is that it leaves out."
        )
    if mass.quantity is not Quantity.OWN_MASS:
        raise invalid("/takes/1", "not_an_own_mass", "Take in the own mass of the carrier that the limit leaves out.")
    bound = _sum_bound(limit.bound, mass.bound)
    times = _fewest(mass.per or Per.TOTAL, counts)
    if times is None:
        raise invalid("/takes/1", "count_unknown", "Confirm how many bars or feet the carrier has, or take a total.")
    low = interval_of(mass.stated, "/takes/1").low
    return Derived(limit_grams(limit.stated) + floor(low, times), bound, Basis.INCLUDES_CARRIER, condition)


def factor(on_road: Statement, by: Statement) -> Derived:
    """An off-road limit: the on-road one times an off-road factor on the roof limit. It names no excluded mass, since
    the carrier that is left out gets no lighter."""
    _on_road(on_road)
    if by.quantity is not Quantity.OFF_ROAD_FACTOR or by.applies_to not in ON_ROOF:
        raise invalid("/takes/1", "not_a_roof_factor", "Take in an off_road_factor that applies to the roof_limit.")
    grams = floor(parse_mass(on_road.stated) * factor_of(by))
    return Derived(grams, on_road.bound, _basis(on_road), Condition.OFF_ROAD)


def sister_vehicle(limit: Statement) -> Derived:
    """The limit of the same body under another name, as it is."""
    condition = _condition_of(limit)
    return Derived(limit_grams(limit.stated), limit.bound, _basis(limit), condition, limit.excluded_mass)


def parked_multiple(on_road: Statement, multiple: int) -> Derived:
    """A guess at a parked limit: a whole multiple of the on-road one."""
    _on_road(on_road)
    if not 1 <= multiple <= MOST_TIMES:
        raise invalid("/multiple", "bad_multiple", f"Give a whole number from 1 to {MOST_TIMES}.")
    grams = floor(parse_mass(on_road.stated), multiple)
    return Derived(grams, on_road.bound, _basis(on_road), Condition.PARKED, may_set=False)


def _condition_of(limit: Statement) -> Condition:
    if limit.quantity is not Quantity.ROOF_LIMIT or limit.condition is None:
        raise invalid("/takes/0", "not_a_roof_limit", "Take in a claim on a vehicle's roof_limit.")
    return limit.condition


def _on_road(limit: Statement) -> None:
    if _condition_of(limit) is not Condition.ON_ROAD:
        raise invalid("/takes/0", "not_on_road", "Take in an on_road limit; other conditions are not worked back from.")


def _basis(limit: Statement) -> Basis:
    return limit.basis or Basis.NOT_STATED


def _sum_bound(limit: Bound, mass: Bound) -> Bound:
    """What a limit and a mass together are. With one of them perhaps less and the other perhaps more, nothing is told."""
    if mass is Bound.AT_MOST:
        raise invalid("/takes/1", "mass_at_most", "The carrier may weigh less than this. Take in a mass that is exact.")
    if limit is Bound.AT_MOST and mass is Bound.AT_LEAST:
        raise invalid(
            "/takes/1",
            "opposite_bounds",
            "At most this limit and at least this mass bound no sum. Take in an exact mass.",
        )
    return mass if limit is Bound.EXACT else limit


def _fewest(per: Per, counts: Counts) -> int | None:
    """How many times a mass counts at least: half a pair of bars is none. None where the count is not known."""
    match per:
        case Per.TOTAL:
            return 1
        case Per.BAR:
            return counts.bars
        case Per.PAIR:
            return None if counts.bars is None else counts.bars // 2
        case Per.FOOT:
            return counts.feet
