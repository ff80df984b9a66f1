"""The command line in this process, as a shell would run it, over a registry of the test's own."""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from app.cli.main import main
from tests.web.conftest import client, people, registry

__all__ = ["client", "people", "registry"]


class Ran(NamedTuple):
    """What a command left behind."""

    code: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What a command says is the same over either database."""
    return sqlite_url


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Runs `cantrail` with some words."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")

    def ran(*words: str) -> Ran:
        monkeypatch.setattr(sys, "argv", ["cantrail", *words])
        with pytest.raises(SystemExit) as ended:
            main()
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return Ran(ended.value.code if isinstance(ended.value.code, int) else 0, out, err)

    return ran


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch, database_url: str, tmp_path: Path) -> None:
    """The settings name the test's own registry."""
    monkeypatch.setenv("CANTRAIL_DATABASE_URL", database_url)
    monkeypatch.setenv("CANTRAIL_DATA_DIR", str(tmp_path / "data"))
