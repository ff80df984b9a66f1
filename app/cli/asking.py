"""From what was typed, or stands in a file, to what a service takes; what is wrong is said of the option that has it."""

import difflib
import json
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

import msgspec

from app.cli.showing import visible
from app.core.claim import SubjectKind
from app.core.errors import CantrailError, Fault, invalid

if TYPE_CHECKING:
    from app.services.finding import Finder

Wanted = TypeVar("Wanted", bound=msgspec.Struct)

_OPTIONS: Final = {
    "/publisher": "--to",
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

LONGEST_ID: Final = 80
_WORDS: Final = {"roof_missing": "Name a vehicle, or give its roof limit yourself with --roof-limit."}
"""What is said otherwise to who has typed options, by its code."""

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


def given_roof(limit: str | None, basis: str | None) -> dict[str, Any] | None:
    """The asker's own roof limit."""
    if limit is not None:
        return {"limit": number(limit, "--roof-limit"), "basis": basis or "not_stated"}
    if basis is not None:
        raise invalid("--roof-basis", "bad_input", "A basis is of a limit: give --roof-limit too.")
    return None


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

    raw = bytes_of(file)
    try:
        plain = msgspec.json.decode(raw)
    except RecursionError as error:
        raise invalid(file, "nested_too_deep", "This JSON is nested too deep to be read.") from error
    except msgspec.ValidationError as error:
        raise invalid(file, "out_of_range", "A number in this is too large to be read.") from error
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        why = str(error).removeprefix("JSON is malformed: ")
        raise invalid(file, "malformed_json", f"This is not JSON: {why}.") from error
    try:
        # From the text again, digit for digit: floats would have rounded what was given.
        asked = msgspec.json.decode(raw, type=wanted)
    except msgspec.ValidationError as error:
        raise bad_input(faults_in(plain, wanted) or [Fault("", "bad_input", f"{error}.")]) from error
    json.loads(raw, object_pairs_hook=_each_once, parse_int=float)
    return asked


def bytes_of(file: str, most: int = -1) -> bytes:
    """What a file holds, or standard input where it is `-`; of more than so many bytes, the first."""
    if file == "-":
        return sys.stdin.buffer.read(most)
    try:
        with Path(file).open("rb") as opened:
            return opened.read(most)
    except OSError as error:
        name = visible(file)
        raise invalid(name, "no_such_file", f"{name} cannot be read: {error.strerror}.") from error


def _each_once(pairs: list[tuple[str, Any]]) -> None:
    """Of what stands twice in one object, readers of JSON take either: nobody can say what was asked."""
    seen: set[str] = set()
    for name, _ in pairs:
        if name in seen:
            raise invalid(f"/{name}", "given_twice", f"`{name}` stands twice in one object. Leave one out.")
        seen.add(name)


# What is wrong, in the words of who typed it


@contextmanager
def in_options(typed: Mapping[str, Sequence[str] | None]) -> Iterator[None]:
    """Refusals name the options in the place of pointers into a request that nobody has seen."""
    try:
        yield
    except CantrailError as error:
        message = _WORDS.get(error.code, error.message)
        faults = [
            Fault(_option(fault.pointer, typed), fault.code, _WORDS.get(fault.code, fault.message))
            for fault in error.faults
        ]
        raise CantrailError(error.kind, error.code, message, faults=faults, details=error.details) from error


def _option(pointer: str, typed: Mapping[str, Sequence[str] | None]) -> str:
    for beginning, option in _OPTIONS.items():
        if pointer == beginning or pointer.startswith(f"{beginning}/"):
            place = pointer.removeprefix(beginning).removeprefix("/").partition("/")[0]
            said = typed.get(option) or ()
            return f"{option} {said[int(place)]}" if place.isdigit() and int(place) < len(said) else option
    return pointer


@contextmanager
def hinted(finder: "Finder") -> Iterator[None]:
    """Where something is not in the registry, the refusal names what may have been meant."""
    try:
        yield
    except CantrailError as error:
        kind, id = error.details.get("kind"), error.details.get("id")
        if not isinstance(kind, SubjectKind) or not isinstance(id, str):
            raise
        message = _not_there(kind, id, finder)
        faults = [Fault(fault.pointer, fault.code, message) for fault in error.faults]
        raise CantrailError(error.kind, error.code, message, faults=faults, details=error.details) from error


def _not_there(kind: SubjectKind, id: str, finder: "Finder") -> str:
    id = id if len(id) <= LONGEST_ID else f"{id[:LONGEST_ID]}..."
    near = [each.id for each in finder.find(kind, id.replace("-", " "), limit=3)]
    if id in near:
        return f"There was no {kind} '{id}' in the registry yet."
    if kind is SubjectKind.GEAR:
        from app.core.gear import CATEGORIES

        near = [*difflib.get_close_matches(id, CATEGORIES, 1), *near]
    if near:
        return f"There is no {kind} '{id}' in the registry. Did you mean {' or '.join(near)}?"
    return f"There is no {kind} '{id}' in the registry, nor anything like it."
