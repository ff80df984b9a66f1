"""What every table shares: the naming of constraints, and the column types."""

from collections.abc import Iterable
from datetime import UTC, datetime
from enum import StrEnum
from functools import cache
from typing import Any, ClassVar, Final

import msgspec
from sqlalchemy import CheckConstraint, Dialect, Insert, MetaData, Table, Text, insert
from sqlalchemy.types import TypeDecorator
from sqlmodel import SQLModel

NAMING: Final = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s",
    "pk": "pk_%(table_name)s",
}


class Row(SQLModel):
    """The base of every table. Table models validate nothing, so the tables carry CHECK constraints."""

    model_config = {"arbitrary_types_allowed": True}
    metadata: ClassVar[MetaData] = MetaData(naming_convention=NAMING)


def table_of(row: type[Row]) -> Table:
    """The plain table of a table model. Writing to it directly takes a third of the time that the ORM takes."""
    return Row.metadata.tables[str(row.__tablename__)]


@cache
def adding_to(row: type[Row]) -> Insert:
    """The statement that adds rows to a table: made once, because making it takes longer than running it."""
    return insert(table_of(row))


# PostgreSQL would order text by the locale of the database, and keysets would then skip rows that SQLite does not.
WORDS: Final = Text().with_variant(Text(collation="C"), "postgresql")
"""Text that is compared byte by byte on both databases."""


class EnumText(TypeDecorator[StrEnum]):
    """A StrEnum stored as its value. Refuses what is not one of its values, in both directions."""

    impl = WORDS
    cache_ok = True

    def __init__(self, enum: type[StrEnum]) -> None:
        super().__init__()
        self.enum = enum

    def process_bind_param(self, value: StrEnum | str | None, dialect: Dialect) -> str | None:
        """The value to store."""
        return None if value is None else self.enum(value).value

    def process_result_value(self, value: str | None, dialect: Dialect) -> StrEnum | None:
        """The member that was stored."""
        return None if value is None else self.enum(value)


class Packed(TypeDecorator[Any]):
    """A list or a struct stored as JSON text, and read back as the shape that is given."""

    impl = Text
    cache_ok = True

    def __init__(self, shape: Any) -> None:
        super().__init__()
        self.shape = shape

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        """The JSON to store; None stays NULL."""
        return None if value is None else msgspec.json.encode(value).decode()

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        """What was stored, in its shape."""
        return None if value is None else msgspec.json.decode(value, type=self.shape)


class UtcText(TypeDecorator[datetime]):
    """An aware time stored as RFC 3339 text in UTC, so that both databases keep the same and order it the same."""

    impl = WORDS
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        """The text to store."""
        return None if value is None else utc_text(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime | None:
        """The time that was stored."""
        return None if value is None else datetime.fromisoformat(value)


def utc_text(moment: datetime) -> str:
    """A time as the ledger writes it: RFC 3339 in UTC, always with microseconds, so that texts compare as times do.

    Raises ValueError for a time without a zone.
    """
    if moment.tzinfo is None:
        raise ValueError("a time without a zone could be any time")
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def one_of(column: str, values: Iterable[str]) -> CheckConstraint:
    """A CHECK that a text column holds one of these values."""
    listed = ", ".join(f"'{value}'" for value in values)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_known")


def sha256_hex(column: str) -> CheckConstraint:
    """A CHECK that a text column holds a SHA-256 in hexadecimal."""
    return CheckConstraint(f"length({column}) = 64", name=f"{column}_is_sha256")
