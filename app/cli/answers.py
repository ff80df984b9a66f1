"""Ask for a limit or a budget."""

from typing import TYPE_CHECKING, Annotated, Any, Final, NoReturn

import msgspec
import typer

from app.cli import asking
from app.cli.loads import AsOf, Body, Certain, Json, Market, Roofs, Said, UnitName, When, Year, of_a_load
from app.cli.opening import opened
from app.core.claim import Condition, Subject, SubjectKind

if TYPE_CHECKING:
    from app.bootstrap import Registry
    from app.services.asked import BudgetIn

EXITS: Final = {"within": 0, "over": 3, "unknown": 4, "marginal": 5}
REFUSED: Final = 4

Vehicle = Annotated[str, typer.Argument(metavar="VEHICLE", help="The vehicle's id, as in orrin-tarn-t2-2019.")]
Keep = Annotated[
    bool, typer.Option("--keep", help="Keep the answer, to be looked up with `cantrail receipt` and its digest.")
]

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
    app.command(epilog=BUDGET_EXAMPLES)(of_a_load(budget))


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
    said: Said,
    *,
    parked_multiple: Annotated[
        int | None, typer.Option(metavar="N", help="Guess a parked limit at so many times the on-road one.")
    ] = None,
    keep: Keep = False,
) -> None:
    """How much may still go up, what stops it, and why."""
    from app.services.asked import BudgetIn

    if said.file is not None:
        file = said.alone(said.file, parked_multiple)
        with opened() as registry, asking.hinted(registry.finder):
            _budget(registry, asking.read(file, BudgetIn), keep=keep, json=said.json)
    gear = [asking.gear(each) for each in said.gear or ()]
    asked = {**said.asked, "gear": gear, "parked_multiple": parked_multiple}
    with opened() as registry, asking.in_options(said.repeated(said.gear)), asking.hinted(registry.finder):
        _budget(registry, asking.converted(asked, BudgetIn), keep=keep, json=said.json)


def _budget(registry: "Registry", asked: "BudgetIn", *, keep: bool, json: bool) -> NoReturn:
    """Answer, and say what would help where the load is not within. Ends with the verdict's exit code."""
    from app.cli.showing_budgets import show_budget
    from app.cli.showing_options import show_ways
    from app.services.options import answered_options, of_budget

    answer = registry.answers.budget(asked)
    shown = msgspec.json.decode(answer.body)
    kept = _kept(registry, shown, budget=msgspec.to_builtins(asked)) if keep else None
    if json:
        typer.echo(answer.body)
    else:
        show_budget(shown)
        if shown["verdict"] != "within":
            show_ways(msgspec.json.decode(answered_options(registry.answers, of_budget(asked)).body))
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
