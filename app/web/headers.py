"""What every answer goes out with, and what is refused before anything else looks at it.

The header lists are bytes made once: an answer pays for one look at the headers that it has already.
"""

import re
from collections.abc import Iterable
from typing import Final

from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.web.errors import problem

RawHeaders = list[tuple[bytes, bytes]]

CSP: Final = b"content-security-policy"
CACHE: Final = b"cache-control"

ALWAYS: Final[RawHeaders] = [
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), geolocation=(), microphone=(), payment=(), usb=()"),
]
"""On every answer."""

DATA_CSP: Final = (CSP, b"default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
"""On every answer that does not bring a stricter or a page's own one."""

HSTS: Final = (b"strict-transport-security", b"max-age=31536000; includeSubDomains")
"""On every answer that went over TLS, as the proxy in front tells."""

OPEN: Final[RawHeaders] = [
    (b"access-control-allow-origin", b"*"),
    (b"access-control-expose-headers", b"ETag, Retry-After, X-Request-ID"),
    (b"cross-origin-resource-policy", b"cross-origin"),
]
"""On what anybody may read, from a page of any origin, and which nobody's credentials were sent for."""

CLOSED: Final[RawHeaders] = [(b"cross-origin-resource-policy", b"same-origin")]
"""On everything else."""

_FURTHER: Final = {
    (tls, is_open): [*ALWAYS, *([HSTS] if tls else []), *(OPEN if is_open else CLOSED)]
    for tls in (False, True)
    for is_open in (False, True)
}

PREFLIGHT: Final = {
    "Access-Control-Allow-Origin": "*",
    "Access-Control-Allow-Methods": "GET, POST",
    # No Authorization: a page of another origin asks as anybody, or not at all.
    "Access-Control-Allow-Headers": "Content-Type, If-None-Match, X-Request-ID",
    "Access-Control-Max-Age": "86400",
}

NO_STORE: Final = (CACHE, b"no-store")

METHODS: Final = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
LONGEST_PATH: Final = 2048
MOST_HEADERS: Final = 100
LONGEST_HEADERS: Final = 32 * 1024

_REQUEST_ID: Final = re.compile(rb"[A-Za-z0-9._-]{1,64}")


class Asked:
    """What the outermost layers need to know of a request's headers, found in one look."""

    __slots__ = ("authorization", "cookie", "host", "length", "preflight", "request_id")

    def __init__(self, headers: Iterable[tuple[bytes, bytes]]) -> None:
        found = dict(headers)
        get = found.get
        self.authorization = get(b"authorization", b"")
        self.cookie = get(b"cookie", b"")
        self.host = get(b"host", b"")
        self.preflight = get(b"access-control-request-method", b"")
        self.length = sum(map(len, found.values()))
        sent = get(b"x-request-id")
        self.request_id = sent if sent is not None and _REQUEST_ID.fullmatch(sent) else b""


class Guarded:
    """Puts the headers on every answer, its errors too, and refuses what no route should have to look at."""

    def __init__(self, app: ASGIApp, *, prefix: str, hosts: Iterable[str] = ()) -> None:
        self._app = app
        self._prefix = f"{prefix}/"
        self._asks = frozenset({f"{prefix}/budget", f"{prefix}/budget/options", f"{prefix}/budgets"})
        self._hosts = frozenset(host.lower().encode() for host in hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, refuse, or answer a browser's question whether it may ask."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        state = scope["state"]
        asked: Asked = state["asked"]
        credentials = bool(asked.authorization or asked.cookie)
        is_open = not credentials and self._is_open(scope["method"], scope["path"])
        further = _FURTHER[scope.get("scheme") == "https", is_open]

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                state["status"] = message["status"]
                message["headers"] = _completed(message.get("headers", ()), further, personal=credentials)
                message["headers"].append((b"x-request-id", asked.request_id))
            await send(message)

        refused = self._refused(scope, asked)
        if refused is not None:
            status, state["code"], detail, allow = refused
            await problem(status, state["code"], detail, headers=allow)(scope, receive, sending)
        elif asked.preflight and self._may_preflight(scope, asked):
            await Response(None, 204, headers=PREFLIGHT)(scope, receive, sending)
        else:
            await self._app(scope, receive, sending)

    def _is_open(self, method: str, path: str) -> bool:
        return path.startswith(self._prefix) and (method == "GET" or (method == "POST" and path in self._asks))

    def _may_preflight(self, scope: Scope, asked: Asked) -> bool:
        return scope["method"] == "OPTIONS" and self._is_open(asked.preflight.decode("latin-1"), scope["path"])

    def _refused(self, scope: Scope, asked: Asked) -> tuple[int, str, str, dict[str, str]] | None:
        """Status, code, sentence and further headers of what is refused."""
        if scope["method"] not in METHODS:
            allow = {"Allow": ", ".join(sorted(METHODS))}
            return 405, "method_not_allowed", "This method is for nothing here. Use GET or POST.", allow
        if len(scope["path"]) > LONGEST_PATH:
            return 414, "address_too_long", f"A path has at most {LONGEST_PATH} characters.", {}
        if asked.length > LONGEST_HEADERS or len(scope["headers"]) > MOST_HEADERS:
            most = f"Send at most {MOST_HEADERS} headers, and {LONGEST_HEADERS // 1024} KiB of them."
            return 431, "headers_too_large", most, {}
        if self._hosts and _without_port(asked.host.lower()) not in self._hosts:
            return 421, "unknown_host", "This server does not answer to the name in the Host header.", {}
        return None


def _completed(headers: Iterable[tuple[bytes, bytes]], further: RawHeaders, *, personal: bool) -> RawHeaders:
    """An answer's headers with those that every answer has. What somebody's credentials were sent for is kept by no
    cache, unless the answer says itself for how long its reader may keep it."""
    found = list(headers)
    names = dict(found)
    found += further
    if CSP not in names:
        found.append(DATA_CSP)
    kept = names.get(CACHE)
    if kept is None:
        found.append(NO_STORE)
    elif personal and kept == b"no-cache" and b"etag" not in names:
        found = [NO_STORE if name == CACHE else (name, value) for name, value in found]
    return found


def _without_port(host: bytes) -> bytes:
    """A Host header without its port; an IPv6 address stays in its brackets."""
    name, colon, port = host.rpartition(b":")
    return name if colon and port.isdigit() else host
