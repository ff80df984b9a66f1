from datetime import UTC, datetime, timedelta
from hashlib import sha256
from multiprocessing import get_context

import msgspec
import pytest
import rfc8785
from sqlalchemy import delete, insert, text, update
from sqlalchemy.exc import DatabaseError
from sqlmodel import col, select

from app.core import entries
from app.core.errors import CantrailError, Kind
from app.persistence import ledger
from app.persistence.models import LedgerEntry, LedgerStream
from app.persistence.session import Database, WriteSession

NOW = datetime(2026, 3, 1, 12, tzinfo=UTC)
PROCESSES, APPENDS = 8, 25


def append(
    session: WriteSession, name: str = "orrin", *streams: str, now: datetime = NOW, text: str | None = None
) -> entries.Entry:
    payload = entries.PublisherAdded(name, "vehicle_maker", text or name, None, (), ())
    return ledger.append(session, actor="writer", now=now, streams=streams or (f"publisher:{name}",), payload=payload)


def add(database: Database, name: str = "orrin", *streams: str, now: datetime = NOW) -> entries.Entry:
    with database.write() as session:
        return append(session, name, *streams, now=now)


def test_an_entry_is_stored_as_canonical_json_with_its_leaf_hash(database: Database) -> None:
    entry = add(database, "orrin", "publisher:orrin", "second", "second")
    assert entry.seq == 1
    assert entry.at == "2026-03-01T12:00:00.000000Z"
    assert entry.streams == ("publisher:orrin", "second")
    with database.read() as session:
        (row,) = session.exec(select(LedgerEntry))
        assert row.body == rfc8785.dumps(entries.members(entry))
        assert row.leaf_hash == sha256(b"\x00" + row.body).digest()
        assert entries.read(row.body) == entry
        assert (row.at, row.actor, row.type, row.version) == (entry.at, "writer", "publisher_added", 1)


def test_numbers_follow_each_other_and_the_head_follows_them(database: Database) -> None:
    assert database.probe() == 0
    for expected in (1, 2, 3):
        with database.write() as session:
            assert ledger.next_seq(session) == expected
            assert append(session, f"p{expected}").seq == expected
            assert ledger.head(session) == expected
        assert database.probe() == expected


def test_a_clock_that_goes_back_does_not_take_the_ledger_with_it(database: Database) -> None:
    first = add(database, "a")
    second = add(database, "b", now=NOW - timedelta(days=1))
    assert second.at == first.at


def test_what_a_block_wrote_is_gone_when_it_raises(database: Database) -> None:
    add(database, "kept")
    with pytest.raises(KeyError), database.write() as session:
        append(session, "lost")
        raise KeyError
    assert database.probe() == 1
    assert add(database, "next").seq == 2


def test_an_entry_has_a_largest_size(database: Database) -> None:
    with database.write() as session:
        shell = len(rfc8785.dumps(entries.members(append(session, text="x")))) - 1
    with database.write() as session:
        assert append(session, text="x" * (65_535 - shell)).seq == 2
    with pytest.raises(CantrailError, match="65535 at most") as refused, database.write() as session:
        append(session, text="x" * (65_536 - shell))
    assert refused.value.kind is Kind.TOO_LARGE
    assert refused.value.code == "entry_too_large"
    assert database.probe() == 2


def test_what_could_not_be_read_again_is_not_written(database: Database) -> None:
    broken = entries.PublisherAdded("p", 5, None, None, (), ())  # type: ignore[arg-type]
    with pytest.raises(msgspec.ValidationError), database.write() as session:
        ledger.append(session, actor="writer", now=NOW, streams=["s"], payload=broken)
    assert database.probe() == 0


