"""The ledger's version: one row, which every append bumps and every answer reads."""

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from app.persistence.base import WORDS, Row


class LedgerHead(Row, table=True):
    """The number and time of the last entry; 0 and an empty time before the first.

    `tops` are the hashes of the largest complete subtrees of the Merkle tree, from the left, one after another: what the
    next entry is joined to.
    """

    __tablename__ = "ledger_head"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: int = Field(default=1, primary_key=True, sa_column_kwargs={"autoincrement": False})
    seq: int
    at: str = Field(sa_type=WORDS)
    tops: bytes | None = None
