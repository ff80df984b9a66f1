"""Where tests keep what they make. A registry waits for its disk at each entry, and nothing of a test outlives it: so it
is kept in memory, where there is enough."""

import os
import shutil
import tempfile
from pathlib import Path
from typing import Final

_MEMORY: Final = Path("/dev/shm")
_ENOUGH: Final = 3 * 2**30
"""A run has less than one gibibyte at any time."""


def roomy() -> Path:
    """A folder in memory, or else the system's own place for what is made for a while."""
    if os.access(_MEMORY, os.W_OK) and min(shutil.disk_usage(_MEMORY).free, _free()) >= _ENOUGH:
        return _MEMORY
    return Path(tempfile.gettempdir())


def _free() -> int:
    """How many bytes of memory nobody uses."""
    return os.sysconf("SC_AVPHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
