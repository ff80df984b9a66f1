"""Ask a maker, an importer or a dealer: the letter that asks well."""

from typing import Annotated, Final

import typer

from app.cli.answers import Vehicle
from app.cli.loads import Json
from app.cli.opening import opened
from app.core.claim import Condition
from app.core.letter_words import Language

LETTER_EXAMPLES: Final = """\b
Examples:
  cantrail letter orrin-tarn-t2-2019
  cantrail letter orrin-tarn-t2-2019 --to tuiweka-motor-imports --condition off_road
  cantrail letter orrin-tarn-t2-2019 --language de > letter.txt
"""


def add_to(app: typer.Typer) -> None:
    """Add this command."""
    app.command(epilog=LETTER_EXAMPLES)(letter)


def letter(
    vehicle: Vehicle,
    to: Annotated[
        str | None, typer.Option("--to", metavar="PUBLISHER", help="To whom, by id. Default: the vehicle's maker.")
    ] = None,
    condition: Annotated[
        list[Condition] | None, typer.Option("--condition", help="What to ask about; repeat for more. Default: all.")
    ] = None,
    language: Annotated[Language, typer.Option("--language", help="What to write in.")] = Language.EN,
    json: Json = False,
) -> None:
    """Write a letter that asks what a roof may carry.

    It asks for what the registry does not know yet, and lets figures that it has be confirmed. It fits on one page;
    whoever sends it signs it. Enter what was asked with POST /enquiries.
    """
    import msgspec

    from app.cli.asking import hinted, in_options
    from app.services.letters import letter_view

    with opened() as registry, in_options({}), hinted(registry.finder), registry.database.read() as session:
        written = letter_view(session, vehicle, to=to, conditions=condition or (), language=language)
    typer.echo(msgspec.json.encode(written) if json else written.text, nl=json)
