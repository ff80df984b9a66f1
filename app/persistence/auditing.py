"""Reading everything as it is stored, for whoever checks it: no type is decoded, so that nothing broken is passed over."""

from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise
from typing import Any, Final, NamedTuple

from sqlalchemy import Select, Table, text, type_coerce
from sqlalchemy import select as pick
from sqlalchemy.exc import DBAPIError
from sqlalchemy.types import NullType

from app.core.errors import CantrailError, Kind
from app.persistence.base import table_of
from app.persistence.models import HeldText, LedgerEntry, LedgerHead, LedgerNode, LedgerStream, Row
from app.persistence.session import AnySession

_AT_ONCE: Final = 500


class StoredEntry(NamedTuple):
    """An entry's row, the streams that it is in by their table, and the nodes that are stored with it by level."""

    seq: Any
    at: Any
    actor: Any
    type: Any
    version: Any
    body: Any
    leaf_hash: Any
    streams: set[Any]
    nodes: dict[Any, Any]


class Strays(NamedTuple):
    """Rows beside the ledger's entries that belong to none of them: (stream, number), and (number, level)."""

    streams: list[tuple[Any, Any]]
    nodes: list[tuple[Any, Any]]


def take_time(session: AnySession) -> None:
    """Let statements of this session run as long as they need."""
    if session.get_bind().dialect.name == "postgresql":
        session.connection().execute(text("SET LOCAL statement_timeout = 0"))


def stored_entries(session: AnySession, strays: Strays) -> Iterator[list[StoredEntry]]:
    """The whole ledger in order, some entries at a time. Rows that belong to no entry go into `strays`.

    Raises `storage_damaged` where it cannot be read. A damaged file can give the same rows again and again.
    """
    entry = table_of(LedgerEntry)
    before: Any = None
    while True:
        wanted = _plain(entry).order_by(entry.c.seq).limit(_AT_ONCE)
        rows = _rows(session, wanted if before is None else wanted.where(entry.c.seq > before), "ledger_entry")
        numbers = [row[0] for row in rows]
        if any(number <= previous for previous, number in pairwise([*([] if before is None else [before]), *numbers])):
            raise _damaged("ledger_entry", "its rows are not in the order of their numbers")
        last = numbers[-1] if numbers else None
        streams, nodes = _beside(session, before, last)
        found = [StoredEntry._make((*row, streams.pop(row[0], set()), nodes.pop(row[0], {}))) for row in rows]
        strays.streams.extend((stream, seq) for seq, several in streams.items() for stream in several)
        strays.nodes.extend((seq, level) for seq, several in nodes.items() for level in several)
        if not found:
            return
        yield found
        before = last


def _beside(session: AnySession, before: Any, last: Any) -> tuple[dict[Any, set[Any]], dict[Any, dict[Any, Any]]]:
    """The rows of streams and nodes after one number and up to another, by number; no bound where it is None."""
    streams: dict[Any, set[Any]] = {}
    nodes: dict[Any, dict[Any, Any]] = {}
    for row in (LedgerStream, LedgerNode):
        table = table_of(row)
        wanted = _plain(table)
        if before is not None:
            wanted = wanted.where(table.c.seq > before)
        if last is not None:
            wanted = wanted.where(table.c.seq <= last)
        if row is LedgerStream:
            for stream, seq in _rows(session, wanted, table.name):
                streams.setdefault(seq, set()).add(stream)
        else:
            for seq, level, hash in _rows(session, wanted, table.name):
                nodes.setdefault(seq, {})[level] = hash
    return streams, nodes


def heads(session: AnySession) -> list[tuple[Any, ...]]:
    """Every row of the ledger's head, as (id, seq, at, tops): there should be one."""
    return _rows(session, _plain(table_of(LedgerHead)), "ledger_head")


def texts(session: AnySession) -> Iterator[tuple[Any, Any, Any]]:
    """Every held text, as (sha256, content, taken_down)."""
    return _streamed(session, table_of(HeldText))


def table_rows(session: AnySession, row: type[Row]) -> Iterator[tuple[Any, ...]]:
    """Every row of a table, by its key and in the order of its columns."""
    return _streamed(session, table_of(row))


def count(session: AnySession, row: type[Row]) -> int:
    """How many rows a table has."""
    with _told(table_of(row).name):
        return int(session.connection().execute(text(f"SELECT count(*) FROM {table_of(row).name}")).scalar_one())


def structural_faults(session: AnySession) -> Iterator[tuple[str, str]]:
    """What SQLite finds wrong with its file and its foreign keys, as (where, what). PostgreSQL keeps both itself."""
    if session.get_bind().dialect.name != "sqlite":
        return
    for (said,) in _raw(session, "PRAGMA integrity_check"):
        if said != "ok":
            yield "the database file", str(said)
    for table, rowid, parent, _ in _raw(session, "PRAGMA foreign_key_check"):
        yield f"{table}, row {rowid}", f"it points at a row of {parent} that is not there"


def _raw(session: AnySession, statement: str) -> list[tuple[Any, ...]]:
    with _told("the database file"):
        return [tuple(row) for row in session.connection().exec_driver_sql(statement)]


def _plain(table: Table) -> Select[*tuple[Any, ...]]:
    """A table's columns as the driver gives them."""
    return pick(*(type_coerce(column, NullType()).label(column.name) for column in table.c))


def _rows(session: AnySession, wanted: Select[*tuple[Any, ...]], table: str) -> list[tuple[Any, ...]]:
    with _told(table):
        return [tuple(_bytes(value) for value in row) for row in session.connection().execute(wanted)]


def _streamed(session: AnySession, table: Table) -> Iterator[tuple[Any, ...]]:
    wanted = _plain(table).order_by(*table.primary_key.columns).execution_options(yield_per=_AT_ONCE)
    with _told(table.name):
        for row in session.connection().execute(wanted):
            yield tuple(_bytes(value) for value in row)


def _bytes(value: Any) -> Any:
    return bytes(value) if isinstance(value, memoryview) else value


@contextmanager
def _told(where: str) -> Iterator[None]:
    """Whatever keeps stored rows from being read is a fault of the storage here."""
    try:
        yield
    except DBAPIError as error:
        raise _damaged(where, str(error.orig)) from error


def _damaged(where: str, what: str) -> CantrailError:
    return CantrailError(
        Kind.UNAVAILABLE, "storage_damaged", f"{where} cannot be read: {what}. Restore it from a backup."
    )
