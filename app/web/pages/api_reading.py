"""The OpenAPI document as people read it: calls under their headings, and schemas as lists of fields in words."""

import re
from collections.abc import Iterator, Mapping
from typing import Any, Final, NamedTuple

import msgspec

from app.services.faults import PATTERNS

Schema = Mapping[str, Any]

_DEEPEST: Final = 5
_MANY: Final = 60
"""More fields than that are not listed: the schema's own page in the document is."""

_REVIEWERS: Final = frozenset(
    {
        "GET /api/v1/desk",
        "POST /api/v1/claims/{id}/decisions",
        "POST /api/v1/claims/{id}/readings",
        "POST /api/v1/desk/{work}/hold",
        "POST /api/v1/desk/{work}/release",
        "POST /api/v1/disputes/{id}/settlements",
        "POST /api/v1/placements/{id}/confirmations",
        "POST /api/v1/placements/{id}/refusals",
        *(
            f"POST /api/v1/{kind}/{{id}}/confirmations"
            for kind in ("vehicles", "carriers", "fixings", "gear", "fitments")
        ),
    }
)
_STEWARDS: Final = frozenset(
    {
        "GET /api/v1/accounts",
        "GET /api/v1/accounts/{id}",
        "POST /api/v1/documents/{id}/takedown",
        "POST /api/v1/mergers",
        "POST /api/v1/placements/{id}/undoings",
        "POST /api/v1/readings/{id}/judgements",
        "POST /api/v1/receipts/{digest}/removal",
        "POST /api/v1/splits",
        *(
            f"POST /api/v1/{kind}/{{id}}/corrections"
            for kind in ("vehicles", "carriers", "fixings", "gear", "fitments")
        ),
    }
)
"""What the document does not say: which calls take more than being signed in."""


class Field(NamedTuple):
    """A field of a body or a parameter: its path, its type in words, whether it must be given, what is taken where it is
    not, and what it is."""

    name: str
    type: str
    must: bool
    default: str | None
    told: str


class Sent(NamedTuple):
    """A body: its media type, what it is, its fields, whether there are more of them, and an example."""

    media: str
    told: str
    fields: list[Field]
    more: bool
    example: str | None


class Answer(NamedTuple):
    """What a call answers with one status."""

    status: str
    told: str
    bodies: list[Sent]


class Call(NamedTuple):
    """One call, as it is described."""

    anchor: str
    method: str
    path: str
    summary: str
    who: str
    parameters: list[tuple[str, Field]]
    bodies: list[Sent]
    answers: list[Answer]
    refusals: list[tuple[str, str]]


Described = dict[str, dict[str, Call]]
"""Calls by their anchors, under the name of what they are about."""


def described(document: Mapping[str, Any]) -> Described:
    """Every call of an OpenAPI document."""
    reading = _Reading(document)
    found: Described = {}
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            call = reading.call(method.upper(), path, operation)
            found.setdefault(operation["tags"][0], {})[call.anchor] = call
    return found


def anchor_of(method: str, path: str) -> str:
    """What a call is named by in an address."""
    plain = re.sub(r"[{}.]", "", path.removeprefix("/api/v1")).strip("/").replace("/", "-")
    return f"{method.lower()}-{plain}"


