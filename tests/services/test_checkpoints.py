"""Checkpoints are kept before they are handed out, never taken back, and hold the ledger to what was published."""

import stat
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from multiprocessing import get_context
from pathlib import Path

import pytest

from app.adapters.checkpoint_file import CheckpointFile
from app.adapters.signing_key import FileSigningKey
from app.bootstrap import checkpoints_of, open_registry, prepare
from app.core.checkpoint import Checkpoint
from app.core.errors import CantrailError, Kind
from app.persistence import ledger, tree
from app.persistence.session import Database
from app.services import rebuilding
from app.services.checkpoints import Checkpoints, contradiction
from app.settings import Settings
from tests.persistence.tampering import lose, unguard
from tests.persistence.test_ledger import NOW, add

SIZE = 7


@pytest.fixture
def settings(database_url: str, tmp_path: Path) -> Settings:
    """Of a registry with some entries, and a second place for its checkpoints."""
    named = Settings(data_dir=tmp_path / "data", database_url=database_url, checkpoint_copy=tmp_path / "other" / "copy")
    (tmp_path / "other").mkdir()
    prepare(named).dispose()
    return named


@pytest.fixture
def filled(settings: Settings, database: Database) -> Database:
    for number in range(SIZE):
        add(database, f"p{number}")
    return database


@pytest.fixture
def checkpoints(settings: Settings, filled: Database) -> Checkpoints:
    return checkpoints_of(settings, filled)


def places(settings: Settings) -> list[Path]:
    assert settings.checkpoint_copy is not None
    return [settings.checkpoint, settings.checkpoint_copy]


def kept(settings: Settings) -> list[int]:
    """The sizes that are kept in both places."""
    return [int(path.read_text().splitlines()[1]) for path in places(settings)]


def test_a_checkpoint_is_signed_and_kept_in_both_places(
    settings: Settings, checkpoints: Checkpoints, filled: Database
) -> None:
    note = checkpoints.current()
    assert [path.read_text() for path in places(settings)] == [note, note]
    key = checkpoints.key.verifier()
    with filled.read() as session:
        assert checkpoints.read(note) == Checkpoint(key.name, SIZE, tree.root(session, size=SIZE))
    assert key.name.startswith("cantrail.local/")
    assert list(checkpoints.troubles()) == []


def test_a_size_has_one_note_and_the_next_entry_another(
    settings: Settings, checkpoints: Checkpoints, filled: Database
) -> None:
    first = checkpoints.current()
    assert checkpoints.current() == first == checkpoints.publish() == checkpoints_of(settings, filled).current()
    add(filled, "one more")
    assert checkpoints.current() != first
    assert kept(settings) == [SIZE + 1, SIZE + 1]


def test_the_name_is_fixed_when_the_key_is_made(tmp_path: Path) -> None:
    named = Settings(data_dir=tmp_path, database_url=None, origin="roofs.example.org/ledger")
    database = prepare(named)
    line = checkpoints_of(named, database).key.verifier().text
    database.dispose()
    renamed = Settings(data_dir=tmp_path, database_url=None, origin="other.example.org")
    database = prepare(renamed)
    assert checkpoints_of(renamed, database).key.verifier().text == line
    assert line.startswith("roofs.example.org/ledger+")
    assert stat.S_IMODE(named.signing_key.stat().st_mode) == 0o600
    database.dispose()


def test_the_key_is_not_in_the_database(settings: Settings, checkpoints: Checkpoints, tmp_path: Path) -> None:
    checkpoints.current()
    seed = settings.signing_key.read_text().strip().rpartition("+")[2]
    for path in tmp_path.rglob("*"):
        if path.is_file() and path != settings.signing_key:
            assert seed.encode() not in path.read_bytes()


def test_a_key_that_was_lost_is_not_replaced_in_silence(settings: Settings, checkpoints: Checkpoints) -> None:
    checkpoints.current()
    settings.signing_key.unlink()
    with pytest.raises(CantrailError, match="put the key back") as refused:
        prepare(settings)
    assert refused.value.code == "signing_key_lost"
    assert not settings.signing_key.exists()


# The second place


def test_a_second_place_that_fails_stops_nothing_and_is_told(
    settings: Settings, checkpoints: Checkpoints, filled: Database, caplog: pytest.LogCaptureFixture
) -> None:
    first, second = places(settings)
    checkpoints.current()
    second.unlink()
    second.mkdir()
    add(filled, "one more")
    note = checkpoints.current()
    assert first.read_text() == note
    assert "second copy" in caplog.text
    (told,) = checkpoints.troubles()
    assert str(second) in told
    second.rmdir()
    checkpoints.publish()
    assert second.read_text() == note
    assert list(checkpoints.troubles()) == []


