"""Where a request meets the registry: who asks, what was sent, and the one transaction in which it is done.

A write begins and commits within the endpoint, in one thread: the answer is sent after the commit, and no thread waits
for a lock that another must be free to release.
"""

import re
from collections.abc import Awaitable, Callable
from typing import Annotated, Any, Final, TypeVar

import msgspec
from fastapi import Depends, Request
from fastapi.security.utils import get_authorization_scheme_param
from starlette.responses import Response

from app.bootstrap import Registry
from app.core.errors import CantrailError, Fault, Kind
from app.persistence.session import ReadSession, WriteSession
from app.services import accounts, idempotency
from app.services.faults import bad_input
from app.services.idempotency import Kept
from app.services.work import Work
from app.web.bodies import BODY_LIMIT, BodyDecoder, query
from app.web.errors import ProblemError

JSON: Final = "application/json"
NOT_KEPT: Final = {"Cache-Control": "no-cache", "X-Content-Type-Options": "nosniff"}
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
    long its body is, or else when that much of it has come."""
    declared = request.headers.get("content-length")
    if declared is not None and _LENGTH.fullmatch(declared) and int(declared) > limit:
        raise _too_large(limit)
    chunks: list[bytes] = []
    size = 0
    async for chunk in request.stream():
        size += len(chunk)
        if size > limit:
            raise _too_large(limit)
        chunks.append(chunk)
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
    """Who shows a token. Raises unauthenticated, before anything else of the request is looked at."""

    def __init__(self, request: Request) -> None:
        scheme, self.secret = get_authorization_scheme_param(request.headers.get("authorization"))
        if scheme.lower() != "bearer" or not self.secret:
            raise CantrailError(
                Kind.UNAUTHENTICATED, "token_missing", "This needs a token: send it as `Authorization: Bearer TOKEN`."
            )
        refuse_nul(request)
        registry = registry_of(request)
        with registry.database.read() as session:
            accounts.authenticate(session, secret=self.secret, now=registry.clock.now())


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
        self._secret = bearer.secret
        self._request = request

    def write(self, do: Callable[[Work], Any], status: int = 200) -> Response:
        """Do something and show what came of it. `do` gives what is to be sent."""
        key = self._key()
        request = idempotency.fingerprint(
            self._request.method, self._request.url.path, getattr(self._request.state, "raw", b"")
        )

        def unit(session: WriteSession) -> Kept:
            # Asked again here: an account may have been disabled while the body was still on its way.
            by = accounts.authenticate(session, secret=self._secret, now=self.registry.clock.now())
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
