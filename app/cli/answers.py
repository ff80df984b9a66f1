"""Ask for a limit or a budget."""

from typing import TYPE_CHECKING, Annotated, Any, Final

import msgspec
import typer

from app.cli import asking
from app.cli.opening import opened
from app.core.claim import Condition, Subject, SubjectKind
from app.core.errors import invalid

if TYPE_CHECKING:
    from app.bootstrap import Registry

EXITS: Final = {"within": 0, "over": 3, "unknown": 4, "marginal": 5}
REFUSED: Final = 4

Vehicle = Annotated[str, typer.Argument(metavar="VEHICLE", help="The vehicle's id, as in orrin-tarn-t2-2019.")]
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
Keep = Annotated[
    bool, typer.Option("--keep", help="Keep the answer, to be looked up with `cantrail receipt` and its digest.")
]
Json = Annotated[bool, typer.Option("--json", help="Exactly what the API sends.")]

LIMIT_EXAMPLES: Final = """\b
Examples:
  cantrail limit orrin-tarn-t2-2019
  cantrail limit orrin-tarn-t2-2019 --condition off_road --roof raised_rail

Exit codes: 0 a figure, 4 none that may be relied on, 2 bad input, 1 failure.
"""
BUDGET_EXAMPLES: Final = """\b
Examples:
  cantrail budget --vehicle orrin-tarn-t2-2019 \\
      --carrier pellwick-slatten-p1-2018 --gear awning=14 --gear 2xcan=20+-1
  cantrail budget --vehicle orrin-tarn-t2-2019 --condition off_road \\
      --carrier pellwick-sparlet-b5-2017 --carrier pellwick-slatten-p1-2018 \\
      --gear rooftop_tent --roof raised_rail
  cantrail budget request.json --json

Exit codes: 0 within, 3 over, 4 unknown, 5 marginal, 2 bad input, 1 failure.
"""


def add_to(app: typer.Typer) -> None:
    """Add these commands."""
    app.command(epilog=LIMIT_EXAMPLES)(limit)
    app.command(epilog=BUDGET_EXAMPLES)(budget)


def limit(
    vehicle: Vehicle,
    condition: When = Condition.ON_ROAD,
    year: Year = None,
    body: Body = None,
    roofs: Roofs = None,
    market: Market = None,
    min_confidence: Certain = "0.8",
    unit: UnitName = "kg",
    as_of: AsOf = None,
    keep: Keep = False,
    json: Json = False,
) -> None:
    """What a vehicle's roof may carry, or why nobody can say."""
    from app.cli.showing_limits import show_limit
    from app.services.asked import LimitIn

    asked: dict[str, Any] = {
        "condition": condition.value,
        "context": asking.context(year, body, roofs, market),
        "min_confidence": asking.number(min_confidence, "--min-confidence"),
        "unit": unit,
        "as_of": as_of,
    }
    with opened() as registry, asking.in_options({"--roof": roofs}), asking.hinted(registry.finder):
        answer = registry.answers.limit(Subject(SubjectKind.VEHICLE, vehicle), asking.converted(asked, LimitIn))
        shown = msgspec.json.decode(answer.body)
        kept = _kept(registry, shown, limit={**asked, "subject": {"kind": "vehicle", "id": vehicle}}) if keep else None
    if json:
        typer.echo(answer.body)
    else:
        show_limit(shown)
        _tell(kept)
    raise typer.Exit(REFUSED if shown["figure"] is None else 0)


