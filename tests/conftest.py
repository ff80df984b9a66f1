"""What every test may use: both databases, built by the migrations, and no way out to the network."""

import fcntl
import io
import ipaddress
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import redirect_stdout
from itertools import count
from pathlib import Path
from typing import Any, Final

import pytest

from app.cli.main import main
from app.persistence import migrate
from app.persistence.session import Database
from tests.compiled import share_compiled_statements
from tests.memory import roomy
from tests.postgres import Postgres, Reused, running
from tests.services.trade import Trade

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

# What a child imports it finds compiled, once one has imported it: compiling is half of what a short command takes.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(roomy()))

# An audit hook sees every socket of this process, whatever a library has kept of the socket module.
sys.addaudithook(_keep_inside)

share_compiled_statements()

LONGEST: Final = (
    "faults/test_killed.py",
    "services/test_receipts_for_ever.py",
    "web/test_generated.py",
    "worker/test_draining.py",
    "architecture/test_house.py",
    "faults/",
    "cli/",
)


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What takes longest begins first, so that at the end of a run nobody waits for one test."""
    items.sort(key=lambda item: next((n for n, each in enumerate(LONGEST) if f"tests/{each}" in item.nodeid), 99))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Whoever has nothing left to do takes half of what the other still has: a file's tests stay together until then,
    and what they share is made once."""
    from xdist.scheduler import WorkStealingScheduling

    return WorkStealingScheduling(config, log) if config.getvalue("dist") == "load" else None


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
def furnished(sqlite_template: Path) -> Trade:
    """A trade with people, makers, a vehicle and a carrier on SQLite, whose database is to be copied."""
    path = sqlite_template.with_name("furnished.sqlite3")
    shutil.copyfile(sqlite_template, path)
    trade = Trade(Database(f"sqlite:///{path}"), path.with_name("evidence"))
    trade.furnish()
    trade.database.dispose()
    return trade


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


@pytest.fixture
def sqlite_url(sqlite_template: Path, tmp_path: Path) -> str:
    """The address of an empty SQLite registry of the test's own. Where the database does not matter, a file or a folder
    of tests makes this its `database_url`."""
    path = tmp_path / "registry.sqlite3"
    shutil.copyfile(sqlite_template, path)
    return f"sqlite:///{path}"


@pytest.fixture
def postgresql_url(reused_postgres: Reused) -> Iterator[str]:
    """The address of an empty registry on PostgreSQL."""
    yield reused_postgres.url
    reused_postgres.renew()


@pytest.fixture(params=DATABASES)
def database_url(request: pytest.FixtureRequest) -> str:
    """The address of an empty registry of the test's own, on each of the two databases in turn."""
    return str(request.getfixturevalue(f"{request.param}_url"))


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
            _make_demo(folder)
    return folder


@pytest.fixture
def demo_copy(demo_folder: Path, tmp_path: Path) -> Path:
    """A copy of the demo registry of the test's own, to write to."""
    return shutil.copytree(demo_folder, tmp_path / "demo")


@pytest.fixture(scope="session")
def demo_told(demo_folder: Path) -> str:
    """What was said when the demo registry was made."""
    return _told_beside(demo_folder).read_text(encoding="utf-8")


def _told_beside(folder: Path) -> Path:
    return folder.with_name("demo-told.txt")


def _make_demo(folder: Path) -> None:
    words = ["cantrail", "demo", "--keep", str(folder), "--no-serve"]
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(io.StringIO()) as told:
        patch.setattr(sys, "argv", words)
        with pytest.raises(SystemExit) as ended:
            main()
    assert not ended.value.code
    _told_beside(folder).write_text(told.getvalue(), encoding="utf-8")


def _migrate(url: str) -> None:
    database = Database(url)
    migrate.upgrade(database)
    database.dispose()
