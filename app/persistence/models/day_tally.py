"""What newcomers have submitted on a day."""

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from app.persistence.base import WORDS, Row


class DayTally(Row, table=True):
    """How many of one thing (claims, documents, subjects, enquiries) an account has submitted on one day (YYYY-MM-DD, in
    UTC), as long as it has a daily allowance."""

    __tablename__ = "day_tally"
    __table_args__ = (CheckConstraint("submitted >= 0", name="submitted_not_negative"),)

    account: str = Field(sa_type=WORDS, primary_key=True)
    day: str = Field(sa_type=WORDS, primary_key=True)
    what: str = Field(sa_type=WORDS, primary_key=True)
    submitted: int = 0
