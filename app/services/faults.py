"""Everything that is wrong with an input, each thing with a pointer and a sentence that says how to put it right.

Decoding stops at the first fault. Only once it has failed is the input walked beside its type, to find all of them.
"""

import difflib
import re
from collections.abc import Iterator, Sequence
from enum import Enum
from typing import Any, Final

import msgspec
from msgspec import inspect

from app.core.errors import CantrailError, Fault, Kind

PATTERNS: Final[dict[str, str]] = {
    "^[a-z0-9]+(-[a-z0-9]+)*$": "an id of lower-case letters, digits and hyphens",
    "^[A-Z]{2}$": "a country's two capital letters (ISO 3166-1), as in NZ",
    "^[a-z]{2,3}$": "a language's two or three small letters (ISO 639), as in en",
    "^[0-9]{4}-[0-9]{2}-[0-9]{2}$": "a date as YYYY-MM-DD",
    "^https?://": "an address that begins with http:// or https://",
    "^C[0-9]{1,12}$": "a claim's id, as in C1042",
    "^D[0-9]{1,12}$": "a document's id, as in D1017",
    "^R[0-9]{1,12}$": "a reading's id, as in R1049",
    "^F[0-9]{1,12}$": "a fitment's id, as in F1020",
    r"^[0-9]{1,15}\.[a-z0-9-]{1,80}$": "an entry's number, or `next` of the page before",
    "^sha256:[0-9a-f]{64}$": "a digest: sha256: and 64 hexadecimal digits",
}
"""What the patterns of inputs mean to a person."""

NEVER_SAID: Final = frozenset({"current", "password", "reset"})
"""Members whose values are repeated in no answer."""

MOST_FAULTS: Final = 100
_LISTED: Final = 40


def bad_input(faults: Sequence[Fault]) -> CantrailError:
    """An input with everything that is wrong with it."""
    told = list(faults)[:MOST_FAULTS]
    message = told[0].message if len(told) == 1 else f"{len(told)} things are wrong with this request."
    return CantrailError(Kind.INVALID, "bad_input", message, faults=told)


def faults_in(value: Any, wanted: type[msgspec.Struct]) -> list[Fault]:
    """What keeps plain data from being what is wanted."""
    return list(_walk(value, inspect.type_info(wanted), ""))


def escaped(member: str) -> str:
    """A member's name as a step of an RFC 6901 pointer."""
    return member.replace("~", "~0").replace("/", "~1")


def unknown_member(name: str, known: list[str], at: str) -> Fault:
    """A member that is not known, with the one that may have been meant."""
    near = difflib.get_close_matches(name, known, 1)
    hint = f"Did you mean `{near[0]}`?" if near else f"Possible here: {_listed(sorted(known))}."
    return Fault(f"{at}/{escaped(name)}", "unknown_member", f"There is no `{_short(name)}` here. {hint}")


def _walk(value: Any, wanted: inspect.Type, at: str) -> Iterator[Fault]:
    match wanted:
        case inspect.Metadata():
            yield from _walk(value, wanted.type, at)
        case inspect.UnionType():
            yield from _union(value, wanted, at)
        case inspect.StructType() if isinstance(value, dict):
            yield from _members(value, wanted, at)
        case inspect.ListType() if isinstance(value, list):
            yield from _items(value, wanted, at)
        case inspect.StrType() if isinstance(value, str):
            yield from _text(value, wanted, at)
        case inspect.IntType() | inspect.FloatType() if _is_number(value, wanted):
            yield from _number(value, wanted, at)
        case inspect.DecimalType() if _is_number(value, wanted):
            return
        case inspect.EnumType() | inspect.LiteralType():
            if value not in values_of(wanted):
                yield _not_one_of(value, values_of(wanted), at)
        case inspect.BoolType() if isinstance(value, bool):
            return
        case inspect.NoneType() if value is None:
            return
        case _:
            yield _wrong(value, [wanted], at)


def _union(value: Any, wanted: inspect.UnionType, at: str) -> Iterator[Fault]:
    """The faults of the member of a union that the value is nearest to: the one of its JSON type."""
    near = [each for each in wanted.types if _same_json_type(value, each)]
    if not near:
        choices = [choice for each in wanted.types for choice in values_of(each)]
        if isinstance(value, str) and choices:
            yield _not_one_of(value, choices, at)
        else:
            yield _wrong(value, wanted.types, at)
        return
    found = [list(_walk(value, each, at)) for each in near]
    if all(found):
        yield from min(found, key=len)


def _same_json_type(value: Any, wanted: inspect.Type) -> bool:
    match wanted:
        case inspect.Metadata():
            return _same_json_type(value, wanted.type)
        case inspect.StructType():
            return isinstance(value, dict)
        case inspect.ListType():
            return isinstance(value, list)
        case inspect.NoneType():
            return value is None
        case inspect.BoolType():
            return isinstance(value, bool)
        case inspect.IntType() | inspect.FloatType() | inspect.DecimalType():
            return _is_number(value, wanted)
        case _:
            return isinstance(value, str)


def _is_number(value: Any, wanted: inspect.Type) -> bool:
    whole = isinstance(value, int) and not isinstance(value, bool)
    return whole or (isinstance(value, float) and (value.is_integer() or not isinstance(wanted, inspect.IntType)))


