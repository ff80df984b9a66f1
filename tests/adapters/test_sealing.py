"""The key of secrets: made once, for its owner only; what it seals is opened by it and for the same account alone."""

from pathlib import Path

import pytest

from app.adapters.sealing import FileSealer
from app.core.errors import CantrailError


@pytest.fixture
def sealer(tmp_path: Path) -> FileSealer:
    sealer = FileSealer(tmp_path / "sealing-key")
    assert sealer.make()
    return sealer


def test_the_key_is_its_owner_s_and_made_once(sealer: FileSealer, tmp_path: Path) -> None:
    path = tmp_path / "sealing-key"
    before = path.read_bytes()
    assert path.stat().st_mode & 0o777 == 0o600
    assert sealer.exists()
    assert not sealer.make()
    assert path.read_bytes() == before


def test_what_is_sealed_is_opened_by_whoever_has_the_key(sealer: FileSealer, tmp_path: Path) -> None:
    sealed = sealer.seal("JBSWY3DPEHPK3PXP", "a-1")
    assert "JBSWY3DPEHPK3PXP" not in sealed
    assert sealer.seal("JBSWY3DPEHPK3PXP", "a-1") != sealed
    assert FileSealer(tmp_path / "sealing-key").unseal(sealed, "a-1") == "JBSWY3DPEHPK3PXP"


def test_it_is_opened_for_no_other_account_no_other_key_and_not_when_touched(
    sealer: FileSealer, tmp_path: Path
) -> None:
    other = FileSealer(tmp_path / "other-key")
    other.make()
    sealed = sealer.seal("JBSWY3DPEHPK3PXP", "a-1")
    touched = sealed[:20] + ("A" if sealed[20] != "A" else "B") + sealed[21:]
    for who, what, about in (
        (sealer, sealed, "a-2"),
        (other, sealed, "a-1"),
        (sealer, touched, "a-1"),
        (sealer, "", "a-1"),
    ):
        with pytest.raises(CantrailError) as refused:
            who.unseal(what, about)
        assert refused.value.code == "secret_unreadable"


@pytest.mark.parametrize("content", [None, b"", b"00", b"not hexadecimal", "ключ".encode()])
def test_a_key_that_is_missing_or_damaged_is_told(tmp_path: Path, content: bytes | None) -> None:
    path = tmp_path / "key"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(CantrailError) as refused:
        FileSealer(path).seal("x", "y")
    assert refused.value.code == "no_sealing_key"
    with pytest.raises(CantrailError) as refused:
        FileSealer(path).mark("x")
    assert refused.value.code == "no_sealing_key"


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    with pytest.raises(CantrailError) as refused:
        FileSealer(tmp_path / "nowhere" / "key").make()
    assert refused.value.code == "storage_unavailable"


def test_marks_are_the_same_for_the_same_and_differ_by_key(sealer: FileSealer, tmp_path: Path) -> None:
    other = FileSealer(tmp_path / "other-key")
    other.make()
    assert sealer.mark("192.0.2.1") == FileSealer(tmp_path / "sealing-key").mark("192.0.2.1")
    assert len({sealer.mark("192.0.2.1"), sealer.mark("192.0.2.2"), other.mark("192.0.2.1")}) == 3
