"""The ledger: what was ever entered or decided, in order. Triggers refuse every change to it."""

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from app.persistence.base import WORDS, Row

MAX_BODY: int = 65_535
"""Bytes of canonical JSON in one entry: what a length of two bytes can say."""


class LedgerEntry(Row, table=True):
    """One entry: `body` is its canonical JSON, whole; the other columns repeat what is looked for."""

    __tablename__ = "ledger_entry"
    __table_args__ = (
        CheckConstraint("seq > 0", name="seq_positive"),
        CheckConstraint(f"length(body) BETWEEN 1 AND {MAX_BODY}", name="body_size"),
        CheckConstraint("length(leaf_hash) = 32", name="leaf_hash_size"),
    )

    seq: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    at: str = Field(sa_type=WORDS, index=True)
    actor: str = Field(sa_type=WORDS, index=True)
    type: str = Field(sa_type=WORDS)
    version: int
    body: bytes
    leaf_hash: bytes
