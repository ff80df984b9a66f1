"""`backup` and `restore`: a whole registry, out of one database and into another."""

import json
import os
import shutil
import sys
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from threading import Event, Thread
from typing import Any

import pytest

from app.adapters.backup_folder import BackupFolder, NewBackupFolder
from app.bootstrap import Registry, open_registry
from app.cli.main import main
from app.persistence import copying
from app.services import subjects
from app.services.backup_parts import Manifest, manifest_of
from app.services.daily import system_work
from app.services.inputs import NewPublisher
from app.settings import Settings
from tests.cli.conftest import Run
from tests.conftest import database_url
from tests.web.people import People
from tests.web.story import API, Trade
from tests.web.talking import Client

__all__ = ["database_url"]

UNTOLD = "cantrail: The account table trusts somebody otherwise than the ledger does. Run `cantrail verify`."
ASKED: Any = ("budget", "--condition", "on_road", "--gear", "tin=3", "--json")


def manifest(folder: Path) -> Manifest:
    return manifest_of(BackupFolder(folder))


@pytest.fixture
def trade(client: Client, people: People) -> Trade:
    """A registry with something in it."""
    return Trade(client, people)


@pytest.mark.usefixtures("here")
def test_a_backup_of_either_database_is_restored_into_either(
    run: Run, trade: Trade, registry: Registry, bare_url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = (*ASKED, "--vehicle", trade.tarn, "--carrier", trade.platform)
    before = run(*asked)
    assert run("backup", str(tmp_path / "monday")).code == 0
    monkeypatch.setenv("CANTRAIL_DATABASE_URL", bare_url)
    if bare_url.startswith("sqlite"):
        assert not Path(bare_url.removeprefix("sqlite:///")).exists()
    ran = run("restore", str(tmp_path / "monday"), "--into", str(tmp_path / "again"))
    assert ran.code == 0
    # The accounts of these tests are in no entry, and that keeps nobody from their registry.
    assert ran.err == f"{UNTOLD}\n"
    monkeypatch.setenv("CANTRAIL_DATA_DIR", str(tmp_path / "again"))
    after = run(*asked)
    assert (after.code, after.out.splitlines()[-1]) == (before.code, before.out.splitlines()[-1])
    again = run("restore", str(tmp_path / "monday"), "--into", str(tmp_path / "again"))
    assert again.code == 1
    assert "overwrites nothing" in again.err
    restored = open_registry(Settings())
    with restored.database.read() as session, registry.database.read() as old:
        for table in ("account", "token", "outbox_job", "idempotency_key", "text"):
            assert list(copying.rows(session, table)) == list(copying.rows(old, table))
        assert copying.count(session, "web_session") == 0
    restored.close()


@pytest.mark.usefixtures("here")
def test_a_backup_is_taken_while_others_write(
    run: Run, client: Client, people: People, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stop = Event()
    written: list[int] = []

    def write() -> None:
        while not stop.is_set():
            name = sha256(str(len(written)).encode()).hexdigest()[:16]
            body = {"name": name, "kind": "forum"}
            answer = client.post(f"{API}/publishers", json=body, headers=people["contributor"])
            written.append(answer.status_code)

    writer = Thread(target=write)
    writer.start()
    try:
        for number in range(3):
            assert run("backup", str(tmp_path / f"b{number}")).code == 0
    finally:
        stop.set()
        writer.join()
    assert set(written) == {201}
    monkeypatch.setenv("CANTRAIL_DATABASE_URL", f"sqlite:///{tmp_path / 'x' / 'again.sqlite3'}")
    ran = run("restore", str(tmp_path / "b2"), "--into", str(tmp_path / "x"))
    assert (ran.code, ran.err) == (0, f"{UNTOLD}\n")


@pytest.fixture(scope="module")
def backed_up_once(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A backup of the demo, to be copied."""
    folder = tmp_path_factory.mktemp("backup") / "demo-backup"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "argv", ["cantrail", "--data-dir", str(demo_folder), "backup", str(folder)])
        with pytest.raises(SystemExit) as ended:
            main()
    assert not ended.value.code
    return folder


@pytest.fixture
def backed_up(backed_up_once: Path, tmp_path: Path) -> Path:
    """A backup of the demo."""
    return shutil.copytree(backed_up_once, tmp_path / "demo-backup")


def test_evidence_that_an_older_backup_has_is_linked(
    demo_folder: Path, backed_up: Path, run: Run, tmp_path: Path
) -> None:
    newer = tmp_path / "newer"
    assert run("--data-dir", str(demo_folder), "backup", str(newer), "--like", str(backed_up)).code == 0
    papers = list(newer.glob("evidence/*/*/*"))
    assert papers
    assert {path.stat().st_nlink for path in papers} == {2}
    assert manifest(newer).root == manifest(backed_up).root


def test_nothing_is_left_where_the_disk_is_full(
    demo_folder: Path, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def hold(self: NewBackupFolder, sha256: str, content: bytes) -> None:
        self.write(f"evidence-{sha256}", _full(content))

    monkeypatch.setattr(NewBackupFolder, "hold", hold)
    destination = tmp_path / "there" / "backup"
    ran = run("--data-dir", str(demo_folder), "backup", str(destination))
    assert ran.code == 1
    assert "No space left on device" in ran.err
    assert list(destination.parent.iterdir()) == []


def _full(content: bytes) -> Iterator[bytes]:
    yield content[:4]
    raise OSError(28, "No space left on device")


def test_a_backup_that_is_there_is_not_overwritten(demo_folder: Path, backed_up: Path, run: Run) -> None:
    ran = run("--data-dir", str(demo_folder), "backup", str(backed_up))
    assert ran.code == 2
    assert "is there already" in ran.err


def test_keys_are_in_a_backup_only_where_asked_for(
    demo_folder: Path, backed_up: Path, run: Run, tmp_path: Path
) -> None:
    assert not (backed_up / "kept" / "signing-key").exists()
    assert (backed_up / "kept" / "public-key").exists()
    assert run("--data-dir", str(demo_folder), "backup", str(tmp_path / "keys"), "--with-keys").code == 0
    key = tmp_path / "keys" / "kept" / "signing-key"
    assert key.stat().st_mode & 0o777 == 0o600
    assert run("restore", str(tmp_path / "keys"), "--into", str(tmp_path / "again")).code == 0
    assert (tmp_path / "again" / "signing-key").read_bytes() == key.read_bytes()


def rewritten(folder: Path, change: Any) -> None:
    path = folder / "manifest.json"
    said = json.loads(path.read_text())
    change(said)
    path.write_text(json.dumps(said))


def climbing(said: Any) -> None:
    said["kept"].append({"name": "kept/../../../out", "size": 1, "sha256": "0" * 64})


def other_table(said: Any) -> None:
    said["tables"][0]["name"] = "tables/../../x.jsonl"


def shorter(said: Any) -> None:
    said["entries"] -= 1


def huge(said: Any) -> None:
    said["evidence"][0][1] = 2**40


def newer(said: Any) -> None:
    said["revision"] = "of-tomorrow"


@pytest.mark.parametrize("change", [climbing, other_table, shorter, huge, newer])
def test_a_manifest_that_was_changed_restores_nothing(change: Any, backed_up: Path, run: Run, tmp_path: Path) -> None:
    rewritten(backed_up, change)
    ran = run("restore", str(backed_up), "--into", str(tmp_path / "again"))
    assert (ran.code, ran.out) == (2, "")
    assert not (tmp_path / "again" / "cantrail.sqlite3").exists()


@pytest.mark.parametrize("what", ["flip", "link", "pipe", "gone", "folder link"])
def test_a_part_that_was_changed_restores_nothing(what: str, backed_up: Path, run: Run, tmp_path: Path) -> None:
    part = backed_up / "tables" / "token.jsonl"
    match what:
        case "flip":
            content = part.read_bytes()
            part.write_bytes(content[:-3] + bytes([content[-3] ^ 1]) + content[-2:])
        case "folder link":
            shutil.move(backed_up / "tables", tmp_path / "elsewhere")
            (backed_up / "tables").symlink_to(tmp_path / "elsewhere")
        case _:
            kept = part.rename(tmp_path / "token")
            if what == "link":
                part.symlink_to(kept)
            elif what == "pipe":
                os.mkfifo(part)
    ran = run("restore", str(backed_up), "--into", str(tmp_path / "again"))
    assert (ran.code, ran.out) == (2, "")
    assert "cannot be restored" in ran.err
    assert not (tmp_path / "again" / "cantrail.sqlite3").exists()


def test_a_backup_that_lost_published_entries_is_refused(demo_copy: Path, run: Run, tmp_path: Path) -> None:
    assert run("--data-dir", str(demo_copy), "backup", str(tmp_path / "early")).code == 0
    assert run("--data-dir", str(demo_copy), "account", "add", "latecomer").code == 0
    registry = open_registry(Settings(data_dir=demo_copy, database_url=None))
    with registry.database.write() as session:
        work = system_work(session, registry.clock.now(), registry.store)
        subjects.add_publisher(work, NewPublisher("Sedge", "forum"))  # type: ignore[arg-type]
    registry.checkpoints.publish()
    registry.close()
    (demo_copy / "cantrail.sqlite3").unlink()
    ran = run("restore", str(tmp_path / "early"), "--into", str(demo_copy))
    assert ran.code == 1
    assert "--lose-entries" in ran.err
    assert not (demo_copy / "cantrail.sqlite3").exists()
    assert run("restore", str(tmp_path / "early"), "--into", str(demo_copy), "--lose-entries").code == 0
    assert "ledger_cut_short" not in run("--data-dir", str(demo_copy), "limit", "orrin-tarn-t2-2019").err
    ran = run("--data-dir", str(demo_copy), "daily")
    assert ran.code == 1
