"""Settlements: reviewers' votes on disputes."""

from sqlmodel import Field

from app.core.review import Settlement as Vote
from app.persistence.base import WORDS, EnumText, Row, one_of


class Settlement(Row, table=True):
    """One reviewer's vote; the reason is a text, by hash."""

    __table_args__ = (one_of("settlement", Vote),)

    id: str = Field(sa_type=WORDS, primary_key=True)
    dispute: str = Field(sa_type=WORDS, foreign_key="dispute.id", index=True)
    claim: str = Field(sa_type=WORDS, foreign_key="claim.id", index=True)
    reviewer: str = Field(sa_type=WORDS)
    settlement: Vote = Field(sa_type=EnumText(Vote))
    code: str | None = Field(default=None, sa_type=WORDS)
    reason_sha256: str = Field(sa_type=WORDS)
    at: str = Field(sa_type=WORDS)
