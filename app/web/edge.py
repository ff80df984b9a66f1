"""Where a request meets the registry: who asks, what was sent, and the one transaction in which it is done.

A write begins and commits within the endpoint, in one thread: the answer is sent after the commit, and no thread waits
for a lock that another must be free to release.
"""

import asyncio
import re
from collections.abc import Awaitable, Callable
from contextlib import suppress
from typing import Annotated, Any, Final, TypeVar

import msgspec
from fastapi import Depends, Request
from fastapi.security.utils import get_authorization_scheme_param
from starlette.background import BackgroundTask
from starlette.responses import Response

from app.bootstrap import Registry
from app.core.errors import CantrailError, Fault, Kind
from app.persistence.session import AnySession, ReadSession, WriteSession
from app.services import idempotency, sessions, tokens
from app.services.faults import bad_input
from app.services.idempotency import Kept
from app.services.sessions import SignedIn
from app.services.tokens import TokenShown
from app.services.work import Caller, Work
from app.web import cookies
from app.web.bodies import BODY_LIMIT, BodyDecoder, query
from app.web.errors import ProblemError

JSON: Final = "application/json"
NOT_KEPT: Final = {"Cache-Control": "no-cache"}
PATIENCE_S: Final = 20.0
SLOWEST: Final = 128 * 1024
"""A body has 20 seconds to come, and a second more for each so many bytes that it may have."""
_KEY: Final = re.compile(r"[!-~]{1,200}")
_LENGTH: Final = re.compile(r"[0-9]{1,18}")

Shown = TypeVar("Shown")
Wanted = TypeVar("Wanted", bound=msgspec.Struct)


def registry_of(request: Request) -> Registry:
    """The registry that an application serves."""
    registry: Registry = request.app.state.registry
    return registry


def json_response(body: bytes, status: int = 200, headers: dict[str, str] | None = None) -> Response:
    """JSON, ready made."""
    return Response(body, status, {**NOT_KEPT, **(headers or {})}, JSON)


async def body_bytes(request: Request, limit: int = BODY_LIMIT) -> bytes:
    """A body of at most so many bytes, never more of it in memory. Raises too_large: at once where the request says how
    long its body is, or else when that much of it has come. Raises a ProblemError where it takes too long to come."""
    declared = request.headers.get("content-length")
    if declared is not None and _LENGTH.fullmatch(declared) and int(declared) > limit:
        raise _too_large(limit)
    chunks: list[bytes] = []
    size = 0
    try:
        async with asyncio.timeout(PATIENCE_S + limit / SLOWEST):
            async for chunk in request.stream():
                size += len(chunk)
                if size > limit:
                    raise _too_large(limit)
                chunks.append(chunk)
    except TimeoutError as error:
        detail = "This body took too long to come. Send less at once, or over a faster line."
        raise ProblemError(408, "body_too_slow", detail, headers={"Connection": "close"}) from error
    return b"".join(chunks)


def _too_large(limit: int) -> CantrailError:
    return CantrailError(
        Kind.TOO_LARGE, "body_too_large", f"This body is larger than {limit // 1024} KiB. Send less at once."
    )


def refuse_other_than_json(request: Request) -> None:
    """Raises unsupported for a body that says that it is something else than JSON."""
    sent = request.headers.get("content-type")
    if sent is not None and sent.partition(";")[0].strip().lower() != JSON:
        raise CantrailError(Kind.UNSUPPORTED, "not_json", f"Send the body as {JSON}, and say so in Content-Type.")


def body_of(wanted: type[Wanted]) -> Callable[[Request], Awaitable[Wanted]]:
    """A dependency that reads a body of one type."""
    decoder = BodyDecoder(wanted)

    async def read(request: Request) -> Wanted:
        refuse_other_than_json(request)
        raw = await body_bytes(request)
        request.state.raw = raw
        return decoder.decode(raw)

    return read


def query_of(wanted: type[Wanted]) -> Callable[[Request], Awaitable[Wanted]]:
    """A dependency that reads a query of one type."""

    async def read(request: Request) -> Wanted:
        return query(request.scope["query_string"], wanted)

    return read


def refuse_nul(request: Request) -> None:
    """Raises bad input for an address with a NUL character in it, which a database would choke on."""
    if "\0" in request.scope["path"] or b"%00" in request.scope["query_string"]:
        raise bad_input([Fault("", "bad_character", "This address has a NUL character in it. Leave it out.")])


