"""The outbox: which job is next, and how many wait."""

from datetime import datetime

from sqlmodel import col, func, or_, select

from app.persistence.models import OutboxJob
from app.persistence.session import AnySession


def next_due(session: AnySession, *, now: datetime) -> OutboxJob | None:
    """The job that has been due for longest and that nobody has."""
    free = or_(col(OutboxJob.leased_until).is_(None), col(OutboxJob.leased_until) <= now)
    due = select(OutboxJob).where(OutboxJob.due_at <= now, free)
    return session.exec(due.order_by(col(OutboxJob.due_at), OutboxJob.kind, OutboxJob.about).limit(1)).first()


def job(session: AnySession, *, kind: str, about: str) -> OutboxJob | None:
    """One job."""
    return session.get(OutboxJob, (kind, about))


def waiting(session: AnySession, *, now: datetime) -> int:
    """How many jobs are due, those included that a worker has."""
    return session.exec(select(func.count()).select_from(OutboxJob).where(OutboxJob.due_at <= now)).one()
