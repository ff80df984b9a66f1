"""From what was typed, or stands in a file, to what a service takes; what is wrong is said of the option that has it."""

import json
import re
import sys
from collections.abc import Mapping, Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

import msgspec

from app.core.claim import SubjectKind
from app.core.errors import CantrailError, Fault, Kind, invalid

if TYPE_CHECKING:
    from app.services.finding import Finder

Wanted = TypeVar("Wanted", bound=msgspec.Struct)
Typed = Mapping[str, Sequence[str]]
"""What was typed for the options that may be repeated."""

_OPTIONS: Final = {
    "/context/year": "--year",
    "/context/body": "--body",
    "/context/roofs": "--roof",
    "/context/market": "--market",
    "/given_roof/basis": "--roof-basis",
    "/given_roof": "--roof-limit",
    "/vehicle": "--vehicle",
    "/fixing": "--fixing",
    "/carriers": "--carrier",
    "/gear": "--gear",
    "/people": "--person",
    "/condition": "--condition",
    "/min_confidence": "--min-confidence",
    "/parked_multiple": "--parked-multiple",
    "/unit": "--unit",
    "/as_of": "--as-of",
}
"""Which option a pointer into a request comes from: the first that it begins with."""

_GEAR: Final = re.compile(
    r"(?:(?P<times>[0-9]{1,4})x(?=[^\W\d]))?(?P<name>[^=]+?)\s*"
    r"(?:=\s*(?P<mass>[0-9.]+)\s*(?:(?:\+-|±)\s*(?P<more>[0-9.]+))?)?"
)
_GEAR_FORMS: Final = "Write awning=14, tent=60+-3 or 2xcan=20, an id, or a category such as rooftop_tent."


def gear(text: str) -> dict[str, Any]:
    """One thing carried, as a hurried person types it."""
    from app.core.gear import CATEGORIES

    found = _GEAR.fullmatch(text.strip())
    if found is None:
        raise invalid(f"--gear {text}", "bad_gear", f"This is no gear. {_GEAR_FORMS}")
    name, quantity = found["name"], int(found["times"] or 1)
    if found["mass"] is None:
        return {"category" if name in CATEGORIES else "id": name, "quantity": quantity}
    item: dict[str, Any] = {"name": name, "mass": number(found["mass"], f"--gear {text}"), "quantity": quantity}
    if found["more"] is not None:
        item["tolerance"] = number(found["more"], f"--gear {text}")
    return item


def number(text: str, option: str) -> Decimal:
    """A number of an option, digit for digit."""
    try:
        return Decimal(text)
    except InvalidOperation as error:
        raise invalid(option, "bad_mass", f"'{text}' is no number. Write one as in 14.5, without a unit.") from error


def context(year: int | None, body: str | None, roofs: list[str] | None, market: str | None) -> dict[str, Any]:
    """The car as far as it was told."""
    return {"year": year, "body": body, "roofs": roofs or None, "market": market}


def converted(asked: dict[str, Any], wanted: type[Wanted]) -> Wanted:
    """What the options ask, as a service takes it; with every fault where it is not."""
    from app.services.faults import bad_input, faults_in

    try:
        return msgspec.convert(asked, wanted)
    except msgspec.ValidationError as error:
        raise bad_input(faults_in(_plain(asked), wanted) or [Fault("", "bad_input", f"{error}.")]) from error


def _plain(value: Any) -> Any:
    """As JSON would have it, where a number is no text."""
    match value:
        case Decimal():
            return float(value)
        case dict():
            return {name: _plain(member) for name, member in value.items()}
        case list():
            return [_plain(item) for item in value]
        case _:
            return value


def read(file: str, wanted: type[Wanted]) -> Wanted:
    """A request as the API takes it, from a file or from standard input."""
    from app.services.faults import bad_input, faults_in

    raw = _bytes_of(file)
    try:
        asked = msgspec.json.decode(raw, type=wanted)
    except msgspec.ValidationError as error:
        raise bad_input(faults_in(msgspec.json.decode(raw), wanted) or [Fault("", "bad_input", f"{error}.")]) from error
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise invalid(file, "malformed_json", f"This is not JSON: {error}.") from error
    json.loads(raw, object_pairs_hook=_each_once, parse_int=float)
    return asked


def _bytes_of(file: str) -> bytes:
    if file == "-":
        return sys.stdin.buffer.read()
    try:
        return Path(file).read_bytes()
    except OSError as error:
        raise invalid(file, "no_such_file", f"{file} cannot be read: {error.strerror}.") from error


def _each_once(pairs: list[tuple[str, Any]]) -> None:
    """Of what stands twice in one object, readers of JSON take either: nobody can say what was asked."""
    seen: set[str] = set()
    for name, _ in pairs:
        if name in seen:
            raise invalid(f"/{name}", "given_twice", f"`{name}` stands twice in one object. Leave one out.")
        seen.add(name)


# What is wrong, in the words of who typed it


def of_options(error: CantrailError, typed: Typed) -> CantrailError:
    """A refusal with the options in the place of pointers into a request that nobody has seen."""
    faults = [Fault(_option(fault.pointer, typed), fault.code, fault.message) for fault in error.faults]
    return CantrailError(error.kind, error.code, error.message, faults=faults, details=error.details)


def _option(pointer: str, typed: Typed) -> str:
    for beginning, option in _OPTIONS.items():
        if pointer == beginning or pointer.startswith(f"{beginning}/"):
            place = pointer.removeprefix(beginning).removeprefix("/").partition("/")[0]
            said = typed.get(option, ())
            return f"{option} {said[int(place)]}" if place.isdigit() and int(place) < len(said) else option
    return pointer


def with_hint(error: CantrailError, finder: "Finder") -> CantrailError:
    """Where something is not in the registry: with the ids that may have been meant."""
    kind, id = error.details.get("kind"), error.details.get("id")
    if not isinstance(kind, SubjectKind) or not isinstance(id, str):
        return error
    near = [each.id for each in finder.find(kind, id.replace("-", " "), limit=3)]
    if kind is SubjectKind.GEAR:
        from app.core.gear import CATEGORIES

        near += [each for each in CATEGORIES if id in each or each in id]
    if id in near:
        message = f"There was no {kind} '{id}' in the registry yet."
    elif near:
        message = f"There is no {kind} '{id}' in the registry. Did you mean {' or '.join(near)}?"
    else:
        message = f"There is no {kind} '{id}' in the registry, nor anything like it."
    faults = [Fault(fault.pointer, fault.code, message) for fault in error.faults]
    return CantrailError(Kind.NOT_FOUND, error.code, message, faults=faults, details=error.details)