def test_a_second_place_that_is_gone_is_told(settings: Settings, checkpoints: Checkpoints) -> None:
    second = places(settings)[1]
    second.parent.rmdir()
    assert checkpoints.current()
    (told,) = checkpoints.troubles()
    assert str(second) in told


def test_a_copy_that_is_damaged_is_told_and_not_replaced(
    settings: Settings, checkpoints: Checkpoints, filled: Database
) -> None:
    second = places(settings)[1]
    checkpoints.current()
    damaged = second.read_text().replace(f"\n{SIZE}\n", f"\n{SIZE + 2}\n")
    second.write_text(damaged)
    add(filled, "one more")
    checkpoints.current()
    assert second.read_text() == damaged
    assert any("no good signature" in each for each in checkpoints.troubles())
    assert checkpoints.refusal() is None


def test_nothing_is_handed_out_that_the_first_place_does_not_take(
    settings: Settings, checkpoints: Checkpoints, filled: Database
) -> None:
    first = places(settings)[0]
    checkpoints.current()
    first.write_text("something else\n")
    add(filled, "one more")
    with pytest.raises(CantrailError) as refused:
        checkpoints.current()
    assert (refused.value.kind, refused.value.code) == (Kind.UNAVAILABLE, "checkpoint_unreadable")
    assert first.read_text() == "something else\n"
    first.unlink()
    assert checkpoints.current()


def test_a_checkpoint_is_never_replaced_by_a_smaller_one(
    settings: Settings, checkpoints: Checkpoints, filled: Database
) -> None:
    """Another server sees the registry as it was a moment ago."""
    add(filled, "one more")
    checkpoints.current()
    late = checkpoints_of(settings, filled)
    add(filled, "two more")
    checkpoints.publish()
    assert late.publish() == checkpoints.current()
    assert kept(settings) == [SIZE + 2, SIZE + 2]


# Many at once


def test_many_ask_at_once_while_others_write(settings: Settings, filled: Database) -> None:
    servers = [checkpoints_of(settings, filled) for _ in range(3)]

    def ask(number: int) -> str:
        if number % 3 == 0:
            add(filled, f"more-{number}")
        return servers[number % 3].current()

    with ThreadPoolExecutor(8) as pool:
        notes = list(pool.map(ask, range(48)))
    roots: dict[int, set[bytes]] = {}
    with filled.read() as session:
        for note in notes:
            found = servers[0].read(note)
            roots.setdefault(found.size, set()).add(found.root)
            assert tree.root(session, size=found.size) == found.root
    assert all(len(each) == 1 for each in roots.values())
    servers[0].publish()
    assert kept(settings) == [SIZE + 16, SIZE + 16]


def _publish_many(named: Settings) -> list[str]:
    database = Database(named.url)
    checkpoints = checkpoints_of(named, database)
    notes = []
    for number in range(10):
        add(database, f"p-{number}")
        notes.append(checkpoints.current())
    database.dispose()
    return notes


def test_many_processes_publish_one_after_another(settings: Settings, checkpoints: Checkpoints) -> None:
    with get_context("forkserver").Pool(3) as pool:
        told = pool.map(_publish_many, [settings] * 3)
    sizes: dict[int, set[str]] = {}
    for note in (note for notes in told for note in notes):
        sizes.setdefault(checkpoints.read(note).size, set()).add(note)
    assert all(len(notes) == 1 for notes in sizes.values())
    assert kept(settings) == [SIZE + 30, SIZE + 30]


# What was lost


def reopened(settings: Settings) -> CantrailError:
    """Open the registry as a server does: it can be read, and nothing be written; gives why."""
    with closing(open_registry(settings)) as registry:
        assert registry.database.probe() >= 0
        with registry.database.read() as session:
            list(ledger.every_entry(session))
        with pytest.raises(CantrailError) as refused, registry.database.write() as session:
            rebuilding.begin(session, now=NOW)
        with pytest.raises(CantrailError):
            registry.checkpoints.publish()
        assert any(refused.value.message in each for each in registry.checkpoints.troubles())
    return refused.value


@pytest.mark.parametrize("gone", [0, 1], ids=["first place gone", "second place gone"])
def test_nothing_is_written_to_a_ledger_that_lost_what_was_published(
    settings: Settings, checkpoints: Checkpoints, filled: Database, gone: int
) -> None:
    """One place that is left is enough."""
    checkpoints.current()
    places(settings)[gone].unlink()
    lose(filled, SIZE - 2)
    refused = reopened(settings)
    assert (refused.kind, refused.code) == (Kind.UNAVAILABLE, "ledger_cut_short")
    assert f"has {SIZE - 2} entries, and a checkpoint of {SIZE} was published" in refused.message
    assert "docs/running.md" in refused.message
    again = prepare(settings)
    with pytest.raises(CantrailError, match="restore a later backup"):
        add(again, "one more")
    again.dispose()


