"""Disputes: challenges to claims, and what became of them."""

from sqlalchemy import Index
from sqlmodel import Field

from app.core.claim import Interest
from app.core.review import DisputeState
from app.persistence.base import WORDS, EnumText, Row, one_of


class Dispute(Row, table=True):
    """One challenge; `document` is the evidence held against the claim, if there is any."""

    __table_args__ = (
        one_of("state", DisputeState),
        one_of("interest", Interest),
        Index(None, "state", "at"),
    )

    id: str = Field(sa_type=WORDS, primary_key=True)
    claim: str = Field(sa_type=WORDS, foreign_key="claim.id", index=True)
    by: str = Field(sa_type=WORDS)
    document: str | None = Field(default=None, sa_type=WORDS, foreign_key="document.id")
    page: str | None = Field(default=None, sa_type=WORDS)
    reason_sha256: str = Field(sa_type=WORDS)
    interest: Interest = Field(sa_type=EnumText(Interest))
    state: DisputeState = Field(sa_type=EnumText(DisputeState))
    at: str = Field(sa_type=WORDS)
