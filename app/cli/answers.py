"""Ask for a limit or a budget."""

import re
import sys
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Annotated, Any, Final

import typer

from app.cli.opening import opened
from app.core.claim import Condition
from app.core.errors import invalid

EXITS: Final = {"within": 0, "over": 3, "unknown": 4, "marginal": 5}
REFUSED: Final = 4

Year = Annotated[int | None, typer.Option(help="Model year.")]
Body = Annotated[str | None, typer.Option(help="hatch, sedan, wagon, van, single_cab, extra_cab, dual_cab …")]
Roofs = Annotated[
    list[str] | None,
    typer.Option("--roof", help="bare, gutter, fixed_points, flush_rail, raised_rail, track, glass. Repeat for more."),
]
Market = Annotated[str | None, typer.Option(help="Country, as in NZ.")]
When = Annotated[Condition, typer.Option("--condition", help="Driving on sealed roads, on unsealed ones, or parked.")]
Certain = Annotated[str, typer.Option("--min-confidence", help="How certain a figure must be, from 0 to 1.")]
UnitName = Annotated[str, typer.Option("--unit", help="kg or lb.")]
AsOf = Annotated[str | None, typer.Option("--as-of", help="An entry's number, or a time with its zone.")]
Json = Annotated[bool, typer.Option("--json", help="Exactly what the API sends.")]


def add_to(app: typer.Typer) -> None:
    """Add these commands."""
    for command in (limit, budget):
        app.command()(command)


def limit(
    vehicle: Annotated[str, typer.Argument(help="The vehicle's id, as in orrin-tarn-t2-2019.")],
    condition: When = Condition.ON_ROAD,
    year: Year = None,
    body: Body = None,
    roofs: Roofs = None,
    market: Market = None,
    min_confidence: Certain = "0.8",
    unit: UnitName = "kg",
    as_of: AsOf = None,
    json: Json = False,
) -> None:
    """What a vehicle's roof may carry, or why nobody can say.

    Example: cantrail limit orrin-tarn-t2-2019 --condition off_road --roof raised_rail
    """
    from app.cli.showing import show_limit
    from app.core.claim import Subject, SubjectKind
    from app.services.inputs import LimitIn

    asked: dict[str, Any] = {
        "condition": condition.value,
        "context": _context(year, body, roofs, market),
        "min_confidence": min_confidence,
        "unit": unit,
        "as_of": as_of,
    }
    with opened() as registry:
        answer = registry.answers.limit(Subject(SubjectKind.VEHICLE, vehicle), _converted(asked, LimitIn))
    if json:
        print(answer.body.decode())
    shown = _decoded(answer.body)
    if not json:
        show_limit(shown)
    raise typer.Exit(REFUSED if shown["figure"] is None else 0)


def budget(
    file: Annotated[str | None, typer.Argument(help="The request as the API takes it: a JSON file, or - .")] = None,
    vehicle: Annotated[str | None, typer.Option(help="The vehicle's id.")] = None,
    condition: When = Condition.ON_ROAD,
    carrier: Annotated[list[str] | None, typer.Option(help="A carrier's id; repeat, from the roof up.")] = None,
    fixing: Annotated[str | None, typer.Option(help="A fixing's id, or built_in.")] = None,
    gear: Annotated[
        list[str] | None,
        typer.Option(help="awning=14, tent=60+-3, 2xcan=20, an id, or a category as rooftop_tent. Repeat for more."),
    ] = None,
    person: Annotated[list[str] | None, typer.Option(help="Somebody's mass; parked only. Repeat for more.")] = None,
    roof_limit: Annotated[str | None, typer.Option(help="Your own on-road roof limit.")] = None,
    roof_basis: Annotated[str, typer.Option(help="includes_carrier, excludes_carrier or not_stated.")] = "not_stated",
    year: Year = None,
    body: Body = None,
    roofs: Roofs = None,
    market: Market = None,
    min_confidence: Certain = "0.8",
    parked_multiple: Annotated[int | None, typer.Option(help="Guess a parked limit by this multiple.")] = None,
    unit: UnitName = "kg",
    as_of: AsOf = None,
    json: Json = False,
) -> None:
    """How much may still go up, what stops it, and why. Exits 0 within, 3 over, 4 unknown, 5 marginal.

    Example: cantrail budget --vehicle orrin-tarn-t2-2019 --carrier pellwick-slatten-p1-2018 --gear awning=14
    """
    from app.cli.showing import show_budget
    from app.services.inputs import BudgetIn

    asked: Any
    if file is not None:
        asked = _decoded(_read(file))
    else:
        asked = {
            "vehicle": vehicle,
            "condition": condition.value,
            "context": _context(year, body, roofs, market),
            "carriers": [{"id": each} for each in carrier or ()],
            "fixing": fixing if fixing in {None, "built_in"} else {"id": fixing},
            "gear": [_gear(each) for each in gear or ()],
            "people": [{"mass": _mass(each, "person")} for each in person or ()],
            "given_roof": None
            if roof_limit is None
            else {"limit": _mass(roof_limit, "roof-limit"), "basis": roof_basis},
            "min_confidence": min_confidence,
            "parked_multiple": parked_multiple,
            "unit": unit,
            "as_of": as_of,
        }
    with opened() as registry:
        answer = registry.answers.budget(_converted(asked, BudgetIn))
    if json:
        print(answer.body.decode())
    shown = _decoded(answer.body)
    if not json:
        show_budget(shown)
    raise typer.Exit(EXITS[shown["verdict"]])


