"""What "nothing lost" means, in one place: every fault test ends here.

Every change that was acknowledged is there exactly once; no half state between row, entry and file; the ledger verifies
from its first entry and extends the last published checkpoint; integrity and foreign keys are clean; and it can be written
to again.
"""

from collections import Counter
from collections.abc import Iterable

import pysqlite3

from app.adapters.clock import SystemClock
from app.core import entries
from app.core.confidence import CURRENT
from app.core.entries import METHOD_STREAM, SYSTEM
from app.persistence import ledger, projection
from app.persistence.session import Database
from app.services.verifying import verify
from app.settings import Settings
from tests.faults.standing import opened


def assert_nothing_lost(settings: Settings, *, types: list[str] | None = None) -> None:
    """`types` are those that the ledger's entries are to have, where that is known."""
    registry = opened(settings)
    try:
        report = verify(registry.database, registry.store, registry.checkpoints)
        assert report.fine, [check for check in report.checks if check.wrong]
        assert {check.name for check in report.checks} >= {
            "database",
            "entries",
            "tree",
            "checkpoints",
            "tables",
            "evidence",
        }
        if types is not None:
            # A job that was cut off is done after those behind it.
            assert Counter(types_of(registry.database)) == Counter(types)
        assert registry.database.refusal is None
        _assert_writable(registry.database)
    finally:
        registry.close()


def assert_each_once(settings: Settings, acknowledged: Iterable[str]) -> None:
    """Each publisher that somebody was told of is in the ledger once, and so is each that nobody was told of."""
    database = Database(settings.url, checkpoints=False)
    with database.read() as session:
        names = Counter(
            each.payload.name
            for each in ledger.every_entry(session)
            if isinstance(each.payload, entries.PublisherAdded)
        )
    database.dispose()
    assert {name: names[name] for name in acknowledged if names[name] != 1} == {}
    assert {name: times for name, times in names.items() if times != 1} == {}


def assert_sound(settings: Settings) -> None:
    """The same in a moment, to be asked after each of hundreds of faults: whole pages, whole chains, no orphan."""
    connection = pysqlite3.connect(settings.url.removeprefix("sqlite:///"))
    try:
        assert connection.execute("PRAGMA quick_check").fetchall() == [("ok",)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
        last, count = connection.execute("SELECT max(seq), count(*) FROM ledger_entry").fetchone()
        assert connection.execute("SELECT seq FROM ledger_head").fetchall() == [(last,)]
        assert last == count
    finally:
        connection.close()


def types_of(database: Database) -> list[str]:
    """The types of the ledger's entries, in order, but for those with which it is tried whether it can be written to."""
    with database.read() as session:
        types = [each.payload.type for each in ledger.every_entry(session)]
    return [each for each in types if each != entries.MethodAdopted.type]


def _assert_writable(database: Database) -> None:
    with database.write() as session:
        before = ledger.head(session)
        adopted = entries.MethodAdopted(method=CURRENT.version)
        now = SystemClock().now()
        written = projection.record(session, actor=SYSTEM, now=now, streams=[METHOD_STREAM], payload=adopted)
    assert written.seq == before + 1 == database.probe()
