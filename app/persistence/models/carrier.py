"""Carriers: what is bolted to a roof to put things on."""

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from app.persistence.base import WORDS, Row


class Carrier(Row, table=True):
    """A carrier's record: how many bars it is or stands on, and whether its fixing is built in."""

    __table_args__ = (CheckConstraint("bars IS NULL OR bars > 0", name="bars_positive"),)

    slug: str = Field(sa_type=WORDS, primary_key=True)
    seq: int = Field(unique=True)
    maker: str = Field(sa_type=WORDS, foreign_key="publisher.slug", index=True)
    model: str = Field(sa_type=WORDS)
    series: str | None = Field(default=None, sa_type=WORDS)
    kind: str = Field(sa_type=WORDS)
    first_year: int | None = None
    bars: int | None = None
    fixing: str | None = Field(default=None, sa_type=WORDS)
    confirmed: bool = False