def test_reading_by_streams_by_number_and_by_time(database: Database) -> None:
    for number in range(1, 6):
        add(database, f"p{number}", "odd" if number % 2 else "even", "all", now=NOW + timedelta(seconds=number))
    with database.read() as session:

        def numbers(*streams: str, up_to: int | None = None) -> list[int]:
            return [entry.seq for entry in ledger.entries_of(session, streams=streams, up_to=up_to)]

        assert numbers("odd") == [1, 3, 5]
        assert numbers("even", "all", "odd") == [1, 2, 3, 4, 5]
        assert numbers("odd", up_to=3) == [1, 3]
        assert numbers("odd", up_to=2**40) == [1, 3, 5]
        assert numbers("none") == []
        assert numbers() == []
        assert numbers(*(f"none-{number}" for number in range(40_000)), "even") == [2, 4]
        assert [entry.seq for entry in ledger.entries_after(session, after=2, limit=2)] == [3, 4]
        assert [entry.seq for entry in ledger.every_entry(session)] == [1, 2, 3, 4, 5]
        assert ledger.streams_since(session, after=3, limit=2) == {"odd", "even", "all"}
        assert ledger.streams_since(session, after=2, limit=2) is None
        assert ledger.streams_since(session, after=5, limit=0) == set()
        assert ledger.streams_since(session, after=2**40, limit=0) == set()
        assert ledger.entries_after(session, after=2**40, limit=2) == []
        assert ledger.seq_at(session, at="2026-03-01T12:00:03.000000Z") == 3
        assert ledger.seq_at(session, at="2026-03-01T12:00:02.999999Z") == 2
        assert ledger.seq_at(session, at="2026-03-01T12:00:00.000000Z") == 0


@pytest.mark.parametrize(
    "change",
    [
        update(LedgerEntry).values(actor="someone else"),
        delete(LedgerEntry),
        update(LedgerStream).values(stream="other"),
        delete(LedgerStream).where(col(LedgerStream.seq) == 1),
    ],
    ids=["update entry", "delete entry", "update stream", "delete stream"],
)
def test_the_database_itself_refuses_to_change_the_ledger(database: Database, change: object) -> None:
    add(database)
    with pytest.raises(DatabaseError, match="append-only"), database.write() as session:
        session.exec(change)  # type: ignore[call-overload]
    with database.read() as session:
        assert session.exec(select(LedgerEntry.actor)).all() == ["writer"]
        assert session.exec(select(LedgerStream.stream)).all() == ["publisher:orrin"]


@pytest.mark.parametrize("seq", [1, 3])
def test_the_database_itself_refuses_a_gap_and_a_second_entry_of_one_number(database: Database, seq: int) -> None:
    add(database)
    row = {"seq": seq, "at": "x", "actor": "x", "type": "x", "version": 1, "body": b"x", "leaf_hash": b"x" * 32}
    with pytest.raises(DatabaseError, match="no gaps"), database.write() as session:
        session.exec(insert(LedgerEntry).values(**row))


def test_replacing_an_entry_is_refused_too(database: Database) -> None:
    add(database)
    values = "VALUES (1, 'x', 'x', 'x', 1, :body, :hash)"
    columns = "(seq, at, actor, type, version, body, leaf_hash)"
    statement = (
        f"INSERT OR REPLACE INTO ledger_entry {columns} {values}"
        if database.is_sqlite
        else f"INSERT INTO ledger_entry {columns} {values} ON CONFLICT (seq) DO UPDATE SET actor = 'x'"
    )
    with pytest.raises(DatabaseError, match="no gaps"), database.write() as session:
        session.connection().execute(text(statement), {"body": b"x", "hash": b"x" * 32})


def test_postgresql_refuses_to_empty_the_ledger(database: Database) -> None:
    add(database)
    statement = "DELETE FROM ledger_entry" if database.is_sqlite else "TRUNCATE ledger_entry"
    with pytest.raises(DatabaseError, match="append-only"), database.write() as session:
        session.connection().execute(text(statement))


def _append_many(url: str, process: int) -> None:
    database = Database(url)
    for number in range(APPENDS):
        add(database, f"p{process}-{number}", f"process:{process}")
    database.dispose()


def test_many_processes_append_without_a_gap_or_an_error(database: Database) -> None:
    context = get_context("forkserver")
    context.set_forkserver_preload(["app.persistence.ledger", "app.persistence.migrate"])
    with context.Pool(PROCESSES) as pool:
        pool.starmap(_append_many, [(database.url, process) for process in range(PROCESSES)], chunksize=1)
    everything = PROCESSES * APPENDS
    assert database.probe() == everything
    with database.read() as session:
        written = list(ledger.every_entry(session))
        assert [entry.seq for entry in written] == list(range(1, everything + 1))
        assert sorted(entry.at for entry in written) == [entry.at for entry in written]
        for process in range(PROCESSES):
            own = ledger.entries_of(session, streams=[f"process:{process}"], up_to=None)
            names = [getattr(entry.payload, "slug", "") for entry in own]
            assert names == [f"p{process}-{number}" for number in range(APPENDS)]
