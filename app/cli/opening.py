"""Open the registry that the settings name, for the length of a command."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from app.bootstrap import Registry
    from app.settings import Settings


DATA_DIR: Final[ContextVar[Path | None]] = ContextVar("data_dir", default=None)
"""The folder that this command names with --data-dir, if it names one."""


def settings() -> "Settings":
    """The settings, with the folder that the command names, if it names one."""
    from app.settings import Settings

    data_dir = DATA_DIR.get()
    return Settings() if data_dir is None else Settings(data_dir=data_dir)


@contextmanager
def opened() -> Iterator["Registry"]:
    """The registry, open."""
    from app.bootstrap import open_registry

    registry = open_registry(settings(), checkpoints=False)
    try:
        yield registry
    finally:
        registry.close()
