"""Writing what stands beside the desk and is not in the ledger: holds, counts of what was asked, daily tallies."""

from collections.abc import Collection
from datetime import datetime
from typing import Final

from sqlalchemy import bindparam, delete, update
from sqlmodel import col

from app.core.claim import Quantity, Subject
from app.persistence.base import table_of
from app.persistence.models import AskedCount, DayTally, DeskHold
from app.persistence.session import WriteSession

_HOLD: Final = table_of(DeskHold).c
_LET_GO: Final = delete(table_of(DeskHold)).where(
    _HOLD.about.in_(bindparam("abouts", expanding=True)), _HOLD.account == bindparam("of")
)

_MOST: Final = 2**31 - 1
"""The largest number that PostgreSQL's INTEGER holds."""


def hold(session: WriteSession, *, kind: str, about: str, account: str, until: datetime) -> None:
    """Let somebody have a piece of work until a time, whoever had it before."""
    session.merge(DeskHold(kind=kind, about=about, account=account, until=until))
    session.flush()


def release(session: WriteSession, *, kind: str, about: str, account: str, now: datetime) -> None:
    """Take a piece of work out of somebody's hands, if it is in theirs; that they had it is known for a while."""
    own = (col(DeskHold.kind) == kind, col(DeskHold.about) == about, col(DeskHold.account) == account)
    session.exec(update(DeskHold).where(*own, col(DeskHold.until) > now).values(until=now))


def let_go(session: WriteSession, *, abouts: Collection[str], account: str) -> None:
    """Take all work about some things out of somebody's hands."""
    session.connection().execute(_LET_GO, {"abouts": list(abouts), "of": account})
    for seen in [each for each in session.identity_map.values() if isinstance(each, DeskHold)]:
        session.expunge(seen)


def forget_holds(session: WriteSession, *, before: datetime) -> None:
    """Forget the holds that were over before a time."""
    session.exec(delete(DeskHold).where(col(DeskHold.until) < before))


def count_asked(
    session: WriteSession, *, subject: Subject, quantity: Quantity, condition: str, asked: int, unmet: int
) -> None:
    """Add to how often a figure was asked for, and how often in vain."""
    known = session.get(AskedCount, (subject.kind, subject.id, quantity, condition))
    row = known or AskedCount(subject_kind=subject.kind, subject_id=subject.id, quantity=quantity, condition=condition)
    row.asked = min(row.asked + asked, _MOST)
    row.unmet = min(row.unmet + unmet, _MOST)
    session.add(row)
    session.flush()


def tally(session: WriteSession, *, account: str, day: str, what: str) -> int:
    """Count one thing more that an account submits on a day, and give how many it is then."""
    row = session.get(DayTally, (account, day, what)) or DayTally(account=account, day=day, what=what)
    row.submitted += 1
    session.add(row)
    session.flush()
    return row.submitted


def forget_tallies(session: WriteSession, *, before: str) -> None:
    """Forget what was submitted before a day."""
    session.exec(delete(DayTally).where(col(DayTally.day) < before))
