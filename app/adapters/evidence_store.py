"""Evidence in a folder, each file under the SHA-256 of its bytes. What is there is whole, and never changes."""

import hashlib
import os
import re
import time
from collections.abc import Iterator
from contextlib import suppress
from datetime import timedelta
from pathlib import Path
from typing import Final

from app.adapters.safe_writing import UNFINISHED, replace_file, sync_folder
from app.core.errors import CantrailError, Kind

_DIGEST: Final = re.compile(r"[0-9a-f]{64}")


class FolderEvidenceStore:
    """Files fanned out over two levels of folders by the first digits of their hash."""

    def __init__(self, root: Path) -> None:
        self._root = root

    def put(self, content: bytes) -> str:
        """Hold a file, and return its SHA-256 once it is safely on the disk. Raises `storage_unavailable`.

        Call it before the commit that speaks of the file: a file that nothing speaks of is only waste, but an entry
        whose file was lost is a hole.
        """
        sha256 = _sha256(content)
        path = self._place(sha256)
        try:
            # A damaged copy is replaced: renaming over it leaves no moment without a file.
            if not (path.is_file() and _sha256(path.read_bytes()) == sha256):
                self._make_folder(path.parent)
                replace_file(path, content)
            else:
                # As young as if it were new: the sweep leaves it alone until an entry speaks of it.
                os.utime(path)
        except OSError as error:
            raise CantrailError(
                Kind.UNAVAILABLE,
                "storage_unavailable",
                f"The evidence could not be stored: {error.strerror}. Nothing was changed; try again in a moment.",
            ) from error
        return sha256

    def exists(self, sha256: str) -> bool:
        """Whether a file is held under a hash."""
        return _is_digest(sha256) and self._place(sha256).is_file()

    def remove(self, sha256: str) -> None:
        """Hold a file no more. One that is not held is removed already."""
        if self.exists(sha256):
            path = self._place(sha256)
            path.unlink(missing_ok=True)
            sync_folder(path.parent)

    def older_than(self, age: timedelta) -> Iterator[str]:
        """The hashes of the files that were put here longer ago than some time; what a killed write left behind is
        removed on the way."""
        before = time.time() - age.total_seconds()
        for path in self._root.glob("*/*/*"):
            with suppress(FileNotFoundError):
                if path.stat().st_mtime >= before:
                    continue
                if path.name.startswith(UNFINISHED):
                    path.unlink()
                elif _is_digest(path.name):
                    yield path.name

    def path(self, sha256: str) -> Path:
        """Where a file lies, unchecked. Raises `evidence_missing`."""
        if not self.exists(sha256):
            raise CantrailError(Kind.NOT_FOUND, "evidence_missing", f"No file is held as {sha256[:64]!r}.")
        return self._place(sha256)

    def get(self, sha256: str) -> bytes:
        """The bytes of a file. Raises `evidence_missing`, and `evidence_damaged` where they are not those stored."""
        content = self.path(sha256).read_bytes()
        if _sha256(content) != sha256:
            raise CantrailError(
                Kind.UNAVAILABLE, "evidence_damaged", f"The file held as {sha256} is damaged: restore it from a backup."
            )
        return content

    def _place(self, sha256: str) -> Path:
        return self._root / sha256[:2] / sha256[2:4] / sha256

    def _make_folder(self, folder: Path) -> None:
        """Make a folder and those above it, each safely entered in the one that holds it."""
        missing = [folder]
        while not missing[-1].parent.is_dir():
            missing.append(missing[-1].parent)
        for each in reversed(missing):
            each.mkdir(exist_ok=True)
            sync_folder(each.parent)


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _is_digest(sha256: str) -> bool:
    """The hash comes from a request as often as from an entry, and becomes a path: only digits may."""
    return _DIGEST.fullmatch(sha256) is not None
