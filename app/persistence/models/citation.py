"""Citations: the places in documents on which claims rest, and what the machine saw there."""

from sqlmodel import Field

from app.core.pages import Box, PageOutcome
from app.persistence.base import WORDS, EnumText, Packed, Row, one_of


class Citation(Row, table=True):
    """One place in one document; the words quoted are a text, by hash. Once the page was read: whether the figure
    stands there, on which page, and where on it."""

    __table_args__ = (one_of("outcome", PageOutcome),)

    id: str = Field(sa_type=WORDS, primary_key=True)
    claim: str = Field(sa_type=WORDS, foreign_key="claim.id", index=True)
    document: str = Field(sa_type=WORDS, foreign_key="document.id", index=True)
    page: str | None = Field(default=None, sa_type=WORDS)
    locator: str | None = Field(default=None, sa_type=WORDS)
    quote_sha256: str | None = Field(default=None, sa_type=WORDS)
    by: str = Field(sa_type=WORDS)
    at: str = Field(sa_type=WORDS)
    outcome: PageOutcome | None = Field(default=None, sa_type=EnumText(PageOutcome))
    found_page: int | None = None
    box: Box | None = Field(default=None, sa_type=Packed(Box))
    read_sha256: str | None = Field(default=None, sa_type=WORDS)
