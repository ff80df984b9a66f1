"""The inner nodes of the Merkle tree over the ledger: complete subtrees, which no later entry changes."""

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from app.persistence.base import Row


class LedgerNode(Row, table=True):
    """The hash over the 2**level entries that end with entry `seq`: written with that entry, which completes it."""

    __tablename__ = "ledger_node"
    __table_args__ = (
        CheckConstraint("level BETWEEN 1 AND 31", name="level_known"),
        CheckConstraint("length(hash) = 32", name="hash_size"),
    )

    seq: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    level: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    hash: bytes
