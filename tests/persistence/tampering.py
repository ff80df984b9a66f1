"""What somebody could do to a registry who has the rights of its database: no trigger and no check is in their way."""

from typing import Any

from sqlalchemy import Column, delete, select, text, type_coerce, update
from sqlalchemy.types import NullType

from app.core import entries
from app.core.merkle import Tree
from app.persistence import projection
from app.persistence.base import table_of
from app.persistence.models import LedgerEntry, LedgerHead, LedgerNode, LedgerStream, Row
from app.persistence.session import Database, WriteSession

GUARDED = (LedgerEntry, LedgerStream, LedgerNode)
CHECKS = """
SELECT conrelid::regclass::text, conname FROM pg_constraint
WHERE contype IN ('c', 'f') AND connamespace = 'public'::regnamespace
"""


def unguard(database: Database) -> None:
    """Take every trigger away, and on PostgreSQL every check and foreign key."""
    with database.write() as session:
        connection = session.connection()
        if database.is_sqlite:
            for name in connection.scalars(text("SELECT name FROM sqlite_master WHERE type = 'trigger'")).all():
                connection.exec_driver_sql(f"DROP TRIGGER {name}")
            return
        for row in GUARDED:
            connection.exec_driver_sql(f"ALTER TABLE {table_of(row).name} DISABLE TRIGGER USER")
        for table, name in connection.execute(text(CHECKS)).all():
            connection.exec_driver_sql(f"ALTER TABLE {table} DROP CONSTRAINT {name}")


def lawless(session: WriteSession) -> None:
    """Let SQLite store what breaks its checks, for this connection."""
    if session.get_bind().dialect.name == "sqlite":
        session.connection().exec_driver_sql("PRAGMA ignore_check_constraints = ON")
        session.connection().exec_driver_sql("PRAGMA defer_foreign_keys = ON")


def lose(database: Database, after: int) -> None:
    """What an old backup does: the entries after one were never there, and everything agrees with that."""
    unguard(database)
    with database.write() as session:
        connection = session.connection()
        for row in GUARDED:
            connection.execute(delete(table_of(row)).where(table_of(row).c.seq > after))
        at = connection.execute(select(table_of(LedgerEntry).c.at).where(table_of(LedgerEntry).c.seq == after)).scalar()
        tree = Tree()
        entry = table_of(LedgerEntry).c
        for leaf in connection.scalars(select(entry.leaf_hash).order_by(entry.seq)):
            tree.add(leaf)
        connection.execute(update(table_of(LedgerHead)).values(seq=after, at=at or "", tops=tree.tops()))
        projection.rebuild(session)


def stored_body(database: Database, seq: int) -> bytes:
    with database.read() as session:
        wanted = select(table_of(LedgerEntry).c.body).where(table_of(LedgerEntry).c.seq == seq)
        return bytes(session.connection().execute(wanted).scalar_one())


def set_entry(database: Database, seq: int, **columns: Any) -> None:
    """Change an entry's row where it stands."""
    with database.write() as session:
        lawless(session)
        session.connection().execute(
            update(table_of(LedgerEntry)).where(table_of(LedgerEntry).c.seq == seq).values(**columns)
        )


def entry_of(database: Database, seq: int) -> entries.Entry:
    return entries.read(stored_body(database, seq))


def flipped(value: Any) -> Any:
    """A value with one bit turned; something where there was nothing."""
    match value:
        case None:
            return "0"
        case bool():
            return not value
        case int():
            # A high bit: the number of another row might be taken.
            return value ^ 1 << 20
        case str():
            return chr(ord(value[0]) ^ 1) + value[1:] if value else "1"
        case _:
            return bytes([value[0] ^ 1]) + bytes(value[1:]) if value else b"1"


def first_row(session: WriteSession, row: type[Row]) -> dict[str, Any]:
    """The first row of a table by its key, as it is stored."""
    table = table_of(row)
    plain = select(*(type_coerce(each, NullType()).label(each.name) for each in table.c))
    found = session.connection().execute(plain.order_by(*table.primary_key.columns).limit(1)).one()
    return dict(found._mapping)


def set_column(session: WriteSession, row: type[Row], stored: dict[str, Any], column: Column[Any], value: Any) -> None:
    """Change one column of the row that has another's key."""
    table = table_of(row)
    statement = update(table).values({column.name: type_coerce(value, NullType())})
    for key in table.primary_key.columns:
        statement = statement.where(type_coerce(key, NullType()) == type_coerce(stored[key.name], NullType()))
    session.connection().execute(statement)
