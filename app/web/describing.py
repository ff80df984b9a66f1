"""The OpenAPI document: schemas made from the very types that are decoded and encoded, an example on every body, and
every refusal that a route can answer."""

from collections.abc import Mapping
from typing import Any, Final

import msgspec
from fastapi import FastAPI
from msgspec import inspect

from app.web.errors import MEDIA_TYPE, Problem
from app.web.examples import EXAMPLES, example_of

_REFERENCE: Final = "#/components/schemas/{name}"
_TYPES: Final[dict[str, Any]] = {}
"""Every type that a route takes or gives, by a key of its own: what the document's schemas are made from."""

REFUSALS: Final[dict[int, str]] = {
    400: "The request cannot be read: malformed JSON or header.",
    401: "No token, or one that is unknown, expired or revoked.",
    403: "Your role, token or interest does not allow this.",
    404: "There is no such thing.",
    405: "Not for this method.",
    408: "The body took too long to come.",
    409: "Not now, not again, or too like what is there; `code` says which.",
    413: "Too large.",
    414: "The address is too long.",
    415: "Not a media type that is taken here.",
    421: "The Host header names another server.",
    422: "Something in the request makes no sense; `errors` point at what.",
    429: "Too much asked by you of late; Retry-After says when to come again.",
    431: "The headers are too large.",
    500: "The registry's own mistake. Nothing was changed.",
    503: "The registry cannot read or write its storage just now. Try again.",
}

EVERYWHERE: Final = (414, 421, 429, 431)
"""What is refused before any route is looked for."""

READS: Final = (404, 422, 500, 503)
LISTS: Final = (422, 500, 503)
WRITES: Final = (400, 401, 403, 404, 408, 409, 413, 415, 422, 500, 503)
ASKS: Final = (400, 404, 408, 413, 415, 422, 500, 503)

FILES: Final = ("application/pdf", "image/png", "image/jpeg", "text/html", "application/xhtml+xml", "text/plain")
"""What a document's file may be: the last three are fetched and never uploaded."""

Described = dict[str, Any]
Responses = dict[int | str, dict[str, Any]]


def gives(shown: Any, status: int = 200, *, refuses: tuple[int, ...] = READS, says: str = "Done.") -> Responses:
    """What a route answers, for `responses`; several types are alternatives."""
    alternatives = shown if isinstance(shown, tuple) else (shown,)
    schemas = [_schema(each) for each in alternatives]
    body = {
        "schema": schemas[0] if len(schemas) == 1 else {"oneOf": schemas},
        "example": example_of(alternatives[0]),
    }
    return {
        status: {"description": says, "content": {"application/json": body}},
        **{each: _refusal(each) for each in refuses},
    }


def gives_nothing(*, refuses: tuple[int, ...], says: str = "Done.") -> Responses:
    """No body, for `responses`."""
    return {204: {"description": says}, **{each: _refusal(each) for each in refuses}}


def gives_file(*, kinds: tuple[str, ...] = FILES, refuses: tuple[int, ...] = (*READS, 415)) -> Responses:
    """A file of one of some types, for `responses`."""
    content = {kind: {"schema": {"type": "string", "format": "binary"}} for kind in kinds}
    return {
        200: {"description": "The file.", "content": content},
        **{each: _refusal(each) for each in refuses},
    }


def gives_text(example: str, *, refuses: tuple[int, ...]) -> Responses:
    """Plain text, for `responses`."""
    content = {"text/plain": {"schema": {"type": "string"}, "example": example}}
    return {200: {"description": "The text.", "content": content}, **{each: _refusal(each) for each in refuses}}


def takes(wanted: type[msgspec.Struct]) -> Described:
    """What a route takes, for `openapi_extra`."""
    body = {"schema": _schema(wanted), "example": EXAMPLES.get(wanted) or example_of(wanted)}
    return {"requestBody": {"required": True, "content": {"application/json": body}}}


def anonymously(wanted: type[msgspec.Struct]) -> Described:
    """What a route takes from anybody, though it may say that it does not know them, for `openapi_extra`."""
    return {**takes(wanted), "security": []}


def in_session(wanted: type[msgspec.Struct] | None = None) -> Described:
    """What a route takes in a session only, once for each time that it is sent, for `openapi_extra`."""
    return {**({} if wanted is None else takes(wanted)), "security": [{"session": []}]}


def signed_in() -> Described:
    """That a route only reads, and wants to know for whom, for `openapi_extra`."""
    return {"security": [{"bearer": []}, {"session": []}]}


