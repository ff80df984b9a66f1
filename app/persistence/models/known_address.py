"""Addresses from which an account has signed in: others' attempts do not slow it there."""

from datetime import datetime

from sqlmodel import Field

from app.persistence.base import WORDS, Row, UtcText


class KnownAddress(Row, table=True):
    """One address, by its keyed hash, and when the account last signed in from it."""

    __tablename__ = "known_address"

    account_id: str = Field(sa_type=WORDS, primary_key=True, foreign_key="account.id")
    address: str = Field(sa_type=WORDS, primary_key=True)
    last_at: datetime = Field(sa_type=UtcText(), index=True)
