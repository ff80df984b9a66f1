"""How the two databases are connected to.

SQLite: the copy in the pysqlite3 wheel, because versions up to 3.51.2 can lose committed writes when connections write
and checkpoint at once (the WAL-reset bug, https://sqlite.org/wal.html), and many Pythons carry an older one.
"""

from pathlib import Path
from typing import Any, Final

import pysqlite3
from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError

from app.core.errors import CantrailError, Kind

BUSY_TIMEOUT_MS: Final = 5000
STATEMENT_TIMEOUT_MS: Final = 5000
LOCK_TIMEOUT_MS: Final = 3000

_SOUND_FROM: Final = (3, 51, 3)
_SOUND_BACKPORTS: Final[dict[tuple[int, ...], int]] = {(3, 50): 7, (3, 44): 6}


def sqlite_is_sound(version: tuple[int, ...]) -> bool:
    """Whether a version of SQLite has the WAL-reset bug mended."""
    backport = _SOUND_BACKPORTS.get(version[:2])
    return version >= _SOUND_FROM or (backport is not None and version[2] >= backport)


def refuse_unsound_sqlite(version: tuple[int, ...] | None = None) -> None:
    """Raise `sqlite_unsound` where the SQLite library could lose what was committed."""
    found = version or tuple(pysqlite3.sqlite_version_info)
    if not sqlite_is_sound(found):
        raise CantrailError(
            Kind.UNAVAILABLE,
            "sqlite_unsound",
            f"SQLite {'.'.join(map(str, found))} can lose committed writes. "
            "Install a newer pysqlite3, one that brings SQLite 3.51.3 or later.",
        )


def parsed(url: str) -> URL:
    """A database URL with its driver filled in. Raises `bad_database_url` for anything but the two databases."""
    try:
        address = make_url(url)
    except ArgumentError as error:
        raise _bad_url() from error
    match address.get_backend_name():
        case "sqlite" if address.database and address.database != ":memory:":
            return address.set(drivername="sqlite")
        case "postgresql":
            return address.set(drivername="postgresql+psycopg")
        case _:
            raise _bad_url()


def _bad_url() -> CantrailError:
    return CantrailError(
        Kind.INVALID,
        "bad_database_url",
        "Give the database as sqlite:///FILE or as postgresql+psycopg://USER@HOST/NAME.",
    )


def sqlite_connection(path: str) -> Any:
    """A raw connection as all connections to the file are: transactions are begun by hand, and commits are synced."""
    connection = pysqlite3.connect(path, isolation_level=None, check_same_thread=False)
    _settle(connection)
    return connection


def _settle(connection: Any) -> None:
    for pragma in (
        f"busy_timeout = {BUSY_TIMEOUT_MS}",
        "journal_mode = WAL",
        "synchronous = FULL",
        "foreign_keys = ON",
        "trusted_schema = OFF",
    ):
        connection.execute(f"PRAGMA {pragma}")


def sqlite_reader(url: URL) -> Engine:
    """Readers: a plain BEGIN gives each a view that stands still, and the connection refuses to write."""
    engine = _sqlite_engine(url)

    @event.listens_for(engine, "connect")
    def refuse_writes(connection: Any, _record: object) -> None:
        connection.execute("PRAGMA query_only = ON")

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN")

    return engine


def sqlite_writer(url: URL, *, checkpoints: bool) -> Engine:
    """The writer: one connection, which takes the lock at once (deferred transactions meet "database is locked")."""
    engine = _sqlite_engine(url, pool_size=1, max_overflow=0, pool_timeout=BUSY_TIMEOUT_MS / 1000)

    @event.listens_for(engine, "connect")
    def leave_checkpoints(connection: Any, _record: object) -> None:
        if not checkpoints:
            connection.execute("PRAGMA wal_autocheckpoint = 0")

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    return engine


def _sqlite_engine(url: URL, **pool: Any) -> Engine:
    refuse_unsound_sqlite()
    Path(url.database or "").parent.mkdir(parents=True, exist_ok=True)
    connect = {"isolation_level": None, "check_same_thread": False}
    engine = create_engine(url, module=pysqlite3, connect_args=connect, hide_parameters=True, **pool)

    @event.listens_for(engine, "connect")
    def settle(connection: Any, _record: object) -> None:
        _settle(connection)

    return engine


def postgresql_engine(url: URL) -> Engine:
    """PostgreSQL at READ COMMITTED, with limits on how long a statement runs and waits."""
    limits = f"-c statement_timeout={STATEMENT_TIMEOUT_MS} -c lock_timeout={LOCK_TIMEOUT_MS}"
    return create_engine(
        url,
        isolation_level="READ COMMITTED",
        pool_pre_ping=True,
        # Values may be secrets or personal; the text of an error goes to the log.
        hide_parameters=True,
        connect_args={"options": limits, "connect_timeout": 5},
    )


def postgresql_reader(engine: Engine) -> Engine:
    """Readers of the same pool: the server refuses their writes, and every statement sees one snapshot."""
    return engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
