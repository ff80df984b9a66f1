"""What a process that reads a stranger's file takes from itself before it does. Only the standard library is needed, so
that nothing else runs before it."""

import ctypes
import os
import resource
import sys
from typing import Final, NamedTuple

NOT_READY: Final = 3
"""How a child ends that could not get ready to read, which says nothing about the file."""

_NEW_USER: Final = 0x10000000
_NEW_NETWORK: Final = 0x40000000
_NO_NEW_PRIVILEGES: Final = 38

_OPEN_FILES: Final = 32
_WRITING: Final = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_REFUSED: Final = (
    "ctypes.dlopen",
    "os.chmod",
    "os.chown",
    "os.exec",
    "os.fork",
    "os.kill",
    "os.link",
    "os.mkdir",
    "os.posix_spawn",
    "os.putenv",
    "os.remove",
    "os.rename",
    "os.rmdir",
    "os.spawn",
    "os.symlink",
    "os.system",
    "os.truncate",
    "shutil.",
    "socket.",
    "subprocess.",
)


class Limits(NamedTuple):
    """How much a process may have: bytes of address space, seconds of the processor, seconds by the clock. The last is
    kept by its parent."""

    memory: int
    processor: int
    seconds: float


def confine(memory: int, processor: int) -> None:
    """Give up, for good: memory and time beyond the limits, writing files, starting processes, gaining privileges, and
    the network where the system lets a process leave it."""
    for what, most in (
        (resource.RLIMIT_AS, memory),
        (resource.RLIMIT_CPU, processor),
        (resource.RLIMIT_FSIZE, 0),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_NPROC, 0),
        (resource.RLIMIT_NOFILE, _OPEN_FILES),
    ):
        _lower(what, most)
    if sys.platform == "linux":
        system = ctypes.CDLL(None)
        system.prctl(_NO_NEW_PRIVILEGES, 1, 0, 0, 0)
        # A namespace of users gives an ordinary user the right to the other, and takes root's rights away.
        if system.unshare(_NEW_USER | _NEW_NETWORK) != 0:
            system.unshare(_NEW_NETWORK)


def refuse_the_outside() -> None:
    """Refuse, from here on, sockets, writing and other programs to Python's own code. It is kept where the system has
    refused them too: it says so by an exception, and does not depend on what the system permits."""
    sys.addaudithook(_refuse)


def _lower(what: int, most: int) -> None:
    """Lower a limit, never raise one that is lower already. The hard limit of the processor's time comes a second later
    than the soft one, whose signal tells what happened."""
    held = resource.getrlimit(what)[1]
    soft = most if held == resource.RLIM_INFINITY else min(most, held)
    hard = soft + 1 if what == resource.RLIMIT_CPU else soft
    resource.setrlimit(what, (soft, hard if held == resource.RLIM_INFINITY else min(hard, held)))


def _refuse(event: str, arguments: tuple[object, ...]) -> None:
    if event == "open":
        flags = arguments[2]
        if isinstance(flags, int) and flags & _WRITING:
            raise PermissionError("a process that reads a stranger's file writes none")
    elif event.startswith(_REFUSED):
        raise PermissionError(f"a process that reads a stranger's file does no {event}")
