"""Holds: who has taken which piece of the desk's work in hand, until when."""

from datetime import datetime

from sqlmodel import Field

from app.persistence.base import WORDS, Row, UtcText


class DeskHold(Row, table=True):
    """One piece of work in one person's hands. Past `until` it is anybody's again."""

    __tablename__ = "desk_hold"

    kind: str = Field(sa_type=WORDS, primary_key=True)
    about: str = Field(sa_type=WORDS, primary_key=True)
    account: str = Field(sa_type=WORDS, index=True)
    until: datetime = Field(sa_type=UtcText(), index=True)
