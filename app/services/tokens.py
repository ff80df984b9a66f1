"""One's own tokens: made in a session, listed, and revoked."""

from datetime import datetime, timedelta
from typing import Final, NamedTuple

import msgspec

from app.core.errors import CantrailError, Kind
from app.persistence import people_stores, stores
from app.persistence.base import utc_text
from app.persistence.models import Token
from app.persistence.queries import accounts as account_queries
from app.persistence.queries import people as queries
from app.persistence.session import AnySession, WriteSession
from app.services import accounts
from app.services.accounts import IssuedToken
from app.services.people_inputs import NewToken
from app.services.sessions import SignedIn
from app.services.views.records import Page
from app.services.work import Caller

MOST: Final = 50
"""How many tokens that are good for something an account may have."""

USED_EVERY: Final = timedelta(minutes=5)
"""How old the time of last use may be before it is written again."""


class TokenShown(NamedTuple):
    """Somebody who shows a token. `is_due`: its last use is to be written again."""

    caller: Caller
    is_due: bool


class TokenView(msgspec.Struct, frozen=True):
    """A token, without its secret. `last_used_at` is at most five minutes behind."""

    id: str
    name: str
    scopes: list[str]
    created_at: str
    expires_at: str | None
    last_used_at: str | None


def issue(session: WriteSession, signed_in: SignedIn, new: NewToken, now: datetime) -> IssuedToken:
    """A token of one's own, with no more than one may oneself. Raises a conflict where there are too many."""
    account = account_queries.account(session, id=signed_in.caller.account)
    if account is None or queries.tokens_live(session, account_id=account.id, now=now) >= MOST:
        raise CantrailError(Kind.CONFLICT, "too_many_tokens", f"You have {MOST} tokens. Revoke one first.")
    return accounts.issue_token(
        session,
        name=account.name,
        label=new.name,
        scopes=set(new.scopes),
        now=now,
        expires_at=now + timedelta(days=new.days),
    )


def page(session: AnySession, account: str, *, after: str, limit: int) -> Page[TokenView]:
    """Some of somebody's tokens that are not revoked, by id."""
    rows = queries.tokens(session, account_id=account, after=after, limit=limit + 1)
    shown = [_shown(each) for each in rows[:limit]]
    return Page(shown, shown[-1].id if len(rows) > limit else None)


def own(session: AnySession, account: str, id: str) -> TokenView:
    """One of somebody's tokens. Raises not_found for another's, as for one that there is not."""
    return _shown(_own(session, account, id))


def revoke(session: WriteSession, account: str, id: str, now: datetime) -> None:
    """Revoke one's own token. Raises not_found for another's, as for one that there is not."""
    stores.revoke_token(session, token=_own(session, account, id), now=now)


def authenticate(session: AnySession, *, secret: str, now: datetime) -> TokenShown:
    """Who shows a token. Raises unauthenticated, without saying which of the reasons it is."""
    found = accounts.bearer(session, secret=secret, now=now)
    last = found.token.last_used_at
    return TokenShown(accounts.caller_of(found), last is None or now - last >= USED_EVERY)


def used(session: WriteSession, secret: str, now: datetime) -> None:
    """Note that a token was shown."""
    people_stores.token_used(session, token_sha256=accounts.hashed(secret), now=now)


def _own(session: AnySession, account: str, id: str) -> Token:
    token = account_queries.token(session, id=id)
    if token is None or token.account_id != account:
        raise CantrailError(Kind.NOT_FOUND, "no_such_token", f"You have no token {id!r}.")
    return token


def _shown(token: Token) -> TokenView:
    return TokenView(
        token.id,
        token.name,
        list(token.scopes),
        utc_text(token.created_at),
        None if token.expires_at is None else utc_text(token.expires_at),
        None if token.last_used_at is None else utc_text(token.last_used_at),
    )
