"""What is counted of reviewing: mismatches, what waits and for how long, what was decided and why."""

from typing import NamedTuple

from sqlmodel import col, func, select

from app.core.desk import WorkKind
from app.persistence.models import Claim, Decision, DeskWork, Reading, Settlement
from app.persistence.session import AnySession

_NONE_DIFFER = len("[]")
"""Differences are kept as a JSON list."""


class Keyed(NamedTuple):
    """Blind readings of one quantity in one month (YYYY-MM): how many, and how many of them the claim went beyond."""

    month: str
    quantity: str
    readings: int
    mismatches: int


class Decided(NamedTuple):
    """Decisions of one day (YYYY-MM-DD)."""

    day: str
    decision: str
    number: int


def readings(session: AnySession) -> list[Keyed]:
    """Every blind reading, counted by month and quantity."""
    month = func.substr(Reading.at, 1, 7)
    differs = func.length(Reading.differences) > _NONE_DIFFER
    wanted = (
        select(month, Claim.quantity, func.count(), func.count(func.nullif(differs, False)))
        .join(Claim, col(Claim.id) == Reading.claim)
        .group_by(month, col(Claim.quantity))
        .order_by(month, col(Claim.quantity))
    )
    return [Keyed(*row) for row in session.exec(wanted)]


def decisions_by_day(session: AnySession, *, since: str) -> list[Decided]:
    """The decisions since a day, counted by day and by what was decided."""
    day = func.substr(Decision.at, 1, 10)
    wanted = (
        select(day, Decision.decision, func.count())
        .where(Decision.at >= since)
        .group_by(day, col(Decision.decision))
        .order_by(day)
    )
    return [Decided(*row) for row in session.exec(wanted)]


def rejections_by_code(session: AnySession) -> dict[str, int]:
    """How often a claim was rejected, and how often somebody voted to refute one, by code."""
    found: dict[str, int] = {}
    for table in (Decision, Settlement):
        wanted = select(table.code, func.count()).where(col(table.code).is_not(None)).group_by(col(table.code))
        for code, number in session.exec(wanted):
            found[str(code)] = found.get(str(code), 0) + number
    return found


def number_waiting(session: AnySession, *, kind: WorkKind) -> int:
    """How much work of a kind waits."""
    return session.exec(select(func.count()).select_from(DeskWork).where(DeskWork.kind == kind)).one()


def since_at(session: AnySession, *, kind: WorkKind, place: int) -> str | None:
    """Since when the work of a kind waits that stands at a place by age: 0 is the oldest."""
    wanted = select(DeskWork.since).where(DeskWork.kind == kind).order_by(col(DeskWork.since)).offset(place).limit(1)
    return session.exec(wanted).first()
