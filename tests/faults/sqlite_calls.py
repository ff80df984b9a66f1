"""What SQLite asks of the system, intercepted: its own way to replace the calls that it makes, and Python's for the rest.

SQLite's syncs cannot be replaced so. A process that is killed at one leaves what it leaves just before the next write,
which is a point too: what the system has been given, it keeps.
"""

import ctypes
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Final, Self

from pysqlite3 import _sqlite3

_SQLITE: Final = ctypes.CDLL(_sqlite3.__file__)

_FIELDS: Final = (
    "xOpen",
    "xDelete",
    "xAccess",
    "xFullPathname",
    "xDlOpen",
    "xDlError",
    "xDlSym",
    "xDlClose",
    "xRandomness",
    "xSleep",
    "xCurrentTime",
    "xGetLastError",
    "xCurrentTimeInt64",
)


class _Vfs(ctypes.Structure):
    """sqlite3_vfs, as far as its calls are replaced by it."""


_SET: Final = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(_Vfs), ctypes.c_char_p, ctypes.c_void_p)
_GET: Final = ctypes.CFUNCTYPE(ctypes.c_void_p, ctypes.POINTER(_Vfs), ctypes.c_char_p)

_Vfs._fields_ = [
    ("iVersion", ctypes.c_int),
    ("szOsFile", ctypes.c_int),
    ("mxPathname", ctypes.c_int),
    ("pNext", ctypes.c_void_p),
    ("zName", ctypes.c_char_p),
    ("pAppData", ctypes.c_void_p),
    *((name, ctypes.c_void_p) for name in _FIELDS),
    ("xSetSystemCall", _SET),
    ("xGetSystemCall", _GET),
]

_PWRITE: Final = ctypes.CFUNCTYPE(
    ctypes.c_ssize_t, ctypes.c_int, ctypes.c_void_p, ctypes.c_size_t, ctypes.c_int64, use_errno=True
)
_FTRUNCATE: Final = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_int, ctypes.c_int64, use_errno=True)
_UNLINK: Final = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p, use_errno=True)

Act = Callable[[Callable[[], Any]], int]
"""Told before each call: 0 lets it be made, and an error number makes it fail with that. It is given what does half of
the call."""


def _vfs() -> Any:
    _SQLITE.sqlite3_vfs_find.restype = ctypes.POINTER(_Vfs)
    return _SQLITE.sqlite3_vfs_find(None)


@contextmanager
def intercepted(act: Act) -> Iterator[None]:
    """Everything that SQLite writes, cuts off or removes in this process, and what evidence is stored with."""
    vfs = _vfs()
    kept: list[Any] = []

    def replace(name: bytes, kind: Any, made: Callable[[Any], Callable[..., int]]) -> None:
        original = vfs.contents.xGetSystemCall(vfs, name)
        if original:
            kept.append(kind(made(kind(original))))
            vfs.contents.xSetSystemCall(vfs, name, ctypes.cast(kept[-1], ctypes.c_void_p))

    def writing(original: Any) -> Callable[..., int]:
        def write(file: int, what: int, size: int, at: int) -> int:
            error = act(lambda: original(file, what, size // 2, at))
            return _failed(error) if error else int(original(file, what, size, at))

        return write

    def other(original: Any) -> Callable[..., int]:
        def call(*said: Any) -> int:
            error = act(lambda: None)
            return _failed(error) if error else int(original(*said))

        return call

    replace(b"pwrite", _PWRITE, writing)
    replace(b"pwrite64", _PWRITE, writing)
    replace(b"ftruncate", _FTRUNCATE, other)
    replace(b"unlink", _UNLINK, other)
    try:
        with _python_intercepted(act):
            yield
    finally:
        vfs.contents.xSetSystemCall(vfs, None, None)
        kept.clear()


def _failed(error: int) -> int:
    ctypes.set_errno(error)
    return -1


@contextmanager
def _python_intercepted(act: Act) -> Iterator[None]:
    """The calls by which this program itself makes a file safe."""
    names = ("fsync", "replace", "rename", "link", "mkdir")
    originals = {name: getattr(os, name) for name in names}
    fdopen = os.fdopen

    def made(name: str) -> Callable[..., Any]:
        def call(*said: Any, **more: Any) -> Any:
            error = act(lambda: None)
            if error:
                raise OSError(error, os.strerror(error))
            return originals[name](*said, **more)

        return call

    def opened(*said: Any, **more: Any) -> Any:
        return _File(fdopen(*said, **more), act)

    for name in names:
        setattr(os, name, made(name))
    os.fdopen = opened
    try:
        yield
    finally:
        for name, original in originals.items():
            setattr(os, name, original)
        os.fdopen = fdopen


class _File:
    """A file whose writes are told of."""

    def __init__(self, file: Any, act: Act) -> None:
        self._file = file
        self._act = act

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def write(self, content: Any) -> int:
        error = self._act(lambda: (self._file.write(content[: len(content) // 2]), self._file.flush()))
        if error:
            raise OSError(error, os.strerror(error))
        return int(self._file.write(content))
