"""The outbox: work that is done later. Whoever needs it asks in the transaction that makes it needed; a worker takes it
for a while, does the slow part without a transaction, and enters what came of it together with striking it off."""

from collections.abc import Callable
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final
from uuid import uuid4

import msgspec

from app.persistence import stores
from app.persistence.queries import outbox as queries
from app.persistence.session import AnySession, WriteSession
from app.services.work import Work


class JobKind(StrEnum):
    """What is done later."""

    FETCH = "fetch"
    READ = "read"
    LOOK = "look"
    REMOVE = "remove"
    DAILY = "daily"


class Job(msgspec.Struct, frozen=True):
    """One thing to do: about a document (`fetch`, `read`), a citation (`look`), a file (`remove`), or the whole registry
    (`daily`). `lost` is how often in a row whoever had it was never heard of again."""

    kind: JobKind
    about: str
    attempts: int
    lease: str
    lost: int = 0


Outcome = Callable[[Work], None]
"""Enters what came of a job, in the transaction that strikes it off."""

LEASE: Final = timedelta(minutes=2)
"""How long a worker has a job: longer than any takes. Who is killed loses it, and another does it."""

WAITS: Final = (timedelta(minutes=1), timedelta(minutes=10), timedelta(hours=2))
"""How long a job that failed waits before it is tried again, the last of them again and again. Fetching is given up
then; nothing else is, since what keeps it from being done is here and can be mended."""

LOST: Final = "worker_lost"
"""The failure of a job whose worker was killed: by what it did, perhaps."""

MOST_LOST: Final = 4
"""How many workers in a row a job may take with it before it is given up. Only what reads or fetches is: the rest does
nothing that could kill a worker."""

WHOLE: Final = "registry"
"""What the daily round is about."""


def ask(work: Work, kind: JobKind, about: str, *, after: timedelta = timedelta()) -> None:
    """Ask for a job. One that waits already is done at the earlier of the two times; one that a worker has is done anew,
    since what that worker looked at may have changed since."""
    stores.put_job(work.session, kind=kind, about=about, due_at=work.now + after)


def take(session: WriteSession, now: datetime) -> Job | None:
    """Take the job that has been due for longest, or None where nothing is due. That it was taken before, and nothing
    came of it, is counted: whoever had it was killed."""
    row = queries.next_due(session, now=now)
    if row is None:
        return None
    if row.lease is not None:
        stores.lose_job(session, job=row, failure=LOST)
    lost = row.attempts if row.failure == LOST else 0
    job = Job(JobKind(row.kind), row.about, row.attempts, uuid4().hex, lost)
    stores.lease_job(session, job=row, lease=job.lease, until=now + LEASE)
    return job


def is_due(session: AnySession, now: datetime) -> bool:
    """Whether there is a job to take."""
    return queries.next_due(session, now=now) is not None


def finish(work: Work, job: Job, outcome: Outcome) -> bool:
    """Enter what came of a job and strike it off; nothing where somebody else has taken it over meanwhile. What the
    outcome asks for anew, of the same kind and about the same, stays."""
    row = queries.job(work.session, kind=job.kind, about=job.about)
    if row is None or row.lease != job.lease:
        return False
    stores.strike_job(work.session, job=row)
    outcome(work)
    return True


def put_off(session: WriteSession, now: datetime, job: Job, failure: str) -> None:
    """Let a job that failed wait, the longer the oftener it has failed."""
    row = queries.job(session, kind=job.kind, about=job.about)
    if row is not None and row.lease == job.lease:
        wait = WAITS[min(job.attempts, len(WAITS) - 1)]
        stores.postpone_job(session, job=row, due_at=now + wait, failure=failure)


def ask_daily(session: WriteSession, now: datetime) -> None:
    """Ask for the first daily round, where nobody has: each asks for the next one."""
    if queries.job(session, kind=JobKind.DAILY, about=WHOLE) is None:
        stores.put_job(session, kind=JobKind.DAILY, about=WHOLE, due_at=now)


def is_given_up(job: Job) -> bool:
    """Whether a job has taken so many workers with it that it is not tried again."""
    return job.lost >= MOST_LOST


def is_last_try(job: Job) -> bool:
    """Whether a job has been tried as often as one that can be given up is."""
    return job.attempts >= len(WAITS)


def waiting(session: AnySession, now: datetime) -> int:
    """How many jobs are due."""
    return queries.waiting(session, now=now)
