"""Claims, as the fold of their streams leaves them."""

from sqlalchemy import CheckConstraint, Index
from sqlmodel import Field

from app.core.claim import Condition, Interest, Quantity, SourceType, Statement, SubjectKind
from app.core.lifecycle import State
from app.persistence.base import WORDS, EnumText, Packed, Row, one_of


class Claim(Row, table=True):
    """One claim and where it stands.

    `next_aged` is the date on which time next does something to it: its review-by date, or the next whole year after.
    `superseded_by` has no foreign key, because a rebuild writes each claim once, oldest first, and that one is newer.
    """

    __table_args__ = (
        one_of("subject_kind", SubjectKind),
        one_of("quantity", Quantity),
        one_of("condition", Condition),
        one_of("state", State),
        one_of("source_type", SourceType),
        one_of("interest", Interest),
        CheckConstraint("approvals >= 0", name="approvals_not_negative"),
        Index(None, "subject_kind", "subject_id", "seq"),
        Index(None, "state", "seq"),
        Index(None, "author", "seq"),
        Index(None, "author", "state", "id"),
    )

    id: str = Field(sa_type=WORDS, primary_key=True)
    seq: int = Field(unique=True)
    subject_kind: SubjectKind = Field(sa_type=EnumText(SubjectKind))
    subject_id: str = Field(sa_type=WORDS)
    quantity: Quantity = Field(sa_type=EnumText(Quantity))
    condition: Condition | None = Field(default=None, sa_type=EnumText(Condition))
    state: State = Field(sa_type=EnumText(State))
    statement: Statement = Field(sa_type=Packed(Statement))
    source_type: SourceType = Field(sa_type=EnumText(SourceType))
    publisher: str | None = Field(default=None, sa_type=WORDS, foreign_key="publisher.slug")
    author: str = Field(sa_type=WORDS)
    interest: Interest = Field(sa_type=EnumText(Interest))
    supersedes: str | None = Field(default=None, sa_type=WORDS, foreign_key="claim.id", index=True)
    superseded_by: str | None = Field(default=None, sa_type=WORDS, index=True)
    answers_rejection: str | None = Field(default=None, sa_type=WORDS, foreign_key="claim.id", index=True)
    answer_sha256: str | None = Field(default=None, sa_type=WORDS)
    approvals: int = 0
    submitted_at: str = Field(sa_type=WORDS)
    review_by: str | None = Field(default=None, sa_type=WORDS)
    overdue_years: int | None = None
    next_aged: str | None = Field(default=None, sa_type=WORDS, index=True)
