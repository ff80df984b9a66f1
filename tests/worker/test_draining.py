"""What is done later is done once, whatever happens to the worker."""

import logging
from datetime import timedelta
from pathlib import Path
from threading import Event, Thread
from typing import Any, Final

import pytest

from app.core.errors import CantrailError, Kind
from app.core.pages import Page, PageOutcome
from app.persistence.models import OutboxJob
from app.persistence.queries import outbox as queries
from app.services import documents, fetching, outbox
from app.services.daily import system_work
from app.services.fetching import CHECKED_EVERY
from app.services.outbox import LEASE, WAITS, JobKind
from app.services.ports import ReadText
from app.services.work import Work
from app.worker import draining
from tests.night import tonight
from tests.outside import PlainReader
from tests.services.outdoors import Outdoors
from tests.worker.workers import killed_at, race

EVERY: Final = tonight(2, 1)
"""Of how many points at which a worker may be killed it is killed at one; 1 is every point there is."""

ADDRESS = "https://orrin.example/roofs/{}"


def job(outdoors: Outdoors, kind: JobKind, about: str) -> OutboxJob | None:
    with outdoors.database.read() as session:
        return queries.job(session, kind=kind, about=about)


def later(outdoors: Outdoors, by: timedelta) -> None:
    outdoors.now += by


def ask(outdoors: Outdoors, kind: JobKind, about: str, **more: Any) -> None:
    outdoors.do("writer", lambda work: outbox.ask(work, kind, about, **more))


# Killed, and several at once


def test_a_worker_killed_at_any_point_leaves_nothing_double_and_nothing_lost(outdoors: Outdoors) -> None:
    url, folder = outdoors.database.url, outdoors.registry.settings.data_dir / "evidence"
    # PostgreSQL is a process of its own, and each point waits for it many times: fewer of them are tried there.
    step = EVERY if outdoors.database.is_sqlite else 2 * EVERY + 1
    killed = 0
    while True:
        address, words = ADDRESS.format(killed), f"Roof load {killed} kg"
        id = outdoors.address(address, words)
        survived = not killed_at(killed + 1, url, folder, outdoors.now, outdoors.web.pages)
        if not survived:
            outdoors.work()
            later(outdoors, LEASE)
            outdoors.work()
        entered = outdoors.types(f"document:{id}")
        assert entered == ["document_addressed", "snapshot_kept", "pages_read"], f"killed at point {killed + 1}"
        assert job(outdoors, JobKind.READ, id) is None
        again = job(outdoors, JobKind.FETCH, id)
        assert again is not None
        assert (again.attempts, again.lease) == (0, None)
        assert again.due_at > outdoors.now + CHECKED_EVERY / 2
        with outdoors.database.read() as session:
            assert documents.file(session, outdoors.store, id).content == words.encode()
        assert outdoors.document(id).pages == 1
        if survived:
            break
        killed += step
    assert killed > 30


def test_nobody_has_the_job_of_a_killed_worker_before_its_lease_has_run_out(outdoors: Outdoors) -> None:
    id = outdoors.written("Roof load 75 kg")
    with outdoors.database.write() as session:
        assert outbox.take(session, outdoors.now) is not None
    later(outdoors, LEASE - timedelta(seconds=1))
    assert outdoors.work() == 0
    later(outdoors, timedelta(seconds=1))
    assert outdoors.work() == 1
    assert outdoors.document(id).pages == 1


def test_a_worker_that_outstays_its_lease_enters_nothing(outdoors: Outdoors) -> None:
    id = outdoors.written("Roof load 75 kg")
    with outdoors.database.write() as session:
        slow = outbox.take(session, outdoors.now)
    later(outdoors, LEASE)
    assert outdoors.work() == 1
    assert slow is not None
    with outdoors.database.write() as session:
        assert not outbox.finish(system_work(session, outdoors.now, outdoors.store), slow, _never)
        outbox.put_off(session, outdoors.now, slow, "too_slow")
    assert job(outdoors, JobKind.READ, id) is None


def _never(work: Work) -> None:
    raise AssertionError


def test_workers_beside_each_other_do_each_job_once(outdoors: Outdoors, tmp_path: Path) -> None:
    ids = [outdoors.written(f"Roof load {kg} kg") for kg in range(30)]
    notes = tmp_path / "notes"
    race(3, outdoors.database.url, tmp_path / "evidence", outdoors.now, notes)
    read = notes.read_bytes().splitlines()
    assert len(read) == len(set(read)) == len(ids)
    for id in ids:
        assert outdoors.types(f"document:{id}") == ["document_added", "pages_read"]


# Failures


