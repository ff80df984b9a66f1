"""Refusals that come from outside of the pages' own routes (an address that leads nowhere, too much asked, a mistake of
the registry's own), told as a page to whoever asked for one."""

from typing import Any, Final

import msgspec
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.core.wording import CAUTIONS
from app.web.errors import MEDIA_TYPE
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
                    await _page(begun, bytes(told))(scope, receive, send)

        await self._app(scope, receive, sending)


def _wants_a_page(scope: Scope) -> bool:
    return any(b"text/html" in value for name, value in scope["headers"] if name == _ACCEPT)


def _is_problem(begun: Message) -> bool:
    return any(name == b"content-type" and value == MEDIA_TYPE.encode() for name, value in begun["headers"])


def _page(begun: Message, body: bytes) -> ASGIApp:
    problem: dict[str, Any] = msgspec.json.decode(body)
    headers = {name.decode("latin-1"): value.decode("latin-1") for name, value in begun["headers"]}
    kept = {name: value for name, value in headers.items() if name not in _REPLACED}
    shown = {
        "visit": None,
        "cautions": CAUTIONS,
        "code": problem["code"],
        "sentence": problem["detail"],
        "status": begun["status"],
    }
    return html("trouble.html", shown, begun["status"], kept)
