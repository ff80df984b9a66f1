"""Publishers: makers, importers, dealers, shops, public bodies, people, forums."""

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from app.persistence.base import WORDS, Packed, Row


class Publisher(Row, table=True):
    """A publisher; a person's name is a text, by hash."""

    __table_args__ = (CheckConstraint("name IS NULL OR name_sha256 IS NULL", name="one_name"),)

    slug: str = Field(sa_type=WORDS, primary_key=True)
    seq: int = Field(unique=True)
    kind: str = Field(sa_type=WORDS)
    name: str | None = Field(default=None, sa_type=WORDS)
    name_sha256: str | None = Field(default=None, sa_type=WORDS)
    importer_of: tuple[str, ...] = Field(sa_type=Packed(tuple[str, ...]))
