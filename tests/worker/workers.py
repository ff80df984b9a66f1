"""Workers in processes of their own, over the test's registry: one may be killed at some point, several may race."""

import os
import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from multiprocessing import get_context
from multiprocessing.process import BaseProcess
from multiprocessing.synchronize import Barrier
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Engine, event

from app.adapters.evidence_store import FolderEvidenceStore
from app.bootstrap import Registry
from app.persistence.session import Database
from app.services.ports import Looked, ReadText
from app.settings import Settings
from app.worker.draining import drain
from tests.outside import PlainReader, WrittenWeb

# Forked from a clean process that has imported all this: started in a moment, sharing no connection with the test.
CONTEXT: Final = get_context("forkserver")
CONTEXT.set_forkserver_preload(["__main__", __name__])

KILLED: Final = -signal.SIGKILL


class Fixed:
    """A clock that stands."""

    def __init__(self, now: datetime) -> None:
        self._now = now

    def now(self) -> datetime:
        return self._now


class Countdown:
    """Kills its own process at the so-manieth point that it passes, as a machine that loses its power would."""

    def __init__(self, point: int) -> None:
        self._left = point

    def passed(self, *_: Any) -> None:
        self._left -= 1
        if self._left == 0:
            os.kill(os.getpid(), signal.SIGKILL)


class MortalStore(FolderEvidenceStore):
    """A store that may be killed before and after it holds a file."""

    def __init__(self, root: Path, points: Countdown) -> None:
        super().__init__(root)
        self._points = points

    def put(self, content: bytes) -> str:
        self._points.passed()
        sha256 = super().put(content)
        self._points.passed()
        return sha256


class MortalReader(PlainReader):
    """A reader that may be killed in the middle of reading."""

    def __init__(self, points: Countdown) -> None:
        self._points = points

    def read(self, content: bytes, media_type: str) -> ReadText:
        self._points.passed()
        return super().read(content, media_type)


class NotingReader(PlainReader):
    """Takes its time to read, and notes in a file what it reads."""

    def __init__(self, notes: Path) -> None:
        self._notes = notes

    def look(self, content: bytes, media_type: str) -> Looked:
        return Looked(1)

    def read(self, content: bytes, media_type: str) -> ReadText:
        with self._notes.open("ab") as notes:
            notes.write(content + b"\n")
        time.sleep(0.02)
        return super().read(content, media_type)


@contextmanager
def _registry(url: str, store: FolderEvidenceStore, now: datetime, **ports: Any) -> Iterator[Registry]:
    database = Database(url, checkpoints=False)
    yield Registry(Settings(database_url=url), database, store, Fixed(now), **ports)
    database.dispose()


def _drain_and_die(url: str, folder: Path, now: datetime, pages: dict[str, str], point: int) -> None:
    points = Countdown(point)
    event.listen(Engine, "before_cursor_execute", points.passed)
    event.listen(Engine, "commit", points.passed)
    ports = {"fetcher": WrittenWeb(pages), "reader": MortalReader(points)}
    with _registry(url, MortalStore(folder, points), now, **ports) as registry:
        drain(registry)


def _drain_beside(url: str, folder: Path, now: datetime, notes: Path, start: Barrier) -> None:
    with _registry(url, FolderEvidenceStore(folder), now, reader=NotingReader(notes)) as registry:
        start.wait(120)
        drain(registry)


def killed_at(point: int, url: str, folder: Path, now: datetime, pages: dict[str, str]) -> bool:
    """A worker that is killed at a point. False where it came to its end before."""
    worker = CONTEXT.Process(target=_drain_and_die, args=(url, folder, now, pages, point))
    worker.start()
    return _ended(worker) == KILLED


def race(workers: int, url: str, folder: Path, now: datetime, notes: Path) -> None:
    """So many workers that begin at the same moment."""
    start = CONTEXT.Barrier(workers)
    racing = [CONTEXT.Process(target=_drain_beside, args=(url, folder, now, notes, start)) for _ in range(workers)]
    for worker in racing:
        worker.start()
    assert [_ended(worker) for worker in racing] == [0] * workers


def _ended(worker: BaseProcess) -> int | None:
    worker.join(180)
    assert worker.exitcode in {0, KILLED}
    return worker.exitcode
