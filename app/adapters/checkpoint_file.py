"""The last published checkpoint in a file: replaced whole, by one process at a time."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from app.adapters.safe_writing import replace_file
from app.core.errors import CantrailError, Kind

LARGEST: Final = 64 * 1024
"""Bytes of a file that may be a checkpoint: what is larger is something else."""

_READABLE: Final = 0o644


class CheckpointFile:
    """One place where checkpoints are kept."""

    def __init__(self, path: Path) -> None:
        self._path = path

    @property
    def name(self) -> str:
        """The file's path."""
        return str(self._path)

    def read(self) -> str | None:
        """What is kept; None where nothing is yet. Raises `checkpoint_unreadable`."""
        try:
            with self._path.open("rb") as file:
                return file.read(LARGEST + 1).decode()
        except FileNotFoundError:
            return None
        except (OSError, UnicodeDecodeError) as error:
            raise unreadable(self.name, str(error)) from error

    def write(self, note: str) -> None:
        """Keep this instead. Raises `checkpoint_not_kept`."""
        try:
            replace_file(self._path, note.encode())
            self._path.chmod(_READABLE)
        except OSError as error:
            raise self._not_kept(error) from error

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Keeps every other process from publishing meanwhile. Raises `checkpoint_not_kept`."""
        try:
            handle = os.open(self._path.with_name(f".{self._path.name}.lock"), os.O_RDWR | os.O_CREAT, 0o600)
        except OSError as error:
            raise self._not_kept(error) from error
        try:
            fcntl.flock(handle, fcntl.LOCK_EX)
            yield
        finally:
            os.close(handle)

    def _not_kept(self, error: OSError) -> CantrailError:
        return CantrailError(
            Kind.UNAVAILABLE,
            "checkpoint_not_kept",
            f"The checkpoint cannot be written to {self.name}: {error.strerror}. See to that disk and its rights.",
        )


def unreadable(where: str, why: str) -> CantrailError:
    """The error for a kept checkpoint that is none."""
    return CantrailError(
        Kind.UNAVAILABLE,
        "checkpoint_unreadable",
        f"What is kept in {where} cannot be read as a checkpoint: {why} Put it back from a copy, or move it away.",
    )
