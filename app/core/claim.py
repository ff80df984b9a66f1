"""Claims: one figure for one subject, quantity, condition and scope, from one source type, with citations."""

from enum import StrEnum
from fractions import Fraction

import msgspec

from app.core.mass import Counts, Per, Stated, Unit, limit_grams, own_mass_grams, parse_factor
from app.core.scope import SILENT, Scope


class SubjectKind(StrEnum):
    """What a claim may be about."""

    VEHICLE = "vehicle"
    CARRIER = "carrier"
    FIXING = "fixing"
    FITMENT = "fitment"
    GEAR = "gear"


class Subject(msgspec.Struct, frozen=True, order=True):
    """A claim's subject: its kind, and its slug (a fitment: its id)."""

    kind: SubjectKind
    id: str

    @property
    def stream(self) -> str:
        """The name of the subject's stream in the ledger."""
        return f"{self.kind}:{self.id}"


class Quantity(StrEnum):
    """What a figure measures."""

    ROOF_LIMIT = "roof_limit"
    LOAD_RATING = "load_rating"
    OWN_MASS = "own_mass"
    OFF_ROAD_FACTOR = "off_road_factor"


QUANTITIES: dict[SubjectKind, tuple[Quantity, ...]] = {
    SubjectKind.VEHICLE: (Quantity.ROOF_LIMIT, Quantity.OFF_ROAD_FACTOR),
    SubjectKind.CARRIER: (Quantity.LOAD_RATING, Quantity.OWN_MASS, Quantity.OFF_ROAD_FACTOR),
    SubjectKind.FIXING: (Quantity.LOAD_RATING, Quantity.OWN_MASS, Quantity.OFF_ROAD_FACTOR),
    SubjectKind.FITMENT: (Quantity.LOAD_RATING,),
    SubjectKind.GEAR: (Quantity.OWN_MASS,),
}

LIMITS = frozenset({Quantity.ROOF_LIMIT, Quantity.LOAD_RATING})


class Condition(StrEnum):
    """When a limit holds: driving on sealed roads, driving on unsealed ones, or parked."""

    ON_ROAD = "on_road"
    OFF_ROAD = "off_road"
    PARKED = "parked"


class Basis(StrEnum):
    """What a limit counts; for a carrier's own mass, whether its fittings are in."""

    INCLUDES_CARRIER = "includes_carrier"
    EXCLUDES_CARRIER = "excludes_carrier"
    INCLUDES_FIXING = "includes_fixing"
    EXCLUDES_FIXING = "excludes_fixing"
    NOT_STATED = "not_stated"


class Bound(StrEnum):
    """Whether the figure is the true one, or the true one is this or more, or this or less."""

    EXACT = "exact"
    AT_LEAST = "at_least"
    AT_MOST = "at_most"


class AppliesTo(StrEnum):
    """What an off-road factor multiplies."""

    OWN_RATING = "own_rating"
    ROOF_LIMIT = "roof_limit"
    BOTH = "both"


ON_ROOF = frozenset({None, AppliesTo.ROOF_LIMIT, AppliesTo.BOTH})
ON_OWN_RATING = frozenset({None, AppliesTo.OWN_RATING, AppliesTo.BOTH})
"""What a factor that does not say otherwise applies to: both."""


class SourceType(StrEnum):
    """What kind of source a claim rests on."""

    MANUAL_PAGE = "manual_page"
    MAKER_STATEMENT = "maker_statement"
    ACCESSORY_DERIVED = "accessory_derived"
    UNVERIFIED = "unverified"


class Interest(StrEnum):
    """What somebody has at stake in a figure, as they declare it."""

    NONE = "none"
    EMPLOYER = "employer"
    SELLS = "sells"
    OWNS = "owns"


class Statement(msgspec.Struct, frozen=True):
    """What is said: by a claim, or by a reviewer who reads the evidence blind.

    `excluded_mass` is how heavy the carrier is that a maker's `excludes_carrier` limit leaves out. A factor has
    `applies_to` and no condition, per or basis; an own mass has no condition.
    """

    quantity: Quantity
    stated: Stated
    condition: Condition | None = None
    per: Per | None = None
    basis: Basis | None = None
    excluded_mass: Stated | None = None
    bound: Bound = Bound.EXACT
    applies_to: AppliesTo | None = None
    scope: Scope = SILENT


class Pair(msgspec.Struct, frozen=True):
    """A limit as a pair in grams: `gross`, all that may be on the roof (or on this part, itself and its fixing
    included), and `net`, the cargo alone (for a part: all that is on it). None is unbounded."""

    gross: int | None
    net: int | None


def limit_pair(statement: Statement, kind: SubjectKind, counts: Counts) -> Pair:
    """A stated limit as a pair. What does not say whether it counts the carrier reads as if it did."""
    figure = limit_grams(statement.stated, statement.per or Per.TOTAL, counts)
    if statement.basis is not Basis.EXCLUDES_CARRIER:
        return Pair(gross=figure, net=None)
    if kind is not SubjectKind.VEHICLE:
        return Pair(gross=None, net=figure)
    if statement.excluded_mass is None:
        return Pair(gross=figure, net=None)
    return Pair(gross=figure + limit_grams(statement.excluded_mass), net=figure)


def mass_of(statement: Statement, counts: Counts) -> int | None:
    """A stated own mass in grams, or None where it is for each of an unknown number."""
    return own_mass_grams(statement.stated, statement.per or Per.TOTAL, counts)


def factor_of(statement: Statement) -> Fraction:
    """A stated off-road factor."""
    return parse_factor(statement.stated.value)


def total_grams(statement: Statement, counts: Counts) -> int | None:
    """The figure as grams in all, for comparing statements; None for a factor or a mass of unknown number."""
    if statement.stated.unit is Unit.FACTOR:
        return None
    if statement.quantity is Quantity.OWN_MASS:
        return mass_of(statement, counts)
    return limit_grams(statement.stated, statement.per or Per.TOTAL, counts)
