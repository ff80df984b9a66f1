"""Open the registry that the settings name, for the length of a command, and say what goes wrong in a sentence."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import typer
from typer.core import TyperGroup

from app.core.errors import CantrailError, Fault, Kind

if TYPE_CHECKING:
    from app.bootstrap import Registry
    from app.settings import Settings


DATA_DIR: Final[ContextVar[Path | None]] = ContextVar("data_dir", default=None)
"""The folder that this command names with --data-dir, if it names one."""

USAGE, FAILURE = 2, 1
_USAGE_KINDS: Final = frozenset({Kind.INVALID, Kind.NOT_FOUND, Kind.TOO_LARGE, Kind.UNSUPPORTED})


class Told(TyperGroup):
    """Commands whose refusals are sentences on standard error, with the exit code that goes with them."""

    def invoke(self, ctx: Any) -> Any:
        """Run the command that was typed."""
        try:
            return super().invoke(ctx)
        except CantrailError as error:
            tell(error)
            raise typer.Exit(USAGE if error.kind in _USAGE_KINDS else FAILURE) from error
        except BrokenPipeError:
            # Whoever read has gone and is told nothing.
            raise
        except OSError as error:
            where = "" if error.filename is None else f"{error.filename}: "
            print(f"cantrail: {where}{error.strerror or error}.", file=sys.stderr)
            raise typer.Exit(FAILURE) from error


def tell(error: CantrailError) -> None:
    """What is wrong on standard error, each thing with the option or member that has it."""
    if len(error.faults) < 2:
        where = f"{error.faults[0].pointer}: " if error.faults and error.faults[0].pointer else ""
        print(f"cantrail: {where}{error.message}", file=sys.stderr)
        return
    print(f"cantrail: {len(error.faults)} things are wrong.", file=sys.stderr)
    for fault in error.faults:
        print(f"  {fault.pointer}: {fault.message}", file=sys.stderr)


def settings() -> "Settings":
    """The settings, with the folder that the command names, if it names one. Raises bad input where one makes no
    sense."""
    from pydantic import ValidationError

    from app.services.faults import bad_input
    from app.settings import Settings

    data_dir = DATA_DIR.get()
    try:
        return Settings() if data_dir is None else Settings(data_dir=data_dir)
    except ValidationError as error:
        faults = [
            Fault(f"CANTRAIL_{'_'.join(map(str, each['loc'])).upper()}", "bad_input", f"{each['msg']}.")
            for each in error.errors()
        ]
        raise bad_input(faults) from error


@contextmanager
def opened() -> Iterator["Registry"]:
    """The registry, open."""
    from app.bootstrap import open_registry

    registry = open_registry(settings(), checkpoints=False)
    try:
        yield registry
    finally:
        registry.close()


@contextmanager
def progress(title: str) -> Iterator[Any]:
    """A bar on the terminal, and nothing where the output goes elsewhere; told how many are done, and of how many."""
    from rich.console import Console
    from rich.progress import Progress

    console = Console(stderr=True)
    with Progress(console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task(title, total=None)

        def told(done: int, of: int) -> None:
            bar.update(task, completed=done, total=of)

        yield told