def test_nothing_is_written_to_a_ledger_whose_tail_was_written_anew(
    settings: Settings, checkpoints: Checkpoints, filled: Database
) -> None:
    checkpoints.current()
    lose(filled, SIZE - 2)
    for number in range(4):
        add(filled, f"other-{number}")
    refused = reopened(settings)
    assert refused.code == "ledger_cut_short"
    assert f"first {SIZE} entries are not those" in refused.message


def test_a_running_server_that_finds_it_out_writes_nothing_more(
    settings: Settings, checkpoints: Checkpoints, filled: Database
) -> None:
    checkpoints.current()
    lose(filled, SIZE - 2)
    for _ in range(2):
        with pytest.raises(CantrailError) as refused:
            checkpoints.current()
        assert refused.value.code == "ledger_cut_short"
    with pytest.raises(CantrailError, match="Entries were lost"):
        add(filled, "one more")
    assert kept(settings) == [SIZE, SIZE]


def test_a_later_backup_ends_the_refusal(settings: Settings, checkpoints: Checkpoints, filled: Database) -> None:
    """A checkpoint that the ledger goes on from, however far back, is no reason to refuse."""
    checkpoints.current()
    add(filled, "one more")
    add(filled, "two more")
    lose(filled, SIZE)
    assert checkpoints_of(settings, filled).refusal() is None
    with closing(open_registry(settings)) as registry:
        assert add(registry.database, "on it goes").seq == SIZE + 1


def test_a_loss_can_be_accepted_by_moving_what_was_published_away(
    settings: Settings, checkpoints: Checkpoints, filled: Database
) -> None:
    """As docs/running.md has it: the checkpoints and the key, which must not sign one size twice."""
    checkpoints.current()
    before = checkpoints.key.verifier()
    lose(filled, SIZE - 2)
    for path in (*places(settings), settings.signing_key):
        path.rename(path.with_name(f"{path.name}.before"))
    prepare(settings).dispose()
    with closing(open_registry(settings)) as registry:
        assert add(registry.database, "on it goes").seq == SIZE - 1
        registry.checkpoints.current()
        assert registry.checkpoints.key.verifier() != before


def test_without_the_key_whatever_is_kept_counts(
    settings: Settings, checkpoints: Checkpoints, filled: Database
) -> None:
    checkpoints.current()
    settings.signing_key.unlink()
    assert checkpoints_of(settings, filled).refusal() is None
    lose(filled, SIZE - 2)
    refusal = checkpoints_of(settings, filled).refusal()
    assert refusal is not None
    assert refusal.code == "ledger_cut_short"
    with pytest.raises(CantrailError, match="no signing key") as refused:
        checkpoints_of(settings, filled).key.verifier()
    assert refused.value.code == "no_signing_key"


def test_a_tree_that_cannot_be_read_is_a_reason_to_refuse(
    settings: Settings, checkpoints: Checkpoints, filled: Database
) -> None:
    checkpoints.current()
    unguard(filled)
    with filled.write() as session:
        session.connection().exec_driver_sql("DELETE FROM ledger_node")
    refusal = checkpoints_of(settings, filled).refusal()
    assert refusal is not None
    assert refusal.code == "ledger_damaged"
    with filled.write() as session:
        session.connection().exec_driver_sql(f"DELETE FROM ledger_entry WHERE seq = {SIZE}")
    with filled.read() as session, pytest.raises(CantrailError, match="damaged"):
        contradiction(session, Checkpoint("a", 1, bytes(32)))


def test_a_foreign_checkpoint_is_no_reason_to_refuse(
    settings: Settings, checkpoints: Checkpoints, filled: Database, tmp_path: Path
) -> None:
    """It is told, and nothing is published over it."""
    other = FileSigningKey(tmp_path / "other-key")
    other.make(checkpoints.key.verifier().name)
    lose(filled, SIZE - 2)
    elsewhere = Checkpoints(filled, other, CheckpointFile(settings.checkpoint))
    elsewhere.publish()
    lose(filled, SIZE - 4)
    assert checkpoints_of(settings, filled).refusal() is None
    assert any("no good signature" in each for each in checkpoints_of(settings, filled).troubles())
    with pytest.raises(CantrailError, match="no good signature"):
        checkpoints_of(settings, filled).publish()
