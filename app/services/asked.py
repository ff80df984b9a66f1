"""What people ask: one type for each question, with the limits of every field. The interfaces decode into these."""

from decimal import Decimal
from typing import Annotated, Literal

from msgspec import Meta

from app.core.claim import AppliesTo, Condition, Quantity
from app.core.scope import Body
from app.services.inputs import Figure, Input, Market, MassUnit, Name, Roofs, Slug, Year

MassNumber = Annotated[Decimal, Meta(extra_json_schema={"type": "number", "minimum": 0, "maximum": 100_000})]
Confidence = Annotated[Decimal, Meta(extra_json_schema={"type": "number", "minimum": 0, "maximum": 1})]
VETTED_CONFIDENCE = Decimal("0.8")


class ContextIn(Input, frozen=True):
    """The car in front of the asker, as far as they know it."""

    year: Year | None = None
    body: Body | None = None
    roofs: Roofs | None = None
    market: Market | None = None


class GivenPartIn(Input, frozen=True):
    """A carrier or fixing as its owner describes it, in the unit of the request."""

    own_mass: MassNumber | None = None
    load_rating: MassNumber | None = None
    rating_basis: Literal["includes_carrier", "excludes_carrier", "not_stated"] = "not_stated"
    off_road_factor: Figure | None = None
    factor_applies_to: AppliesTo | None = None


class PartIn(Input, frozen=True):
    """A carrier or fixing of the registry, by id, or the asker's own."""

    id: Slug | None = None
    given: GivenPartIn | None = None


class GearIn(Input, frozen=True):
    """Something carried: of the registry, by id; by its mass; or by its category."""

    id: Slug | None = None
    name: Name | None = None
    mass: MassNumber | None = None
    tolerance: MassNumber | None = None
    category: Name | None = None
    quantity: Annotated[int, Meta(ge=1, le=100)] = 1


class PersonIn(Input, frozen=True):
    """Somebody on a parked roof."""

    mass: MassNumber
    name: Name | None = None
    tolerance: MassNumber | None = None


class GivenRoofIn(Input, frozen=True):
    """The asker's own on-road roof limit, in the unit of the request."""

    limit: MassNumber
    basis: Literal["includes_carrier", "excludes_carrier", "not_stated"] = "not_stated"
    excluded_mass: MassNumber | None = None


AsOf = Annotated[int, Meta(ge=0)] | Annotated[str, Meta(max_length=40)]


class BudgetIn(Input, frozen=True, kw_only=True):
    """What stands on a roof, from the roof up, and what it should carry."""

    condition: Condition
    vehicle: Slug | None = None
    context: ContextIn = ContextIn()
    min_confidence: Confidence = VETTED_CONFIDENCE
    unit: MassUnit = "kg"
    fixing: PartIn | Literal["built_in"] | None = None
    carriers: Annotated[list[PartIn], Meta(max_length=8)] = []
    gear: Annotated[list[GearIn], Meta(max_length=200)] = []
    people: Annotated[list[PersonIn], Meta(max_length=20)] = []
    given_roof: GivenRoofIn | None = None
    parked_multiple: Annotated[int, Meta(ge=1, le=10)] | None = None
    as_of: AsOf | None = None


class BudgetsIn(Input, frozen=True):
    """Up to a thousand budgets in one call."""

    budgets: Annotated[list[BudgetIn], Meta(min_length=1, max_length=1000)]


class StayingGearIn(GearIn, frozen=True):
    """Something carried; what `stays` is never among what may be left behind."""

    stays: bool = False


class OptionsIn(BudgetIn, frozen=True, kw_only=True):
    """A budget, of which is asked what else could be done with the load."""

    gear: Annotated[list[StayingGearIn], Meta(max_length=200)] = []  # type: ignore[assignment]


class LimitIn(Input, frozen=True, kw_only=True):
    """One figure of one subject: which, in which condition, for which car."""

    condition: Condition | None = None
    quantity: Quantity | None = None
    context: ContextIn = ContextIn()
    min_confidence: Confidence = VETTED_CONFIDENCE
    unit: MassUnit = "kg"
    as_of: AsOf | None = None
