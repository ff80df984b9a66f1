"""Which vehicles lack which roof limit."""

from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Subquery, and_, exists, literal, tuple_, union_all
from sqlalchemy import select as plain_select
from sqlmodel import col, func, or_, select

from app.core.claim import Condition, Quantity, SubjectKind
from app.core.lifecycle import State
from app.core.review import APPROVALS_TO_SET
from app.persistence.base import WORDS
from app.persistence.models import AskedCount, Claim, Vehicle
from app.persistence.queries.placements import merged_away
from app.persistence.session import AnySession


class Lacking(NamedTuple):
    """A vehicle without a roof limit in one condition, and how often it was asked for, and in vain."""

    vehicle: Vehicle
    condition: str
    asked: int
    unmet: int


class Asked(NamedTuple):
    """The last of a page of those that were asked for."""

    unmet: int
    asked: int
    vehicle: str
    condition: str


class Unasked(NamedTuple):
    """The last of a page of those that were not."""

    vehicle: str
    condition: str


def asked_for(
    session: AnySession, *, after: Asked | None, limit: int, maker: str | None, condition: Condition | None
) -> list[Lacking]:
    """Those that were asked for, the most often in vain first."""
    wanted = (
        select(Vehicle, AskedCount.condition, AskedCount.asked, AskedCount.unmet)
        .join(AskedCount, and_(*_counted(col(Vehicle.slug))))
        .where(~_covered(col(Vehicle.slug), col(AskedCount.condition)))
        .where(col(Vehicle.slug).not_in(merged_away(SubjectKind.VEHICLE)))
    )
    if maker is not None:
        # By the counts' own column: so nothing is looked up for those of other makers.
        made = select(Vehicle.slug).where(Vehicle.maker == maker)
        wanted = wanted.where(col(AskedCount.subject_id).in_(made))
    if condition is not None:
        wanted = wanted.where(AskedCount.condition == condition)
    order = (col(AskedCount.unmet), col(AskedCount.asked), col(AskedCount.subject_id), col(AskedCount.condition))
    if after is not None:
        last = (after.unmet, after.asked, after.vehicle, after.condition)
        wanted = wanted.where(tuple_(*order) < tuple_(*(literal(each) for each in last)))
    found = session.exec(wanted.order_by(*(each.desc() for each in order)).limit(limit))
    return [Lacking(*row) for row in found]


def never_asked_for(
    session: AnySession, *, after: Unasked | None, limit: int, maker: str | None, condition: Condition | None
) -> list[Lacking]:
    """Those that were never asked for, by vehicle and condition."""
    conditions = _conditions(condition)
    of = conditions.c.condition
    counted = exists().where(*_counted(col(Vehicle.slug)), col(AskedCount.condition) == of)
    wanted = select(Vehicle, of).join(conditions, literal(value=True)).where(~counted, ~_covered(col(Vehicle.slug), of))
    wanted = wanted.where(col(Vehicle.slug).not_in(merged_away(SubjectKind.VEHICLE)))
    if maker is not None:
        wanted = wanted.where(Vehicle.maker == maker)
    if after is not None:
        wanted = wanted.where(
            or_(
                col(Vehicle.slug) > after.vehicle,
                and_(col(Vehicle.slug) == after.vehicle, of > after.condition),
            )
        ).where(col(Vehicle.slug) >= after.vehicle)
    found = session.exec(wanted.order_by(col(Vehicle.slug), of).limit(limit))
    return [Lacking(vehicle, each, 0, 0) for vehicle, each in found]


def undecided(session: AnySession, *, vehicles: list[str]) -> dict[tuple[str, str], int]:
    """How many claims of these vehicles' roof limits wait to be decided, by vehicle and condition."""
    wanted = (
        select(Claim.subject_id, Claim.condition, func.count())
        .where(
            Claim.subject_kind == SubjectKind.VEHICLE,
            col(Claim.subject_id).in_(vehicles),
            Claim.quantity == Quantity.ROOF_LIMIT,
            col(Claim.state).in_((State.SUBMITTED, State.NEEDS_EVIDENCE)),
        )
        .group_by(col(Claim.subject_id), col(Claim.condition))
    )
    return {(id, str(condition)): number for id, condition, number in session.exec(wanted)}


def _counted(slug: Any) -> tuple[ColumnElement[bool], ...]:
    return (
        col(AskedCount.subject_kind) == SubjectKind.VEHICLE,
        col(AskedCount.subject_id) == slug,
        col(AskedCount.quantity) == Quantity.ROOF_LIMIT,
    )


def _covered(slug: Any, condition: Any) -> ColumnElement[bool]:
    """Whether a claim of this very condition stands that two reviewers approved, undisputed and in date."""
    return exists().where(
        col(Claim.subject_kind) == SubjectKind.VEHICLE,
        col(Claim.subject_id) == slug,
        col(Claim.quantity) == Quantity.ROOF_LIMIT,
        col(Claim.condition) == condition,
        col(Claim.state) == State.APPROVED,
        col(Claim.approvals) >= APPROVALS_TO_SET,
        or_(col(Claim.overdue_years).is_(None), col(Claim.overdue_years) < 1),
    )


def _conditions(condition: Condition | None) -> Subquery:
    wanted = [condition] if condition is not None else list(Condition)
    return union_all(*(plain_select(literal(str(each), WORDS).label("condition")) for each in wanted)).subquery("each")
