"""From bytes to what a service takes: JSON bodies and query strings, decoded fast, and refused with every fault."""

import json
import re
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any, Final, Generic, NoReturn, TypeVar
from urllib.parse import parse_qsl

import msgspec
from msgspec import inspect

from app.core.errors import CantrailError, Fault, Kind
from app.services.faults import bad_input, escaped, faults_in, unknown_member
from app.web.errors import ProblemError

Wanted = TypeVar("Wanted", bound=msgspec.Struct)

MIB: Final = 1024 * 1024
BODY_LIMIT: Final = MIB
MANY_LIMIT: Final = 8 * MIB
QUERY_LIMIT: Final = 4096


class BodyDecoder(Generic[Wanted]):
    """Decodes the bodies of one type."""

    def __init__(self, wanted: type[Wanted]) -> None:
        self._wanted = wanted
        self._decoder = msgspec.json.Decoder(wanted)

    def decode(self, raw: bytes) -> Wanted:
        """What a body says. Raises a ProblemError where it is not JSON, and bad input with all that is wrong."""
        try:
            decoded = self._decoder.decode(raw)
            _refuse_ambiguous(raw)
        except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError, _AmbiguousError):
            self._refuse(raw)
        return decoded

    def _refuse(self, raw: bytes) -> NoReturn:
        plain = _plain(raw)
        faults = [*_repeated(raw), *faults_in(plain, self._wanted), *unstorable(plain)]
        # The walk knows every rule of every type; what it should miss is refused all the same, in the decoder's words.
        raise bad_input(faults or [Fault("", "bad_input", _words_of_decoder(self._decoder, raw))])


class _AmbiguousError(Exception):
    """Readers of JSON differ over what this says."""


def _refuse_ambiguous(raw: bytes) -> None:
    _ONCE.decode(raw.decode())
    if b"\\u0000" in raw and any(unstorable(msgspec.json.decode(raw))):
        raise _AmbiguousError


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) != len(pairs):
        raise _AmbiguousError
    return members


# Numbers are not looked at: reading a long one as a float costs nothing, and as an int may take for ever.
_ONCE = json.JSONDecoder(object_pairs_hook=_each_once, parse_int=float)


def _plain(raw: bytes) -> Any:
    try:
        return msgspec.json.decode(raw)
    except RecursionError as error:
        raise CantrailError(Kind.INVALID, "nested_too_deep", "This JSON is nested too deep to be read.") from error
    except UnicodeDecodeError as error:
        raise ProblemError(400, "not_utf8", "This body has bytes that are not UTF-8. Send it as UTF-8.") from error
    except msgspec.ValidationError as error:
        raise bad_input([Fault("", "out_of_range", "A number in this body is too large to be read.")]) from error
    except msgspec.DecodeError as error:
        raise ProblemError(400, "malformed_json", _where(raw, str(error))) from error


def _where(raw: bytes, told: str) -> str:
    """Where JSON stops being JSON, in lines and columns."""
    if not raw.strip():
        return "The body is empty. Send a JSON object."
    found = re.search(r"malformed: (.*) \(byte (\d+)\)", told)
    if found is None:
        return f"This is not JSON: it ends too early, after {len(raw)} bytes, or has half of a surrogate pair."
    before = raw[: int(found[2])]
    line = before.count(b"\n") + 1
    column = len(before) - (before.rfind(b"\n") + 1) + 1
    return f"This is not JSON: {found[1]} at line {line}, column {column} (byte {found[2]})."


def _words_of_decoder(decoder: msgspec.json.Decoder[Any], raw: bytes) -> str:
    try:
        decoder.decode(raw)
    except msgspec.MsgspecError as error:
        return f"{error}."
    return "This body cannot be read in one way only."


