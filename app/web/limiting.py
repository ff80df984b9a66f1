"""How much anybody may ask: so many requests in a time, by who is signed in or else by address.

The library `limits` counts. What it counts in is a store of our own in this process, unless several servers are told
to share one.
"""

import logging
import math
import time
from collections import OrderedDict
from collections.abc import Callable, Collection, Mapping
from enum import StrEnum
from functools import lru_cache
from hashlib import blake2b
from secrets import token_bytes
from typing import Any, Final

from limits import RateLimitItem, parse
from limits.errors import StorageError
from limits.storage import Storage, storage_from_string
from limits.strategies import FixedWindowRateLimiter
from starlette.concurrency import run_in_threadpool
from starlette.types import ASGIApp, Receive, Scope, Send

from app.web.asking_address import address_of
from app.web.errors import problem
from app.web.headers import Asked

IN_PROCESS: Final = "memory://"
MOST_COUNTED: Final = 100_000
"""Counters in memory at once. Where more addresses than that come within a window, the oldest counter goes."""

MOST_KNOWN: Final = 10_000
KNOWN_FOR_S: Final = 600.0
"""How long a token or session that was found good counts as good here; it lets nobody in, it only counts."""

_log: Final = logging.getLogger(__name__)


class Bucket(StrEnum):
    """What is counted apart."""

    READ = "read"
    WRITE = "write"
    UPLOAD = "upload"
    COSTLY = "costly"


Limits = Mapping[str, RateLimitItem]
Identify = Callable[[Scope], str | None]
"""Who shows a token or session, looked up; None where nobody good does."""

_TRIES: Final = parse("60/minute")
"""How many tokens an address may have looked up once it has asked too much."""

_UPLOADS: Final = frozenset({"document", "documents", "fetches"})
_COSTLY_POSTS: Final = frozenset({"budgets", "check", "derivations", "options", "receipts", "says"})
_COSTLY_GETS: Final = frozenset(
    {"letter", "openapi.json", "picture", "proof", "proofs", "provenance", "receipts", "resembling"}
)


def bucket_of(method: str, path: str, ask: str) -> Bucket:
    """In which bucket a request counts; `ask` is the path of one budget, which only reads."""
    if path == ask:
        return Bucket.READ
    parts = path.split("/")
    if method in {"GET", "HEAD", "OPTIONS"}:
        return Bucket.READ if _COSTLY_GETS.isdisjoint(parts) else Bucket.COSTLY
    if parts[-1] in _UPLOADS:
        return Bucket.UPLOAD
    return Bucket.COSTLY if parts[-1] in _COSTLY_POSTS else Bucket.WRITE


def _address(scope: Scope) -> str:
    client = scope.get("client")
    return _address_of_host(client[0] if client else None)


@lru_cache(4096)
def _address_of_host(host: str | None) -> str:
    """The same address comes again and again, and an IPv6 one takes longer to read than to count."""
    return address_of({"client": None if host is None else (host, 0)})


class Counters(Storage):
    """Counters in this process's memory, at most so many. Nothing is locked: two threads that count the same at once may
    count one for two, which nobody can live on."""

    STORAGE_SCHEME = ["bounded"]  # noqa: RUF012 - the library registers the class under it

    def __init__(self, uri: str | None = None, *, most: int = MOST_COUNTED, **options: Any) -> None:
        super().__init__(uri, **options)
        self._most = most
        self._counts: OrderedDict[str, tuple[int, float]] = OrderedDict()

    @property
    def base_exceptions(self) -> type[Exception]:
        """None is ever raised."""
        return StorageError

    def __len__(self) -> int:
        return len(self._counts)

    def incr(self, key: str, expiry: float, amount: int = 1) -> int:
        """Count, from nothing where the window has gone by."""
        now = time.monotonic()
        count, until = self._counts.get(key, (0, 0.0))
        if until <= now:
            # Moved to the end: what stands first has the oldest window, and goes first.
            self._counts.pop(key, None)
            if len(self._counts) >= self._most:
                self._counts.popitem(last=False)
            count, until = 0, now + expiry
        self._counts[key] = (count + amount, until)
        return count + amount

    def get(self, key: str) -> int:
        """The count, if its window is still open."""
        count, until = self._counts.get(key, (0, 0.0))
        return count if until > time.monotonic() else 0

    def get_expiry(self, key: str) -> float:
        """When the window closes, in seconds since the epoch."""
        _, until = self._counts.get(key, (0, 0.0))
        return time.time() + max(0.0, until - time.monotonic())

    def check(self) -> bool:
        """It is always there."""
        return True

    def reset(self) -> int:
        """Forget everything."""
        forgotten = len(self._counts)
        self._counts.clear()
        return forgotten

    def clear(self, key: str) -> None:
        """Forget one counter."""
        self._counts.pop(key, None)


