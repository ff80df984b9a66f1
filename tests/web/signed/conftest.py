"""A registry with a key for secrets, a clock set by hand, and people who sign in."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from app.adapters.sealing import FileSealer
from app.bootstrap import Registry, open_registry
from app.services import rebuilding
from app.settings import Settings
from tests.outside import PlainReader, WrittenWeb
from tests.web.signed.town import SetClock, Town
from tests.web.talking import Client


@pytest.fixture
def clock() -> SetClock:
    """The registry's clock."""
    return SetClock()


@pytest.fixture
def registry(database_url: str, tmp_path: Path, clock: SetClock) -> Iterator[Registry]:
    """A registry that has just begun, open to anybody."""
    settings = Settings(data_dir=tmp_path / "data", database_url=database_url, open_registration=True)
    settings.data_dir.mkdir()
    FileSealer(settings.sealing_key).make()
    registry = open_registry(settings, clock=clock, reader=PlainReader(), fetcher=WrittenWeb())
    with registry.database.write() as session:
        rebuilding.begin(session, now=clock.now())
    yield registry
    registry.close()


@pytest.fixture
def town(registry: Registry, client: Client, clock: SetClock) -> Town:
    """Nobody yet."""
    return Town(registry, client, clock)
