"""JSON Schema, as much of it as the API's document uses: enough to hold every answer and example against it."""

import re
from collections.abc import Iterator
from typing import Any

TYPES: dict[str, tuple[type, ...]] = {
    "object": (dict,),
    "array": (list,),
    "string": (str,),
    "integer": (int,),
    "number": (int, float),
    "boolean": (bool,),
    "null": (type(None),),
}
KNOWN = {
    "$ref", "anyOf", "oneOf", "type", "enum", "const", "properties", "required", "additionalProperties", "items",
    "minItems", "maxItems", "minLength", "maxLength", "pattern", "minimum", "maximum", "title", "description", "default",
    "format",
}  # fmt: skip


def mismatches(value: Any, schema: Any, document: Any, at: str = "") -> list[str]:
    """Where a value is not what a schema says."""
    return list(_mismatches(value, schema, document, at))


def _mismatches(value: Any, schema: Any, document: Any, at: str) -> Iterator[str]:
    assert schema.keys() <= KNOWN, f"{at}: {schema.keys() - KNOWN} is not known here"
    if "$ref" in schema:
        yield from _mismatches(value, resolved(schema["$ref"], document), document, at)
    alternatives = [mismatches(value, each, document, at) for each in schema.get("anyOf") or schema.get("oneOf") or ()]
    if alternatives and all(alternatives):
        yield min(alternatives, key=len)[0]
    kind = schema.get("type")
    if kind is not None and (not isinstance(value, TYPES[kind]) or (isinstance(value, bool) and kind != "boolean")):
        yield f"{at}: {value!r} is no {kind}"
        return
    if value not in schema.get("enum", [value]) or value != schema.get("const", value):
        yield f"{at}: {value!r} is not of {schema}"
    match value:
        case dict():
            yield from _object(value, schema, document, at)
        case list():
            yield from _range(len(value), schema, "Items", at)
            for place, item in enumerate(value):
                yield from _mismatches(item, schema.get("items", {}), document, f"{at}/{place}")
        case str():
            yield from _range(len(value), schema, "Length", at)
            if not re.search(schema.get("pattern", ""), value):
                yield f"{at}: {value!r} is not like {schema['pattern']}"
        case int() | float():
            yield from _range(value, schema, "imum", at)


def _range(value: float, schema: Any, what: str, at: str) -> Iterator[str]:
    if not schema.get(f"min{what}", value) <= value <= schema.get(f"max{what}", value):
        yield f"{at}: {value} is out of range"


def _object(value: Any, schema: Any, document: Any, at: str) -> Iterator[str]:
    properties = schema.get("properties", {})
    for name in schema.get("required", ()):
        if name not in value:
            yield f"{at}: no {name}"
    for name, member in value.items():
        if name in properties:
            yield from _mismatches(member, properties[name], document, f"{at}/{name}")
        elif schema.get("additionalProperties") is False or properties:
            yield f"{at}: {name} is not known"


def resolved(reference: str, document: Any) -> Any:
    """What a reference within a document points at."""
    found = document
    for step in reference.removeprefix("#/").split("/"):
        found = found[step]
    return found


def references(document: Any) -> Iterator[str]:
    """Every reference in a document."""
    if isinstance(document, dict):
        if isinstance(document.get("$ref"), str):
            yield document["$ref"]
        for member in document.values():
            yield from references(member)
    elif isinstance(document, list):
        for item in document:
            yield from references(item)
