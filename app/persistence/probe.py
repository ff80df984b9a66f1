"""The ledger's head, read as fast as can be: it is looked at before every answer, so that a withdrawn figure is never
served. A connection of its own, one prepared statement, no transaction, no ORM."""

from threading import Lock
from typing import Any, Final, Protocol

import psycopg
import pysqlite3
from sqlalchemy import URL

from app.persistence.engines import LOCK_TIMEOUT_MS, STATEMENT_TIMEOUT_MS, sqlite_connection
from app.persistence.faults import told

HEAD: Final = "SELECT seq FROM ledger_head"


def connect_arguments(url: URL) -> dict[str, Any]:
    """What SQLAlchemy would give psycopg to connect with."""
    _, arguments = url.get_dialect()().create_connect_args(url)
    return dict(arguments)


class Probe(Protocol):
    """Reads the number of the ledger's last entry."""

    def head(self) -> int:
        """That number; 0 before the first entry. Raises `storage_unavailable`."""

    def close(self) -> None:
        """Give the connection back. The next look opens another."""


class SqliteProbe:
    """A look into the file and its write-ahead log, which sees every process's commits."""

    def __init__(self, url: URL) -> None:
        self._path = url.database or ""
        self._connection: Any = None
        self._lock = Lock()

    def head(self) -> int:
        """The number of the last entry."""
        with self._lock:
            try:
                if self._connection is None:
                    self._connection = sqlite_connection(self._path)
                return int(self._connection.execute(HEAD).fetchone()[0])
            except pysqlite3.Error as error:
                self._drop()
                raise told(error, writing=False) or error from error

    def close(self) -> None:
        """Close the connection."""
        with self._lock:
            self._drop()

    def _drop(self) -> None:
        if self._connection is not None:
            self._connection.close()
            self._connection = None


class PostgresqlProbe:
    """A statement prepared once on a connection that is made again when it is lost."""

    def __init__(self, url: URL) -> None:
        self._to = connect_arguments(url)
        self._connection: psycopg.Connection[tuple[int]] | None = None
        self._lock = Lock()

    def head(self) -> int:
        """The number of the last entry."""
        with self._lock:
            try:
                return self._look()
            except psycopg.OperationalError:
                # The server may have been restarted since the last look: only a fresh connection tells.
                self._drop()
            try:
                return self._look()
            except psycopg.Error as error:
                self._drop()
                raise told(error, writing=False) or error from error

    def close(self) -> None:
        """Close the connection."""
        with self._lock:
            self._drop()

    def _look(self) -> int:
        if self._connection is None:
            limits = f"-c statement_timeout={STATEMENT_TIMEOUT_MS} -c lock_timeout={LOCK_TIMEOUT_MS}"
            self._connection = psycopg.connect(**self._to, autocommit=True, options=limits, connect_timeout=5)
        row = self._connection.execute(HEAD, prepare=True).fetchone()
        return 0 if row is None else row[0]

    def _drop(self) -> None:
        if self._connection is not None:
            self._connection.close()
            self._connection = None
