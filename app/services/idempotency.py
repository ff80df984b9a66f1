"""A request sent again with the same key is answered as it was, and done once."""

from datetime import datetime
from hashlib import sha256
from typing import NamedTuple

from app.core.errors import CantrailError, Kind
from app.persistence import stores
from app.persistence.queries import accounts as queries
from app.persistence.session import WriteSession


class Kept(NamedTuple):
    """An answer as it was sent."""

    status: int
    body: bytes


def fingerprint(method: str, path: str, body: bytes) -> str:
    """What makes two requests the same."""
    return sha256(b"\n".join((method.encode(), path.encode(), body))).hexdigest()


def answered(session: WriteSession, *, account: str, key: str, request: str) -> Kept | None:
    """What a request with this key was answered. Raises a conflict where the key was used for another request."""
    found = queries.answered(session, account_id=account, key=key)
    if found is None:
        return None
    if found.request_sha256 != request:
        raise CantrailError(
            Kind.CONFLICT,
            "idempotency_key_reused",
            "This Idempotency-Key was used for another request. Make a new key for each request.",
        )
    return Kept(found.status, found.body)


def keep(session: WriteSession, *, account: str, key: str, request: str, answer: Kept, now: datetime) -> None:
    """Keep an answer, in the transaction of what it tells."""
    stores.remember_answer(
        session,
        account_id=account,
        key=key,
        request_sha256=request,
        status=answer.status,
        body=answer.body,
        now=now,
    )