def _repeated(raw: bytes) -> Iterator[Fault]:
    """The members that stand twice in one object, of which readers of JSON take either."""
    twice: list[str] = []

    def note(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        names = [name for name, _ in pairs]
        twice.extend(name for name in dict.fromkeys(names) if names.count(name) > 1)
        return {}

    json.loads(raw, object_pairs_hook=note, parse_int=float)
    for name in twice:
        yield Fault(f"/{escaped(name)}", "given_twice", f"`{name[:40]}` stands twice in one object. Leave one out.")


def unstorable(value: Any, at: str = "") -> Iterator[Fault]:
    """Texts with a NUL, which a database cannot hold."""
    match value:
        case str() if "\0" in value:
            yield Fault(at, "bad_character", "This text has a NUL character in it. Leave it out.")
        case dict():
            for name, member in value.items():
                yield from unstorable(member, f"{at}/{escaped(name)}")
        case list():
            for place, item in enumerate(value):
                yield from unstorable(item, f"{at}/{place}")
        case _:
            return


# Query strings


def query(raw: bytes, wanted: type[Wanted]) -> Wanted:
    """What a query string asks. An object within what is wanted is given by its members (`year=` for the context's
    year), a list with commas or by repeating its parameter. Raises bad input with all that is wrong."""
    if len(raw) > QUERY_LIMIT:
        raise CantrailError(Kind.INVALID, "query_too_long", f"A query of at most {QUERY_LIMIT} characters is read.")
    given, faults = _given(raw)
    fields = _parameters(wanted)
    plain: dict[str, Any] = {}
    for name, texts in given.items():
        if name not in fields:
            faults.append(unknown_member(name, sorted(fields), ""))
            continue
        inside, kinds = fields[name]
        into = plain.setdefault(inside, {}) if inside else plain
        into[name] = _typed(texts, kinds)
        if len(texts) > 1 and _list_in(kinds) is None:
            faults.append(Fault(f"/{name}", "given_twice", f"`{name}` is given twice. Leave one out."))
    try:
        asked = msgspec.convert(plain, wanted)
    except msgspec.ValidationError:
        faults.extend(_flattened(faults_in(plain, wanted), wanted))
    if faults:
        raise bad_input(faults)
    return asked


def of_query(error: CantrailError, wanted: type[msgspec.Struct]) -> CantrailError:
    """What a service refuses of a question, with pointers to the parameters of the query that asked it."""
    if not error.faults:
        return error
    return CantrailError(
        error.kind, error.code, error.message, faults=_flattened(error.faults, wanted), details=error.details
    )


def _given(raw: bytes) -> tuple[dict[str, list[str]], list[Fault]]:
    """The parameters of a query. One with nothing behind it counts as left out: so browsers send empty fields."""
    given: dict[str, list[str]] = {}
    faults: list[Fault] = []
    try:
        pairs = parse_qsl(raw.decode("ascii"), keep_blank_values=True, errors="strict", max_num_fields=200)
    except ValueError:
        return {}, [Fault("", "not_utf8", "This query is not percent-encoded UTF-8, or has too many parameters.")]
    for name, text in pairs:
        if "\0" in name + text:
            faults.append(Fault("", "bad_character", "This query has a NUL character in it. Leave it out."))
        elif text:
            given.setdefault(name, []).append(text)
    return given, faults


@cache
def _parameters(wanted: type[msgspec.Struct]) -> dict[str, tuple[str, tuple[inspect.Type, ...]]]:
    """Each parameter of a query, the member in which it stands ("" for the whole), and the types that it may have."""
    found: dict[str, tuple[str, tuple[inspect.Type, ...]]] = {}
    whole = inspect.type_info(wanted)
    for field in whole.fields if isinstance(whole, inspect.StructType) else ():
        if isinstance(field.type, inspect.StructType):
            found |= {each.encode_name: (field.encode_name, _kinds(each.type)) for each in field.type.fields}
        else:
            found[field.encode_name] = ("", _kinds(field.type))
    return found


def _kinds(wanted: inspect.Type) -> tuple[inspect.Type, ...]:
    match wanted:
        case inspect.Metadata():
            return _kinds(wanted.type)
        case inspect.UnionType():
            return tuple(kind for each in wanted.types for kind in _kinds(each))
        case _:
            return (wanted,)


def _list_in(kinds: tuple[inspect.Type, ...]) -> inspect.ListType | None:
    return next((each for each in kinds if isinstance(each, inspect.ListType)), None)


def _typed(texts: list[str], kinds: tuple[inspect.Type, ...]) -> Any:
    """A parameter's text as the JSON value that it stands for; where it stands for none, the text, to be refused."""
    listed = _list_in(kinds)
    if listed is not None:
        items = _kinds(listed.item_type)
        return [_one(each, items) for text in texts for each in text.split(",")]
    return _one(texts[0], kinds)


def _one(text: str, kinds: tuple[inspect.Type, ...]) -> Any:
    for kind in kinds:
        match kind:
            case inspect.IntType() if re.fullmatch(r"-?[0-9]{1,15}", text):
                return int(text)
            case inspect.FloatType() if re.fullmatch(r"-?[0-9]{1,15}(\.[0-9]{1,15})?", text):
                return float(text)
            case inspect.BoolType() if text in {"true", "false"}:
                return text == "true"
            case _:
                continue
    return text


def _flattened(faults: Sequence[Fault], wanted: type[msgspec.Struct]) -> list[Fault]:
    """Faults with their pointers to parameters, which know no objects within objects."""
    within = {inside for inside, _ in _parameters(wanted).values() if inside}
    return [Fault(_flat(fault.pointer, within), fault.code, fault.message) for fault in faults]


def _flat(pointer: str, within: set[str]) -> str:
    first, *rest = pointer.removeprefix("/").split("/")
    return "/" + "/".join(rest) if rest and first in within else pointer
