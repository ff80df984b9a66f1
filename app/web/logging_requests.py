"""One line for each request: what was asked, of which route, by whom, what came of it and how long it took.

Of the address that was asked only the route's own pattern is written down, never the path or the query. Answers from
memory come by the thousand: what is written of those that went well is how many there were, once a minute.
"""

import logging
import time
from collections import Counter
from itertools import count
from secrets import token_hex
from typing import Any, Final

from starlette.types import ASGIApp, Receive, Scope, Send

from app.web.asking_address import address_of
from app.web.headers import Asked

COUNTED_FOR_S: Final = 60.0
SLOW_S: Final = 1.0
"""An answer from memory that took longer gets a line of its own."""

SECURITY: Final[dict[tuple[str, str], str]] = {
    ("POST", "/api/v1/session"): "signed_in",
    ("DELETE", "/api/v1/session"): "signed_out",
    ("DELETE", "/api/v1/sessions"): "signed_out_everywhere",
    ("POST", "/api/v1/password-resets"): "password_reset",
    ("POST", "/api/v1/account/password"): "password_changed",
    ("POST", "/api/v1/account/one-time-password/confirmation"): "one_time_password_set",
    ("POST", "/api/v1/account/one-time-password/removal"): "one_time_password_removed",
    ("POST", "/api/v1/account/recovery-codes"): "recovery_codes_made",
    ("POST", "/api/v1/account/tokens"): "token_issued",
    ("DELETE", "/api/v1/account/tokens/{id}"): "token_revoked",
    ("POST", "/api/v1/accounts"): "account_made",
    ("POST", "/api/v1/accounts/{id}/role"): "role_given",
    ("POST", "/api/v1/accounts/{id}/disabling"): "account_disabled",
    ("POST", "/api/v1/accounts/{id}/enabling"): "account_enabled",
    ("POST", "/api/v1/accounts/{id}/reset-code"): "reset_code_given",
    ("POST", "/api/v1/accounts/{id}/forgetting"): "account_forgotten",
    ("POST", "/api/v1/documents/{id}/takedown"): "taken_down",
    ("POST", "/sign-in"): "signed_in",
    ("POST", "/sign-out"): "signed_out",
    ("POST", "/account/sessions/ending"): "signed_out_everywhere",
    ("POST", "/password"): "password_reset",
    ("POST", "/account/password"): "password_changed",
    ("POST", "/account/one-time-password/confirmation"): "one_time_password_set",
    ("POST", "/account/one-time-password/removal"): "one_time_password_removed",
    ("POST", "/account/recovery-codes"): "recovery_codes_made",
    ("POST", "/account/tokens"): "token_issued",
    ("POST", "/account/tokens/{id}/revoking"): "token_revoked",
    ("POST", "/register"): "account_made",
    ("POST", "/people/{id}/role"): "role_given",
    ("POST", "/people/{id}/disabling"): "account_disabled",
    ("POST", "/people/{id}/enabling"): "account_enabled",
    ("POST", "/people/{id}/shutting-out"): "account_shut_out",
    ("POST", "/people/{id}/reset-code"): "reset_code_given",
    ("POST", "/people/{id}/forgetting"): "account_forgotten",
}
"""What a request that went well was, where who keeps watch wants to know of it."""

FAILED: Final[dict[tuple[str, str], str]] = {
    ("POST", "/api/v1/session"): "sign_in_failed",
    ("POST", "/api/v1/password-resets"): "password_reset_failed",
    ("POST", "/sign-in"): "sign_in_failed",
    ("POST", "/password"): "password_reset_failed",
}
"""What a refusal of somebody unknown was, where it was more than a missing token."""

REFUSALS: Final[dict[int, str]] = {401: "not_signed_in", 403: "refused", 429: "rate_limited"}
"""What a refusal is to who keeps watch. The request's `code` says more."""

CODES: Final[dict[str, str]] = {
    "address_refused": "hostile_fetch_refused",
    "ledger_cut_short": "ledger_refused",
    "ledger_damaged": "ledger_refused",
    "unknown_host": "refused",
}
"""What a request's code is to who keeps watch, where its status does not say it."""

_log: Final = logging.getLogger("cantrail.requests")


class Logged:
    """Gives every request an id and a line. It is the outermost layer, so that nothing happens outside of it."""

    def __init__(self, app: ASGIApp, *, prefix: str, addresses: bool = True, answers: bool = False) -> None:
        self._app = app
        self._api = prefix
        self._addresses = addresses
        self._answers = answers
        self._prefix = token_hex(6).encode()
        self._numbers = count(1)
        self._counted: Counter[int] = Counter()
        self._counted_since = time.monotonic()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand on, and tell what came of it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        begun = time.perf_counter()
        asked = Asked(scope["headers"])
        if not asked.request_id:
            asked.request_id = b"%s-%x" % (self._prefix, next(self._numbers))
        state: dict[str, Any] = scope.setdefault("state", {})
        state["asked"] = asked
        try:
            await self._app(scope, receive, send)
        except Exception:
            self._tell(scope, begun, mistake=True)
            raise
        took = time.perf_counter() - begun
        if "answered" in state and state["status"] < 400 and not self._answers and took < SLOW_S:
            self._count(state["status"])
        else:
            self._tell(scope, begun)

    def _tell(self, scope: Scope, begun: float, *, mistake: bool = False) -> None:
        state = scope["state"]
        status = state.get("status", 500 if mistake else None)
        route = template(scope, self._api)
        line = {
            "request_id": state["asked"].request_id.decode(),
            "method": scope["method"][:20],
            "route": route,
            "status": status,
            "ms": round((time.perf_counter() - begun) * 1000, 2),
            "account": state.get("account"),
            "address": address_of(dict(scope)) if self._addresses else None,
            "code": state.get("code"),
            "security": security(scope["method"], route, status, state.get("code")),
        }
        told = {name: value for name, value in line.items() if value is not None}
        if mistake:
            _log.exception("mistake", extra=told)
        elif status is None or status >= 500 or "security" in told:
            _log.warning("request", extra=told)
        else:
            _log.info("request", extra=told)

    def _count(self, status: int) -> None:
        self._counted[status] += 1
        now = time.monotonic()
        if now - self._counted_since >= COUNTED_FOR_S:
            counted = {str(each): number for each, number in sorted(self._counted.items())}
            _log.info("answers", extra={"seconds": round(now - self._counted_since, 1), "counted": counted})
            self._counted.clear()
            self._counted_since = now


def template(scope: Scope, prefix: str) -> str | None:
    """The pattern of the route that a request came to; None where it came to none."""
    found = scope["state"].get("answered") or getattr(scope.get("route"), "path", None)
    if found is None:
        return None
    # A router under a prefix may know its routes without it.
    under = scope["path"].startswith(f"{prefix}/") and not found.startswith(f"{prefix}/")
    return f"{prefix}{found}" if under else str(found)


def security(method: str, route: str | None, status: int | None, code: str | None) -> str | None:
    """What a request is to who keeps watch, if it is anything."""
    if code in CODES:
        return CODES[code]
    if status is None:
        return None
    if status < 400:
        return None if route is None else SECURITY.get((method, route))
    # On a page, a wrong password is a form that is shown again.
    is_refused = status in REFUSALS or code == "sign_in_failed"
    failed = FAILED.get((method, route)) if is_refused and route is not None else None
    return failed or REFUSALS.get(status, "not_signed_in" if is_refused else None)
