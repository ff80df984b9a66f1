"""What no client would send: bodies that are cut off, or said to be longer than anybody may send."""

from typing import Any

import anyio
from fastapi import FastAPI

from app.bootstrap import Registry
from tests.web.people import People
from tests.web.serving import serving

FORM = "multipart/form-data; boundary=x"
TAKING_BODIES = [
    ("/api/v1/budget", "application/json", 1024 * 1024),
    ("/api/v1/budgets", "application/json", 8 * 1024 * 1024),
    ("/api/v1/publishers", "application/json", 1024 * 1024),
    ("/api/v1/documents", FORM, 20 * 1024 * 1024 + 64 * 1024),
]


def sent(app: FastAPI, path: str, headers: dict[str, str], *messages: dict[str, Any]) -> list[Any]:
    """What an application sends to a request whose body comes in these messages. It may ask for no more of them; what
    it does not handle is raised here."""
    scope = {
        "type": "http",
        "method": "POST",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "headers": [(name.lower().encode(), value.encode("latin-1")) for name, value in headers.items()],
    }
    coming = iter(messages)
    answer: list[Any] = []

    async def receive() -> Any:
        return next(coming)

    async def send(message: Any) -> None:
        answer.append(message)

    anyio.run(app, scope, receive, send)
    return answer


def test_a_broken_line_is_no_mistake_of_ours(registry: Registry, people: People) -> None:
    app = serving(registry)
    begun = {"type": "http.request", "body": b'{"name":', "more_body": True}
    for path, kind, _ in TAKING_BODIES:
        headers = {**people["contributor"], "Content-Type": kind}
        start, _ = sent(app, path, headers, begun, {"type": "http.disconnect"})
        assert start["status"] == 400, path


def test_a_body_that_says_it_is_too_large_is_not_waited_for(registry: Registry, people: People) -> None:
    app = serving(registry)
    for path, kind, limit in TAKING_BODIES:
        headers = {**people["contributor"], "Content-Type": kind}
        for length in (str(limit + 1), "9" * 18):
            start, _ = sent(app, path, {**headers, "Content-Length": length})
            assert start["status"] == 413, (path, length)


def test_a_length_that_is_not_so_changes_nothing(registry: Registry, people: People) -> None:
    app = serving(registry)
    for path, kind, limit in TAKING_BODIES:
        whole = {"type": "http.request", "body": b" " * (limit + 1), "more_body": False}
        for length in ("\u00b2", "9" * 5000, "-1", "5"):
            headers = {**people["contributor"], "Content-Type": kind, "Content-Length": length}
            start, _ = sent(app, path, headers, whole)
            assert start["status"] == 413, (path, length[:9])
