"""Steps done in processes that are killed on the way, forked from one that has everything ready and no connection."""

import gc
import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Final

import msgspec

from app.persistence import migrate
from app.persistence.session import Database
from app.settings import Settings
from tests.compiled import share_compiled_statements
from tests.faults.paths import Step, go
from tests.faults.sqlite_calls import intercepted
from tests.faults.standing import Standing, begun, let_leases_run_out, settled
from tests.web.people import People

TOP: Final = Path(__file__).parents[2]


class Mortal:
    """Does steps, each in a process of its own that is killed at some write, sync or rename."""

    def __init__(self, talk: Any) -> None:
        self._talk = talk

    def do(self, step: Step, key: str, point: int) -> tuple[int, Any] | None:
        """Do a step, killed at a point; half of what was to be written there is. None where it was killed."""
        self._talk.send((step, key, point))
        answer: tuple[int, Any] | None = self._talk.recv()
        return answer


@contextmanager
def mortal(settings: Settings, people: People) -> Iterator[Mortal]:
    """Somebody who does steps and is killed."""
    ours, theirs = Pipe()
    begin = "import sys; from tests.faults.killing import fork_on_demand; fork_on_demand(int(sys.argv[1]))"
    words = [sys.executable, "-c", begin, str(theirs.fileno())]
    with subprocess.Popen(words, cwd=TOP, pass_fds=[theirs.fileno()], stdout=subprocess.DEVNULL) as parent:
        theirs.close()
        try:
            ours.send((settings, people))
            yield Mortal(ours)
        finally:
            ours.close()
            parent.wait(120)


def fork_on_demand(descriptor: int) -> None:
    """Do what is asked for over a connection, each thing in a child."""
    share_compiled_statements()
    talk: Any = Connection(descriptor)
    settings, people = talk.recv()
    _rehearse(settings.data_dir.parent)
    standing = Standing(settings, people)
    standing.app.middleware_stack = standing.app.build_middleware_stack()
    # What is there now stays: no child need look through it for what could go.
    gc.freeze()
    while True:
        try:
            step, key, point = talk.recv()
        except EOFError:
            return
        talk.send(_forked(standing, step, key, point))


def _rehearse(beside: Path) -> None:
    """Go through a whole journey elsewhere, so that no child has to learn what it can be born with."""
    with tempfile.TemporaryDirectory(dir=beside) as folder:
        settings = settled(f"sqlite:///{folder}/registry.sqlite3", Path(folder) / "data")
        database = Database(settings.url)
        migrate.upgrade(database)
        database.dispose()
        standing = Standing(settings, begun(settings))
        go(0, lambda step, place: standing.do(step, f"0-{place}")[1])
        standing.registry.close()


def _forked(standing: Standing, step: Step, key: str, point: int) -> tuple[int, Any] | None:
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            _do_or_die(standing, step, key, point, write)
        finally:
            os._exit(1)
    os.close(write)
    with os.fdopen(read, "rb") as told:
        said = told.read()
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL:
        return None
    if status != 0:
        raise RuntimeError(f"{step.what} ended with {status}")
    answer: tuple[int, Any] = msgspec.json.decode(said, type=tuple[int, Any])
    return answer


def _do_or_die(standing: Standing, step: Step, key: str, point: int, write: int) -> None:
    left = point

    def passed(half: Any) -> int:
        nonlocal left
        left -= 1
        if left == 0:
            half()
            os.kill(os.getpid(), signal.SIGKILL)
        return 0

    if step.what == "work":
        let_leases_run_out(standing.registry)
    with intercepted(passed):
        answer = standing.do(step, key)
        standing.registry.close()
    os.write(write, msgspec.json.encode(answer))
    os._exit(0)
