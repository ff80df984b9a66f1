"""The outbox: work that is done later, by the worker. A job is written in the transaction that makes it needed."""

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from app.persistence.base import WORDS, Row, UtcText


class OutboxJob(Row, table=True):
    """One thing to do about one document, citation or file. Asked for again, it is still one job; `lease` names the
    worker that has it until `leased_until`."""

    __tablename__ = "outbox_job"
    __table_args__ = (CheckConstraint("attempts >= 0", name="attempts_not_negative"),)

    kind: str = Field(sa_type=WORDS, primary_key=True)
    about: str = Field(sa_type=WORDS, primary_key=True)
    due_at: datetime = Field(sa_type=UtcText(), index=True)
    attempts: int = 0
    lease: str | None = Field(default=None, sa_type=WORDS)
    leased_until: datetime | None = Field(default=None, sa_type=UtcText())
    failure: str | None = Field(default=None, sa_type=WORDS)
