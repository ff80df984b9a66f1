"""What a database's own errors mean to the people who asked: nothing changed, and trying again may help."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

import psycopg
from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError

from app.core.errors import CantrailError, Kind

_READONLY: Final = 8
_READONLY_STATE: Final = "25006"
_SQLITE: Final = {
    5: "it is locked by another process",
    6: "it is locked by another process",
    7: "it has run out of memory",
    _READONLY: "it is read-only",
    10: "its disk reports an error",
    11: "its file is damaged",
    13: "its disk is full",
    14: "its file cannot be opened",
    15: "it is locked by another process",
    26: "its file is damaged",
}
"""SQLite's primary result codes that are about the storage, and not about the statement."""

_POSTGRESQL: Final = {
    "08": "the connection to it was lost",
    _READONLY_STATE: "it is read-only",
    "28": "it refuses the account that this registry has there",
    "40": "others were changing the same at once",
    "53": "it has run out of disk, memory or connections",
    "55": "others held it for too long",
    "57": "it is shutting down or took too long",
    "58": "its disk reports an error",
    "3D": "it is not there",
    "XX": "it reports a fault of its own",
}
"""SQLSTATE classes, and one state whose class is otherwise about mistakes, likewise."""

RETRIABLE: Final = frozenset({"40001", "40P01"})
"""Serialisation failure and deadlock: the whole unit may simply be done again."""


def sqlstate(error: BaseException | None) -> str | None:
    """The SQLSTATE of an error, of the driver's error inside it, or of the one that it was raised from."""
    if isinstance(error, CantrailError):
        return sqlstate(error.__cause__)
    return getattr(getattr(error, "orig", error), "sqlstate", None)


def unavailable(why: str, *, committing: bool = False) -> CantrailError:
    """The one error for storage that cannot be used now."""
    # The server may have committed before the line broke, and a disk may have written before it failed to say so.
    outcome = (
        "Whether the change was made is not known: look, or send it again with the same idempotency key."
        if committing
        else "Nothing was changed; try again in a moment."
    )
    return CantrailError(
        Kind.UNAVAILABLE, "storage_unavailable", f"The registry's database cannot be used now: {why}. {outcome}"
    )


def told(error: BaseException, *, writing: bool, committing: bool = False) -> CantrailError | None:
    """What a driver's error means, or None where it is about the statement: then it is a mistake in the code."""
    cause = getattr(error, "orig", error)
    code: int | None = getattr(cause, "sqlite_errorcode", None)
    state: str | None = getattr(cause, "sqlstate", None)
    why: str | None
    if code is not None:
        primary = code & 0xFF
        readonly, why = primary == _READONLY, _SQLITE.get(primary)
    elif state is not None:
        readonly, why = state == _READONLY_STATE, _POSTGRESQL.get(state) or _POSTGRESQL.get(state[:2])
    else:
        # psycopg gives no SQLSTATE where the server was never reached, or went away before it could answer.
        readonly, why = False, _POSTGRESQL["08"] if isinstance(cause, psycopg.OperationalError) else None
    # A reader who is told "read-only" has tried to write: that is a mistake in the code, and must look like one.
    return unavailable(why, committing=committing) if why and (writing or not readonly) else None


@contextmanager
def faults_told(*, writing: bool, committing: bool = False) -> Iterator[None]:
    """Raise `storage_unavailable` for the faults of the storage; let everything else through."""
    try:
        yield
    except DBAPIError as error:
        meaning = told(error, writing=writing, committing=committing)
        if meaning is None:
            raise
        raise meaning from error
    except PoolTimeoutError as error:
        raise unavailable("too many are using it at once") from error
