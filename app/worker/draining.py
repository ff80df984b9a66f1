"""Drain the outbox: one job after another, the slow part of each outside any transaction."""

import logging
import time
from collections.abc import Callable
from threading import Event
from typing import Final

from app.bootstrap import Registry
from app.core.errors import CantrailError
from app.services import fetching, outbox, page_reading, taking_down
from app.services.daily import system_work
from app.services.outbox import Job, JobKind, Outcome
from app.services.tools import Tools
from app.worker import daily_round

IDLE_S: Final = 2.0
"""How long the worker waits when nothing is due."""

PUBLISHES_EVERY_S: Final = 60.0
"""How often, at most, the worker has a checkpoint of what was entered since kept."""

_log: Final = logging.getLogger(__name__)


def drain(registry: Registry, *, progress: Callable[[int, int], None] | None = None) -> int:
    """Do every job that is due. Gives how many were done. `progress` is told jobs done, and of how many."""
    done = 0
    while do_next(registry):
        done += 1
        if progress is not None:
            with registry.database.read() as session:
                progress(done, done + outbox.waiting(session, registry.clock.now()))
    return done


def keep_draining(registry: Registry, stop: Event) -> None:
    """Do jobs as they fall due, until told to stop; the daily round is one of them."""
    daily_asked, published = False, float("-inf")
    while not stop.is_set():
        try:
            if not daily_asked:
                ask_daily(registry)
                daily_asked = True
            idle = not do_next(registry)
        except CantrailError as error:
            # The storage is out of reach just now: the jobs are still there when it comes back.
            _log.warning("The outbox cannot be read or written: %s", error.message)
            idle = True
        if idle:
            if time.monotonic() - published >= PUBLISHES_EVERY_S:
                published = time.monotonic()
                daily_round.publish(registry)
            stop.wait(IDLE_S)


def ask_daily(registry: Registry) -> None:
    """See to it that there is a daily round to do, once a day from now on."""
    with registry.database.write() as session:
        outbox.ask_daily(session, registry.clock.now())


def do_next(registry: Registry) -> bool:
    """Do the next job that is due; False where nothing is."""
    with registry.database.read() as session:
        if not outbox.is_due(session, registry.clock.now()):
            return False
    with registry.database.write() as session:
        job = outbox.take(session, registry.clock.now())
    if job is None:
        return False
    try:
        outcome = _done(registry, job)
        with registry.database.write() as session:
            ours = outbox.finish(system_work(session, registry.clock.now(), registry.store), job, outcome)
        if ours:
            _log.info("The job %s of %s is done", job.kind, job.about)
    except CantrailError as error:
        _put_off(registry, job, error.code)
    except Exception:  # noqa: BLE001 - a mistake of the program's own must not keep the jobs behind it from being done
        _log.exception("The job %s of %s failed", job.kind, job.about)
        _put_off(registry, job, "internal_error")
    return True


def _put_off(registry: Registry, job: Job, failure: str) -> None:
    _log.warning("The job %s of %s came to nothing: %s", job.kind, job.about, failure)
    with registry.database.write() as session:
        outbox.put_off(session, registry.clock.now(), job, failure)


def _done(registry: Registry, job: Job) -> Outcome:
    """Do the slow part of a job. One that has taken too many workers with it is not done but entered as given up."""
    tools = Tools(registry.database, registry.store, registry.fetcher, registry.reader)
    if outbox.is_given_up(job):
        _log.error("The job %s of %s was left by %d workers in a row", job.kind, job.about, job.lost)
        match job.kind:
            case JobKind.FETCH:
                return fetching.give_up(job.about, outbox.LOST)
            case JobKind.READ:
                return page_reading.give_up(tools, job.about, outbox.LOST)
            case JobKind.LOOK:
                return page_reading.look(tools, job.about, given_up=True)
            case JobKind.REMOVE | JobKind.DAILY:
                pass
    match job.kind:
        case JobKind.FETCH:
            return fetching.fetch(tools, job.about, last_try=outbox.is_last_try(job))
        case JobKind.READ:
            return page_reading.read(tools, job.about)
        case JobKind.LOOK:
            return page_reading.look(tools, job.about)
        case JobKind.REMOVE:
            return taking_down.remove(registry.store, job.about)
        case JobKind.DAILY:
            return daily_round.begun(registry)
