"""Registries that all tests of a file share, on SQLite: a town with nobody in it, and the trade that it has."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.web.pages.tabs import Square, square
from tests.web.people import let_in
from tests.web.story import Trade


@pytest.fixture(scope="module")
def town(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Square]:
    """A registry for all tests of a file, with people of every role who have tokens."""
    path = tmp_path_factory.mktemp("town")
    shutil.copyfile(sqlite_template, path / "registry.sqlite3")
    with square(f"sqlite:///{path / 'registry.sqlite3'}", path) as town:
        yield town


@pytest.fixture(scope="module")
def trade(town: Square) -> Trade:
    """The worked example of the method, entered over HTTP."""
    return Trade(town.client, let_in(town.registry))