class Bearer:
    """Who shows a token, or else the cookie of a session. Raises unauthenticated, before anything else of the request is
    looked at, and forbidden for what another site's page sends in somebody's session."""

    def __init__(self, request: Request) -> None:
        scheme, secret = get_authorization_scheme_param(request.headers.get("authorization"))
        self.by_session = not scheme and cookies.shown(request) is not None
        self._secret = cookies.shown(request) or "" if self.by_session else secret
        if not self._secret or not (self.by_session or scheme.lower() == "bearer"):
            raise CantrailError(
                Kind.UNAUTHENTICATED, "token_missing", "This needs a token: send it as `Authorization: Bearer TOKEN`."
            )
        if self.by_session:
            cookies.refuse_cross_site(request)
        refuse_nul(request)
        self._registry = registry_of(request)
        self._last: SignedIn | TokenShown
        with self._registry.database.read() as session:
            shown = self._look_up(session)
        request.state.account = shown.caller.account

    def caller(self, session: AnySession) -> Caller:
        """Who it is, as of now. Raises unauthenticated; and forbidden for somebody who has to set up one-time passwords
        before anything else."""
        shown = self._look_up(session)
        if isinstance(shown, SignedIn) and not shown.is_whole:
            raise CantrailError(
                Kind.FORBIDDEN,
                "one_time_password_needed",
                "Who reviews signs in with one-time passwords: set them up, at POST /account/one-time-password.",
            )
        return shown.caller

    def shown(self, session: AnySession) -> tuple[Caller, SignedIn | None]:
        """Who it is, whatever they may do, and their session if that is what they come with."""
        shown = self._look_up(session)
        return shown.caller, shown if isinstance(shown, SignedIn) else None

    def signed_in(self, session: AnySession) -> SignedIn:
        """Somebody in a session, whatever they may do in it. Raises forbidden for a token."""
        shown = self._look_up(session)
        if not isinstance(shown, SignedIn):
            raise CantrailError(
                Kind.FORBIDDEN, "session_needed", "A token is not enough for this. Sign in, at POST /session."
            )
        return shown

    def note(self, session: WriteSession) -> None:
        """Note that it was shown, where that was not noted of late."""
        if not self._last.is_due:
            return
        if isinstance(self._last, SignedIn):
            sessions.seen(session, self._last, self._registry.clock.now())
        else:
            tokens.used(session, self._secret, self._registry.clock.now())

    def noting(self) -> BackgroundTask | None:
        """The same once the answer is sent, for what only reads; it never waits for it."""
        return BackgroundTask(self._note_later) if self._last.is_due else None

    def _note_later(self) -> None:
        # Whoever waits for it has their answer; it is noted the next time.
        with suppress(CantrailError):
            self._registry.database.run(self.note)

    def _look_up(self, session: AnySession) -> SignedIn | TokenShown:
        now = self._registry.clock.now()
        if self.by_session:
            self._last = sessions.authenticate(session, secret=self._secret, now=now)
        else:
            self._last = tokens.authenticate(session, secret=self._secret, now=now)
        return self._last


class Reader:
    """Reading in a session of its own."""

    def __init__(self, request: Request) -> None:
        refuse_nul(request)
        self.registry = registry_of(request)

    def show(self, look: Callable[[ReadSession], Any], status: int = 200) -> Response:
        """What somebody may look at."""
        with self.registry.database.read() as session:
            shown = look(session)
        return json_response(msgspec.json.encode(shown), status)


class Writer:
    """Writing by somebody, in one transaction, done once for each idempotency key."""

    def __init__(self, request: Request, bearer: Annotated[Bearer, Depends()]) -> None:
        self.registry = registry_of(request)
        self._bearer = bearer
        self._request = request

    def write(self, do: Callable[[Work], Any], status: int = 200) -> Response:
        """Do something and show what came of it. `do` gives what is to be sent."""
        key = self._key()
        request = idempotency.fingerprint(
            self._request.method, self._request.url.path, getattr(self._request.state, "raw", b"")
        )

        def unit(session: WriteSession) -> Kept:
            # Asked again here: an account may have been disabled while the body was still on its way.
            by = self._bearer.caller(session)
            self._bearer.note(session)
            if key is not None:
                kept = idempotency.answered(session, account=by.account, key=key, request=request)
                if kept is not None:
                    return kept
            work = self.registry.work(session, by)
            done = Kept(status, msgspec.json.encode(do(work)))
            if key is not None:
                idempotency.keep(session, account=by.account, key=key, request=request, answer=done, now=work.now)
            return done

        answer = self.registry.database.run(unit)
        return json_response(answer.body, answer.status)

    def _key(self) -> str | None:
        key = self._request.headers.get("idempotency-key")
        if key is not None and _KEY.fullmatch(key) is None:
            raise ProblemError(400, "bad_idempotency_key", "An Idempotency-Key has 1 to 200 visible ASCII characters.")
        return key
