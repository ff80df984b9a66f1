"""Readings: what reviewers read from the evidence before they saw the claim."""

from sqlalchemy import Index, UniqueConstraint
from sqlmodel import Field

from app.core.claim import Statement
from app.persistence.base import WORDS, Packed, Row


class Reading(Row, table=True):
    """One reviewer's blind reading of one claim: there is only ever one."""

    __table_args__ = (UniqueConstraint("claim", "reviewer"), Index(None, "reviewer", "at"))

    id: str = Field(sa_type=WORDS, primary_key=True)
    claim: str = Field(sa_type=WORDS, foreign_key="claim.id")
    reviewer: str = Field(sa_type=WORDS)
    statement: Statement = Field(sa_type=Packed(Statement))
    differences: tuple[str, ...] = Field(sa_type=Packed(tuple[str, ...]))
    at: str = Field(sa_type=WORDS)
