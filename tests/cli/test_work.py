"""`work`, the worker that stands beside a server, and the one that the demo brings along."""

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from hashlib import sha256 as sha256_of
from pathlib import Path
from typing import Any

import pytest
import typer

from app.bootstrap import Registry, open_registry
from app.cli import working
from app.persistence import ledger
from app.settings import Settings
from tests.cli.conftest import Run
from tests.cli.test_keeping import CANTRAIL, PATIENCE_S, begun, free_port, got
from tests.outside import PlainReader, WrittenWeb
from tests.web.people import People
from tests.web.story import API, Story
from tests.web.talking import Client

HELD = """
import sys, time
from pathlib import Path
from app.bootstrap import Registry
from app.cli.main import main
from tests.outside import PlainReader

class Held(PlainReader):
    def look(self, content, media_type):
        return PlainReader().look(content, media_type)

    def read(self, content, media_type):
        reading = Path(sys.argv[0])
        reading.touch()
        while reading.exists():
            time.sleep(0.05)
        return super().read(content, media_type)

Registry.reader = Held()
main()
"""
"""`cantrail` with a reader that touches the file that is named before the words, and reads when that is taken away."""


@pytest.fixture
def plain(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages are read as plain text."""
    monkeypatch.setattr(Registry, "reader", PlainReader())


def until(true: Callable[[], Any], within_s: float = PATIENCE_S) -> bool:
    ends = time.monotonic() + within_s
    while time.monotonic() < ends:
        if true():
            return True
        time.sleep(0.05)
    return False


def types(registry: Registry, document: str) -> list[str]:
    with registry.database.read() as session:
        entries = ledger.entries_of(session, streams=[f"document:{document}"], up_to=None)
        return [each.payload.type for each in entries]


def running(words: str) -> list[str]:
    """The processes that were started with these words."""
    listed = subprocess.run(["ps", "-ww", "-eo", "pid=,args="], capture_output=True, text=True, check=True)
    return [line for line in listed.stdout.splitlines() if words in line and f" {os.getpid()} " not in line]


@pytest.mark.usefixtures("here", "plain")
def test_what_is_due_is_done_once_and_unclaimed_files_go(
    run: Run, client: Client, people: People, registry: Registry
) -> None:
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    filed = [story.document(maker) for _ in range(3)]
    left_behind = sha256_of(b"left behind").hexdigest()
    for content, days in ((b"left behind", 2), (b"on its way", 0)):
        sha256 = registry.store.put(content)
        path = registry.settings.evidence_dir / sha256[:2] / sha256[2:4] / sha256
        then = time.time() - days * 86_400
        os.utime(path, (then, then))
    ran = run("work", "--once")
    assert (ran.code, ran.out, ran.err) == (0, "4 jobs handled, 0 unclaimed files removed.\n", "")
    assert [types(registry, each) for each in filed] == [["document_added", "pages_read"]] * 3
    assert run("work", "--once").out == "0 jobs handled, 0 unclaimed files removed.\n"
    assert registry.store.exists(sha256)
    assert not registry.store.exists(left_behind)


def test_there_is_no_work_where_there_is_no_registry(run: Run, tmp_path: Path) -> None:
    for words in (("work",), ("work", "--once")):
        ran = run("--data-dir", str(tmp_path / "nowhere"), *words)
        assert (ran.code, ran.out) == (1, "")
        assert "cantrail init" in ran.err


def test_help_says_that_several_may_run(run: Run) -> None:
    ran = run("work", "--help")
    assert ran.code == 0
    assert "--once" in ran.out
    assert "Several workers may run" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("told", [signal.SIGTERM, signal.SIGINT])
def test_a_worker_told_to_end_finishes_the_job_in_hand(
    told: signal.Signals, client: Client, people: People, registry: Registry, tmp_path: Path
) -> None:
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    filed = [story.document(maker) for _ in range(2)]
    reading = tmp_path / "reading"
    started = f"import sys; sys.argv[0] = {str(reading)!r}\n{HELD}"
    with begun([sys.executable, "-c", started, "work"], stdout=subprocess.PIPE) as worker:
        assert until(reading.exists)
        worker.send_signal(told)
        reading.unlink()
        out, _ = worker.communicate(timeout=PATIENCE_S)
    assert worker.returncode == 0
    assert re.fullmatch(r"Working on \S+\. Ctrl-C stops it\.\n", out)
    assert [types(registry, each)[1:] for each in filed] == [["pages_read"], []]


@pytest.mark.usefixtures("here")
def test_a_worker_told_twice_ends_at_once(client: Client, people: People, registry: Registry, tmp_path: Path) -> None:
    story = Story(client, people)
    filed = story.document(story.publisher("Orrin", "vehicle_maker"))
    reading = tmp_path / "reading"
    started = f"import sys; sys.argv[0] = {str(reading)!r}\n{HELD}"
    with begun([sys.executable, "-c", started, "work"], stdout=subprocess.DEVNULL) as worker:
        assert until(reading.exists)
        worker.terminate()
        assert not until(lambda: worker.poll() is not None, within_s=0.2)
        # Told again before it has heard the first time, it has been told once.
        while worker.poll() is None:
            worker.terminate()
            time.sleep(0.05)
        assert worker.returncode == -signal.SIGTERM
    assert types(registry, filed) == ["document_added"]


def test_a_server_brings_a_worker_along_that_is_replaced_and_ends_with_it(demo_copy: Path) -> None:
    port = free_port()
    words = [*CANTRAIL, "--data-dir", str(demo_copy), "serve", "--with-work", "--port", str(port)]
    with begun(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as server:
        try:
            assert until(lambda: running(f"--data-dir {demo_copy} work"))
            first = int(running(f"--data-dir {demo_copy} work")[0].split()[0])
            os.kill(first, signal.SIGKILL)
            assert until(lambda: any(int(each.split()[0]) != first for each in running(f"--data-dir {demo_copy} work")))
        finally:
            server.terminate()
            out, _ = server.communicate(timeout=PATIENCE_S)
    assert "beside it" not in out
    assert running(f"--data-dir {demo_copy} work") == []


def test_a_worker_whose_server_was_killed_ends_by_itself(demo_copy: Path) -> None:
    words = [*CANTRAIL, "--data-dir", str(demo_copy), "serve", "--with-work", "--port", str(free_port())]
    with begun(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as server:
        assert until(lambda: running(f"--data-dir {demo_copy} work"))
        server.kill()
    assert until(lambda: running(f"--data-dir {demo_copy} work") == [])


# The demo's own worker


def test_the_demos_papers_are_read_while_it_is_served(demo_copy: Path) -> None:
    port = free_port()
    words = [*CANTRAIL, "demo", "--keep", str(demo_copy), "--port", str(port)]
    elsewhere = {**os.environ, "CANTRAIL_DATABASE_URL": "sqlite:////nowhere/else.sqlite3"}
    with begun(words, stdout=subprocess.PIPE, env=elsewhere) as server:
        try:
            url = f"http://127.0.0.1:{port}{API}/documents?limit=200"
            assert until(lambda: any(each["pages"] for each in got(url)["items"]))
            assert len(running(f"--data-dir {demo_copy} work")) == 1
        finally:
            server.send_signal(signal.SIGINT)
            out, _ = server.communicate(timeout=PATIENCE_S)
    assert "Working on" not in out
    assert running(f"--data-dir {demo_copy} work") == []


def test_a_demo_whose_server_does_not_start_leaves_no_worker(
    run: Run, demo_copy: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[list[str]] = []

    def fails(*_: Any) -> None:
        assert until(lambda: running(f"--data-dir {demo_copy} work"))
        seen.append(running(f"--data-dir {demo_copy} work"))
        raise typer.Exit(1)

    monkeypatch.setattr("app.cli.demo.run_server", fails)
    ran = run("demo", "--keep", str(demo_copy), "--port", str(free_port()))
    assert ran.code == 1
    assert [len(each) for each in seen] == [1]
    assert running(f"--data-dir {demo_copy} work") == []


def test_a_worker_that_does_not_end_is_ended(demo_copy: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(working, "STOPS_WITHIN_S", 0.2)
    with working.working_beside(Settings(data_dir=demo_copy, database_url=None)):
        assert until(lambda: running(f"--data-dir {demo_copy} work"))
        pid = int(running(f"--data-dir {demo_copy} work")[0].split()[0])
        os.kill(pid, signal.SIGSTOP)
    assert running(f"--data-dir {demo_copy} work") == []


def test_a_demo_that_is_not_served_has_no_worker_and_names_the_command(
    run: Run, demo_copy: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("subprocess.Popen", None)
    ran = run("demo", "--keep", str(demo_copy), "--no-serve")
    assert ran.code == 0
    found = re.search(r"^To read its papers: cantrail (--data-dir \S+ work --once)$", ran.out, re.MULTILINE)
    assert found is not None
    monkeypatch.setattr(Registry, "reader", PlainReader())
    monkeypatch.setattr(Registry, "fetcher", WrittenWeb())
    registry = open_registry(Settings(data_dir=demo_copy, database_url=None))
    ran = run(*found[1].split())
    assert re.fullmatch(r"\d\d+ jobs handled, 0 unclaimed files removed\.\n", ran.out)
    with registry.database.read() as session:
        read = [
            each for each in ledger.entries_after(session, after=0, limit=100_000) if each.payload.type == "pages_read"
        ]
    assert len(read) > 50
    registry.close()
