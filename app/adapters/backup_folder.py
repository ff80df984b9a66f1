"""A backup in a folder: written under another name and renamed when it is whole; read as something that a stranger brings."""

import os
import shutil
import stat
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from hashlib import sha256
from pathlib import Path
from typing import Final, Self

from app.adapters.safe_writing import sync_folder
from app.core.errors import CantrailError, Kind
from app.services.backup_parts import MANIFEST, MOST_FILE, MOST_MANIFEST, Held, Part, damaged, held_file

_CHUNK: Final = 2**20
_UNFINISHED: Final = ".backup-"


class NewBackupFolder:
    """A backup that is being made beside the name that it will have. Use it in a `with` block: what was not finished at
    the block's end is removed."""

    def __init__(self, destination: Path, *, like: Path | None = None) -> None:
        """`like` is an older backup, of which evidence that is the same is linked instead of written again."""
        self._destination = destination
        self._like = like
        self._folder: Path | None = None
        self._made: set[Path] = set()

    def __enter__(self) -> Self:
        if self._destination.exists():
            raise CantrailError(
                Kind.INVALID,
                "backup_exists",
                f"{self._destination} is there already: give the backup a name of its own.",
            )
        with _written():
            self._destination.parent.mkdir(parents=True, exist_ok=True)
            self._folder = Path(tempfile.mkdtemp(prefix=_UNFINISHED, dir=self._destination.parent))
        return self

    def __exit__(self, *_: object) -> None:
        if self._folder is not None:
            shutil.rmtree(self._folder, ignore_errors=True)

    def write(self, name: str, chunks: Iterable[bytes]) -> Part:
        """Write one file, readable for its owner alone."""
        digest, size = sha256(), 0
        path = self._place(name)
        with _written(), os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            for chunk in chunks:
                file.write(chunk)
                digest.update(chunk)
                size += len(chunk)
            file.flush()
            os.fsync(file.fileno())
        return Part(name, size, digest.hexdigest())

    def hold(self, sha256: str, content: bytes) -> None:
        """Write one file of evidence, or link it to the older backup's, where that is still what it was."""
        name = held_file(sha256)
        if self._like is not None and _is_whole(self._like / name, sha256):
            with suppress(OSError):
                # Another file system, or one without links: then it is written like every other.
                os.link(self._like / name, self._place(name))
                return
        self.write(name, [content])

    def finish(self, manifest: bytes) -> None:
        """Write the manifest, and give the whole its name once all of it is safely on the disk."""
        self.write(MANIFEST, [manifest])
        with _written():
            for folder in sorted(self._made, reverse=True):
                sync_folder(folder)
            sync_folder(self._unfinished)
            self._unfinished.rename(self._destination)
            sync_folder(self._destination.parent)
        self._folder = None

    @property
    def reading(self) -> "BackupFolder":
        """What has been written so far, to be read again."""
        return BackupFolder(self._unfinished)

    @property
    def _unfinished(self) -> Path:
        if self._folder is None:
            raise RuntimeError("the backup is not being made")
        return self._folder

    def _place(self, name: str) -> Path:
        path = self._unfinished / name
        if path.parent not in self._made and path.parent != self._unfinished:
            with _written():
                path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            self._made.update(each for each in path.parents if each.is_relative_to(self._unfinished))
            self._made.discard(self._unfinished)
        return path


class BackupFolder:
    """A backup that somebody brings. Only plain files inside it are read: no links, no devices, and no more than the
    manifest says."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def manifest(self) -> bytes:
        """The manifest."""
        if not (self._folder / MANIFEST).exists():
            raise CantrailError(Kind.NOT_FOUND, "no_backup", f"There is no backup in {self._folder}.")
        with self._opened(MANIFEST) as handle:
            size = os.fstat(handle).st_size
            if size > MOST_MANIFEST:
                raise damaged("its manifest is too long")
            return b"".join(_chunks(handle, size))

    def chunks(self, part: Part) -> Iterator[bytes]:
        """One file, checked when it was read to its end."""
        digest, left = sha256(), part.size
        with self._opened(part.name) as handle:
            for chunk in _chunks(handle, part.size + 1):
                digest.update(chunk)
                left -= len(chunk)
                yield chunk
        if left != 0 or digest.hexdigest() != part.sha256:
            raise damaged(f"{part.name} is not as it was written")

    def held(self, held: Held) -> bytes:
        """One file of evidence, checked."""
        if held.size > MOST_FILE:
            raise damaged("a file of evidence is too large")
        return b"".join(self.chunks(Part(held_file(held.sha256), held.size, held.sha256)))

    @contextmanager
    def _opened(self, name: str) -> Iterator[int]:
        """A file inside the folder, opened step by step so that no step is a link that leads elsewhere."""
        try:
            handle = _opened_below(self._folder, name)
        except OSError as error:
            raise damaged(f"{name} cannot be read: {error.strerror}") from error
        try:
            if not stat.S_ISREG(os.fstat(handle).st_mode):
                raise damaged(f"{name} is not a file")
            yield handle
        except OSError as error:
            raise damaged(f"{name} cannot be read: {error.strerror}") from error
        finally:
            os.close(handle)


def _opened_below(folder: Path, name: str) -> int:
    *folders, last = name.split("/")
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    # A pipe would keep whoever opens it waiting.
    for step, how in [*((each, os.O_DIRECTORY) for each in folders), (last, os.O_NONBLOCK)]:
        try:
            below = os.open(step, os.O_RDONLY | os.O_NOFOLLOW | how, dir_fd=handle)
        finally:
            os.close(handle)
        handle = below
    return handle


def _chunks(handle: int, most: int) -> Iterator[bytes]:
    while most > 0 and (chunk := os.read(handle, min(_CHUNK, most))):
        most -= len(chunk)
        yield chunk


def _is_whole(path: Path, digest: str) -> bool:
    try:
        return not path.is_symlink() and sha256(path.read_bytes()).hexdigest() == digest
    except OSError:
        return False


@contextmanager
def _written() -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise CantrailError(
            Kind.UNAVAILABLE,
            "backup_not_written",
            f"The backup could not be written: {error.strerror}. Nothing of it is left; the registry is as it was.",
        ) from error
