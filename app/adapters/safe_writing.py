"""Writing a small file so that it is there whole or not at all, whatever is killed or cut off meanwhile."""

import os
import tempfile
from pathlib import Path
from typing import Final

UNFINISHED: Final = ".new-"


def replace_file(path: Path, content: bytes) -> None:
    """Put a file in the place of another: a temporary one beside it, synced, renamed, and the folder synced.

    Raises OSError; then the file is as it was.
    """
    temporary = _written(path, content)
    try:
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def create_file(path: Path, content: bytes) -> bool:
    """Make a file that only its owner can read, unless there is one already: then it stays, and this gives False."""
    temporary = _written(path, content)
    try:
        # Unlike a rename, a link is refused where the name is taken, even at the same moment.
        os.link(temporary, path)
    except FileExistsError:
        return False
    finally:
        temporary.unlink(missing_ok=True)
    sync_folder(path.parent)
    return True


def _written(path: Path, content: bytes) -> Path:
    """A file beside another, on the disk. It is made with mode 0600."""
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=UNFINISHED)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    return Path(temporary)


def sync_folder(folder: Path) -> None:
    """Have a folder's own entries on the disk."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