def test_an_address_that_gives_nothing_is_tried_four_times_and_then_checked_in_its_turn(outdoors: Outdoors) -> None:
    id = outdoors.address(ADDRESS.format("gone"))
    for attempt, wait in enumerate(WAITS, start=1):
        assert outdoors.work() == 1
        waiting = job(outdoors, JobKind.FETCH, id)
        assert waiting is not None
        assert (waiting.attempts, waiting.failure, waiting.lease) == (attempt, "fetch_not_found", None)
        assert waiting.due_at == outdoors.now + wait
        later(outdoors, wait - timedelta(seconds=1))
        assert outdoors.work() == 0
        later(outdoors, timedelta(seconds=1))
        assert outdoors.types(f"document:{id}") == ["document_addressed"]
    assert outdoors.work() == 1
    assert outdoors.types(f"document:{id}") == ["document_addressed", "address_checked"]
    assert outdoors.document(id).checked == "fetch_not_found"
    again = job(outdoors, JobKind.FETCH, id)
    assert again is not None
    assert (again.due_at, again.attempts, again.failure) == (outdoors.now + CHECKED_EVERY, 0, None)
    assert len(outdoors.web.asked) == len(WAITS) + 1


def test_a_file_that_cannot_be_read_now_is_never_given_up(outdoors: Outdoors, monkeypatch: pytest.MonkeyPatch) -> None:
    def busy(self: PlainReader, content: bytes, media_type: str) -> ReadText:
        raise CantrailError(Kind.UNAVAILABLE, "reader_busy", "Try again in a moment.")

    id = outdoors.written("Roof load 75 kg")
    with monkeypatch.context() as patched:
        patched.setattr(PlainReader, "read", busy)
        waits = [*WAITS, WAITS[-1], WAITS[-1]]
        for attempt, wait in enumerate(waits, start=1):
            assert outdoors.work() == 1
            waiting = job(outdoors, JobKind.READ, id)
            assert waiting is not None
            assert (waiting.attempts, waiting.due_at) == (attempt, outdoors.now + wait)
            later(outdoors, wait)
    assert outdoors.work() == 1
    assert outdoors.types(f"document:{id}") == ["document_added", "pages_read"]


def breaks(self: PlainReader, content: bytes, media_type: str) -> ReadText:
    """A reader with a mistake in it."""
    if b"broken" in content:
        raise ZeroDivisionError
    return ReadText((Page(content.decode()),), "layer")


def misreads(self: PlainReader, content: bytes, media_type: str) -> ReadText:
    """A reader that gives what cannot be entered."""
    return ReadText((Page(content.decode()),), "\ud800" if b"broken" in content else "layer")


