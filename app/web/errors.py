"""Errors as problem details (RFC 9457): one shape for everything that is refused, whoever refuses it."""

import re
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Any, Final

import msgspec
from fastapi import FastAPI
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response

from app.core.errors import CantrailError, Fault, Kind

MEDIA_TYPE: Final = "application/problem+json"

STATUSES: Final[dict[Kind, int]] = {
    Kind.INVALID: 422,
    Kind.UNAUTHENTICATED: 401,
    Kind.FORBIDDEN: 403,
    Kind.NOT_FOUND: 404,
    Kind.CONFLICT: 409,
    Kind.TOO_LARGE: 413,
    Kind.UNSUPPORTED: 415,
    Kind.TOO_MANY: 429,
    Kind.UNAVAILABLE: 503,
}

_HEADERS: Final[dict[int, dict[str, str]]] = {
    401: {"WWW-Authenticate": 'Bearer realm="cantrail"'},
    503: {"Retry-After": "2"},
}

NEVER_KEPT: Final = {"Cache-Control": "no-store"}


class ProblemError(Exception):
    """A refusal that only HTTP knows of: no kind of the registry's own errors says it."""

    def __init__(self, status: int, code: str, detail: str, headers: Mapping[str, str] | None = None) -> None:
        super().__init__(detail)
        self.status = status
        self.code = code
        self.detail = detail
        self.headers = dict(headers or {})


class Problem(msgspec.Struct, frozen=True):
    """Problem details. `code` is stable, `detail` says in a sentence what to do, `errors` name each fault of an input
    by an RFC 6901 pointer into the body, or to the query's parameter. Some codes bring further members."""

    type: str
    title: str
    status: int
    detail: str
    code: str
    errors: list[Fault] = []


def problem(
    status: int,
    code: str,
    detail: str,
    *,
    faults: Sequence[Fault] = (),
    members: Mapping[str, object] | None = None,
    headers: Mapping[str, str] | None = None,
) -> Response:
    """A refusal as a response."""
    body: dict[str, Any] = dict(members or {})
    told = Problem(f"urn:problem-type:cantrail:{code}", title(code), status, detail, code, list(faults))
    body |= msgspec.to_builtins(told)
    if not faults:
        del body["errors"]
    return Response(
        msgspec.json.encode(body),
        status,
        {**NEVER_KEPT, **_HEADERS.get(status, {}), **(headers or {})},
        MEDIA_TYPE,
    )


def title(code: str) -> str:
    """A code as words: the same for every problem with that code."""
    return code.replace("_", " ").capitalize()


def refused(error: CantrailError) -> Response:
    """What the registry refuses."""
    wait = error.details.get("retry_after")
    headers = {"Retry-After": str(wait)} if wait is not None else None
    return problem(
        STATUSES[error.kind], error.code, error.message, faults=error.faults, members=error.details, headers=headers
    )


def hung_up() -> Response:
    """To a sender who has gone: nobody reads it, but a broken line is no mistake of the registry's own to be logged."""
    return Response(None, 400, NEVER_KEPT)


def add_handlers(app: FastAPI) -> None:
    """Tell every error of an application as a problem."""

    def cantrail_error(request: Request, error: Exception) -> Response:
        if not isinstance(error, CantrailError):
            raise error
        # For the line that is logged of the request.
        request.state.code = error.code
        return refused(error)

    def problem_error(request: Request, error: Exception) -> Response:
        if not isinstance(error, ProblemError):
            raise error
        request.state.code = error.code
        return problem(error.status, error.code, error.detail, headers=error.headers)

    def http_error(request: Request, error: Exception) -> Response:
        if not isinstance(error, HTTPException):
            raise error
        return _plain(app, request, error)

    def gone(_: Request, error: Exception) -> Response:
        return hung_up()

    # The trace goes to the log, which whoever runs the server reads; the sender learns only that it was not their doing.
    def mistake(_: Request, error: Exception) -> Response:
        return problem(500, "internal_error", "Something went wrong in the registry itself. It has been logged.")

    app.add_exception_handler(CantrailError, cantrail_error)
    app.add_exception_handler(ProblemError, problem_error)
    app.add_exception_handler(HTTPException, http_error)
    app.add_exception_handler(ClientDisconnect, gone)
    app.add_exception_handler(Exception, mistake)


def _plain(app: FastAPI, request: Request, error: HTTPException) -> Response:
    """What routing and the reading of bodies refuse."""
    match error.status_code:
        case 404:
            return problem(404, "no_such_route", f"There is nothing at {request.url.path}.")
        case 405:
            # Of pages, which are described nowhere, the route itself tells.
            told = (error.headers or {}).get("Allow", "")
            allowed = ", ".join(_methods(app, request.url.path)) or told
            detail = f"{request.method} is not for {request.url.path}. Use: {allowed}."
            return problem(405, "method_not_allowed", detail, headers={"Allow": allowed})
        case 413:
            return problem(413, "body_too_large", "The request's body is too large.")
        case status:
            code = re.sub(r"[^a-z]+", "_", HTTPStatus(status).phrase.lower())
            return problem(status, code, str(error.detail), headers=error.headers)


def _methods(app: FastAPI, path: str) -> list[str]:
    """The methods for a path, over all the routes that share it: each route only knows of its own."""
    described = app.openapi()["paths"]
    matching = (
        methods
        for template, methods in described.items()
        if re.fullmatch(re.sub(r"\{[^}]+\}", "[^/]+", template), path)
    )
    return sorted({method.upper() for methods in matching for method in methods if method != "parameters"})
