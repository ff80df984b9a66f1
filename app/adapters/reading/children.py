"""Starting a confined process, feeding it and hearing it out, within limits that it cannot move."""

import os
import selectors
import signal
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import IO, Final, NamedTuple

from app.adapters.reading.confinement import Limits

MOST_SAID: Final = 64 * 1024 * 1024

_PIECE: Final = 64 * 1024
_PAUSE: Final = 0.001
_OF_THE_LIMITS: Final = frozenset({-signal.SIGXCPU, -signal.SIGKILL, -signal.SIGABRT})
"""How a process ends that has had its time, or that the system or its own library ends for want of memory."""


class Ended(NamedTuple):
    """What a process said and how it ended: its exit code, or minus the signal that ended it, and whether that was for
    reaching a limit."""

    said: bytes
    code: int
    at_a_limit: bool


def run(script: Path, words: Sequence[str], given: bytes, limits: Limits, env: Mapping[str, str]) -> Ended:
    """Run a script that confines itself (its first two words are its limits), give it some bytes and take what it
    says. It sees no site packages but those that it is told of. Raises OSError where no process can be started."""
    command = [sys.executable, "-I", "-S", "-B", str(script), str(limits.memory), str(limits.processor), *words]
    deadline = time.monotonic() + limits.seconds
    with subprocess.Popen(  # noqa: S603, the words are ours; the file goes in over a pipe
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        cwd="/",
        env=dict(env),
        start_new_session=True,
        bufsize=0,
    ) as process:
        said, in_time = b"", False
        try:
            said, heard_out = _talk(process, given, deadline)
            in_time = heard_out and _over(process.pid, deadline)
        finally:
            # Before it is reaped: until then no other process can have its number.
            with suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            code = process.wait()
    return Ended(said, code, not in_time or code in _OF_THE_LIMITS)


def _talk(process: subprocess.Popen[bytes], given: bytes, deadline: float) -> tuple[bytes, bool]:
    """Give and take at once, so that neither waits for the other; whether it was all heard, within time and size."""
    into, out = _pipes(process)
    left = memoryview(given)
    said = bytearray()
    os.set_blocking(into.fileno(), False)
    with selectors.DefaultSelector() as ready:
        ready.register(out, selectors.EVENT_READ)
        ready.register(into, selectors.EVENT_WRITE)
        while (seconds := deadline - time.monotonic()) > 0:
            for key, _ in ready.select(seconds):
                if key.fileobj is out:
                    piece = os.read(out.fileno(), _PIECE)
                    said += piece
                    if not piece or len(said) > MOST_SAID:
                        return bytes(said), not piece
                else:
                    left = _give(into, left)
                    if not left:
                        ready.unregister(into)
                        into.close()
    return bytes(said), False


def _pipes(process: subprocess.Popen[bytes]) -> tuple[IO[bytes], IO[bytes]]:
    if process.stdin is None or process.stdout is None:
        raise OSError("a process was started without pipes")
    return process.stdin, process.stdout


def _give(into: IO[bytes], left: memoryview) -> memoryview:
    """Give some of it; what is left. Who reads no further is given nothing more."""
    try:
        return left[os.write(into.fileno(), left[:_PIECE]) :]
    except BlockingIOError:
        return left
    except BrokenPipeError:
        return left[:0]


def _over(pid: int, deadline: float) -> bool:
    """Wait until a process is over, and leave it to be reaped."""
    while os.waitid(os.P_PID, pid, os.WEXITED | os.WNOWAIT | os.WNOHANG) is None:
        if time.monotonic() > deadline:
            return False
        time.sleep(_PAUSE)
    return True
