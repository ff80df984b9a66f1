"""Documents: what was published or written, and by which hash its file is held."""

from sqlalchemy import CheckConstraint, Index
from sqlmodel import Field

from app.persistence.base import WORDS, Packed, Row, sha256_hex


class Document(Row, table=True):
    """A document; its title and its address are texts, by hash. One that has only an address has no file until it was
    fetched; `checked` is what the address gave last, and `pages` and what follows what reading the file came to."""

    __table_args__ = (
        Index(None, "publisher", "seq"),
        sha256_hex("sha256"),
        sha256_hex("text_sha256"),
        CheckConstraint("size >= 0", name="size_not_negative"),
        CheckConstraint("(sha256 IS NULL) = (size IS NULL)", name="file_or_none"),
        CheckConstraint("sha256 IS NOT NULL OR address_sha256 IS NOT NULL", name="file_or_address"),
    )

    id: str = Field(sa_type=WORDS, primary_key=True)
    seq: int = Field(unique=True)
    sha256: str | None = Field(default=None, sa_type=WORDS, index=True)
    size: int | None = None
    media_type: str | None = Field(default=None, sa_type=WORDS)
    publisher: str = Field(sa_type=WORDS, foreign_key="publisher.slug")
    kind: str = Field(sa_type=WORDS)
    title_sha256: str | None = Field(default=None, sa_type=WORDS)
    address_sha256: str | None = Field(default=None, sa_type=WORDS, index=True)
    edition: str | None = Field(default=None, sa_type=WORDS)
    published: str | None = Field(default=None, sa_type=WORDS)
    obtained: str | None = Field(default=None, sa_type=WORDS)
    language: str | None = Field(default=None, sa_type=WORDS)
    market: str | None = Field(default=None, sa_type=WORDS)
    submitted_by: str = Field(sa_type=WORDS)
    submitted_at: str = Field(sa_type=WORDS)
    checked: str | None = Field(default=None, sa_type=WORDS)
    checked_at: str | None = Field(default=None, sa_type=WORDS)
    pages: int | None = None
    text_source: str | None = Field(default=None, sa_type=WORDS)
    text_sha256: str | None = Field(default=None, sa_type=WORDS)
    flags: tuple[str, ...] | None = Field(default=None, sa_type=Packed(tuple[str, ...]))
    not_read: str | None = Field(default=None, sa_type=WORDS)
    taken_down: str | None = Field(default=None, sa_type=WORDS)
    taken_down_reason_sha256: str | None = Field(default=None, sa_type=WORDS)
