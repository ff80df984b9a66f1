"""What stewards found of readings that a claim goes beyond."""

from sqlmodel import Field

from app.core.mismatch import Finding
from app.persistence.base import WORDS, EnumText, Row, one_of


class MismatchJudgement(Row, table=True):
    """One steward's finding on one reading; the reason is a text, by hash."""

    __tablename__ = "mismatch_judgement"
    __table_args__ = (one_of("finding", Finding),)

    id: str = Field(sa_type=WORDS, primary_key=True)
    claim: str = Field(sa_type=WORDS, foreign_key="claim.id", index=True)
    reading: str = Field(sa_type=WORDS, foreign_key="reading.id")
    steward: str = Field(sa_type=WORDS)
    finding: Finding = Field(sa_type=EnumText(Finding))
    reason_sha256: str = Field(sa_type=WORDS)
    at: str = Field(sa_type=WORDS)
