"""Decisions: what reviewers decided on claims."""

from sqlalchemy import Index
from sqlmodel import Field

from app.core.claim import Interest
from app.core.review import Decision as Verdict
from app.persistence.base import WORDS, EnumText, Row, one_of


class Decision(Row, table=True):
    """One reviewer's decision on one claim; the reason is a text, by hash."""

    __table_args__ = (
        one_of("decision", Verdict),
        one_of("interest", Interest),
        Index(None, "claim", "reviewer"),
        Index(None, "reviewer", "decision", "claim"),
    )

    id: str = Field(sa_type=WORDS, primary_key=True)
    claim: str = Field(sa_type=WORDS, foreign_key="claim.id")
    reviewer: str = Field(sa_type=WORDS)
    reading: str | None = Field(default=None, sa_type=WORDS, foreign_key="reading.id")
    decision: Verdict = Field(sa_type=EnumText(Verdict))
    code: str | None = Field(default=None, sa_type=WORDS)
    reason_sha256: str = Field(sa_type=WORDS)
    interest: Interest = Field(sa_type=EnumText(Interest))
    at: str = Field(sa_type=WORDS)
