"""Which streams an entry touches: the ledger's index by subject, claim and document."""

from sqlmodel import Field

from app.persistence.base import WORDS, Row


class LedgerStream(Row, table=True):
    """One entry in one stream.

    No foreign key leads to the ledger, from here or from anywhere: PostgreSQL checks one by locking the row that is
    pointed at, which takes the right to update the ledger, and that is revoked.
    """

    __tablename__ = "ledger_stream"

    stream: str = Field(sa_type=WORDS, primary_key=True)
    seq: int = Field(primary_key=True, index=True)
