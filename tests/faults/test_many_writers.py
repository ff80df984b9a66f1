"""Many who write at once: no error, no gap, no fork, and one decision where there can be one."""

import os
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Final

import pytest

from app.core.errors import CantrailError
from app.persistence import ledger
from app.persistence.session import Database
from tests.faults.nothing_lost import assert_nothing_lost
from tests.faults.paths import Step
from tests.faults.standing import Standing, begun, settled
from tests.faults.writers import write_at_once
from tests.services.trade import Trade
from tests.web.story import API

PROCESSES: Final = 8
APPENDS: Final = int(os.environ.get("CANTRAIL_FAULT_APPENDS", "100"))


def test_processes_that_append_at_once_leave_no_gap_and_no_fork(database_url: str, tmp_path: Path) -> None:
    settings = settled(database_url, tmp_path / "data")
    begun(settings)
    write_at_once(PROCESSES, database_url, APPENDS)
    database = Database(database_url)
    with database.read() as session:
        slugs = [
            each.payload.slug
            for each in ledger.every_entry(session)
            if each.payload.type == "publisher_added" and hasattr(each.payload, "slug")
        ]
    database.dispose()
    assert sorted(slugs) == sorted(f"forum-{n}-{each}" for n in range(PROCESSES) for each in range(APPENDS))
    assert_nothing_lost(settings)


def test_of_32_threads_that_decide_one_claim_one_decides(database: Database, tmp_path: Path) -> None:
    trade = Trade(database, tmp_path / "evidence")
    trade.furnish()
    claim = trade.claim()
    reading = trade.read("first", claim)

    def decide(_: int) -> str:
        try:
            trade.decide("first", claim, "approve", reading=reading)
        except CantrailError as error:
            return error.code
        return "decided"

    with ThreadPoolExecutor(32) as threads:
        came_to = Counter(threads.map(decide, range(32)))
    assert came_to == {"decided": 1, "already_approved": 31}
    assert trade.view(claim).approvals == 1


@pytest.fixture
def standing(database_url: str, tmp_path: Path) -> Standing:
    """A registry that is ready to be written to."""
    settings = settled(database_url, tmp_path / "data")
    return Standing(settings, begun(settings))


def test_of_20_threads_that_send_one_request_with_one_key_one_does_it(standing: Standing) -> None:
    step = Step("", "contributor", f"{API}/publishers", {"name": "Orrin", "kind": "vehicle_maker"})
    with ThreadPoolExecutor(20) as threads:
        answers = list(threads.map(lambda _: standing.do(step, "one"), range(20)))
    assert {status for status, _ in answers} == {201}
    with standing.registry.database.read() as session:
        types = [each.payload.type for each in ledger.every_entry(session)]
    assert types.count("publisher_added") == 1
    standing.registry.close()
