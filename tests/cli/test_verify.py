"""`cantrail verify`, as whoever runs a registry types it, and as somebody outside does."""

import json
import stat
from collections.abc import Iterator
from pathlib import Path
from threading import Thread

import pytest
import uvicorn

from app.bootstrap import open_registry
from app.cli.keeping import listening
from app.core.entries import PublisherAdded
from app.persistence.projection import record
from app.settings import Settings
from app.web.main import create_app
from tests.cli.conftest import Run
from tests.persistence.tampering import lose, set_entry, unguard


@pytest.fixture
def folder(run: Run, tmp_path: Path) -> Path:
    """A registry as `init` makes it, with some entries."""
    made = tmp_path / "registry"
    told = run("--data-dir", str(made), "init")
    assert told.code == 0
    assert "Others verify its ledger with this key: cantrail.local/" in told.out
    for number in range(6):
        grow(made, f"p{number}")
    return made


def grow(folder: Path, name: str) -> None:
    registry = open_registry(Settings(data_dir=folder, database_url=None), checkpoints=False)
    payload = PublisherAdded(name, "vehicle_maker", name, None, (), ())
    with registry.database.write() as session:
        record(session, actor="writer", now=registry.clock.now(), streams=[f"publisher:{name}"], payload=payload)
    registry.checkpoints.publish()
    registry.close()


def spoil(folder: Path, after: int | None = None) -> None:
    registry = open_registry(Settings(data_dir=folder, database_url=None), checkpoints=False)
    if after is None:
        unguard(registry.database)
        set_entry(registry.database, 3, actor="\x1b[31mnobody")
    else:
        lose(registry.database, after)
    registry.close()


@pytest.fixture
def address(folder: Path) -> Iterator[str]:
    """The registry, served."""
    listener = listening("127.0.0.1", 0)
    registry = open_registry(Settings(data_dir=folder, database_url=None))
    server = uvicorn.Server(uvicorn.Config(create_app(registry), log_level="error", lifespan="on"))
    thread = Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    yield f"http://127.0.0.1:{listener.getsockname()[1]}"
    server.should_exit = True
    thread.join()
    listener.close()


def test_init_makes_a_key_and_keeps_it(run: Run, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    key = run("--data-dir", str(folder), "key")
    assert (key.code, len(key.out.splitlines())) == (0, 1)
    monkeypatch.setenv("CANTRAIL_ORIGIN", "roofs.example.org")
    again = run("--data-dir", str(folder), "init")
    assert key.out.strip() in again.out
    assert "CANTRAIL_ORIGIN counts only when it is made" in again.out
    assert stat.S_IMODE((folder / "signing-key").stat().st_mode) == 0o600
    assert "PRIVATE" not in again.out + again.err + key.out


def test_an_origin_that_cannot_be_one_is_refused(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CANTRAIL_ORIGIN", "two words")
    refused = run("--data-dir", str(tmp_path / "new"), "init")
    assert refused.code == 2
    assert "CANTRAIL_ORIGIN" in refused.err


def test_a_registry_that_is_well(run: Run, folder: Path) -> None:
    told = run("--data-dir", str(folder), "verify")
    assert told.code == 0
    assert told.out.splitlines()[0].startswith("7 entries, root ")
    assert told.out.splitlines()[-1] == "Nothing is wrong."
    assert all(len(line) <= 80 for line in told.out.splitlines()[1:])
    as_json = run("--data-dir", str(folder), "verify", "--json")
    report = json.loads(as_json.out)
    assert (as_json.code, report["fine"], report["size"]) == (0, True, 7)


def test_a_registry_that_was_tampered_with(run: Run, folder: Path) -> None:
    spoil(folder)
    told = run("--data-dir", str(folder), "verify")
    assert told.code == 1
    assert "entry 3: its column actor has" in told.out
    assert "Something is wrong" in told.out
    assert "\x1b" not in told.out
    as_json = run("--data-dir", str(folder), "verify", "--json")
    report = json.loads(as_json.out)
    assert (as_json.code, report["fine"]) == (1, False)
    (check,) = [each for each in report["checks"] if each["wrong"]]
    assert (check["name"], check["findings"][0]["where"]) == ("entries", "entry 3")


def test_a_registry_that_lost_entries(run: Run, folder: Path) -> None:
    spoil(folder, after=5)
    told = run("--data-dir", str(folder), "verify")
    assert told.code == 1
    assert "it was published over 7 entries, and there are 5" in told.out
    refused = run("--data-dir", str(folder), "rebuild")
    assert refused.code == 1
    assert "Entries were lost or changed" in refused.err
    assert run("--data-dir", str(folder), "daily").code == 1
    assert run("--data-dir", str(folder), "init").code == 1


def test_a_checkpoint_kept_elsewhere(run: Run, folder: Path, tmp_path: Path) -> None:
    copy = tmp_path / "kept"
    copy.write_text((folder / "checkpoint").read_text())
    grow(folder, "more")
    fine = run("--data-dir", str(folder), "verify", "--against", str(copy))
    assert (fine.code, fine.out) == (0, f"The ledger goes on from {copy}: 7 entries then, 8 now.\n")
    as_json = json.loads(run("--data-dir", str(folder), "verify", "--against", str(copy), "--json").out)
    assert (as_json["kept"]["size"], as_json["size"]) == (7, 8)
    spoil(folder, after=6)
    forked = run("--data-dir", str(folder), "verify", "--against", str(copy))
    assert forked.code == 1
    assert "The checkpoint kept is genuine" in forked.err
    copy.write_text(copy.read_text().replace("\n7\n", "\n6\n"))
    assert run("--data-dir", str(folder), "verify", "--against", str(copy)).code == 1
    assert run("--data-dir", str(folder), "verify", "--against", str(tmp_path / "none")).code == 1


def test_somebody_outside_follows_a_registry(
    run: Run, folder: Path, address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    first = run("verify", "--against", address)
    assert first.code == 0, first.err
    assert "Its key is taken on trust this first time" in first.out
    (kept,) = (tmp_path / "state" / "cantrail" / "followed").iterdir()
    key = run("--data-dir", str(folder), "key").out.strip()
    assert kept.read_text().startswith(f"{key}\n")
    grow(folder, "more")
    second = run("verify", "--against", address, "--entries")
    assert second.code == 0, second.err
    assert "7 entries then, 8 now" in second.out
    assert "All 8 entries were hashed" in second.out
    assert "on trust" not in second.out
    elsewhere = run("verify", "--against", address, "--kept", "own/file", "--key", key, "--json")
    told = json.loads(elsewhere.out)
    assert (told["earlier"], told["present"]["size"], told["kept"]) == (None, 8, "own/file")
    before = kept.read_text()
    other = run("verify", "--against", address, "--key", key.replace("+", "x+", 1))
    assert other.code == 2
    spoil(folder, after=5)
    for path in ("checkpoint", "signing-key"):
        (folder / path).rename(folder / f"{path}.before")
    assert run("--data-dir", str(folder), "init").code == 0
    fork = run("verify", "--against", address)
    assert fork.code == 1
    assert fork.err
    assert kept.read_text() == before


def test_a_registry_that_is_not_there(run: Run, tmp_path: Path) -> None:
    listener = listening("127.0.0.1", 0)
    port = listener.getsockname()[1]
    listener.close()
    told = run("verify", "--against", f"http://127.0.0.1:{port}", "--kept", str(tmp_path / "kept"))
    assert told.code == 1
    assert "cannot be asked" in told.err
    assert not (tmp_path / "kept").exists()
