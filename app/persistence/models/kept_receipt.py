"""Kept answers: what was asked, as of which entry, under the digest of the answer. The answer is worked out again."""

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from app.persistence.base import WORDS, Row, UtcText, sha256_hex


class KeptReceipt(Row, table=True):
    """One request, or who removed it and when."""

    __tablename__ = "kept_receipt"
    __table_args__ = (
        sha256_hex("digest"),
        CheckConstraint("as_of >= 0", name="as_of_not_negative"),
        CheckConstraint("(request IS NULL) = (removed_at IS NOT NULL)", name="kept_or_removed"),
        CheckConstraint("(removed_at IS NULL) = (removed_by IS NULL)", name="removed_by_somebody"),
    )

    digest: str = Field(sa_type=WORDS, primary_key=True)
    as_of: int
    method: str = Field(sa_type=WORDS)
    request: str | None = Field(default=None, sa_type=WORDS)
    kept_at: datetime = Field(sa_type=UtcText())
    removed_at: datetime | None = Field(default=None, sa_type=UtcText())
    removed_by: str | None = Field(default=None, sa_type=WORDS)
