"""One-time passwords: what an account's codes are made from, sealed."""

from datetime import datetime

from sqlmodel import Field

from app.persistence.base import WORDS, Row, UtcText


class OneTimePassword(Row, table=True):
    """One account's secret, sealed with a key that is not in the database. It counts once a code has confirmed it;
    `last_step` is the newest time step whose code was used: it and those before are taken no more."""

    __tablename__ = "one_time_password"

    account_id: str = Field(sa_type=WORDS, primary_key=True, foreign_key="account.id")
    sealed: str = Field(sa_type=WORDS)
    created_at: datetime = Field(sa_type=UtcText())
    confirmed_at: datetime | None = Field(default=None, sa_type=UtcText())
    last_step: int | None = None
