"""Refusals told as a page to whoever asked for one, those from outside of the pages' own routes too (an address that
leads nowhere, too much asked, a mistake of the registry's own)."""

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any, Final
from urllib.parse import quote

import msgspec
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.core.wording import CAUTIONS
from app.web.errors import MEDIA_TYPE
from app.web.pages.forms import local_path
from app.web.pages.refusal_words import heading, sentence
from app.web.pages.rendering import html

_ACCEPT: Final = b"accept"
_REPLACED: Final = frozenset({"content-type", "content-length", "content-security-policy", "cache-control"})


class Troubled:
    """Turns a problem into a page, for browsers and outside of the interface for programs."""

    def __init__(self, app: ASGIApp, *, prefix: str) -> None:
        self._app = app
        self._prefix = f"{prefix}/"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, in the form that was asked for."""
        if scope["type"] != "http" or scope["path"].startswith(self._prefix) or not _wants_a_page(scope):
            await self._app(scope, receive, send)
            return
        begun: Message | None = None
        told = bytearray()

        async def sending(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start" and _is_problem(message):
                begun = message
            elif begun is None:
                await send(message)
            else:
                told.extend(message.get("body", b""))
                if not message.get("more_body"):
                    await _page(scope, begun, bytes(told))(scope, receive, send)

        await self._app(scope, receive, sending)


def _wants_a_page(scope: Scope) -> bool:
    return any(b"text/html" in value for name, value in scope["headers"] if name == _ACCEPT)


def _is_problem(begun: Message) -> bool:
    return any(name == b"content-type" and value == MEDIA_TYPE.encode() for name, value in begun["headers"])


def _page(scope: Scope, begun: Message, body: bytes) -> ASGIApp:
    problem: dict[str, Any] = msgspec.json.decode(body)
    headers = {name.decode("latin-1"): value.decode("latin-1") for name, value in begun["headers"]}
    kept = {name: value for name, value in headers.items() if name not in _REPLACED}
    return refusal(scope, problem["code"], problem["detail"], begun["status"], kept)


def refusal(
    scope: Scope, code: str, told: str, status: int, headers: Mapping[str, str], *, visit: Any = None
) -> Response:
    """A refusal as a page; or as a few words in the place of the part of a page that was asked for, so that nothing
    stands on there that was true of what was asked before."""
    path = quote(scope["path"])
    query = scope.get("query_string", b"").decode("latin-1")
    is_part = any(name == b"hx-request" and value == b"true" for name, value in scope["headers"])
    shown = {
        "visit": visit,
        "cautions": CAUTIONS,
        "code": code,
        "heading": heading(status),
        "sentence": sentence(code, told),
        "status": status,
        "is_asked": scope["method"] in {"GET", "HEAD"},
        "here": local_path(f"{path}?{query}" if query else path),
        "logged_as": _logged_as(scope) if status >= HTTPStatus.INTERNAL_SERVER_ERROR else "",
    }
    if is_part and shown["is_asked"]:
        return html("trouble_part.html", shown, status, {**headers, **in_place("#trouble")})
    return html("trouble.html", shown, status, headers)


def in_place(part: str) -> dict[str, str]:
    """The headers by which a part of a page, and no more, is put into the place of what was asked for. The place itself
    stays, for what is asked next."""
    return {"HX-Reselect": part, "HX-Reswap": "innerHTML"}


def _logged_as(scope: Scope) -> str:
    """The number under which the log has this request."""
    asked = scope.get("state", {}).get("asked")
    return "" if asked is None else asked.request_id.decode()
