"""Fitments: which carrier goes on which vehicle and roof, with which fixing."""

from sqlmodel import Field

from app.persistence.base import WORDS, Packed, Row


class Fitment(Row, table=True):
    """A fitment's record; `fixing` and `roofs` None are not said."""

    id: str = Field(sa_type=WORDS, primary_key=True)
    seq: int = Field(unique=True)
    vehicle: str = Field(sa_type=WORDS, foreign_key="vehicle.slug", index=True)
    carrier: str = Field(sa_type=WORDS, foreign_key="carrier.slug", index=True)
    fixing: str | None = Field(default=None, sa_type=WORDS, foreign_key="fixing.slug", index=True)
    roofs: tuple[str, ...] | None = Field(default=None, sa_type=Packed(tuple[str, ...]))
    confirmed: bool = False
