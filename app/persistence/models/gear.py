"""Gear: what is carried."""

from sqlmodel import Field

from app.persistence.base import WORDS, Row


class Gear(Row, table=True):
    """A gear item's record, in a category with a usual range of masses."""

    slug: str = Field(sa_type=WORDS, primary_key=True)
    seq: int = Field(unique=True)
    maker: str = Field(sa_type=WORDS, foreign_key="publisher.slug", index=True)
    model: str = Field(sa_type=WORDS)
    series: str | None = Field(default=None, sa_type=WORDS)
    first_year: int | None = None
    category: str = Field(sa_type=WORDS, index=True)
    confirmed: bool = False
