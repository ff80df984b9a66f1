"""Confirmations: which reviewer has checked which subject's record."""

from sqlalchemy import Index
from sqlmodel import Field

from app.core.claim import SubjectKind
from app.persistence.base import WORDS, EnumText, Row, one_of


class SubjectConfirmation(Row, table=True):
    """One reviewer's check of one record, against a document if one is named."""

    __tablename__ = "subject_confirmation"
    __table_args__ = (
        one_of("subject_kind", SubjectKind),
        Index(None, "subject_kind", "subject_id"),
    )

    seq: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    subject_kind: SubjectKind = Field(sa_type=EnumText(SubjectKind))
    subject_id: str = Field(sa_type=WORDS)
    reviewer: str = Field(sa_type=WORDS)
    document: str | None = Field(default=None, sa_type=WORDS, foreign_key="document.id")
    at: str = Field(sa_type=WORDS)
