import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import psycopg
import pysqlite3
import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from sqlmodel import Session, select

from app.core.errors import CantrailError, Kind
from app.core.permissions import Role
from app.persistence import engines, stores
from app.persistence import session as sessions
from app.persistence.faults import told
from app.persistence.models import Account, LedgerHead
from app.persistence.session import Database, ReadSession, WriteSession
from tests.persistence.test_ledger import add

NOW = datetime(2026, 3, 1, 12, tzinfo=UTC)


def one(session: ReadSession | WriteSession, statement: str) -> Any:
    return session.connection().execute(text(statement)).scalar_one()


def test_a_reader_cannot_write(database: Database) -> None:
    with pytest.raises(DBAPIError, match=r"read.?only"), database.read() as session:
        session.connection().execute(text("UPDATE ledger_head SET seq = 9"))
    assert database.probe() == 0


def test_a_reader_sees_one_view_that_stands_still(database: Database) -> None:
    with database.read() as session:
        assert session.exec(select(LedgerHead.seq)).one() == 0
        add(database)
        assert session.exec(select(LedgerHead.seq)).one() == 0
    with database.read() as session:
        assert session.exec(select(LedgerHead.seq)).one() == 1


def test_a_probe_sees_what_another_process_committed(database: Database) -> None:
    other = Database(database.url, checkpoints=False)
    assert database.probe() == 0
    add(other)
    assert database.probe() == 1
    with other.write() as session:
        session.connection().execute(text("SELECT 1"))
    other.dispose()
    assert database.probe() == 1


def test_a_database_can_be_used_again_after_its_connections_are_closed(database: Database) -> None:
    add(database)
    database.dispose()
    assert database.probe() == 1
    assert add(database, "next").seq == 2


def test_rules_that_are_checked_in_a_block_hold_when_it_commits(database: Database) -> None:
    """Thirty-two try to be the first; one is."""

    def be_first(_: int) -> bool:
        with database.write() as session:
            if session.get(Account, "a") is not None:
                return False
            stores.add_account(session, id="a", name="A", role=Role.STEWARD, now=NOW)
            return True

    with ThreadPoolExecutor(32) as pool:
        assert sum(pool.map(be_first, range(32))) == 1


def test_sqlite_is_connected_to_as_it_must_be(tmp_path: Path) -> None:
    database = Database(f"sqlite:///{tmp_path / 'made' / 'new.sqlite3'}")
    asked = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 5000, "trusted_schema": 0}
    with database.write() as session:
        assert {name: one(session, f"PRAGMA {name}") for name in asked} == asked
        assert one(session, "PRAGMA query_only") == 0
        assert one(session, "PRAGMA wal_autocheckpoint") == 1000
        assert one(session, "SELECT sqlite_version()") == pysqlite3.sqlite_version
    with database.read() as session:
        assert {name: one(session, f"PRAGMA {name}") for name in asked} == asked
        assert one(session, "PRAGMA query_only") == 1
    database.dispose()
    beside = Database(database.url, checkpoints=False)
    with beside.write() as session:
        assert one(session, "PRAGMA wal_autocheckpoint") == 0
    beside.dispose()


def test_postgresql_is_connected_to_as_it_must_be(database: Database) -> None:
    if database.is_sqlite:
        assert database.url.startswith("sqlite:///")
        return
    with database.write() as session:
        assert one(session, "SHOW statement_timeout") == "5s"
        assert one(session, "SHOW lock_timeout") == "3s"
        assert one(session, "SHOW transaction_isolation") == "read committed"
        mine = "SELECT count(*) FROM pg_locks WHERE locktype = 'advisory' AND pid = pg_backend_pid() AND granted"
        assert one(session, mine) == 1
    with database.read() as session:
        assert one(session, "SHOW transaction_isolation") == "repeatable read"
        assert one(session, "SHOW transaction_read_only") == "on"


@pytest.mark.parametrize(
    ("version", "sound"),
    [
        ((3, 40, 1), False),
        ((3, 44, 5), False),
        ((3, 44, 6), True),
        ((3, 45, 9), False),
        ((3, 50, 6), False),
        ((3, 50, 7), True),
        ((3, 51, 2), False),
        ((3, 51, 3), True),
        ((3, 52, 0), True),
        ((4, 0, 0), True),
    ],
)
def test_a_sqlite_that_can_lose_writes_is_refused(version: tuple[int, ...], sound: bool) -> None:
    assert engines.sqlite_is_sound(version) is sound
    if sound:
        engines.refuse_unsound_sqlite(version)
    else:
        with pytest.raises(CantrailError, match="can lose committed writes") as refused:
            engines.refuse_unsound_sqlite(version)
        assert refused.value.code == "sqlite_unsound"


@pytest.mark.parametrize("url", ["sqlite://", "sqlite:///:memory:", "mysql://a@b/c", "nothing", ""])
def test_other_databases_are_refused(url: str) -> None:
    with pytest.raises(CantrailError) as refused:
        Database(url)
    assert refused.value.code == "bad_database_url"


def test_postgresql_may_be_named_without_its_driver() -> None:
    assert engines.parsed("postgresql://me@host/name").drivername == "postgresql+psycopg"


