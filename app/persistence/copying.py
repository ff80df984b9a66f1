"""Rows out of a registry and into an empty one, on either database: tables as they are found, values as they are stored.

The tables that the ledger gives are left out: whoever restores makes them again from it.
"""

import base64
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final

from sqlalchemy import (
    Boolean,
    Integer,
    LargeBinary,
    MetaData,
    Numeric,
    Table,
    func,
    insert,
    inspect,
    select,
    text,
    update,
)
from sqlalchemy.exc import DBAPIError, StatementError
from sqlalchemy.types import TypeEngine

from app.core.errors import CantrailError, Kind
from app.persistence.base import table_of
from app.persistence.faults import told
from app.persistence.models import LedgerHead
from app.persistence.projection import PROJECTED
from app.persistence.session import AnySession, ReadSession, WriteSession

LEFT_OUT: Final = frozenset({"alembic_version", "known_address", "sign_in_count", "web_session"})
"""Tables of no use anywhere else: whoever is signed in here is not signed in to a copy, and how often signing in was
tried here is not held against anybody there."""

HEAD: Final = str(LedgerHead.__tablename__)
"""The table whose one row every registry begins with: a row that is put in takes its place."""

_AT_ONCE: Final = 500

_OWN_FUNCTIONS: Final = text(
    "SELECT oid::regprocedure::text FROM pg_proc AS found WHERE pronamespace = current_schema()::regnamespace"
    " AND NOT EXISTS (SELECT 1 FROM pg_depend WHERE objid = found.oid AND deptype = 'e')"
)
"""Functions that no extension brought."""

_KINDS: Final[tuple[tuple[type[TypeEngine[Any]], tuple[type, ...]], ...]] = (
    (LargeBinary, (bytes,)),
    (Boolean, (bool,)),
    (Integer, (int,)),
    (Numeric, (int, float)),
)
"""What a column holds, by its type; every other column holds text."""

Value = str | int | float | bool | bytes | None
Stored = list[Any]
"""A row's values as JSON has them: bytes are in base64."""


def tables(session: AnySession) -> list[str]:
    """The names of the tables that are copied, in the order of the alphabet."""
    given = {str(each.__tablename__) for each in PROJECTED}
    return sorted({str(each) for each in inspect(session.connection()).get_table_names()} - given - LEFT_OUT)


def in_order(session: AnySession) -> list[str]:
    """The names of the tables that are copied, each after those that its foreign keys point at."""
    copied = tables(session)
    found = MetaData()
    found.reflect(session.connection(), only=copied)
    return [str(each.name) for each in found.sorted_tables if each.name in copied]


def take_time(session: AnySession) -> None:
    """Let the statements of this transaction run as long as they need: a whole registry is more than a request is."""
    connection = session.connection()
    if connection.dialect.name == "postgresql":
        connection.execute(text("SET LOCAL statement_timeout = 0"))


def columns(session: AnySession, table: str) -> list[str]:
    """The names of a table's columns."""
    return [str(each.name) for each in _found(session, table).columns]


def rows(session: ReadSession, table: str) -> Iterator[Stored]:
    """Every row of a table, by its primary key, some at a time: the view stands still as long as the session lasts."""
    found = _found(session, table)
    ordered = select(found).order_by(*found.primary_key.columns)
    for row in session.connection().execute(ordered, execution_options={"yield_per": _AT_ONCE}):
        yield [base64.b64encode(value).decode() if isinstance(value, bytes) else value for value in row]


def count(session: AnySession, table: str) -> int:
    """How many rows a table has."""
    return session.connection().execute(select(func.count()).select_from(_found(session, table))).scalar_one()


def is_empty(session: AnySession) -> bool:
    """Whether there is no table yet."""
    return not inspect(session.connection()).get_table_names()


def clear(session: WriteSession) -> None:
    """Drop every table and function: what a restore has made that came to nothing."""
    connection = session.connection()
    found = MetaData()
    found.reflect(connection)
    found.drop_all(connection)
    if connection.dialect.name == "postgresql":
        for name in connection.scalars(_OWN_FUNCTIONS).all():
            connection.execute(text(f"DROP FUNCTION {name}"))


def put_rows(session: WriteSession, table: str, named: Sequence[str], stored: Iterable[Stored]) -> int:
    """Put rows into a table that has none. Gives how many. Raises `backup_damaged` for what does not fit it."""
    if table not in tables(session):
        raise _damaged(f"it has rows of {table}, and there is no such table to restore")
    found = _found(session, table)
    if set(named) != {each.name for each in found.columns} or len(set(named)) != len(named):
        raise _damaged(f"its columns of {table} are others than this version's")
    done = 0
    try:
        for some in _some(stored):
            _put(session, found, [_row(found, named, each) for each in some])
            done += len(some)
    except (StatementError, OverflowError) as error:
        # What the storage itself refuses is told as that, and what the table refuses is a row that was changed.
        if isinstance(error, DBAPIError) and told(error, writing=True) is not None:
            raise
        raise _damaged(f"the database refuses its rows of {table}") from error
    return done


def _put(session: WriteSession, table: Table, some: list[dict[str, Value]]) -> None:
    if table.name == HEAD:
        for row in some:
            session.connection().execute(update(table_of(LedgerHead)).values(**row))
    else:
        session.connection().execute(insert(table), some)


def _some(stored: Iterable[Stored]) -> Iterator[list[Stored]]:
    some: list[Stored] = []
    for each in stored:
        some.append(each)
        if len(some) == _AT_ONCE:
            yield some
            some = []
    if some:
        yield some


def _row(table: Table, named: Sequence[str], stored: Stored) -> dict[str, Value]:
    if len(stored) != len(named):
        raise _damaged(f"a row of {table.name} has {len(stored)} values and should have {len(named)}")
    return {name: _value(table, name, value) for name, value in zip(named, stored, strict=True)}


def _value(table: Table, name: str, value: Any) -> Value:
    kind = table.columns[name].type
    if value is None:
        return None
    plain: Value = bytes_in(value) if isinstance(kind, LargeBinary) else value
    wanted = next((types for of, types in _KINDS if isinstance(kind, of)), (str,))
    if type(plain) not in wanted:
        raise _damaged(f"{table.name}.{name} holds something of another kind")
    return plain


def bytes_in(stored: object) -> bytes | None:
    """The bytes that a stored value stands for; None where it stands for none."""
    try:
        return base64.b64decode(stored, validate=True) if isinstance(stored, str) else None
    except ValueError:
        return None


def _found(session: AnySession, table: str) -> Table:
    """A table as the database has it: a backup may be older than the models."""
    return Table(table, MetaData(), autoload_with=session.connection(), resolve_fks=False)


def _damaged(why: str) -> CantrailError:
    return CantrailError(Kind.INVALID, "backup_damaged", f"This backup cannot be restored: {why}.")