@pytest.mark.parametrize("mistaken", [breaks, misreads])
def test_a_mistake_does_not_stop_the_jobs_behind_it(
    mistaken: Any, outdoors: Outdoors, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    broken, whole = outdoors.written("broken"), outdoors.written("Roof load 75 kg")
    monkeypatch.setattr(PlainReader, "read", mistaken)
    monkeypatch.setattr(draining, "IDLE_S", 0.01)
    stop = Event()
    worker = Thread(target=draining.keep_draining, args=(outdoors.registry, stop))
    with caplog.at_level(logging.ERROR):
        worker.start()
        for _ in range(3000):
            if job(outdoors, JobKind.READ, whole) is None or not worker.is_alive():
                break
            stop.wait(0.02)
        stop.set()
        worker.join()
    assert outdoors.types(f"document:{whole}") == ["document_added", "pages_read"]
    assert outdoors.types(f"document:{broken}") == ["document_added"]
    waiting = job(outdoors, JobKind.READ, broken)
    assert waiting is not None
    assert (waiting.attempts, waiting.failure) == (1, "internal_error")
    assert f"The job read of {broken} failed" in caplog.text


def test_a_worker_outlives_a_storage_that_is_out_of_reach(
    outdoors: Outdoors, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    id = outdoors.written("Roof load 75 kg")
    stop, out_of_reach = Event(), iter([True, True])

    def is_due(*_: Any) -> bool:
        if next(out_of_reach, False):
            raise CantrailError(Kind.UNAVAILABLE, "storage_unavailable", "Its disk is full.")
        if outdoors.document(id).pages is not None:
            stop.set()
            return False
        return True

    monkeypatch.setattr(draining, "IDLE_S", 0.01)
    monkeypatch.setattr(outbox, "is_due", is_due)
    with caplog.at_level(logging.WARNING):
        draining.keep_draining(outdoors.registry, stop)
    assert outdoors.types(f"document:{id}") == ["document_added", "pages_read"]
    assert caplog.text.count("Its disk is full.") == 2


# Asked more than once


def test_a_job_asked_twice_is_done_once_at_the_earlier_time(outdoors: Outdoors) -> None:
    id = outdoors.address(ADDRESS.format(1), "Roof load 75 kg")
    assert outdoors.work() == 2
    ask(outdoors, JobKind.FETCH, id, after=timedelta(days=1))
    ask(outdoors, JobKind.FETCH, id, after=timedelta(days=30))
    later(outdoors, timedelta(days=1))
    outdoors.do("writer", lambda work: fetching.ask_again(work, id))
    outdoors.do("writer", lambda work: fetching.ask_again(work, id))
    assert outdoors.work() == 1
    assert outdoors.types(f"document:{id}").count("address_checked") == 1
    assert len(outdoors.web.asked) == 2


def test_a_job_asked_for_while_a_worker_has_it_is_done_anew(outdoors: Outdoors) -> None:
    """What the worker looked at may be older than what the asker entered."""
    id = outdoors.written("Roof load 75 kg")
    with outdoors.database.write() as session:
        taken = outbox.take(session, outdoors.now)
    ask(outdoors, JobKind.READ, id)
    assert taken is not None
    with outdoors.database.write() as session:
        assert not outbox.finish(system_work(session, outdoors.now, outdoors.store), taken, _never)
    assert outdoors.work() == 1
    assert outdoors.types(f"document:{id}") == ["document_added", "pages_read"]


def test_what_an_outcome_asks_for_stays(outdoors: Outdoors) -> None:
    """A citation is looked at once its document was read."""
    paper = outdoors.written("Roof load 75 kg")
    claim = outdoors.claim(paper=paper)
    told: list[tuple[int, int]] = []
    assert draining.drain(outdoors.registry, progress=lambda done, of: told.append((done, of))) == 2
    assert told == [(1, 2), (2, 2)]
    assert [each.outcome for each in outdoors.view(claim).citations] == [PageOutcome.FOUND]


# Workers that never come back, and the daily round


def test_a_job_that_kills_every_worker_is_given_up(outdoors: Outdoors) -> None:
    id = outdoors.written("Roof load 75 kg")
    for lost in range(outbox.MOST_LOST):
        with outdoors.database.write() as session:
            taken = outbox.take(session, outdoors.now)
        assert taken is not None
        assert taken.lost == lost
        later(outdoors, LEASE)
    assert outdoors.work() == 1
    assert outdoors.types(f"document:{id}") == ["document_added", "pages_read"]
    assert outdoors.document(id).not_read == outbox.LOST
    assert job(outdoors, JobKind.READ, id) is None


def test_an_address_whose_page_kills_every_worker_is_looked_at_in_its_turn(outdoors: Outdoors) -> None:
    id = outdoors.address(ADDRESS.format(1), "Roof load 75 kg")
    for _ in range(outbox.MOST_LOST):
        with outdoors.database.write() as session:
            assert outbox.take(session, outdoors.now) is not None
        later(outdoors, LEASE)
    assert outdoors.work() == 1
    assert outdoors.web.asked == []
    assert outdoors.document(id).checked == outbox.LOST
    again = job(outdoors, JobKind.FETCH, id)
    assert again is not None
    assert (again.due_at, again.attempts, again.failure) == (outdoors.now + CHECKED_EVERY, 0, None)


def test_a_failure_between_two_losses_begins_the_count_anew(outdoors: Outdoors) -> None:
    outdoors.written("Roof load 75 kg")
    for lost in (0, 1, 2, 0, 1):
        with outdoors.database.write() as session:
            taken = outbox.take(session, outdoors.now)
            assert taken is not None
            assert taken.lost == lost
            if lost == 2:
                outbox.put_off(session, outdoors.now, taken, "reader_busy")
        later(outdoors, timedelta(hours=2))


def test_the_daily_round_is_done_once_a_day_by_one_of_several_workers(outdoors: Outdoors) -> None:
    claim = outdoors.approve(outdoors.claim())
    outdoors.work()
    for _ in range(2):
        draining.ask_daily(outdoors.registry)
    assert outdoors.work() == 1
    round_ = job(outdoors, JobKind.DAILY, outbox.WHOLE)
    assert round_ is not None
    assert round_.due_at > outdoors.now
    assert (round_.due_at.hour, round_.due_at.minute, round_.due_at - outdoors.now <= timedelta(days=1)) == (0, 0, True)
    assert outdoors.work() == 0
    outdoors.now = round_.due_at + timedelta(days=3000)
    assert outdoors.work() >= 1
    assert outdoors.types(f"claim:{claim}").count("claim_aged") == 1
