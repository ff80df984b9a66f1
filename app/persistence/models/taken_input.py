"""What claims are worked back from: the subjects on whose claims they depend."""

from sqlalchemy import Index
from sqlmodel import Field

from app.core.claim import SubjectKind
from app.persistence.base import WORDS, EnumText, Row, one_of


class TakenInput(Row, table=True):
    """One subject on whose claims one claim depends."""

    __tablename__ = "taken_input"
    __table_args__ = (one_of("subject_kind", SubjectKind), Index(None, "subject_kind", "subject_id"))

    claim: str = Field(sa_type=WORDS, primary_key=True, foreign_key="claim.id")
    subject_kind: SubjectKind = Field(sa_type=EnumText(SubjectKind), primary_key=True)
    subject_id: str = Field(sa_type=WORDS, primary_key=True)
