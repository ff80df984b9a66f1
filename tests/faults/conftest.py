"""Registries of a fault test's own, where a sync costs nothing: what is killed here is a process, not a machine."""

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest

_MEMORY: Final = Path("/dev/shm")


@pytest.fixture
def fast_folder(tmp_path: Path) -> Iterator[Path]:
    """A folder in memory, where there is one."""
    if not os.access(_MEMORY, os.W_OK):
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(prefix="cantrail-faults-", dir=_MEMORY) as folder:
        yield Path(folder)


@pytest.fixture
def sqlite_url(sqlite_template: Path, fast_folder: Path) -> str:
    """The address of an empty SQLite registry."""
    path = fast_folder / "registry.sqlite3"
    path.write_bytes(sqlite_template.read_bytes())
    return f"sqlite:///{path}"
