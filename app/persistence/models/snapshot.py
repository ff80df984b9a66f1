"""Snapshots: what a document's address gave on a day, by the hash of the file that was kept."""

from sqlmodel import Field

from app.persistence.base import WORDS, Row, sha256_hex


class Snapshot(Row, table=True):
    """One dated snapshot of one document's address."""

    __table_args__ = (sha256_hex("sha256"),)

    seq: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    document: str = Field(sa_type=WORDS, foreign_key="document.id", index=True)
    sha256: str = Field(sa_type=WORDS, index=True)
    size: int
    media_type: str = Field(sa_type=WORDS)
    at: str = Field(sa_type=WORDS)
