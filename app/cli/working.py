"""The worker beside the server: what is done later."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from threading import Event, Thread
from types import FrameType
from typing import TYPE_CHECKING, Annotated, Final

import typer

from app.cli.opening import opened, progress

if TYPE_CHECKING:
    from app.bootstrap import Registry
    from app.settings import Settings

STOPS_WITHIN_S: Final = 5.0
"""How long a worker beside the demo may take to finish the job in hand. What is cut off is lost to nobody."""

WORK_EXAMPLES: Final = """\b
Examples:
  cantrail --data-dir /srv/cantrail work
  cantrail work --once

Several workers may run beside each other, and beside the server.
"""


def add_to(app: typer.Typer) -> None:
    """Add this command."""
    app.command(epilog=WORK_EXAMPLES)(work)


def work(
    once: Annotated[bool, typer.Option("--once", help="Do what is due, and end.")] = False,
) -> None:
    """Read papers and fetch addresses, until Ctrl-C.

    The worker does what was left for later: it reads the pages of documents, looks for the figures that claims cite
    from them, fetches what is published at addresses, and removes files that were taken down. Told to end, it
    finishes the job in hand.
    """
    with opened() as registry:
        if once:
            _work_once(registry)
        else:
            _keep_working(registry)


def _work_once(registry: "Registry") -> None:
    from app.services import taking_down
    from app.worker.draining import drain

    with progress("Doing what is due") as told:
        done = drain(registry, progress=told)
    removed = taking_down.sweep(registry.database, registry.store)
    print(f"{done} jobs handled, {removed} unclaimed files removed.")


def _keep_working(registry: "Registry") -> None:
    from app.worker.draining import keep_draining

    stop = Event()
    _when_told_to_end(stop)
    print(f"Working on {registry.settings.data_dir}. Ctrl-C stops it.", flush=True)
    keep_draining(registry, stop)


def _when_told_to_end(stop: Event) -> None:
    """The first Ctrl-C, or being told to end, sets `stop`; a second one ends at once."""

    def end(number: int, _frame: FrameType | None) -> None:
        signal.signal(number, before[signal.Signals(number)])
        # The signal may have come while this very thread held the event's own lock.
        Thread(target=stop.set).start()

    before = {number: signal.signal(number, end) for number in (signal.SIGINT, signal.SIGTERM)}


@contextmanager
def working_beside(settings: "Settings") -> Iterator[None]:
    """A worker in a process of its own, until the block ends."""
    words = ["--data-dir", str(settings.data_dir), "work"]
    worker = subprocess.Popen(  # noqa: S603 - this very program, on a folder of the demo's
        [sys.executable, "-P", "-c", "from app.cli.main import main; main()", *words],
        # As the settings have it: the variables and a .env might name another database.
        env={**os.environ, "CANTRAIL_DATABASE_URL": settings.url},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield
    finally:
        try:
            worker.terminate()
            with suppress(subprocess.TimeoutExpired):
                worker.wait(STOPS_WITHIN_S)
        finally:
            worker.kill()
            worker.wait()
