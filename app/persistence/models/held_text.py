"""Free text, by hash: quotes, reasons, titles, people's names. Outside the ledger, so that it can be taken down."""

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from app.persistence.base import WORDS, Row, sha256_hex


class HeldText(Row, table=True):
    """A text, or the reason why it was taken down."""

    __tablename__ = "text"
    __table_args__ = (
        sha256_hex("sha256"),
        CheckConstraint("(content IS NULL) = (taken_down IS NOT NULL)", name="held_or_taken_down"),
    )

    sha256: str = Field(sa_type=WORDS, primary_key=True)
    content: str | None = Field(default=None, sa_type=WORDS)
    taken_down: str | None = Field(default=None, sa_type=WORDS)