def _members(value: dict[str, Any], wanted: inspect.StructType, at: str) -> Iterator[Fault]:
    fields = {field.encode_name: field for field in wanted.fields}
    for name in [each for each in value if each not in fields]:
        yield unknown_member(name, [each for each in fields if each not in value] or list(fields), at)
    for name, field in fields.items():
        if name in value:
            found = _walk(value[name], field.type, f"{at}/{escaped(name)}")
            yield from map(_unsaid, found) if name in NEVER_SAID else found
        elif field.required:
            yield Fault(f"{at}/{escaped(name)}", "missing", f"`{name}` is missing: give {expected(field.type)}.")


def _unsaid(fault: Fault) -> Fault:
    """A fault without what was sent."""
    return Fault(fault.pointer, fault.code, "This is not what should stand here: give a text, not empty, nor too long.")


def _items(value: list[Any], wanted: inspect.ListType, at: str) -> Iterator[Fault]:
    if wanted.max_length is not None and len(value) > wanted.max_length:
        yield Fault(at, "too_many", f"At most {wanted.max_length} may stand here, not {len(value)}.")
        return
    if wanted.min_length is not None and len(value) < wanted.min_length:
        yield Fault(at, "too_few", f"At least {wanted.min_length} must stand here. Leave it out if there is nothing.")
    for place, item in enumerate(value):
        yield from _walk(item, wanted.item_type, f"{at}/{place}")


def _text(value: str, wanted: inspect.StrType, at: str) -> Iterator[Fault]:
    if wanted.max_length is not None and len(value) > wanted.max_length:
        yield Fault(at, "too_long", f"This has {len(value)} characters; at most {wanted.max_length} are taken.")
    elif wanted.min_length is not None and len(value) < wanted.min_length:
        yield Fault(at, "too_short", "This is empty. Write something, or leave it out where it may be.")
    elif wanted.pattern is not None and not re.search(wanted.pattern, value):
        yield Fault(at, "bad_format", f"{_shown(value)} is not {expected(wanted)}.")


def _number(value: float, wanted: inspect.IntType | inspect.FloatType, at: str) -> Iterator[Fault]:
    if (wanted.ge is not None and value < wanted.ge) or (wanted.le is not None and value > wanted.le):
        yield Fault(at, "out_of_range", f"{_shown(value)} is not {expected(wanted)}.")


def _wrong(value: Any, wanted: Sequence[inspect.Type], at: str) -> Fault:
    choices = " or ".join(expected(each) for each in wanted if not isinstance(each, inspect.NoneType))
    return Fault(at, "wrong_type", f"{_shown(value)} stands where there should be {choices}.")


def _not_one_of(value: Any, choices: Sequence[Any], at: str) -> Fault:
    names = [str(choice) for choice in choices]
    near = difflib.get_close_matches(str(value), names, 1) if isinstance(value, str) else []
    hint = f" Did you mean {near[0]}?" if near else ""
    return Fault(at, "not_one_of", f"{_shown(value)} is none of: {_listed(names)}.{hint}")


def values_of(wanted: inspect.Type) -> list[Any]:
    """The values among which a type lets one choose, if it does."""
    match wanted:
        case inspect.Metadata():
            return values_of(wanted.type)
        case inspect.EnumType():
            return [member.value if isinstance(member, Enum) else member for member in wanted.cls]
        case inspect.LiteralType():
            return list(wanted.values)
        case _:
            return []


def expected(wanted: inspect.Type) -> str:
    """What should stand somewhere, in words."""
    match wanted:
        case inspect.Metadata():
            return expected(wanted.type)
        case inspect.UnionType():
            return " or ".join(expected(each) for each in wanted.types if not isinstance(each, inspect.NoneType))
        case inspect.EnumType() | inspect.LiteralType():
            return f"one of {_listed([str(value) for value in values_of(wanted)])}"
        case inspect.StructType():
            return "an object"
        case inspect.ListType():
            return "a list"
        case inspect.StrType():
            return PATTERNS.get(wanted.pattern or "", "a text")
        case inspect.IntType() | inspect.FloatType():
            return f"a {'whole ' if isinstance(wanted, inspect.IntType) else ''}number{_range(wanted)}"
        case inspect.DecimalType():
            return "a number"
        case inspect.BoolType():
            return "true or false"
        case _:
            return "null"


def _range(wanted: inspect.IntType | inspect.FloatType) -> str:
    match wanted.ge, wanted.le:
        case None, None:
            return ""
        case lowest, None:
            return f" from {lowest} up"
        case None, highest:
            return f" up to {highest}"
        case lowest, highest:
            return f" from {lowest} to {highest}"


def _shown(value: Any) -> str:
    match value:
        case None:
            return "null"
        case bool():
            return "true" if value else "false"
        case dict():
            return "An object"
        case list():
            return "A list"
        case str():
            return f'"{_short(value)}"'
        case _:
            return _short(str(value))


def _short(text: str) -> str:
    return text if len(text) <= _LISTED else f"{text[:_LISTED]}…"


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names[:_LISTED])
