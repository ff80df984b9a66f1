"""Accounts and tokens, as the operator has them. An account's id is a pseudonym; its name stays in the account table."""

import secrets
from collections.abc import Collection
from datetime import datetime
from hashlib import sha256

import msgspec

from app.core.account_entries import OPERATOR
from app.core.errors import CantrailError, Kind
from app.core.permissions import MAY, Role, Scope
from app.persistence import stores
from app.persistence.models import Account
from app.persistence.queries import accounts as queries
from app.persistence.session import AnySession, WriteSession
from app.services import governing
from app.services.work import Caller

TOKEN_BYTES = 32
MARK = "cantrail_"
"""Begins every token, so that one that leaks is recognised."""


class AccountView(msgspec.Struct, frozen=True):
    """An account."""

    id: str
    name: str
    role: str
    disabled: bool


class IssuedToken(msgspec.Struct, frozen=True):
    """A token just issued. Its secret is shown this once; the registry keeps only the hash."""

    id: str
    account: str
    name: str
    scopes: list[str]
    expires_at: str | None
    token: str


def let_in(session: WriteSession, *, name: str, role: Role, now: datetime) -> AccountView:
    """A new account; that it is trusted with more than a contributor is, is entered. Raises a conflict where the name is
    taken."""
    add(session, name=name, role=Role.CONTRIBUTOR, now=now)
    return set_role(session, name=name, role=role, now=now)


def add(session: WriteSession, *, name: str, role: Role, now: datetime) -> AccountView:
    """A new account, of which the ledger is told nothing. Raises a conflict where the name is taken."""
    if not name.strip():
        raise CantrailError(Kind.INVALID, "name_missing", "Give the account a name.")
    if queries.account_named(session, name=name) is not None:
        raise CantrailError(Kind.CONFLICT, "name_taken", f"There is an account named {name!r} already.")
    return _shown(stores.add_account(session, id=f"a-{secrets.token_hex(8)}", name=name, role=role, now=now))


def set_role(session: WriteSession, *, name: str, role: Role, now: datetime) -> AccountView:
    """Give an account another role. Raises a conflict where no steward would be left."""
    account = named(session, name)
    governing.set_role(session, account, role, actor=OPERATOR, now=now)
    return _shown(account)


def disable(session: WriteSession, *, name: str, now: datetime) -> AccountView:
    """Disable an account and kill its tokens and sessions. Raises a conflict where no steward would be left."""
    account = named(session, name)
    governing.disable_account(session, account, actor=OPERATOR, now=now)
    return _shown(account)


def enable(session: WriteSession, *, name: str, now: datetime) -> AccountView:
    """Enable a disabled account again."""
    account = named(session, name)
    governing.enable_account(session, account, actor=OPERATOR, now=now)
    return _shown(account)


def forget(session: WriteSession, *, name: str, now: datetime) -> AccountView:
    """Forget who is behind an account."""
    account = named(session, name)
    governing.forget_account(session, account, actor=OPERATOR, now=now)
    return _shown(account)


def reset(session: WriteSession, *, name: str, one_time_password: bool, now: datetime) -> governing.ResetCode:
    """A code for a new password; `one_time_password` turns those off as well."""
    account = named(session, name)
    return governing.reset_account(session, account, one_time_password=one_time_password, actor=OPERATOR, now=now)


def everybody(session: AnySession) -> list[AccountView]:
    """Every account, by name."""
    return [_shown(each) for each in queries.accounts(session)]


def named(session: AnySession, name: str) -> Account:
    """The account of a name. Raises not_found."""
    account = queries.account_named(session, name=name)
    if account is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_account", f"There is no account named {name!r}.")
    return account


def issue_token(
    session: WriteSession,
    *,
    name: str,
    label: str,
    scopes: Collection[Scope],
    now: datetime,
    expires_at: datetime | None = None,
) -> IssuedToken:
    """A token for an account, with no more than the account's role may do."""
    account = named(session, name)
    if account.disabled_at is not None:
        raise CantrailError(Kind.CONFLICT, "account_disabled", f"The account {name!r} is disabled.")
    beyond = set(scopes) - MAY[account.role]
    if beyond:
        raise CantrailError(
            Kind.FORBIDDEN, "role_too_low", f"A {account.role} cannot have the scopes {', '.join(sorted(beyond))}."
        )
    secret = MARK + secrets.token_urlsafe(TOKEN_BYTES)
    ordered = tuple(sorted(scopes))
    token = stores.add_token(
        session,
        id=f"k-{secrets.token_hex(8)}",
        account_id=account.id,
        name=label,
        token_sha256=hashed(secret),
        scopes=ordered,
        now=now,
        expires_at=expires_at,
    )
    return IssuedToken(
        token.id, account.id, label, list(ordered), expires_at.isoformat() if expires_at else None, secret
    )


def revoke_token(session: WriteSession, *, id: str, now: datetime) -> None:
    """Revoke a token. Raises not_found."""
    token = queries.token(session, id=id)
    if token is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_token", f"There is no token {id!r}.")
    stores.revoke_token(session, token=token, now=now)


def authenticate(session: AnySession, *, secret: str, now: datetime) -> Caller:
    """Who shows a token. Raises unauthenticated, without saying which of the reasons it is."""
    return caller_of(bearer(session, secret=secret, now=now))


def bearer(session: AnySession, *, secret: str, now: datetime) -> queries.Bearer:
    """A token that is good, and whose it is. Raises as `authenticate` does."""
    found = queries.bearer(session, token_sha256=hashed(secret))
    if (
        found is None
        or found.token.revoked_at is not None
        or found.account.disabled_at is not None
        or (found.token.expires_at is not None and found.token.expires_at <= now)
    ):
        raise CantrailError(
            Kind.UNAUTHENTICATED, "bad_token", "This token is unknown, expired or revoked. Ask for a new one."
        )
    return found


def caller_of(found: queries.Bearer) -> Caller:
    """Whose a token is, with the scopes that it has and the role still reaches to."""
    scopes = frozenset(Scope(scope) for scope in found.token.scopes) & MAY[found.account.role]
    return Caller(found.account.id, found.account.role, scopes)


def hashed(secret: str) -> str:
    """What is kept of a token."""
    return sha256(secret.encode()).hexdigest()


def _shown(account: Account) -> AccountView:
    return AccountView(account.id, account.name, account.role, account.disabled_at is not None)
