"""Declared interests: whose employee somebody is, or whose things they sell. Kept with the account, not in the ledger."""

from datetime import datetime

from sqlmodel import Field

from app.core.claim import Interest
from app.persistence.base import WORDS, EnumText, Row, UtcText, one_of


class DeclaredInterest(Row, table=True):
    """One account's interest in one publisher. One that was dropped stays in force for a while.

    `publisher` has no foreign key: publishers are made again from the ledger, interests are not.
    """

    __tablename__ = "declared_interest"
    __table_args__ = (one_of("kind", (Interest.EMPLOYER, Interest.SELLS)),)

    account_id: str = Field(sa_type=WORDS, primary_key=True, foreign_key="account.id")
    publisher: str = Field(sa_type=WORDS, primary_key=True)
    kind: Interest = Field(sa_type=EnumText(Interest), primary_key=True)
    declared_at: datetime = Field(sa_type=UtcText())
    dropped_at: datetime | None = Field(default=None, sa_type=UtcText())
