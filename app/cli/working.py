"""The worker beside the server: what is done later."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from threading import Event, Lock, Thread, current_thread, main_thread
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
`cantrail serve --with-work` brings one along.
"""

AGAIN_AFTER_S: Final = 2.0
"""How long after a worker beside a server has ended by itself another one is started."""


def add_to(app: typer.Typer) -> None:
    """Add this command."""
    app.command(epilog=WORK_EXAMPLES)(work)


def work(
    once: Annotated[bool, typer.Option("--once", help="Do what is due, and end.")] = False,
    beside: Annotated[bool, typer.Option("--beside", hidden=True, help="End when standard input ends.")] = False,
) -> None:
    """Read papers and fetch addresses, until Ctrl-C.

    The worker does what was left for later: it reads the pages of documents, looks for the figures that claims cite
    from them, fetches what is published at addresses, and removes files that were taken down. Once a day it enters
    what time has done, as `cantrail daily` does. Told to end, it finishes the job in hand.
    """
    with opened() as registry:
        if once:
            _work_once(registry)
        else:
            _keep_working(registry, beside=beside)


def _work_once(registry: "Registry") -> None:
    from app.worker.daily_round import publish, tidy
    from app.worker.draining import ask_daily, drain

    ask_daily(registry)
    with progress("Doing what is due") as told:
        done = drain(registry, progress=told)
    removed = tidy(registry)
    publish(registry)
    print(f"{done} jobs handled, {removed} unclaimed files removed.")


def _keep_working(registry: "Registry", *, beside: bool) -> None:
    from app.adapters import log_lines
    from app.worker.draining import keep_draining

    log_lines.set_up()
    stop = Event()
    _when_told_to_end(stop)
    if beside:
        Thread(target=_when_left_alone, args=(stop,), daemon=True).start()
    print(f"Working on {registry.settings.data_dir}. Ctrl-C stops it.", flush=True)
    keep_draining(registry, stop)


def _when_told_to_end(stop: Event) -> None:
    """The first Ctrl-C, or being told to end, sets `stop`; a second one ends at once."""

    def end(number: int, _frame: FrameType | None) -> None:
        signal.signal(number, before[signal.Signals(number)])
        # The signal may have come while this very thread held the event's own lock.
        Thread(target=stop.set).start()

    before = {number: signal.signal(number, end) for number in (signal.SIGINT, signal.SIGTERM)}


def _when_left_alone(stop: Event) -> None:
    """Whoever started this worker holds the other end of its standard input, which closes even when that is killed."""
    while sys.stdin.buffer.read(1):
        pass
    stop.set()


@contextmanager
def ended_gently() -> Iterator[None]:
    """Being told to end is as good as Ctrl-C: what is to be done at the end is done then, too."""
    if current_thread() is not main_thread():
        yield
        return

    def interrupt(_signal: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, interrupt)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


@contextmanager
def working_beside(settings: "Settings", *, told: bool = False) -> Iterator[None]:
    """A worker in a process of its own, until the block ends; another one, where it ends by itself. `told` lets its log
    go where this process's goes."""
    beside = _Beside(settings, told=told)
    try:
        yield
    finally:
        beside.end()


class _Beside:
    """A worker's process, started anew whenever a job has taken it along."""

    def __init__(self, settings: "Settings", *, told: bool) -> None:
        self._words = ["--data-dir", str(settings.data_dir), "work", "--beside"]
        # As the settings have it: the variables and a .env might name another database.
        self._variables = {**os.environ, "CANTRAIL_DATABASE_URL": settings.url}
        self._log = None if told else subprocess.DEVNULL
        self._ending = Event()
        self._turn = Lock()
        self._worker = self._started()
        self._watch = Thread(target=self._keep, daemon=True)
        self._watch.start()

    def end(self) -> None:
        """End it: gently, and at once where that takes too long."""
        with self._turn:
            self._ending.set()
        try:
            self._worker.terminate()
            with suppress(subprocess.TimeoutExpired):
                self._worker.wait(STOPS_WITHIN_S)
        finally:
            self._worker.kill()
            self._worker.wait()
            self._watch.join()
            self._close()

    def _started(self) -> "subprocess.Popen[bytes]":
        return subprocess.Popen(  # noqa: S603 - this very program, on a folder of the caller's
            [sys.executable, "-P", "-c", "from app.cli.main import main; main()", *self._words],
            env=self._variables,
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=self._log,
        )

    def _keep(self) -> None:
        while True:
            self._worker.wait()
            if self._ending.wait(AGAIN_AFTER_S):
                return
            with self._turn:
                if self._ending.is_set():
                    return
                self._close()
                self._worker = self._started()

    def _close(self) -> None:
        if self._worker.stdin is not None:
            self._worker.stdin.close()
