"""`cantrail`: what a hurried person types. Every command's imports wait until it runs, so that help comes at once."""

import os
import sys
import traceback
from contextlib import suppress
from io import TextIOWrapper
from pathlib import Path
from types import TracebackType
from typing import Annotated, NoReturn

import typer
from typer.main import get_command

from app.cli import (
    accounts,
    answers,
    backing_up,
    demo,
    deriving,
    enquiring,
    keeping,
    options,
    receipts,
    tokens,
    verifying,
    working,
)
from app.cli.opening import DATA_DIR, FAILURE, USAGE, Told

app = typer.Typer(
    name="cantrail",
    cls=Told,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    epilog="To try it out: cantrail demo. Each command tells more: cantrail budget --help.",
)


@app.callback()
def everything(
    data_dir: Annotated[
        Path | None,
        typer.Option("--data-dir", metavar="DIR", help="The registry's folder. Default: CANTRAIL_DATA_DIR."),
    ] = None,
) -> None:
    """What a vehicle's roof may carry, who says so, and what may still go up."""
    DATA_DIR.set(data_dir)


answers.add_to(app)
options.add_to(app)
receipts.add_to(app)
deriving.add_to(app)
enquiring.add_to(app)
demo.add_to(app)
keeping.add_to(app)
backing_up.add_to(app)
verifying.add_to(app)
working.add_to(app)
app.add_typer(accounts.accounts, name="account")
app.add_typer(tokens.tokens, name="token")


def main() -> NoReturn:
    """Run, and say in a sentence what goes wrong."""
    sys.excepthook = _mistake
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            # A terminal that cannot show a letter shows a question mark: better than no answer.
            stream.reconfigure(errors="replace")
    try:
        _refuse_broken_words(sys.argv)
        # Called itself, the application would put its own traces in the place of sentences.
        get_command(app)(prog_name="cantrail")
    finally:
        try:
            sys.stdout.flush()
        except BrokenPipeError:
            with suppress(OSError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    sys.exit(FAILURE)


def _refuse_broken_words(words: list[str]) -> None:
    """What is not in the terminal's own encoding can neither be looked up nor kept."""
    for word in words:
        try:
            word.encode()
        except UnicodeEncodeError:
            print(f"cantrail: {word!r} is not UTF-8.", file=sys.stderr)
            sys.exit(USAGE)


def _mistake(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
    """A mistake of the program's own: one sentence, with the place for whoever mends it."""
    place = traceback.extract_tb(trace)[-1]
    print(
        f"cantrail: This is a mistake in the program, please report it: {kind.__name__}: {error} "
        f"({place.filename}, line {place.lineno}).",
        file=sys.stderr,
    )