_GEAR: Final = re.compile(r"(?:(?P<times>[0-9]{1,3})x)?(?P<name>[^=]+)(?:=(?P<mass>[0-9.]+)(?:\+-(?P<more>[0-9.]+))?)?")


def _gear(text: str) -> dict[str, Any]:
    """One thing carried, as a hurried person types it."""
    from app.core.gear import CATEGORIES

    found = _GEAR.fullmatch(text)
    if found is None:
        raise invalid("--gear", "bad_gear", f"{text!r} is no gear. Write awning=14, tent=60+-3, 2xcan=20, or an id.")
    name, quantity = found["name"], int(found["times"] or 1)
    if found["mass"] is None:
        return {"category" if name in CATEGORIES else "id": name, "quantity": quantity}
    item: dict[str, Any] = {"name": name, "mass": _mass(found["mass"], "gear"), "quantity": quantity}
    if found["more"] is not None:
        item["tolerance"] = _mass(found["more"], "gear")
    return item


def _mass(text: str, option: str) -> Decimal:
    try:
        return Decimal(text)
    except InvalidOperation as error:
        raise invalid(f"--{option}", "bad_mass", f"{text!r} is no mass. Write a number, as in 14.5.") from error


def _context(year: int | None, body: str | None, roofs: list[str] | None, market: str | None) -> dict[str, Any]:
    return {"year": year, "body": body, "roofs": roofs or None, "market": market}


def _converted(asked: Any, wanted: Any) -> Any:
    """What was typed, as a service takes it; with every fault where it is not."""
    import msgspec

    from app.services.faults import bad_input, faults_in

    try:
        return msgspec.convert(asked, wanted)
    except msgspec.ValidationError as error:
        plain = msgspec.to_builtins(asked, builtin_types=(Decimal,))
        raise bad_input(faults_in(plain, wanted) or [invalid("", "bad_input", f"{error}.").faults[0]]) from error


def _read(file: str) -> bytes:
    if file == "-":
        return sys.stdin.buffer.read()
    try:
        return Path(file).read_bytes()
    except OSError as error:
        raise invalid("FILE", "no_such_file", f"{file} cannot be read: {error.strerror}.") from error


def _decoded(raw: bytes) -> Any:
    import json

    import msgspec

    try:
        decoded = msgspec.json.decode(raw)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise invalid("FILE", "malformed_json", f"This is not JSON: {error}.") from error
    json.loads(raw, object_pairs_hook=_each_once, parse_int=float)
    return decoded


def _each_once(pairs: list[tuple[str, Any]]) -> None:
    """Of what stands twice in one object, readers of JSON take either: nobody can say what was asked."""
    names = [name for name, _ in pairs]
    for name in names:
        if names.count(name) > 1:
            raise invalid("FILE", "given_twice", f"`{name}` stands twice in one object. Leave one out.")
