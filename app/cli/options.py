"""What else could be done with a load: other racks, other roads, and what to leave behind."""

from typing import Annotated, Final

import msgspec
import typer

from app.cli import asking
from app.cli.answers import EXITS
from app.cli.loads import Said, of_a_load
from app.cli.opening import opened

EXAMPLES: Final = """\b
Examples:
  cantrail options --vehicle orrin-tarn-t2-2019 --condition off_road \\
      --carrier pellwick-slatten-rough-p2-2021 --stays tent=48 --gear 2xcan=20
  cantrail options request.json --json

Exit codes, of what was asked: 0 within, 3 over, 4 unknown, 5 marginal, 2 bad
input, 1 failure.
"""


def add_to(app: typer.Typer) -> None:
    """Add this command."""
    app.command(epilog=EXAMPLES)(of_a_load(options))


def options(
    said: Said,
    *,
    stays: Annotated[
        list[str] | None,
        typer.Option(metavar="GEAR", help="As --gear, of what must not be left behind; repeat for more."),
    ] = None,
) -> None:
    """What else could be done with a load: other racks, roads, what to leave."""
    from app.cli.showing_options import show_options
    from app.services.asked import OptionsIn
    from app.services.options import answered_options

    if said.file is not None:
        file = said.alone(said.file, stays)
        with opened() as registry, asking.hinted(registry.finder):
            answer = answered_options(registry.answers, asking.read(file, OptionsIn))
    else:
        carried = [*(said.gear or ()), *(stays or ())]
        things = [asking.gear(each) for each in carried]
        gear = [{**each, "stays": place >= len(said.gear or ())} for place, each in enumerate(things)]
        asked = {**said.asked, "gear": gear}
        repeated = said.repeated(carried or None)
        with opened() as registry, asking.in_options(repeated), asking.hinted(registry.finder):
            answer = answered_options(registry.answers, asking.converted(asked, OptionsIn))
    shown = msgspec.json.decode(answer.body)
    if said.json:
        typer.echo(answer.body)
    else:
        show_options(shown)
    raise typer.Exit(EXITS[shown["asked"]["verdict"]])
