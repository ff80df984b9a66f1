import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from app.adapters.checkpoint_file import LARGEST, CheckpointFile
from app.adapters.signing_key import FileSigningKey, Verifier, verifies
from app.core.errors import CantrailError, Kind


@pytest.fixture
def key(tmp_path: Path) -> FileSigningKey:
    key = FileSigningKey(tmp_path / "signing-key")
    assert key.make("roofs.example.org")
    return key


def test_only_its_owner_can_read_the_key(key: FileSigningKey, tmp_path: Path) -> None:
    (path,) = tmp_path.iterdir()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert path.read_text().startswith("PRIVATE+KEY+roofs.example.org+")


def test_what_it_signs_is_verified_with_what_it_shows(key: FileSigningKey, tmp_path: Path) -> None:
    signature = key.sign(b"message")
    public = key.verifier().public
    assert FileSigningKey(tmp_path / "signing-key").sign(b"message") == signature
    for by in (key, Verifier()):
        assert by.verifies(public, b"message", signature)
        assert not by.verifies(public, b"messag", signature)
    assert not verifies(bytes(32), b"message", signature)
    assert not verifies(b"short", b"message", signature)
    assert not verifies(public, b"message", b"short")


def test_the_key_is_shown_to_nobody(key: FileSigningKey, tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    seed = (tmp_path / "signing-key").read_text().strip().rpartition("+")[2]
    key.sign(b"message")
    assert seed not in f"{key!r}{vars(key)!r}{key.verifier()!r}{caplog.text}"


def test_a_key_is_made_once(key: FileSigningKey, tmp_path: Path) -> None:
    before = (tmp_path / "signing-key").read_bytes()
    assert not key.make("other.example.org")
    assert not FileSigningKey(tmp_path / "signing-key").make(None)
    assert (tmp_path / "signing-key").read_bytes() == before


def test_of_many_who_make_it_at_once_one_does(tmp_path: Path) -> None:
    keys = [FileSigningKey(tmp_path / "key") for _ in range(16)]
    with ThreadPoolExecutor(16) as pool:
        made = list(pool.map(lambda each: each.make(None), keys))
    assert sum(made) == 1
    assert len({each.verifier().text for each in keys}) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["key"]


def test_every_bit_of_the_key_s_file_matters(key: FileSigningKey, tmp_path: Path) -> None:
    path = tmp_path / "signing-key"
    content, public = path.read_bytes(), key.verifier()
    for bit in range(len(content.rstrip()) * 8):
        damaged = bytearray(content)
        damaged[bit // 8] ^= 1 << bit % 8
        path.write_bytes(bytes(damaged))
        with pytest.raises(CantrailError, match="signing key") as refused:
            assert FileSigningKey(path).verifier() == public
        assert (refused.value.kind, refused.value.code) == (Kind.UNAVAILABLE, "no_signing_key")


def test_a_key_that_is_not_there_or_cannot_be_written_is_told(tmp_path: Path) -> None:
    key = FileSigningKey(tmp_path / "nowhere" / "key")
    assert not key.exists()
    with pytest.raises(CantrailError, match="no signing key"):
        key.sign(b"message")
    with pytest.raises(CantrailError, match="cannot be written"):
        key.make("a")
    with pytest.raises(ValueError, match="no white space"):
        FileSigningKey(tmp_path / "key").make("a b")


def test_a_kept_checkpoint_is_replaced_whole(tmp_path: Path) -> None:
    place = CheckpointFile(tmp_path / "checkpoint")
    assert place.read() is None
    for note in ("one\n", "two\n"):
        with place.alone():
            place.write(note)
        assert place.read() == note
    assert stat.S_IMODE((tmp_path / "checkpoint").stat().st_mode) == 0o644
    assert sorted(path.name for path in tmp_path.iterdir()) == [".checkpoint.lock", "checkpoint"]


def test_a_place_that_cannot_be_used_is_told(tmp_path: Path) -> None:
    folder = CheckpointFile(tmp_path)
    for use in (folder.read, lambda: folder.write("one\n")):
        with pytest.raises(CantrailError, match=str(tmp_path)):
            use()
    nowhere = CheckpointFile(tmp_path / "nowhere" / "checkpoint")
    assert nowhere.read() is None
    with pytest.raises(CantrailError, match="cannot be written") as refused, nowhere.alone():
        pass
    assert refused.value.code == "checkpoint_not_kept"
    (tmp_path / "broken").write_bytes(b"\xff")
    with pytest.raises(CantrailError, match="cannot be read") as broken:
        CheckpointFile(tmp_path / "broken").read()
    assert broken.value.code == "checkpoint_unreadable"
    (tmp_path / "long").write_bytes(b"x" * LARGEST * 2)
    assert len(CheckpointFile(tmp_path / "long").read() or "") == LARGEST + 1
