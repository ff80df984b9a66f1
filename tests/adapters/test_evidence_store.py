import os
from hashlib import sha256
from itertools import count
from pathlib import Path

import pytest

from app.adapters.clock import SystemClock
from app.adapters.evidence_store import FolderEvidenceStore
from app.core.errors import CantrailError

PAGE = b"%PDF-1.7 a page"
DIGEST = sha256(PAGE).hexdigest()


@pytest.fixture
def store(tmp_path: Path) -> FolderEvidenceStore:
    return FolderEvidenceStore(tmp_path / "not" / "there" / "yet")


def files(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


def test_a_file_is_held_under_its_hash(store: FolderEvidenceStore, tmp_path: Path) -> None:
    assert not store.exists(DIGEST)
    assert store.put(PAGE) == DIGEST
    assert store.put(PAGE) == DIGEST
    assert store.exists(DIGEST)
    assert store.get(DIGEST) == PAGE
    (path,) = files(tmp_path)
    assert store.path(DIGEST) == path
    assert path.parts[-3:] == (DIGEST[:2], DIGEST[2:4], DIGEST)
    assert FolderEvidenceStore(tmp_path / "not" / "there" / "yet").get(DIGEST) == PAGE


@pytest.mark.parametrize("digest", ["f" * 64, "../../etc/passwd", "", DIGEST.upper(), "f" * 63])
def test_what_is_not_held_is_missing(store: FolderEvidenceStore, digest: str) -> None:
    store.put(PAGE)
    assert not store.exists(digest)
    with pytest.raises(CantrailError) as refused:
        store.get(digest)
    assert refused.value.code == "evidence_missing"


def test_damage_is_told_and_mended_by_storing_the_file_again(store: FolderEvidenceStore, tmp_path: Path) -> None:
    store.put(PAGE)
    (path,) = files(tmp_path)
    path.write_bytes(PAGE[:-1])
    with pytest.raises(CantrailError) as refused:
        store.get(DIGEST)
    assert refused.value.code == "evidence_damaged"
    store.put(PAGE)
    assert store.get(DIGEST) == PAGE


@pytest.mark.parametrize("which", range(1, 7))
def test_a_disk_that_fails_at_any_sync_leaves_no_half_file(
    store: FolderEvidenceStore, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, which: int
) -> None:
    syncs = count(1)
    synced = os.fsync

    def full(handle: int) -> None:
        if next(syncs) == which:
            raise OSError(28, "No space left on device")
        synced(handle)

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(CantrailError, match="No space left") as refused:
            store.put(PAGE)
    assert refused.value.code == "storage_unavailable"
    assert [path.read_bytes() for path in files(tmp_path)] in ([], [PAGE])
    assert store.put(PAGE) == DIGEST
    assert [path.read_bytes() for path in files(tmp_path)] == [PAGE]


def test_the_clock_is_aware_and_in_utc() -> None:
    offset = SystemClock().now().utcoffset()
    assert offset is not None
    assert not offset
