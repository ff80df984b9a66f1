"""What else could be done with a load: other racks, other roads, and what to leave behind."""

from typing import Annotated, Final

import msgspec
import typer

from app.cli import asking
from app.cli.answers import EXITS
from app.cli.loads import (
    AsOf,
    Body,
    Carriers,
    Certain,
    File,
    Fixing,
    Gear,
    Json,
    Market,
    OfVehicle,
    People,
    RoofBasis,
    RoofLimit,
    Roofs,
    UnitName,
    When,
    Year,
    load,
)
from app.cli.opening import opened
from app.core.claim import Condition
from app.core.errors import invalid

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
    app.command(epilog=EXAMPLES)(options)


def options(
    file: File = None,
    vehicle: OfVehicle = None,
    condition: When = Condition.ON_ROAD,
    carrier: Carriers = None,
    fixing: Fixing = None,
    gear: Gear = None,
    stays: Annotated[
        list[str] | None,
        typer.Option(metavar="GEAR", help="As --gear, of what must not be left behind; repeat for more."),
    ] = None,
    person: People = None,
    roof_limit: RoofLimit = None,
    roof_basis: RoofBasis = None,
    year: Year = None,
    body: Body = None,
    roofs: Roofs = None,
    market: Market = None,
    min_confidence: Certain = "0.8",
    unit: UnitName = "kg",
    as_of: AsOf = None,
    json: Json = False,
) -> None:
    """What else could be done with a load: other racks, roads, what to leave."""
    from app.cli.showing_options import show_options
    from app.services.asked import OptionsIn
    from app.services.options import answered_options

    carried = [*(gear or ()), *(stays or ())]
    repeated = {"--carrier": carrier, "--gear": carried or None, "--person": person, "--roof": roofs}
    if file is not None:
        single = [vehicle, fixing, roof_limit, roof_basis, year, body, market, as_of]
        if any(each is not None for each in [*repeated.values(), *single]):
            raise invalid(file, "bad_input", "The file says all that is asked: leave the options out.")
        with opened() as registry, asking.hinted(registry.finder):
            answer = answered_options(registry.answers, asking.read(file, OptionsIn))
    else:
        asked = load(
            vehicle=vehicle,
            condition=condition,
            context=asking.context(year, body, roofs, market),
            carriers=carrier,
            fixing=fixing,
            people=person,
            given_roof=asking.given_roof(roof_limit, roof_basis),
            min_confidence=min_confidence,
            unit=unit,
            as_of=as_of,
        )
        things = [asking.gear(each) for each in carried]
        asked["gear"] = [{**each, "stays": place >= len(gear or ())} for place, each in enumerate(things)]
        with opened() as registry, asking.in_options(repeated), asking.hinted(registry.finder):
            answer = answered_options(registry.answers, asking.converted(asked, OptionsIn))
    shown = msgspec.json.decode(answer.body)
    if json:
        typer.echo(answer.body)
    else:
        show_options(shown)
    raise typer.Exit(EXITS[shown["asked"]["verdict"]])
