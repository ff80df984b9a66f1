"""Citations: the places in documents on which claims rest."""

from sqlmodel import Field

from app.persistence.base import WORDS, Row


class Citation(Row, table=True):
    """One place in one document; the words quoted are a text, by hash."""

    id: str = Field(sa_type=WORDS, primary_key=True)
    claim: str = Field(sa_type=WORDS, foreign_key="claim.id", index=True)
    document: str = Field(sa_type=WORDS, foreign_key="document.id", index=True)
    page: str | None = Field(default=None, sa_type=WORDS)
    locator: str | None = Field(default=None, sa_type=WORDS)
    quote_sha256: str | None = Field(default=None, sa_type=WORDS)
    by: str = Field(sa_type=WORDS)
    at: str = Field(sa_type=WORDS)
