"""`cantrail`: what a hurried person types. Every command's imports wait until it runs, so that help comes at once."""

import os
import sys
from pathlib import Path
from typing import Annotated, NoReturn

import typer

from app.cli import accounts, answers, keeping
from app.cli.opening import DATA_DIR
from app.core.errors import CantrailError, Kind

USAGE, FAILURE = 2, 1
_USAGE_KINDS = frozenset({Kind.INVALID, Kind.NOT_FOUND, Kind.TOO_LARGE, Kind.UNSUPPORTED})

app = typer.Typer(
    name="cantrail",
    help="What a vehicle's roof may carry, who says so, and what may still go up.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


@app.callback()
def everything(
    data_dir: Annotated[
        Path | None, typer.Option("--data-dir", help="The registry's folder. Default: CANTRAIL_DATA_DIR.")
    ] = None,
) -> None:
    """What a vehicle's roof may carry, who says so, and what may still go up."""
    DATA_DIR.set(data_dir)


answers.add_to(app)
keeping.add_to(app)
app.add_typer(accounts.accounts, name="account")
app.add_typer(accounts.tokens, name="token")


def main() -> NoReturn:
    """Run, and say what goes wrong in a sentence."""
    try:
        app(standalone_mode=True)
    except CantrailError as error:
        print(f"cantrail: {error.message}", file=sys.stderr)
        for fault in error.faults:
            if fault.message != error.message or fault.pointer:
                print(f"  {fault.pointer}: {fault.message}", file=sys.stderr)
        sys.exit(USAGE if error.kind in _USAGE_KINDS else FAILURE)
    except BrokenPipeError:
        # Whoever reads has gone; there is nobody left to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(FAILURE)
    sys.exit(0)
