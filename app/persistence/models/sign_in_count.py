"""How often signing in was tried, for each account, address and pair of them, in a window of time."""

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from app.persistence.base import WORDS, Row, UtcText


class SignInCount(Row, table=True):
    """One count. `bucket` is a keyed hash of what is counted, cut short, so that there are only so many rows, whatever
    names and addresses are tried."""

    __tablename__ = "sign_in_count"
    __table_args__ = (CheckConstraint("tries >= 0", name="tries_not_negative"),)

    bucket: str = Field(sa_type=WORDS, primary_key=True)
    tries: int
    since: datetime = Field(sa_type=UtcText(), index=True)
