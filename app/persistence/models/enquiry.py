"""Enquiries: what was asked of whom about a figure, and what became of it."""

from sqlalchemy import Index
from sqlmodel import Field

from app.core.claim import Condition, Quantity, SubjectKind
from app.core.enquiry import Channel, Outcome
from app.persistence.base import WORDS, EnumText, Packed, Row, one_of, sha256_hex


class Enquiry(Row, table=True):
    """One question put to one publisher; the questions and the note are texts, by hash. It is open until there is an
    outcome."""

    __table_args__ = (
        one_of("subject_kind", SubjectKind),
        one_of("quantity", Quantity),
        one_of("channel", Channel),
        one_of("outcome", Outcome),
        sha256_hex("questions_sha256"),
        Index(None, "subject_kind", "subject_id", "seq"),
        Index(None, "outcome", "answer_by"),
    )

    id: str = Field(sa_type=WORDS, primary_key=True)
    seq: int = Field(unique=True)
    subject_kind: SubjectKind = Field(sa_type=EnumText(SubjectKind))
    subject_id: str = Field(sa_type=WORDS)
    asked: str = Field(sa_type=WORDS, foreign_key="publisher.slug", index=True)
    quantity: Quantity = Field(sa_type=EnumText(Quantity))
    conditions: tuple[Condition, ...] = Field(sa_type=Packed(tuple[Condition, ...]))
    channel: Channel = Field(sa_type=EnumText(Channel))
    questions_sha256: str = Field(sa_type=WORDS)
    asked_on: str = Field(sa_type=WORDS)
    answer_by: str = Field(sa_type=WORDS)
    language: str | None = Field(default=None, sa_type=WORDS)
    by: str = Field(sa_type=WORDS)
    at: str = Field(sa_type=WORDS)
    outcome: Outcome | None = Field(default=None, sa_type=EnumText(Outcome))
    closed_on: str | None = Field(default=None, sa_type=WORDS)
    closed_by: str | None = Field(default=None, sa_type=WORDS)
    document: str | None = Field(default=None, sa_type=WORDS, foreign_key="document.id", index=True)
    note_sha256: str | None = Field(default=None, sa_type=WORDS)
    ask_again: str | None = Field(default=None, sa_type=WORDS, index=True)
