"""What stewards send to correct a record, to make two subjects one, or to make one two."""

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from app.services.inputs import Bodies, Claims, Few, Input, LongText, Markets, Name, Roofs, Slug, Year, YearsIn

Fitments = Annotated[str, Meta(pattern="^F[0-9]{1,12}$")]
Distinct = Annotated[list[Slug], Meta(max_length=Few)]
MOST_MOVED = 200
"""A split names at most so many claims: its entry is in the stream of each."""


# Corrections: all that the record says from now on, but for its maker


class CorrectedVehicle(Input, frozen=True, kw_only=True):
    """A vehicle's record as it should be. What is null is not said."""

    model: Name
    series: Name | None
    years: YearsIn
    bodies: Bodies | None
    roofs: Roofs | None
    markets: Markets | None
    reason: LongText
    distinct_from: Distinct = msgspec.field(default_factory=list)


class CorrectedCarrier(Input, frozen=True, kw_only=True):
    """A carrier's record as it should be. What is null is not said."""

    model: Name
    series: Name | None
    kind: Literal["crossbars", "platform", "basket", "tray"]
    first_year: Year | None
    bars: Annotated[int, Meta(ge=1, le=20)] | None
    fixing: Literal["built_in", "separate"] | None
    reason: LongText
    distinct_from: Distinct = msgspec.field(default_factory=list)


class CorrectedFixing(Input, frozen=True, kw_only=True):
    """A fixing's record as it should be. What is null is not said."""

    model: Name
    series: Name | None
    first_year: Year | None
    feet: Annotated[int, Meta(ge=1, le=40)] | None
    holds: Annotated[
        list[Literal["gutter", "fixed_points", "flush_rail", "raised_rail", "track", "drilled"]],
        Meta(min_length=1, max_length=6),
    ]
    reason: LongText
    distinct_from: Distinct = msgspec.field(default_factory=list)


class CorrectedGear(Input, frozen=True, kw_only=True):
    """A gear item's record as it should be. What is null is not said."""

    model: Name
    series: Name | None
    first_year: Year | None
    category: Name
    reason: LongText
    distinct_from: Distinct = msgspec.field(default_factory=list)


class CorrectedFitment(Input, frozen=True, kw_only=True):
    """A fitment's record as it should be; what it joins stays. What is null is not said."""

    fixing: Slug | None
    roofs: Roofs | None
    reason: LongText


# Placements

MadeKind = Literal["vehicle", "carrier", "fixing", "gear"]


class NewMerger(Input, frozen=True):
    """Two subjects of one kind are one, to be known as `into`."""

    kind: MadeKind
    subject: Slug
    into: Slug
    reason: LongText


class NewSplit(Input, frozen=True):
    """Some claims and fitments of a subject belong to another one of its kind, which is entered already."""

    kind: MadeKind
    subject: Slug
    onto: Slug
    reason: LongText
    claims: Annotated[list[Claims], Meta(max_length=MOST_MOVED)] = msgspec.field(default_factory=list)
    fitments: Annotated[list[Fitments], Meta(max_length=MOST_MOVED)] = msgspec.field(default_factory=list)


class NewUndoing(Input, frozen=True):
    """A placement in force was wrong."""

    reason: LongText


class Agreement(Input, frozen=True):
    """Somebody else agrees with what is proposed: it comes into force."""


class Drop(Input, frozen=True):
    """A proposal is taken back, or refused."""

    reason: LongText | None = None
