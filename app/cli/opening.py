"""Open the registry that the settings name, for the length of a command."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.bootstrap import Registry


@contextmanager
def opened() -> Iterator["Registry"]:
    """The registry, open."""
    from app.bootstrap import open_registry
    from app.settings import Settings

    registry = open_registry(Settings(), checkpoints=False)
    try:
        yield registry
    finally:
        registry.close()