def test_a_writer_who_waits_too_long_is_told(database: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sessions, "WRITER_WAIT_S", 0.05)
    monkeypatch.setattr(engines, "BUSY_TIMEOUT_MS", 50)
    monkeypatch.setattr(engines, "LOCK_TIMEOUT_MS", 50)
    other = Database(database.url)
    for late in (database, other) if database.is_sqlite else (other,):
        with database.write(), pytest.raises(CantrailError) as refused, late.write():
            pass
        assert refused.value.kind is Kind.UNAVAILABLE
        assert refused.value.code == "storage_unavailable"
    add(other)
    other.dispose()


def test_a_full_disk_is_told_and_gone_when_there_is_room_again(database: Database) -> None:
    if not database.is_sqlite:
        assert told_for("53100") == "it has run out of disk, memory or connections"
        return
    add(database)
    with database.write() as session:
        pages = one(session, "PRAGMA page_count")
        session.connection().execute(text(f"PRAGMA max_page_count = {pages}"))
    with pytest.raises(CantrailError, match="disk is full") as refused:
        for number in range(1000):
            add(database, f"p{number}", *(f"stream-{number}-{each}" for each in range(50)))
    assert refused.value.code == "storage_unavailable"
    written = database.probe()
    with database.write() as session:
        session.connection().execute(text("PRAGMA max_page_count = 1000000"))
    assert add(database, "room").seq == written + 1


def told_for(state: str) -> str:
    error = psycopg.errors.lookup(state)("as the server says it")
    meaning = told(error, writing=True)
    assert meaning is not None
    return meaning.message.split(": ")[1].split(". ")[0]


def test_a_lost_connection_is_told_and_made_again(database: Database) -> None:
    if database.is_sqlite:
        Path(database.url.removeprefix("sqlite:///")).write_bytes(b"not a database at all" * 300)
        with pytest.raises(CantrailError, match="damaged"):
            database.probe()
        with pytest.raises(CantrailError, match="damaged"), database.read() as session:
            session.exec(select(LedgerHead.seq)).one()
        return
    add(database)
    assert database.probe() == 1
    kill = "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity WHERE pid <> pg_backend_pid()"
    kill += " AND datname = current_database()"
    with pytest.raises(CantrailError, match="cannot be used now"), database.write() as session:
        with database.read() as reader:
            assert one(reader, kill) >= 2
        add_again = session.connection()
        add_again.execute(text("SELECT 1"))
    assert database.probe() == 1
    assert add(database, "again").seq == 2


def test_a_commit_that_was_cut_off_does_not_say_that_nothing_was_changed(
    database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    def cut_off(_: object) -> None:
        raise DBAPIError("COMMIT", None, psycopg.OperationalError("server closed the connection unexpectedly"))

    with monkeypatch.context() as patch, pytest.raises(CantrailError) as refused:
        patch.setattr(Session, "commit", cut_off)
        add(database)
    assert refused.value.code == "storage_unavailable"
    assert "is not known" in refused.value.message
    assert "Nothing was changed" not in refused.value.message


def test_a_database_that_is_not_there_is_told(tmp_path: Path) -> None:
    for url in (f"sqlite:///{tmp_path}", f"postgresql+psycopg://me@/none?host={tmp_path}"):
        away = Database(url)
        with pytest.raises(CantrailError) as refused:
            away.probe()
        assert refused.value.code == "storage_unavailable"
        with pytest.raises(CantrailError) as refused, away.read() as session:
            session.exec(select(LedgerHead.seq)).one()
        assert refused.value.code == "storage_unavailable"
        with pytest.raises(CantrailError) as refused, away.write():
            pass
        assert refused.value.code == "storage_unavailable"


def test_a_mistake_in_a_statement_looks_like_one(database: Database) -> None:
    with pytest.raises(DBAPIError), database.read() as session:
        session.connection().execute(text("SELECT nothing FROM nowhere"))
    with pytest.raises(DBAPIError), database.write() as session:
        session.connection().execute(text("INSERT INTO nowhere VALUES (1)"))


def test_a_unit_that_collided_is_done_again(database: Database) -> None:
    tries = []

    def unit(session: WriteSession) -> int:
        tries.append(1)
        if len(tries) < 3:
            raise DBAPIError("…", None, psycopg.errors.SerializationFailure("could not serialise"))
        return len(tries)

    assert database.run(unit) == 3


def test_a_unit_that_always_collides_is_given_up(database: Database) -> None:
    tries = []

    def unit(session: WriteSession) -> None:
        tries.append(1)
        raise DBAPIError("…", None, psycopg.errors.DeadlockDetected("deadlock detected"))

    with pytest.raises(CantrailError, match="changing the same at once"):
        database.run(unit)
    assert len(tries) == sessions.TRIES


def test_a_unit_that_is_refused_is_not_done_again(database: Database) -> None:
    tries = []

    def unit(session: WriteSession) -> None:
        tries.append(1)
        raise CantrailError(Kind.CONFLICT, "not_now", "No.")

    with pytest.raises(CantrailError, match="No"):
        database.run(unit)
    assert len(tries) == 1


def test_probes_from_many_threads_agree(database: Database) -> None:
    add(database)
    seen: set[int] = set()

    def look() -> None:
        for _ in range(200):
            seen.add(database.probe())

    threads = [threading.Thread(target=look) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert seen == {1}
