"""Sessions: who is signed in. A session is a row; what the browser shows is 256 random bits, of which the hash is kept."""

import secrets
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Final, NamedTuple

import msgspec

from app.core.errors import CantrailError, Kind
from app.core.permissions import MAY, Role
from app.persistence import people_stores as stores
from app.persistence.base import utc_text
from app.persistence.models import Account
from app.persistence.queries import people as queries
from app.persistence.session import AnySession, WriteSession
from app.services.work import Caller

TOKEN_BYTES: Final = 32
LASTS: Final = timedelta(hours=12)
IDLE: Final[dict[Role, timedelta]] = {
    Role.CONTRIBUTOR: timedelta(hours=2),
    Role.REVIEWER: timedelta(minutes=30),
    Role.STEWARD: timedelta(minutes=30),
}
"""After how long without a request a session is over."""

SEEN_EVERY: Final = timedelta(minutes=1)
MOST_SHOWN: Final = 50
NEEDS_SECOND_FACTOR: Final = frozenset({Role.REVIEWER, Role.STEWARD})


class Opened(NamedTuple):
    """A session just opened, and what its browser shows from now on."""

    secret: str
    expires_at: datetime


class SignedIn(NamedTuple):
    """Somebody in a session. Until a one-time password was shown, somebody who needs one may only set it up."""

    caller: Caller
    token_sha256: str
    second_factor: bool
    expires_at: datetime
    is_due: bool

    @property
    def is_whole(self) -> bool:
        """Whether more may be done in it than reading, and setting up one-time passwords."""
        return self.second_factor or self.caller.role not in NEEDS_SECOND_FACTOR


class SessionView(msgspec.Struct, frozen=True):
    """A session that is not over, without its secret."""

    began_at: str
    last_seen_at: str
    expires_at: str
    is_this: bool


def hashed(secret: str) -> str:
    """What is kept of what a browser shows."""
    return sha256(secret.encode()).hexdigest()


def open_session(session: WriteSession, account: Account, *, second_factor: bool, now: datetime) -> Opened:
    """Sign an account in, with a token that was never shown before."""
    opened = Opened(secrets.token_urlsafe(TOKEN_BYTES), now + LASTS)
    stores.add_session(
        session,
        account_id=account.id,
        token_sha256=hashed(opened.secret),
        second_factor=second_factor,
        now=now,
        expires_at=opened.expires_at,
    )
    return opened


def authenticate(session: AnySession, *, secret: str, now: datetime) -> SignedIn:
    """Who is in a session. Raises unauthenticated, without saying which of the reasons it is."""
    token_sha256 = hashed(secret)
    found = queries.signed_in(session, token_sha256=token_sha256)
    if found is None or found.account.disabled_at is not None or _is_over(found, now):
        raise CantrailError(Kind.UNAUTHENTICATED, "session_over", "You are not signed in any more. Sign in again.")
    role = found.account.role
    whole = found.session.second_factor or role not in NEEDS_SECOND_FACTOR
    return SignedIn(
        Caller(found.account.id, role, MAY[role] if whole else ()),
        token_sha256,
        found.session.second_factor,
        found.session.expires_at,
        now - found.session.last_seen_at >= SEEN_EVERY,
    )


def _is_over(found: queries.SignedIn, now: datetime) -> bool:
    kept = found.session
    return now >= kept.expires_at or now - kept.last_seen_at >= IDLE[found.account.role]


def open_of(session: AnySession, signed_in: SignedIn, now: datetime) -> list[SessionView]:
    """Where somebody is signed in, seen last first; the latest of them where there are very many."""
    role = signed_in.caller.role
    return [
        SessionView(
            utc_text(each.created_at),
            utc_text(each.last_seen_at),
            utc_text(each.expires_at),
            each.token_sha256 == signed_in.token_sha256,
        )
        for each in queries.sessions(session, account_id=signed_in.caller.account, limit=MOST_SHOWN)
        if now < each.expires_at and now - each.last_seen_at < IDLE[role]
    ]


def seen(session: WriteSession, signed_in: SignedIn, now: datetime) -> None:
    """Note that something was asked, so that the session does not end for idleness."""
    stores.session_seen(session, token_sha256=signed_in.token_sha256, now=now)


def end(session: WriteSession, signed_in: SignedIn) -> None:
    """Sign out."""
    stores.end_session(session, token_sha256=signed_in.token_sha256)


def end_all(session: WriteSession, account: str, *, but: SignedIn | None = None) -> None:
    """Sign an account out everywhere, or everywhere else."""
    stores.end_sessions(session, account_id=account, but="" if but is None else but.token_sha256)
