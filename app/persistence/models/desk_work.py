"""The desk: what waits for reviewers, with its place in the order."""

from sqlalchemy import CheckConstraint, Index
from sqlmodel import Field

from app.core.claim import Quantity, SubjectKind
from app.core.desk import WorkKind
from app.persistence.base import WORDS, EnumText, Row, one_of


class DeskWork(Row, table=True):
    """One piece of work: what is to be done about what, since when.

    What waits follows from the ledger and is written with it; the order (`turn`, `stands_at`) also from how often a
    figure was asked for, which no entry tells. `about` is a claim, a reading, a dispute, a subject (its kind, a dot, its
    id) or two documents with a dot between them; `maker` is whose the subject is, `author` who brought the work.
    """

    __tablename__ = "desk_work"
    __table_args__ = (
        one_of("kind", WorkKind),
        one_of("subject_kind", SubjectKind),
        one_of("quantity", Quantity),
        CheckConstraint("asked >= 0", name="asked_not_negative"),
        Index(None, "turn", "stands_at", "kind", "about"),
        Index(None, "kind", "turn", "stands_at", "about"),
        Index(None, "author", "kind", "turn", "stands_at", "about"),
        Index(None, "kind", "since"),
        Index(None, "subject_kind", "subject_id"),
    )

    kind: WorkKind = Field(sa_type=EnumText(WorkKind), primary_key=True)
    about: str = Field(sa_type=WORDS, primary_key=True)
    claim: str | None = Field(default=None, sa_type=WORDS, index=True)
    subject_kind: SubjectKind | None = Field(default=None, sa_type=EnumText(SubjectKind))
    subject_id: str | None = Field(default=None, sa_type=WORDS)
    quantity: Quantity | None = Field(default=None, sa_type=EnumText(Quantity))
    maker: str | None = Field(default=None, sa_type=WORDS)
    publisher: str | None = Field(default=None, sa_type=WORDS)
    author: str | None = Field(default=None, sa_type=WORDS)
    since: str = Field(sa_type=WORDS)
    lowers: bool = False
    asked: int = 0
    newcomer: bool = False
    turn: int
    stands_at: str = Field(sa_type=WORDS)
