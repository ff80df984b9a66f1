"""How often which figure was asked for."""

from sqlalchemy import CheckConstraint, Index
from sqlmodel import Field

from app.core.claim import Quantity, SubjectKind
from app.persistence.base import WORDS, EnumText, Row, one_of


class AskedCount(Row, table=True):
    """One figure of one subject in one condition (empty for what has none): how often it was asked for, and how often
    in vain. Nothing of who asked."""

    __tablename__ = "asked_count"
    __table_args__ = (
        one_of("subject_kind", SubjectKind),
        one_of("quantity", Quantity),
        CheckConstraint("asked >= 0 AND unmet >= 0", name="counts_not_negative"),
        Index("ix_asked_count_in_order", "subject_kind", "quantity", "unmet", "asked", "subject_id", "condition"),
    )

    subject_kind: SubjectKind = Field(sa_type=EnumText(SubjectKind), primary_key=True)
    subject_id: str = Field(sa_type=WORDS, primary_key=True)
    quantity: Quantity = Field(sa_type=EnumText(Quantity), primary_key=True)
    condition: str = Field(sa_type=WORDS, primary_key=True)
    asked: int = 0
    unmet: int = 0
