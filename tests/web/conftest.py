"""The real application over a registry of the test's own, on each database, with somebody of every role."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from app.adapters.sealing import FileSealer
from app.adapters.signing_key import FileSigningKey
from app.bootstrap import Registry, open_registry
from app.services import rebuilding
from app.settings import Settings
from tests.outside import PlainReader, WrittenWeb
from tests.web.people import People, let_in
from tests.web.serving import serving
from tests.web.talking import Client, talking_to


@pytest.fixture
def registry(database_url: str, tmp_path: Path) -> Iterator[Registry]:
    """A registry that has just begun."""
    settings = Settings(data_dir=tmp_path / "data", database_url=database_url)
    settings.data_dir.mkdir(parents=True)
    FileSealer(settings.sealing_key).make()
    FileSigningKey(settings.signing_key).make("roofs.example.org/ledger")
    registry = open_registry(settings, reader=PlainReader(), fetcher=WrittenWeb())
    with registry.database.write() as session:
        rebuilding.begin(session, now=registry.clock.now())
    yield registry
    registry.close()


@pytest.fixture
def people(registry: Registry) -> People:
    """A contributor, three reviewers, a steward, and somebody whose account is disabled."""
    return let_in(registry)


@pytest.fixture
def client(registry: Registry) -> Iterator[Client]:
    """Somebody who talks HTTP to the application."""
    with talking_to(serving(registry), raises=False) as client:
        yield client
