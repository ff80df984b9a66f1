"""Who stands behind a record as it is now."""

from sqlmodel import Field

from app.core.claim import SubjectKind
from app.persistence.base import WORDS, EnumText, Row, one_of


class StandingConfirmation(Row, table=True):
    """A reviewer who has checked what a record says now. A correction begins again with nobody."""

    __tablename__ = "standing_confirmation"
    __table_args__ = (one_of("subject_kind", SubjectKind),)

    subject_kind: SubjectKind = Field(sa_type=EnumText(SubjectKind), primary_key=True)
    subject_id: str = Field(sa_type=WORDS, primary_key=True)
    reviewer: str = Field(sa_type=WORDS, primary_key=True)
