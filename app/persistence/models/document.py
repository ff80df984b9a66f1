"""Documents: what was published or written, and by which hash its file is held."""

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from app.persistence.base import WORDS, Row, sha256_hex


class Document(Row, table=True):
    """A document; its title is a text, by hash."""

    __table_args__ = (sha256_hex("sha256"), CheckConstraint("size >= 0", name="size_not_negative"))

    id: str = Field(sa_type=WORDS, primary_key=True)
    seq: int = Field(unique=True)
    sha256: str = Field(sa_type=WORDS, index=True)
    size: int
    media_type: str = Field(sa_type=WORDS)
    publisher: str = Field(sa_type=WORDS, foreign_key="publisher.slug", index=True)
    kind: str = Field(sa_type=WORDS)
    title_sha256: str | None = Field(default=None, sa_type=WORDS)
    edition: str | None = Field(default=None, sa_type=WORDS)
    published: str | None = Field(default=None, sa_type=WORDS)
    obtained: str | None = Field(default=None, sa_type=WORDS)
    language: str | None = Field(default=None, sa_type=WORDS)
    market: str | None = Field(default=None, sa_type=WORDS)
    submitted_by: str = Field(sa_type=WORDS)
    submitted_at: str = Field(sa_type=WORDS)
