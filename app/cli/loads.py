"""A car, what stands on its roof and what is carried, as options say it."""

from collections.abc import Callable
from functools import wraps
from inspect import Signature, signature
from typing import Annotated, Any

import msgspec
import typer

from app.cli import asking
from app.core.claim import Condition
from app.core.errors import invalid

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


class Said(msgspec.Struct, frozen=True, kw_only=True):
    """A load as options say it, or the file that says all of it."""

    file: File = None
    vehicle: OfVehicle = None
    condition: When = Condition.ON_ROAD
    carrier: Carriers = None
    fixing: Fixing = None
    gear: Gear = None
    person: People = None
    roof_limit: RoofLimit = None
    roof_basis: RoofBasis = None
    year: Year = None
    body: Body = None
    roofs: Roofs = None
    market: Market = None
    min_confidence: Certain = "0.8"
    unit: UnitName = "kg"
    as_of: AsOf = None
    json: Json = False

    def repeated(self, carried: list[str] | None) -> dict[str, list[str] | None]:
        """What may be said more than once, by its option; `carried` is all that is."""
        return {"--carrier": self.carrier, "--gear": carried, "--person": self.person, "--roof": self.roofs}

    def alone(self, file: str, *more: object) -> str:
        """The file, where nothing is said beside it. Raises bad input."""
        single = [self.vehicle, self.fixing, self.roof_limit, self.roof_basis, self.year, self.body, self.market]
        beside = [*single, self.as_of, *self.repeated(self.gear).values(), *more]
        if any(each is not None for each in beside):
            raise invalid(file, "bad_input", "The file says all that is asked: leave the options out.")
        return file

    @property
    def asked(self) -> dict[str, Any]:
        """What is asked of a load, but for its gear."""
        return {
            "vehicle": self.vehicle,
            "condition": self.condition.value,
            "context": asking.context(self.year, self.body, self.roofs, self.market),
            "carriers": [{"id": each} for each in self.carrier or ()],
            "fixing": self.fixing if self.fixing in {None, "built_in"} else {"id": self.fixing},
            "people": [{"mass": asking.number(each, f"--person {each}")} for each in self.person or ()],
            "given_roof": asking.given_roof(self.roof_limit, self.roof_basis),
            "min_confidence": asking.number(self.min_confidence, "--min-confidence"),
            "unit": self.unit,
            "as_of": self.as_of,
        }


def of_a_load(command: Callable[..., None]) -> Callable[..., None]:
    """A command about a load: it takes every option with which one is said, besides its own."""
    shared = signature(Said).parameters
    _, *own = signature(command).parameters.values()

    @wraps(command)
    def run(**given: Any) -> None:
        said = Said(**{name: given.pop(name) for name in shared})
        command(said, **given)

    # What a command takes is read off its signature.
    vars(run)["__signature__"] = Signature([*shared.values(), *own])
    return run
