"""The cookie of a session, and whether a request that brings it comes from a page of this registry.

Browsers take a cookie whose name begins with `__Host-` only with Secure, for the whole host and for no other: over TLS,
or on the machine itself (http://localhost).
"""

from datetime import datetime
from typing import Final

from starlette.requests import Request
from starlette.responses import Response

from app.core.errors import CantrailError, Kind
from app.services.sessions import Opened

COOKIE: Final = "__Host-cantrail"
_SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS"})


def shown(request: Request) -> str | None:
    """What a browser shows of its session, if it shows anything."""
    return request.cookies.get(COOKIE) or None


def put(response: Response, opened: Opened, now: datetime) -> Response:
    """An answer with which a browser is given a session."""
    response.set_cookie(
        COOKIE,
        opened.secret,
        max_age=int((opened.expires_at - now).total_seconds()),
        path="/",
        secure=True,
        httponly=True,
        samesite="lax",
    )
    return response


def take(response: Response) -> Response:
    """An answer with which a browser's session cookie goes."""
    response.delete_cookie(COOKIE, path="/", secure=True, httponly=True, samesite="lax")
    return response


def refuse_cross_site(request: Request, *, from_page: bool = True) -> None:
    """Raises forbidden for an unsafe request that another site's page has sent, as the browser tells. Where neither
    header is there, it is no browser's; `from_page` refuses that too, because then nothing shows whose it is."""
    if request.method in _SAFE:
        return
    site = request.headers.get("sec-fetch-site")
    if site is not None:
        if site == "same-origin":
            return
        raise _cross_site()
    origin = request.headers.get("origin")
    if origin is None and not from_page:
        return
    if origin is None or origin.lower() != f"{request.url.scheme}://{request.headers.get('host', '')}".lower():
        raise _cross_site()


def _cross_site() -> CantrailError:
    return CantrailError(
        Kind.FORBIDDEN,
        "cross_site",
        "A request in a session comes from a page of this registry, and says so. A program sends a token instead.",
    )
