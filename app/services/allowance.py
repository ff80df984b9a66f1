"""A newcomer's daily allowance, counted in the transaction of what is submitted: those who write take turns, so that
two requests at once cannot both be the last."""

from datetime import UTC, datetime, time, timedelta
from typing import Final

from app.core.allowance import Submitted, allowance
from app.core.desk import KNOWN_FROM
from app.core.errors import CantrailError, Kind
from app.core.permissions import Role
from app.persistence import desk_stores as stores
from app.persistence.base import utc_text
from app.persistence.queries import desk as queries
from app.persistence.session import WriteSession

DAYS_KEPT: Final = timedelta(days=2)


def spend(session: WriteSession, *, account: str, role: Role, now: datetime, what: Submitted) -> None:
    """Count one thing more that somebody submits. Raises `daily_allowance` where that is more than they may today.
    Stewards have no limit."""
    if role is Role.STEWARD:
        return
    approved = queries.approved_claims(session, author=account, most=KNOWN_FROM)
    most = allowance(what, approved)
    if most is None:
        return
    today = now.astimezone(UTC).date()
    if stores.tally(session, account=account, day=today.isoformat(), what=what) <= most:
        return
    free_at = datetime.combine(today + timedelta(days=1), time(), UTC)
    raise CantrailError(
        Kind.TOO_MANY,
        "daily_allowance",
        f"You have submitted {most} {what} today, which is as many as you may while few of your claims are approved. "
        f"You may go on at {utc_text(free_at)}.",
        details={
            "allowance": most,
            "free_at": utc_text(free_at),
            "retry_after": int((free_at - now).total_seconds()) + 1,
        },
    )


def forget(session: WriteSession, now: datetime) -> None:
    """Forget what was counted on days that are over."""
    stores.forget_tallies(session, before=(now.astimezone(UTC) - DAYS_KEPT).date().isoformat())
