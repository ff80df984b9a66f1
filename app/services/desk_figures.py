"""The published figures of reviewing: how often blind readings differ, how long work waits, what is decided and why."""

from datetime import UTC, date, datetime, timedelta
from threading import Lock
from typing import Final

import msgspec

from app.core.desk import WorkKind
from app.core.desk_figures import Interval, place_by_age, wilson
from app.persistence import ledger
from app.persistence.queries import desk_figures as queries
from app.persistence.session import AnySession

WEEKS: Final = 12
DECIMALS: Final = 4
FRESH_FOR: Final = timedelta(minutes=1)
AGED: Final = (
    WorkKind.FIRST_READING,
    WorkKind.EVIDENCE_BROUGHT,
    WorkKind.SECOND_READING,
    WorkKind.SETTLEMENT,
    WorkKind.MISMATCH,
    WorkKind.REVIEW_DUE,
)


class Rate(msgspec.Struct, frozen=True):
    """How often the claim went beyond a blind reading: of how many readings, the rate, and its 95 % interval (Wilson).
    Null where there is no reading."""

    readings: int
    mismatches: int
    rate: float | None
    interval: Interval | None


class QuantityRate(msgspec.Struct, frozen=True):
    """The rate for one quantity."""

    quantity: str
    mismatch: Rate


class MonthRate(msgspec.Struct, frozen=True):
    """The rate for the readings of one month (YYYY-MM)."""

    month: str
    mismatch: Rate


class Ages(msgspec.Struct, frozen=True):
    """Of the work of one kind that waits now: how much, and for how many days: the median, the 90th percentile (both by
    nearest rank) and the oldest. Null where none waits."""

    kind: str
    waiting: int
    median_days: float | None
    p90_days: float | None
    oldest_days: float | None


class Week(msgspec.Struct, frozen=True):
    """What was decided in one week, named by its Monday."""

    monday: str
    approve: int
    reject: int
    ask_evidence: int


class CodeCount(msgspec.Struct, frozen=True):
    """How often a code was given for a rejection or a vote to refute."""

    code: str
    number: int


class DeskFigures(msgspec.Struct, frozen=True):
    """The figures of reviewing, as of an entry of the ledger; ages as of the time `at`."""

    as_of: int
    at: str
    mismatch: Rate
    by_quantity: list[QuantityRate]
    by_month: list[MonthRate]
    ages: list[Ages]
    weeks: list[Week]
    rejections: list[CodeCount]


class Counted(msgspec.Struct, frozen=True):
    """What was counted, as of which entry and when, and the Monday up to which weeks were counted."""

    head: int
    at: datetime
    monday: date
    mismatch: Rate
    by_quantity: list[QuantityRate]
    by_month: list[MonthRate]
    weeks: list[Week]
    rejections: list[CodeCount]
    since: list[tuple[str, int, tuple[str, ...]]]


class Figures:
    """The published figures. Everybody may ask for them: they are counted again once the ledger has gone on, and no more
    than once in a while."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._counted: Counted | None = None

    def show(self, session: AnySession, now: datetime) -> DeskFigures:
        """The figures as of now."""
        head = ledger.head(session)
        today = now.astimezone(UTC).date()
        monday = today - timedelta(days=today.weekday())
        with self._lock:
            counted = self._counted
            if counted is None or _is_old(counted, head, monday, now):
                counted = self._counted = _count(session, head, monday, now)
        return DeskFigures(
            as_of=counted.head,
            at=now.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z"),
            mismatch=counted.mismatch,
            by_quantity=counted.by_quantity,
            by_month=counted.by_month,
            ages=[_ages(kind, number, since, now) for kind, number, since in counted.since],
            weeks=counted.weeks,
            rejections=counted.rejections,
        )


def _is_old(counted: Counted, head: int, monday: date, now: datetime) -> bool:
    return counted.monday != monday or (counted.head != head and now - counted.at >= FRESH_FOR)


def _count(session: AnySession, head: int, monday: date, now: datetime) -> Counted:
    keyed = queries.readings(session)
    return Counted(
        head=head,
        at=now,
        monday=monday,
        mismatch=_rate(keyed),
        by_quantity=[
            QuantityRate(quantity, _rate([each for each in keyed if each.quantity == quantity]))
            for quantity in sorted({each.quantity for each in keyed})
        ],
        by_month=[
            MonthRate(month, _rate([each for each in keyed if each.month == month]))
            for month in sorted({each.month for each in keyed})
        ],
        weeks=_weeks(session, monday),
        rejections=[CodeCount(code, number) for code, number in sorted(queries.rejections_by_code(session).items())],
        since=[_waiting(session, kind) for kind in AGED],
    )


def _rate(keyed: list[queries.Keyed]) -> Rate:
    number = sum(each.readings for each in keyed)
    mismatches = sum(each.mismatches for each in keyed)
    found = wilson(mismatches, number)
    if found is None:
        return Rate(0, 0, None, None)
    interval = Interval(round(found.low, DECIMALS), round(found.high, DECIMALS))
    return Rate(number, mismatches, round(mismatches / number, DECIMALS), interval)


def _weeks(session: AnySession, monday: date) -> list[Week]:
    """The last weeks, this one included, oldest first; those without a decision too."""
    first = monday - timedelta(weeks=WEEKS - 1)
    counts = {first + timedelta(weeks=week): {"approve": 0, "reject": 0, "ask_evidence": 0} for week in range(WEEKS)}
    for each in queries.decisions_by_day(session, since=first.isoformat()):
        day = date.fromisoformat(each.day)
        week = counts.get(day - timedelta(days=day.weekday()))
        if week is not None:
            week[each.decision] += each.number
    return [Week(begun.isoformat(), **told) for begun, told in counts.items()]


def _waiting(session: AnySession, kind: WorkKind) -> tuple[str, int, tuple[str, ...]]:
    number = queries.number_waiting(session, kind=kind)
    if number == 0:
        return kind, 0, ()
    places = (place_by_age(number, 50), place_by_age(number, 90), 0)
    found = (queries.since_at(session, kind=kind, place=place) for place in places)
    return kind, number, tuple(each for each in found if each is not None)


def _ages(kind: str, number: int, since: tuple[str, ...], now: datetime) -> Ages:
    days = [round(max(0.0, (now - datetime.fromisoformat(each)) / timedelta(days=1)), 1) for each in since]
    median, ninety, oldest = days or (None, None, None)
    return Ages(kind, number, median, ninety, oldest)
