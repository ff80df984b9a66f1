"""Registries of a fault test's own."""

from pathlib import Path

import pytest


@pytest.fixture
def sqlite_url(sqlite_template: Path, tmp_path: Path) -> str:
    """The address of an empty SQLite registry."""
    path = tmp_path / "registry.sqlite3"
    path.write_bytes(sqlite_template.read_bytes())
    return f"sqlite:///{path}"
