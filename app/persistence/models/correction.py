"""Corrections: when what a record says was replaced."""

from sqlalchemy import Index
from sqlmodel import Field

from app.core.claim import SubjectKind
from app.persistence.base import WORDS, EnumText, Row, one_of


class Correction(Row, table=True):
    """One correction of one record. What it said before and after is in the ledger."""

    __table_args__ = (
        one_of("subject_kind", SubjectKind),
        Index(None, "subject_kind", "subject_id", "seq"),
    )

    seq: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    subject_kind: SubjectKind = Field(sa_type=EnumText(SubjectKind))
    subject_id: str = Field(sa_type=WORDS)
    reason_sha256: str = Field(sa_type=WORDS)
    by: str = Field(sa_type=WORDS)
    at: str = Field(sa_type=WORDS)
