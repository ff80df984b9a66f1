"""Measure a page of the desk and of coverage among very much that waits: `python -m tests.bench.desk`.

Each is told as a share of the time that sorting the whole would take, in the same database.
"""

import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median
from typing import Any

from sqlalchemy import insert, select

from app.core.claim import Quantity, Statement
from app.core.mass import Stated, Unit
from app.persistence import migrate
from app.persistence.base import table_of
from app.persistence.models import AskedCount, Claim, DeskWork, Reading, Vehicle
from app.persistence.session import Database
from app.services import desk
from app.services.coverage import ListCoverage, lacking
from app.services.desk import ListDesk
from tests.services.trade import Trade

MANY = 100_000
VEHICLES = 2_000
AT_ONCE = 10_000
READ = 2_000
ROUNDS = 9


def fill(trade: Trade, many: int) -> None:
    """So many undecided claims on two thousand vehicles; those first in the order were read by `first`."""
    said = Statement(Quantity.ROOF_LIMIT, Stated("75", Unit.KG))
    author, reader = trade.account("writer"), trade.account("first")
    with trade.database.write() as session:
        connection = session.connection()
        vehicles = [
            {"slug": f"v{number:05}", "seq": 10_000_000 + number, "maker": "orrin", "model": "V", "first_year": 2019,
             "confirmed": False}
            for number in range(VEHICLES)
        ]  # fmt: skip
        connection.execute(insert(table_of(Vehicle)), vehicles)
        for begin in range(0, many, AT_ONCE):
            numbers = range(begin, min(begin + AT_ONCE, many))
            connection.execute(insert(table_of(Claim)), [claim(number, said, author) for number in numbers])
            connection.execute(insert(table_of(DeskWork)), [work(number, author) for number in numbers])
        read = {"reviewer": reader, "statement": said, "differences": (), "at": "2026-01-01T00:00:00.000000Z"}
        readings = [{"id": f"R9{number}", "claim": f"C8{number:06}", **read} for number in range(READ)]
        connection.execute(insert(table_of(Reading)), readings)
        asked = {"subject_kind": "vehicle", "quantity": "roof_limit", "condition": "on_road"}
        counts = [{"subject_id": f"v{number:05}", "asked": number + 1, "unmet": number, **asked}
                  for number in range(VEHICLES)]  # fmt: skip
        connection.execute(insert(table_of(AskedCount)), counts)


def claim(number: int, said: Statement, author: str) -> dict[str, Any]:
    return {
        "id": f"C8{number:06}", "seq": 20_000_000 + number, "subject_kind": "vehicle",
        "subject_id": f"v{number % VEHICLES:05}", "quantity": "roof_limit", "condition": "on_road",
        "state": "submitted", "statement": said, "source_type": "manual_page", "publisher": "orrin", "author": author,
        "interest": "none", "approvals": 0, "submitted_at": f"2026-01-01T00:00:00.{number:06}Z",
    }  # fmt: skip


def work(number: int, author: str) -> dict[str, Any]:
    at = f"2026-01-01T00:00:00.{number:06}Z"
    return {
        "kind": "first_reading", "about": f"C8{number:06}", "claim": f"C8{number:06}", "subject_kind": "vehicle",
        "subject_id": f"v{number % VEHICLES:05}", "quantity": "roof_limit", "maker": "orrin", "publisher": "orrin",
        "author": author, "since": at, "lowers": False, "asked": 0, "newcomer": True, "turn": 1, "stands_at": at,
    }  # fmt: skip


def typical(what: Callable[[], Any]) -> float:
    """The median of some rounds, in seconds."""
    taken = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        what()
        taken.append(time.perf_counter() - begun)
    return median(taken)


def measure(trade: Trade, middle: str) -> dict[str, float]:
    """What each page takes, as a share of sorting the whole."""
    with trade.database.read() as session:
        everything = select(table_of(DeskWork)).order_by(table_of(DeskWork).c.since.desc(), table_of(DeskWork).c.about)
        whole = typical(lambda: session.connection().execute(everything).all())

        def page(by: str, cursor: str | None = None, **asked: Any) -> float:
            wanted = ListDesk(cursor=cursor, **asked)
            return typical(lambda: desk.waiting(session, trade._callers[by], trade.now, wanted))

        taken = {
            "behind what one has read": page("first"),
            "first": page("second"),
            "middle": page("second", middle),
            "of one kind": page("second", kind="first_reading"),
            "coverage": typical(lambda: lacking(session, ListCoverage())),
            "coverage of a condition": typical(lambda: lacking(session, ListCoverage(condition="parked"))),  # type: ignore[arg-type]
        }
    return {name: seconds / whole for name, seconds in taken.items()}


def main() -> None:
    """Fill a registry of its own, and print the shares."""
    with tempfile.TemporaryDirectory() as folder:
        database = Database(f"sqlite:///{folder}/desk.sqlite3")
        migrate.upgrade(database)
        trade = Trade(database, Path(folder) / "evidence")
        trade.furnish()
        fill(trade, MANY)
        for name, share in measure(trade, "1~2026-01-01T00:00:00.050000Z~first_reading~C8050000").items():
            print(f"{name:<28} {share:.4f} of sorting {MANY} rows")
        database.dispose()


if __name__ == "__main__":
    main()