def takes_form(wanted: type[msgspec.Struct], further: Described, example: Described) -> Described:
    """What a route takes as a form, with what stands in it beside the fields of a type, for `openapi_extra`."""
    _, components = msgspec.json.schema_components([wanted], ref_template=_REFERENCE)
    _TYPES[wanted.__name__] = wanted
    fields = components[wanted.__name__]
    schema = {
        "type": "object",
        "properties": {**further, **fields["properties"]},
        "required": fields["required"],
    }
    body = {"multipart/form-data": {"schema": schema, "example": example}}
    return {"requestBody": {"required": True, "content": body}}


def takes_query(wanted: type[msgspec.Struct]) -> Described:
    """What a route takes in its query, an inner object by its members, for `openapi_extra`."""
    parameters: list[Described] = []
    whole = inspect.type_info(wanted)
    for field in whole.fields if isinstance(whole, inspect.StructType) else ():
        if isinstance(field.type, inspect.StructType):
            parameters.extend(_parameter(each.encode_name, field.type.cls) for each in field.type.fields)
        else:
            parameters.append(_parameter(field.encode_name, wanted))
    return {"parameters": parameters}


def _parameter(name: str, of: type) -> Described:
    _, components = msgspec.json.schema_components([of], ref_template=_REFERENCE)
    _TYPES[of.__name__] = of
    return {
        "name": name,
        "in": "query",
        "required": False,
        "schema": components[of.__name__]["properties"][name],
        "style": "form",
        "explode": False,
    }


def _schema(shown: Any) -> Described:
    _TYPES[str(shown)] = shown
    (schema,), _ = msgspec.json.schema_components([shown], ref_template=_REFERENCE)
    return dict(schema)


def _refusal(status: int) -> Described:
    _TYPES["Problem"] = Problem
    body = {"schema": _schema(Problem), "example": _problem_example(status)}
    return {"description": REFUSALS[status], "content": {MEDIA_TYPE: body}}


def _problem_example(status: int) -> Mapping[str, Any]:
    example: dict[str, Any] = {
        "type": "urn:problem-type:cantrail:bad_input" if status == 422 else f"urn:problem-type:cantrail:{status}",
        "title": "Bad input" if status == 422 else "What went wrong",
        "status": status,
        "detail": REFUSALS[status],
        "code": "bad_input" if status == 422 else "code",
    }
    if status == 422:
        example["errors"] = [{"pointer": "/stated/value", "code": "bad_mass", "message": 'Write "75" or "165.5".'}]
    return example


_BEARER: Final = {"type": "http", "scheme": "bearer", "description": "A token, as `cantrail token issue` gives it."}
_SESSION: Final = {
    "type": "apiKey",
    "in": "cookie",
    "name": "__Host-cantrail",
    "description": "A session, as POST /session gives it. What changes something has to come from a page of this server.",
}
_KEY: Final = {
    "name": "Idempotency-Key",
    "in": "header",
    "required": False,
    "description": "Sent again with the same key, the same request is done once and answered as it was.",
    "schema": {"type": "string", "minLength": 1, "maxLength": 200},
}


def describe(app: FastAPI) -> None:
    """Let an application's OpenAPI document have the schemas of all that its routes take and give."""
    made = app.openapi

    def openapi() -> Described:
        if app.openapi_schema is None:
            document = made()
            _, components = msgspec.json.schema_components(list(_TYPES.values()), ref_template=_REFERENCE)
            parts = document.setdefault("components", {})
            schemas = parts.setdefault("schemas", {})
            schemas.update(components)
            for unused in ("HTTPValidationError", "ValidationError"):
                schemas.pop(unused, None)
            parts["securitySchemes"] = {"bearer": _BEARER, "session": _SESSION}
            for methods in document["paths"].values():
                for method, operation in methods.items():
                    _say_who_is_wanted(operation, reads=method == "get")
                    for status in EVERYWHERE:
                        operation["responses"].setdefault(str(status), _refusal(status))
            _say_numbers(document)
            app.openapi_schema = document
        return app.openapi_schema

    app.openapi = openapi  # type: ignore[method-assign]


def _say_who_is_wanted(operation: Described, *, reads: bool) -> None:
    """What refuses those who show no token wants one, or a session; where it writes, it may be sent again with a key.
    Unless the route says by itself what it wants."""
    if "401" not in operation["responses"] or "security" in operation:
        return
    operation["security"] = [{"bearer": []}, {"session": []}]
    if not reads:
        operation["parameters"] = [*operation.get("parameters", ()), _KEY]


def _say_numbers(part: Any) -> None:
    """Decimals are numbers in what is sent, read to the last digit; their schemas are made as if they were texts."""
    if isinstance(part, dict):
        if part.get("format") == "decimal":
            del part["format"]
            part["type"] = "number"
            if isinstance(part.get("default"), str):
                part["default"] = float(part["default"])
        for member in part.values():
            _say_numbers(member)
    elif isinstance(part, list):
        for item in part:
            _say_numbers(item)
