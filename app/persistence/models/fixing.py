"""Fixings: what joins a carrier to a roof."""

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from app.persistence.base import WORDS, Packed, Row


class Fixing(Row, table=True):
    """A fixing's record: how many feet it has, and where on a roof it takes hold."""

    __table_args__ = (CheckConstraint("feet IS NULL OR feet > 0", name="feet_positive"),)

    slug: str = Field(sa_type=WORDS, primary_key=True)
    seq: int = Field(unique=True)
    maker: str = Field(sa_type=WORDS, foreign_key="publisher.slug", index=True)
    model: str = Field(sa_type=WORDS)
    series: str | None = Field(default=None, sa_type=WORDS)
    first_year: int | None = None
    feet: int | None = None
    holds: tuple[str, ...] = Field(sa_type=Packed(tuple[str, ...]))
    confirmed: bool = False
