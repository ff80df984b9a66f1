"""Vehicles: one maker's model in one generation."""

from sqlalchemy import CheckConstraint, Index
from sqlmodel import Field

from app.persistence.base import WORDS, Packed, Row

NAMES = Packed(tuple[str, ...])


class Vehicle(Row, table=True):
    """A vehicle's record. What it says counts only once it is confirmed; None is not said."""

    __table_args__ = (
        CheckConstraint("last_year IS NULL OR last_year >= first_year", name="years_in_order"),
        Index(None, "maker", "slug"),
    )

    slug: str = Field(sa_type=WORDS, primary_key=True)
    seq: int = Field(unique=True)
    maker: str = Field(sa_type=WORDS, foreign_key="publisher.slug")
    model: str = Field(sa_type=WORDS)
    series: str | None = Field(default=None, sa_type=WORDS)
    first_year: int
    last_year: int | None = None
    bodies: tuple[str, ...] | None = Field(default=None, sa_type=NAMES)
    roofs: tuple[str, ...] | None = Field(default=None, sa_type=NAMES)
    markets: tuple[str, ...] | None = Field(default=None, sa_type=NAMES)
    confirmed: bool = False
