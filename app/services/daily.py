"""What time has done, entered once a day: claims past their review-by date, disputes that lapse, and enquiries that
nobody answered."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import msgspec

from app.core import entries
from app.core.claim import Subject
from app.core.desk import HELD_FOR
from app.core.entries import SYSTEM
from app.core.permissions import Role, Scope
from app.core.review import years_after
from app.persistence import desk_stores, stores
from app.persistence.base import utc_text
from app.persistence.queries import claims as queries
from app.persistence.session import WriteSession
from app.services import allowance, attempts, desk_order, enquiries, superseding
from app.services.ports import EvidenceStore
from app.services.work import Caller, Work

LAPSES_AFTER = timedelta(days=14)
KEYS_KEPT = timedelta(days=7)
"""How long a request may be sent again with its idempotency key."""


class Daily(msgspec.Struct, frozen=True):
    """What a daily run entered."""

    aged: int
    lapsed: int
    unanswered: int = 0


def system_work(session: WriteSession, now: datetime, store: EvidenceStore) -> Work:
    """Work that the registry does by itself."""
    return Work(session, Caller(SYSTEM, Role.STEWARD, frozenset(Scope)), now, store)


def run(work: Work, progress: Callable[[int, int], None] | None = None) -> Daily:
    """Enter what is due by now; running it again the same day enters nothing more."""
    today = work.now.astimezone(UTC).date().isoformat()
    aging = [row for row in queries.claims_to_age(work.session, today=today) if (row.next_aged or today) < today]
    lapsing = queries.disputes_to_lapse(work.session, opened_before=utc_text(work.now - LAPSES_AFTER))
    unanswered = enquiries.due(work)
    total = len(aging) + len(lapsing) + len(unanswered)
    for done, row in enumerate(aging, start=1):
        subject = Subject(row.subject_kind, row.subject_id)
        work.enter(
            entries.ClaimAged(claim=row.id, years=whole_years(row.review_by or today, today)),
            [f"claim:{row.id}", *work.streams_of(subject)],
        )
        superseding.supersede_where_due(work, subject)
        if progress is not None:
            progress(done, total)
    for done, each in enumerate(lapsing, start=len(aging) + 1):
        claim = queries.claim(work.session, id=each.claim)
        streams = [f"claim:{each.claim}"]
        if claim is not None:
            streams.extend(work.streams_of(Subject(claim.subject_kind, claim.subject_id)))
        work.enter(entries.DisputeLapsed(dispute=each.id, claim=each.claim), streams)
        if progress is not None:
            progress(done, total)
    for done, id in enumerate(unanswered, start=len(aging) + len(lapsing) + 1):
        enquiries.lapse(work, id)
        if progress is not None:
            progress(done, total)
    stores.forget_answers(work.session, before=work.now - KEYS_KEPT)
    attempts.clean(work.session, now=work.now)
    desk_stores.forget_holds(work.session, before=work.now - HELD_FOR)
    allowance.forget(work.session, work.now)
    desk_order.every_day(work.session)
    return Daily(len(aging), len(lapsing), len(unanswered))


def whole_years(review_by: str, today: str) -> int:
    """How many whole years a day is past a review-by date."""
    years = date.fromisoformat(today).year - date.fromisoformat(review_by).year
    return years - 1 if years_after(review_by, years) >= today and years > 0 else max(0, years)
