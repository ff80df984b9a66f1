"""What every test may use: both databases, built by the migrations, and no way out to the network."""

import fcntl
import ipaddress
import json
import os
import shutil
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from app.adapters.evidence_store import FolderEvidenceStore
from app.adapters.sealing import FileSealer
from app.bootstrap import prepare
from app.persistence import migrate
from app.persistence.session import Database
from app.settings import Settings
from seed_demo.load import load
from tests.postgres import Postgres, Reused, running

DATABASES = ("sqlite", "postgresql")

_numbers = count(1)


class OutsideWorldError(BaseException):
    """A test tried to reach something that is not on this machine. No handler for ordinary errors may swallow it."""


def _keep_inside(event: str, args: tuple[Any, ...]) -> None:
    if event == "socket.connect" and isinstance(args[1], tuple) and not _is_here(str(args[1][0])):
        raise OutsideWorldError(f"connect to {args[1]}")
    if event == "socket.getaddrinfo" and not _is_here(str(args[0] or "localhost")):
        raise OutsideWorldError(f"look up {args[0]}")


def _is_here(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


# Tests ask more in a minute than any honest person does. Those of the limits say their own.
os.environ["CANTRAIL_RATE_LIMITS"] = "false"

# An audit hook sees every socket of this process, whatever a library has kept of the socket module.
sys.addaudithook(_keep_inside)


@pytest.fixture(scope="session")
def postgres(testrun_uid: str) -> Iterator[Postgres]:
    """The run's PostgreSQL."""
    with running(testrun_uid) as server:
        yield server


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated SQLite file, to be copied."""
    path = tmp_path_factory.mktemp("template") / "registry.sqlite3"
    _migrate(f"sqlite:///{path}")
    return path


@pytest.fixture(scope="session")
def postgres_template(postgres: Postgres, worker_id: str) -> str:
    """A migrated PostgreSQL database, to be copied."""
    name = f"template_{worker_id}"
    postgres.create(name)
    _migrate(postgres.url(name))
    return name


@pytest.fixture(scope="session")
def reused_postgres(postgres: Postgres, postgres_template: str, worker_id: str) -> Reused:
    """The PostgreSQL database of this worker's tests."""
    return Reused(postgres, f"test_{worker_id}", postgres_template)


@pytest.fixture(params=DATABASES)
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The address of an empty registry of the test's own, on each of the two databases in turn."""
    if request.param == "sqlite":
        path = tmp_path / "registry.sqlite3"
        shutil.copyfile(request.getfixturevalue("sqlite_template"), path)
        yield f"sqlite:///{path}"
        return
    reused: Reused = request.getfixturevalue("reused_postgres")
    yield reused.url
    reused.renew()


@pytest.fixture(params=DATABASES)
def bare_url(request: pytest.FixtureRequest, tmp_path: Path, worker_id: str) -> Iterator[str]:
    """The address of a database without any tables, on each of the two in turn."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'bare.sqlite3'}"
        return
    server: Postgres = request.getfixturevalue("postgres")
    name = f"bare_{worker_id}_{next(_numbers)}"
    server.create(name)
    yield server.url(name)
    server.drop(name)


@pytest.fixture
def database(database_url: str) -> Iterator[Database]:
    """An empty registry of the test's own, on each of the two databases in turn."""
    database = Database(database_url)
    yield database
    database.dispose()


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Path:
    """A registry with the whole demo scenario and its accounts.json, made once a run: for reading only."""
    base = tmp_path_factory.getbasetemp()
    shared = base if worker_id == "master" else base.parent
    folder = shared / "demo-registry"
    with (shared / "demo-registry.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not (folder / "accounts.json").exists():
            _load_demo(folder)
    return folder


@pytest.fixture
def demo_copy(demo_folder: Path, tmp_path: Path) -> Path:
    """A copy of the demo registry of the test's own, to write to."""
    return shutil.copytree(demo_folder, tmp_path / "demo")


def _load_demo(folder: Path) -> None:
    settings = Settings(data_dir=folder, database_url=None)
    database = prepare(settings)
    people = load(
        database,
        FolderEvidenceStore(settings.evidence_dir),
        now=datetime.now(UTC),
        sealer=FileSealer(settings.sealing_key),
    )
    database.dispose()
    (folder / "accounts.json").write_text(json.dumps(people), encoding="utf-8")


def _migrate(url: str) -> None:
    database = Database(url)
    migrate.upgrade(database)
    database.dispose()
