"""Sessions: who may read, who may write, and the one place that commits."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Lock
from typing import Final, NewType, TypeAlias, TypeVar

from sqlalchemy import Engine, text
from sqlmodel import Session

from app.core.errors import CantrailError
from app.persistence import engines
from app.persistence.faults import RETRIABLE, faults_told, sqlstate, unavailable
from app.persistence.probe import PostgresqlProbe, Probe, SqliteProbe

ReadSession = NewType("ReadSession", Session)
"""Sees the database as it stood at its first statement, and cannot write."""

WriteSession = NewType("WriteSession", Session)
"""The only writer while it lasts: what it has read stays true until it commits."""

AnySession: TypeAlias = ReadSession | WriteSession

T = TypeVar("T")

WRITER_WAIT_S: Final = 5
TRIES: Final = 5
_APPEND_LOCK: Final = 0x63616E74_7261696C
"""The key of PostgreSQL's advisory lock: "cantrail" in ASCII."""


class Database:
    """One registry's database, SQLite or PostgreSQL, for the whole life of a process.

    One process checkpoints a SQLite file: whoever opens it beside a running server says `checkpoints=False`.
    """

    def __init__(self, url: str, *, checkpoints: bool = True) -> None:
        address = engines.parsed(url)
        self.url = address.render_as_string(hide_password=False)
        self.is_sqlite = address.get_backend_name() == "sqlite"
        self._turn = Lock()
        self._writer: Engine
        self._reader: Engine
        self._probe: Probe
        self.refusal: CantrailError | None = None
        """Why nothing is written, where whoever opened the database has found a reason."""
        if self.is_sqlite:
            self._writer = engines.sqlite_writer(address, checkpoints=checkpoints)
            self._reader = engines.sqlite_reader(address)
            self._probe = SqliteProbe(address)
        else:
            self._writer = engines.postgresql_engine(address)
            self._reader = engines.postgresql_reader(self._writer)
            self._probe = PostgresqlProbe(address)

    @contextmanager
    def read(self) -> Iterator[ReadSession]:
        """A session that reads one unchanging view. Raises `storage_unavailable`."""
        with faults_told(writing=False), Session(self._reader, autoflush=False) as session:
            yield ReadSession(session)

    @contextmanager
    def write(self) -> Iterator[WriteSession]:
        """A session that commits when its block ends, and changes nothing when the block raises.

        Writers take turns from their first statement on, across threads and processes: rules that are checked in the
        block hold when it commits. Raises `storage_unavailable`; then nothing was changed, unless the commit itself was
        cut off: then it says so, and an idempotency key tells. Raises the refusal where there is one.
        """
        if self.refusal is not None:
            raise CantrailError(self.refusal.kind, self.refusal.code, self.refusal.message)
        with faults_told(writing=True), self._turn_taken(), Session(self._writer, expire_on_commit=False) as session:
            if self.is_sqlite:
                session.connection()
            else:
                session.connection().execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _APPEND_LOCK})
            yield WriteSession(session)
            session.flush()
            with faults_told(writing=True, committing=True):
                session.commit()

    def run(self, unit: Callable[[WriteSession], T]) -> T:
        """Do a whole unit of writing, and do it again where PostgreSQL says that it collided with another's."""
        for _ in range(TRIES - 1):
            try:
                with self.write() as session:
                    return unit(session)
            except CantrailError as error:
                if sqlstate(error) not in RETRIABLE:
                    raise
        with self.write() as session:
            return unit(session)

    @contextmanager
    def _turn_taken(self) -> Iterator[None]:
        """On SQLite, wait for this process's other threads here: waiting in the file's lock is slow and unfair."""
        if not self.is_sqlite:
            yield
            return
        if not self._turn.acquire(timeout=WRITER_WAIT_S):
            raise unavailable("others in this process were writing for too long")
        try:
            yield
        finally:
            self._turn.release()

    def refuse_writes(self, why: CantrailError) -> None:
        """Write nothing from now on, and answer every try with this. Reading goes on."""
        self.refusal = why

    def probe(self) -> int:
        """The number of the ledger's last entry, by the fastest read there is. Raises `storage_unavailable`."""
        return self._probe.head()

    def dispose(self) -> None:
        """Close every connection. The database can be used again afterwards, over new ones."""
        self._probe.close()
        self._reader.dispose()
        self._writer.dispose()