class _Reading:
    """Reads one document."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        self._schemas: Mapping[str, Schema] = document["components"]["schemas"]

    def call(self, method: str, path: str, operation: Mapping[str, Any]) -> Call:
        responses = operation["responses"]
        good = {status: each for status, each in responses.items() if int(status) < 400}
        body = operation.get("requestBody", {}).get("content", {})
        return Call(
            anchor=anchor_of(method, path),
            method=method,
            path=path,
            summary=operation["summary"],
            who=_who(f"{method} {path}", operation),
            parameters=[(each["in"], self._parameter(each)) for each in operation.get("parameters", ())],
            bodies=[self._sent(media, each) for media, each in body.items()],
            answers=[
                Answer(status, each["description"], [self._sent(*one) for one in each.get("content", {}).items()])
                for status, each in sorted(good.items())
            ],
            refusals=[(status, responses[status]["description"]) for status in sorted(responses.keys() - good.keys())],
        )

    def _parameter(self, of: Mapping[str, Any]) -> Field:
        schema = of.get("schema", {})
        told = of.get("description") or schema.get("description", "") or self._plain(schema).get("description", "")
        return Field(of["name"], self._type(schema), of.get("required", False), _default(schema), told)

    def _sent(self, media: str, body: Mapping[str, Any]) -> Sent:
        schema = body.get("schema", {})
        shown = next((each for each in schema.get("oneOf", ())), schema)
        fields = list(self._fields(shown, "", 0))
        example = body.get("example")
        return Sent(
            media,
            self._resolved(shown).get("description", ""),
            fields[:_MANY],
            len(fields) > _MANY,
            None if example is None else _written(example),
        )

    def _resolved(self, schema: Schema) -> Schema:
        reference = schema.get("$ref")
        return schema if reference is None else self._schemas[reference.rpartition("/")[2]]

    def _plain(self, schema: Schema) -> Schema:
        """A schema without its null, and of several the one that has something within it."""
        choices = [self._resolved(each) for each in schema.get("anyOf", ()) if each.get("type") != "null"]
        within = [each for each in choices if each.get("type") in {"object", "array"}] or choices
        return within[0] if len(within) == 1 else self._resolved(schema)

    def _fields(self, schema: Schema, at: str, depth: int) -> Iterator[Field]:
        """The fields of an object, and of what lies within it, each by its path."""
        inner = self._plain(schema)
        if inner.get("type") == "array":
            yield from self._fields(inner.get("items", {}), f"{at}[]", depth)
            return
        required = set(inner.get("required", ()))
        for name, each in inner.get("properties", {}).items():
            path = f"{at}.{name}" if at else name
            plain = self._plain(each)
            told = each.get("description") or plain.get("description", "")
            yield Field(path, self._type(each), name in required, _default(each), told)
            if depth < _DEEPEST:
                yield from self._fields(each, path, depth + 1)

    def _type(self, schema: Schema) -> str:
        """What may stand somewhere, in words."""
        if "anyOf" in schema or "oneOf" in schema:
            choices = [self._type(each) for each in schema.get("anyOf", schema.get("oneOf", ()))]
            return " or ".join(dict.fromkeys(choices))
        of = self._resolved(schema)
        if "enum" in of:
            return "one of " + ", ".join(str(each) for each in of["enum"])
        match of.get("type"):
            case "string":
                return _text(of)
            case "integer" | "number" as kind:
                return ("whole number" if kind == "integer" else "number") + _range(of, "minimum", "maximum")
            case "array":
                return f"list of {self._type(of.get('items', {}))}" + _range(of, "minItems", "maxItems")
            case "boolean":
                return "true or false"
            case "object":
                return "object"
            case "null":
                return "null"
            case _:
                return "anything"


def _who(call: str, operation: Mapping[str, Any]) -> str:
    """Who may, in a sentence."""
    ways = [name for each in operation.get("security", ()) for name in each]
    if call in _STEWARDS:
        return "Stewards, signed in or by a token."
    if call in _REVIEWERS:
        return "Reviewers and stewards, signed in or by a token with the scope review."
    if not ways:
        return "Anybody."
    if ways == ["session"]:
        return "Whoever is signed in; a token is not enough."
    return "Whoever is signed in, or by a token" + (" with the scope submit." if call.startswith("POST") else ".")


def _text(of: Schema) -> str:
    if of.get("format") == "binary":
        return "a file"
    if "pattern" in of:
        return PATTERNS.get(of["pattern"], f"text as {of['pattern']}")
    return "text" + (f" of at most {of['maxLength']} characters" if "maxLength" in of else "")


def _range(of: Schema, least: str, most: str) -> str:
    low, high = of.get(least), of.get(most)
    if low is None and high is None:
        return ""
    if high is None:
        return f" from {low}" if least == "minimum" else f", at least {low}"
    if low is None:
        return f" up to {high}" if least == "minimum" else f", at most {high}"
    return f" from {low} to {high}" if least == "minimum" else f", {low} to {high}"


def _default(schema: Schema) -> str | None:
    given = schema.get("default")
    return None if given is None or given in ({}, []) or isinstance(given, dict) else str(given)


def _written(example: Any) -> str:
    if isinstance(example, str):
        return example
    return msgspec.json.format(msgspec.json.encode(example), indent=2).decode()
