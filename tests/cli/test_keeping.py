"""Keeping a registry: begun, looked after, let people in, served, tried out."""

import json
import os
import re
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from itertools import count
from pathlib import Path
from typing import Any, Final

import pytest

from app.bootstrap import Registry
from tests.cli.conftest import Run
from tests.web.people import People
from tests.web.story import API, Trade
from tests.web.talking import Client

PATIENCE_S: Final = 120
"""How long a process is waited for: it comes within a second or two, but not on a machine that has too much to do."""
CANTRAIL: Final = [sys.executable, "-c", "from app.cli.main import main; main()"]


def test_a_registry_is_begun_once(run: Run, bare_url: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("CANTRAIL_DATABASE_URL", bare_url)
    monkeypatch.setenv("CANTRAIL_DATA_DIR", str(tmp_path / "data"))
    for words in (("limit", "orrin-tarn"), ("account", "add", "oxbow"), ("daily",), ("serve",)):
        ran = run(*words)
        assert (ran.code, ran.out) == (1, "")
        assert "cantrail init" in ran.err
    assert "ready" in run("init").out
    assert "up to date" in run("init").out
    assert run("account", "add", "oxbow").code == 0
    assert run("limit", "orrin-tarn").code == 2


@pytest.mark.usefixtures("here")
def test_somebody_is_let_in_and_out(run: Run, client: Client, registry: Registry) -> None:
    body = {"name": "Orrin", "kind": "vehicle_maker"}

    def publish(token: str) -> int:
        headers = {"Authorization": f"Bearer {token}"}
        return client.post(f"{API}/publishers", json=body, headers=headers).status_code

    assert re.search(r"oxbow is a contributor, in the ledger as a-[0-9a-f]{16}\.", run("account", "add", "oxbow").out)
    assert "already" in run("account", "add", "oxbow").err
    assert run("token", "issue", "oxbow", "--days", "99999999").code == 2
    issued = run("token", "issue", "oxbow", "--label", "laptop", "--days", "3").out
    token, id = issued.splitlines()[0], issued.split()[-1]
    assert publish(token) == 201
    assert run("token", "revoke", id).code == 0
    assert publish(token) == 401

    assert run("token", "issue", "oxbow", "--scope", "review").code == 1
    assert run("account", "role", "oxbow", "reviewer").code == 0
    narrow = run("token", "issue", "oxbow", "--scope", "review").out.splitlines()[0]
    assert publish(narrow) == 403
    assert run("account", "disable", "oxbow").code == 0
    assert publish(narrow) == 401
    assert run("token", "issue", "oxbow").code == 1
    for words in (
        ("account", "disable", "nobody"),
        ("token", "revoke", "k-nothing"),
        ("account", "add", "x", "--role", "king"),
    ):
        ran = run(*words)
        assert (ran.code, ran.out) == (2, "")


@pytest.mark.usefixtures("here")
def test_time_passes_and_the_tables_are_made_again(run: Run, client: Client, people: People) -> None:
    trade = Trade(client, people)
    assert run("daily").out == "0 claims aged, 0 disputes lapsed, 0 enquiries unanswered.\n"
    asked = ["budget", "--vehicle", trade.tarn, "--carrier", trade.platform, "--gear", "tin=3", "--json"]
    before = run(*asked).out
    ran = run("rebuild")
    assert re.fullmatch(r"The tables are made again from \d+ entries\.\n", ran.out)
    assert ran.err == ""
    assert run(*asked).out == before


def test_what_cannot_be_opened_is_said_in_a_sentence(run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    nothing, file = tmp_path / "nothing", tmp_path / "file"
    file.touch()
    ran = run("--data-dir", str(nothing), "limit", "orrin-tarn")
    assert (ran.code, ran.err) == (1, f"cantrail: There is no registry in {nothing} yet: run `cantrail init` first.\n")
    assert not nothing.exists()
    for words in (("--data-dir", str(file), "init"), ("demo", "--keep", str(file), "--no-serve")):
        ran = run(*words)
        assert (ran.code, ran.out) == (1, "")
        assert re.fullmatch(r"cantrail: .*\.\n", ran.err)
    monkeypatch.setenv("CANTRAIL_DOSSIER_CAPACITY", "many")
    ran = run("daily")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith("cantrail: CANTRAIL_DOSSIER_CAPACITY: ")


@pytest.mark.parametrize("of", [(), ("limit",), ("budget",), ("demo",), ("account", "add"), ("token", "issue")])
def test_help_has_an_example_and_80_columns(of: tuple[str, ...], run: Run) -> None:
    ran = run(*of, "--help")
    assert (ran.code, ran.err) == (0, "")
    assert f"cantrail {' '.join(of) or 'demo'} " in ran.out or "cantrail demo." in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80


def test_a_mistake_of_the_program_is_a_sentence_too(demo_folder: Path) -> None:
    broken = "import app.services.accounts as it; from app.cli.main import main; it.set_role = lambda *_, **__: 1 / 0; main()"
    words = [sys.executable, "-c", broken, "--data-dir", str(demo_folder), "account", "role", "oxbow", "steward"]
    ran = subprocess.run(words, capture_output=True, text=True, check=False)
    assert (ran.returncode, ran.stdout) == (1, "")
    assert re.fullmatch(r"cantrail: This is a mistake in the program.*ZeroDivisionError.*\n", ran.stderr)


def test_words_that_are_no_text_are_refused() -> None:
    ran = subprocess.run([*CANTRAIL, "account", "add", b"x\xff"], capture_output=True, check=False)
    assert (ran.returncode, ran.stdout) == (2, b"")
    assert ran.stderr == b"cantrail: 'x\\udcff' is not UTF-8.\n"


def test_a_terminal_without_a_letter_shows_a_mark(demo_folder: Path) -> None:
    ran = subprocess.run(
        [*CANTRAIL, "--data-dir", str(demo_folder), "limit", "nö"],
        capture_output=True,
        check=False,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )
    assert ran.returncode == 2
    assert b"There is no vehicle 'n?'" in ran.stderr


def test_help_comes_at_once_and_says_everything(run: Run) -> None:
    ran = run("--help")
    assert ran.code == 0
    for command in ("limit", "budget", "init", "serve", "daily", "rebuild", "demo", "account", "token"):
        assert f" {command} " in ran.out
    loaded = subprocess.run(
        [sys.executable, "-c", "import sys, app.cli.main; print(*sys.modules)"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert {"fastapi", "sqlalchemy", "pydantic", "uvicorn"}.isdisjoint(loaded.stdout.split())


_ports: Final = count(10_000 + os.getpid() * 7 % 20_000)


def free_port() -> int:
    """A port that nobody has. It is none of those that the system gives to whoever connects, nor one that a test run
    beside this one takes before a server of this one does."""
    for port in _ports:
        with socket.socket() as tried, suppress(OSError):
            tried.bind(("127.0.0.1", port))
            return port
    raise AssertionError("no port is free")


@contextmanager
def begun(words: list[str], **more: Any) -> Iterator[subprocess.Popen[str]]:
    """A process that is ended whatever becomes of the test: who waits for one that was never told to end waits for ever."""
    with subprocess.Popen(words, text=True, **more) as process:
        try:
            yield process
        finally:
            process.kill()


def got(url: str) -> Any:
    ends = time.monotonic() + PATIENCE_S
    while time.monotonic() < ends:
        try:
            with urllib.request.urlopen(url) as answer:
                return json.load(answer)
        except urllib.error.HTTPError:
            raise
        except OSError:
            time.sleep(0.05)
    raise AssertionError(f"{url} does not answer")


@pytest.mark.parametrize("command", ["serve", "demo"])
def test_it_is_served(command: str, demo_copy: Path) -> None:
    port = free_port()
    words = ["--data-dir", str(demo_copy), "serve"] if command == "serve" else ["demo", "--keep", str(demo_copy)]
    with begun([*CANTRAIL, *words, "--port", str(port)], stdout=subprocess.PIPE) as server:
        try:
            assert got(f"http://127.0.0.1:{port}/healthz") == {"status": "alive"}
            assert got(f"http://127.0.0.1:{port}/readyz") == {"status": "ready"}
            found = got(f"http://127.0.0.1:{port}{API}/vehicles?q=orin+tarn")["items"]
            assert "orrin-tarn-t2-2019" in {each["id"] for each in found}
        finally:
            server.terminate()
            out, _ = server.communicate(timeout=PATIENCE_S)
    assert f"http://127.0.0.1:{port}" in out
    assert ("demo registry is in" in out) == (command == "demo")
    assert ("Run `cantrail work` beside it: that reads the papers" in out) == (command == "serve")


def test_a_port_that_is_taken_is_a_failure(demo_copy: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        words = ["--data-dir", str(demo_copy), "serve", "--port", str(taken.getsockname()[1])]
        ran = subprocess.run([*CANTRAIL, *words], capture_output=True, text=True, check=False, timeout=PATIENCE_S)
    assert (ran.returncode, ran.stdout) == (1, "")
    assert "in use" in ran.stderr
    assert "Traceback" not in ran.stderr