def budget(
    file: Annotated[
        str | None,
        typer.Argument(metavar="FILE", help="A request as the API takes it, in JSON; - reads standard input."),
    ] = None,
    vehicle: Annotated[str | None, typer.Option(metavar="ID", help="The vehicle.")] = None,
    condition: When = Condition.ON_ROAD,
    carrier: Annotated[
        list[str] | None, typer.Option(metavar="ID", help="A rack; repeat for more, from the roof up.")
    ] = None,
    fixing: Annotated[str | None, typer.Option(metavar="ID|built_in", help="What holds it to the roof.")] = None,
    gear: Annotated[
        list[str] | None,
        typer.Option(
            metavar="GEAR",
            help="awning=14, tent=60+-3 (give or take), 2xcan=20, an id, or a category such as rooftop_tent; "
            "repeat for more.",
        ),
    ] = None,
    person: Annotated[
        list[str] | None, typer.Option(metavar="MASS", help="Somebody on the parked roof; repeat for more.")
    ] = None,
    roof_limit: Annotated[
        str | None, typer.Option(metavar="MASS", help="The on-road roof limit as you have it.")
    ] = None,
    roof_basis: Annotated[
        str | None,
        typer.Option(metavar="BASIS", help="Of --roof-limit: includes_carrier, excludes_carrier or not_stated."),
    ] = None,
    year: Year = None,
    body: Body = None,
    roofs: Roofs = None,
    market: Market = None,
    min_confidence: Certain = "0.8",
    parked_multiple: Annotated[
        int | None, typer.Option(metavar="N", help="Guess a parked limit at so many times the on-road one.")
    ] = None,
    unit: UnitName = "kg",
    as_of: AsOf = None,
    keep: Keep = False,
    json: Json = False,
) -> None:
    """How much may still go up, what stops it, and why."""
    from app.cli.showing_budgets import show_budget
    from app.services.asked import BudgetIn

    repeated = {"--carrier": carrier, "--gear": gear, "--person": person, "--roof": roofs}
    if file is not None:
        single = [vehicle, fixing, roof_limit, roof_basis, year, body, market, parked_multiple, as_of]
        if any(each is not None for each in [*repeated.values(), *single]):
            raise invalid(file, "bad_input", "The file says all that is asked: leave the options out.")
        with opened() as registry, asking.hinted(registry.finder):
            question = asking.read(file, BudgetIn)
            answer = registry.answers.budget(question)
            shown = msgspec.json.decode(answer.body)
            kept = _kept(registry, shown, budget=msgspec.to_builtins(question)) if keep else None
    else:
        asked = {
            "vehicle": vehicle,
            "condition": condition.value,
            "context": asking.context(year, body, roofs, market),
            "carriers": [{"id": each} for each in carrier or ()],
            "fixing": fixing if fixing in {None, "built_in"} else {"id": fixing},
            "gear": [asking.gear(each) for each in gear or ()],
            "people": [{"mass": asking.number(each, f"--person {each}")} for each in person or ()],
            "given_roof": asking.given_roof(roof_limit, roof_basis),
            "min_confidence": asking.number(min_confidence, "--min-confidence"),
            "parked_multiple": parked_multiple,
            "unit": unit,
            "as_of": as_of,
        }
        with opened() as registry, asking.in_options(repeated), asking.hinted(registry.finder):
            answer = registry.answers.budget(asking.converted(asked, BudgetIn))
            shown = msgspec.json.decode(answer.body)
            kept = _kept(registry, shown, budget=asked) if keep else None
    if json:
        typer.echo(answer.body)
    else:
        show_budget(shown)
        _tell(kept)
    raise typer.Exit(EXITS[shown["verdict"]])


def _kept(registry: "Registry", shown: dict[str, Any], **asked: dict[str, Any]) -> str:
    """Keep an answer that was just given, as of the entry that it was given as of. Gives its digest."""
    from app.services import kept

    request = {name: {**each, "as_of": shown["receipt"]["as_of"]} for name, each in asked.items()}
    new = msgspec.convert(request, kept.NewKept, strict=False)
    return kept.keep(registry.database, registry.answers, new, registry.clock.now()).receipt.digest


def _tell(kept: str | None) -> None:
    if kept is not None:
        print(f"\nKept. `cantrail receipt` looks it up by its digest:\n{kept}")
