"""A car, what stands on its roof and what is carried, as options say it."""

from typing import Annotated, Any

import typer

from app.cli import asking
from app.core.claim import Condition

Year = Annotated[int | None, typer.Option(metavar="YEAR", help="Model year.")]
Body = Annotated[
    str | None,
    typer.Option(
        metavar="BODY",
        help="hatch, sedan, wagon, van, single_cab, extra_cab, dual_cab, coupe, convertible or other.",
    ),
]
Roofs = Annotated[
    list[str] | None,
    typer.Option(
        "--roof",
        metavar="ROOF",
        help="bare, gutter, fixed_points, flush_rail, raised_rail, track or glass; repeat for more.",
    ),
]
Market = Annotated[str | None, typer.Option(metavar="COUNTRY", help="Where it was sold, as in NZ.")]
When = Annotated[Condition, typer.Option("--condition", help="On sealed roads, on unsealed ones, or parked.")]
Certain = Annotated[
    str, typer.Option("--min-confidence", metavar="0..1", help="How certain a figure must be, from 0 to 1.")
]
UnitName = Annotated[str, typer.Option("--unit", metavar="kg|lb", help="Of every mass, asked and answered.")]
AsOf = Annotated[
    str | None, typer.Option("--as-of", metavar="WHEN", help="As it was at an entry's number, or at a time in UTC.")
]
Json = Annotated[bool, typer.Option("--json", help="Exactly what the API sends.")]
File = Annotated[
    str | None,
    typer.Argument(metavar="FILE", help="A request as the API takes it, in JSON; - reads standard input."),
]
OfVehicle = Annotated[str | None, typer.Option("--vehicle", metavar="ID", help="The vehicle.")]
Carriers = Annotated[
    list[str] | None, typer.Option("--carrier", metavar="ID", help="A rack; repeat for more, from the roof up.")
]
Fixing = Annotated[str | None, typer.Option(metavar="ID|built_in", help="What holds it to the roof.")]
Gear = Annotated[
    list[str] | None,
    typer.Option(
        metavar="GEAR",
        help="awning=14, tent=60+-3 (give or take), 2xcan=20, an id, or a category such as rooftop_tent; "
        "repeat for more.",
    ),
]
People = Annotated[
    list[str] | None,
    typer.Option("--person", metavar="MASS", help="Somebody on the parked roof; repeat for more."),
]
RoofLimit = Annotated[str | None, typer.Option(metavar="MASS", help="The on-road roof limit as you have it.")]
RoofBasis = Annotated[
    str | None,
    typer.Option(metavar="BASIS", help="Of --roof-limit: includes_carrier, excludes_carrier or not_stated."),
]


def load(
    *,
    vehicle: str | None,
    condition: Condition,
    context: dict[str, Any],
    carriers: list[str] | None,
    fixing: str | None,
    people: list[str] | None,
    given_roof: dict[str, Any] | None,
    min_confidence: str,
    unit: str,
    as_of: str | None,
) -> dict[str, Any]:
    """What the options ask of a load, but for its gear."""
    return {
        "vehicle": vehicle,
        "condition": condition.value,
        "context": context,
        "carriers": [{"id": each} for each in carriers or ()],
        "fixing": fixing if fixing in {None, "built_in"} else {"id": fixing},
        "people": [{"mass": asking.number(each, f"--person {each}")} for each in people or ()],
        "given_roof": given_roof,
        "min_confidence": asking.number(min_confidence, "--min-confidence"),
        "unit": unit,
        "as_of": as_of,
    }