class Limiter:
    """Counts, in a shared store where one is named; while that is out of reach, in this process."""

    def __init__(self, storage: str = IN_PROCESS) -> None:
        self.counters = Counters()
        self._here = FixedWindowRateLimiter(self.counters)
        self._shared = (
            None
            if storage == IN_PROCESS
            else FixedWindowRateLimiter(storage_from_string(storage, wrap_exceptions=True))
        )

    @property
    def is_shared(self) -> bool:
        """Whether a store is to be waited for."""
        return self._shared is not None

    def wait(self, item: RateLimitItem, *key: str) -> int:
        """Count a request. Gives 0 where it may be done, or else after how many seconds to come again."""
        if self._shared is not None:
            try:
                return _hit(self._shared, item, *key)
            except StorageError as error:
                _log.warning("rate_storage_unavailable", extra={"why": type(error.storage_error).__name__})
        return _hit(self._here, item, *key)


def _hit(limiter: FixedWindowRateLimiter, item: RateLimitItem, *key: str) -> int:
    if limiter.hit(item, *key):
        return 0
    closes, _ = limiter.get_window_stats(item, *key)
    return max(1, math.ceil(closes - time.time()))


class Known:
    """Which tokens and sessions were found good of late, by a hash that only this process can make."""

    def __init__(self) -> None:
        self._key = token_bytes(32)
        self._accounts: OrderedDict[bytes, tuple[str, float]] = OrderedDict()

    def account(self, credential: bytes) -> str | None:
        """Whose it is, if it is known."""
        account, until = self._accounts.get(self._hash(credential), ("", 0.0))
        return account if until > time.monotonic() else None

    def remember(self, credential: bytes, account: str) -> None:
        """It was found good just now."""
        if len(self._accounts) >= MOST_KNOWN:
            self._accounts.popitem(last=False)
        self._accounts[self._hash(credential)] = (account, time.monotonic() + KNOWN_FOR_S)

    def _hash(self, credential: bytes) -> bytes:
        return blake2b(credential, key=self._key, digest_size=16).digest()


class Limited:
    """Refuses who asks more than is allowed, before anything is read or looked up.

    A token that was not seen to be good counts for nothing: whoever makes tokens up shares the bucket of their address.
    Only one who has asked too much by that count has their token looked up, and a bounded number of times. What is
    answered at some paths, `uncounted`, is answered to everybody.
    """

    def __init__(
        self,
        app: ASGIApp,
        limiter: Limiter,
        *,
        anonymous: Limits,
        signed_in: Limits,
        prefix: str,
        identify: Identify,
        uncounted: Collection[str] = (),
    ) -> None:
        self._app = app
        self._limiter = limiter
        self._anonymous = anonymous
        self._signed_in = signed_in
        self._ask = f"{prefix}/budget"
        self._identify = identify
        self._uncounted = frozenset({"/healthz", *uncounted})
        self._known = Known()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand on, or refuse."""
        if scope["type"] != "http" or scope["path"] in self._uncounted:
            await self._app(scope, receive, send)
            return
        state = scope["state"]
        asked: Asked = state["asked"]
        credential = asked.authorization or asked.cookie
        account = self._known.account(credential) if credential else None
        bucket = bucket_of(scope["method"], scope["path"], self._ask)
        # A shared store is asked beside the event loop; what is counted in memory is not worth a thread.
        beside = self._limiter.is_shared
        wait = (
            await run_in_threadpool(self._count, bucket, account, scope)
            if beside
            else self._count(bucket, account, scope)
        )
        if wait and credential and account is None:
            account = await run_in_threadpool(self._looked_up, scope, credential)
            wait = await run_in_threadpool(self._count, bucket, account, scope) if account else wait
        if wait:
            state["code"] = "too_many_requests"
            state["account"] = account
            detail = f"Too many requests of this kind from you. Come again in {wait} seconds."
            refused = problem(429, "too_many_requests", detail, headers={"Retry-After": str(wait)})
            await refused(scope, receive, send)
            return
        await self._app(scope, receive, send)
        if credential and account is None and state.get("account"):
            self._known.remember(credential, state["account"])

    def _count(self, bucket: Bucket, account: str | None, scope: Scope) -> int:
        if account is not None:
            return self._limiter.wait(self._signed_in[bucket], bucket, account)
        return self._limiter.wait(self._anonymous[bucket], bucket, _address(scope))

    def _looked_up(self, scope: Scope, credential: bytes) -> str | None:
        """Who shows a token, if its address may still have one looked up."""
        if self._limiter.wait(_TRIES, "tries", _address(scope)):
            return None
        account = self._identify(scope)
        if account is not None:
            self._known.remember(credential, account)
        return account
