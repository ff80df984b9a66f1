"""Who says of which two documents that one is copied from the other, or that it is not."""

from sqlmodel import Field

from app.persistence.base import WORDS, Row


class CopyJudgement(Row, table=True):
    """One person's word on two documents. Their last word on the two counts."""

    __tablename__ = "copy_judgement"

    seq: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    document: str = Field(sa_type=WORDS, foreign_key="document.id", index=True)
    of: str = Field(sa_type=WORDS, foreign_key="document.id", index=True)
    copied: bool
    reviewer: bool
    by: str = Field(sa_type=WORDS)
    at: str = Field(sa_type=WORDS)
