"""Sessions, tokens, codes, interests and attempts of accounts."""

from datetime import datetime
from typing import Final, NamedTuple

from sqlalchemy import bindparam, func
from sqlmodel import col, select

from app.core.permissions import Role
from app.persistence.models import (
    Account,
    DeclaredInterest,
    KnownAddress,
    OneTimePassword,
    Purpose,
    SignInCount,
    SingleUseCode,
    Token,
    WebSession,
)
from app.persistence.session import AnySession

_INTERESTS: Final = (
    select(DeclaredInterest)
    .where(col(DeclaredInterest.account_id) == bindparam("of"))
    .order_by(col(DeclaredInterest.publisher), col(DeclaredInterest.kind))
)
_SIGNED_IN: Final = (
    select(WebSession, Account)
    .join(Account, col(Account.id) == WebSession.account_id)
    .where(col(WebSession.token_sha256) == bindparam("token"))
)
"""Made once: whatever is done or looked at asks these, and building them takes longer than running them."""


class SignedIn(NamedTuple):
    """A session and whose it is."""

    session: WebSession
    account: Account


def signed_in(session: AnySession, *, token_sha256: str) -> SignedIn | None:
    """The session with a hash, over or not, and its account."""
    found = session.exec(_SIGNED_IN, params={"token": token_sha256}).first()
    return None if found is None else SignedIn(*found)


def sessions(session: AnySession, *, account_id: str, limit: int) -> list[WebSession]:
    """An account's sessions, the ones that are over too, those seen last first."""
    found = select(WebSession).where(WebSession.account_id == account_id)
    return list(session.exec(found.order_by(col(WebSession.last_seen_at).desc()).limit(limit)))


def one_time_password(session: AnySession, *, account_id: str) -> OneTimePassword | None:
    """What an account's codes are made from, confirmed or not."""
    return session.get(OneTimePassword, account_id)


def code(session: AnySession, *, code_sha256: str) -> SingleUseCode | None:
    """The code with a hash."""
    return session.get(SingleUseCode, code_sha256)


def codes_left(session: AnySession, *, account_id: str, purpose: Purpose) -> int:
    """How many codes an account has for a purpose."""
    counted = select(func.count()).where(
        col(SingleUseCode.account_id) == account_id, col(SingleUseCode.purpose) == purpose
    )
    return session.exec(counted).one()


def tokens(session: AnySession, *, account_id: str, after: str, limit: int) -> list[Token]:
    """Some of an account's tokens that are not revoked, by id, those after one."""
    found = (
        select(Token)
        .where(Token.account_id == account_id, col(Token.revoked_at).is_(None), Token.id > after)
        .order_by(col(Token.id))
        .limit(limit)
    )
    return list(session.exec(found))


def tokens_live(session: AnySession, *, account_id: str, now: datetime) -> int:
    """How many tokens of an account are good for something."""
    counted = select(func.count()).where(
        col(Token.account_id) == account_id,
        col(Token.revoked_at).is_(None),
        col(Token.expires_at).is_(None) | (col(Token.expires_at) > now),
    )
    return session.exec(counted).one()


def accounts_page(
    session: AnySession, *, after: str, limit: int, role: Role | None, named: str | None = None
) -> list[Account]:
    """Some accounts by id, those after one, the disabled ones too; of one role, or with something in their name or
    id."""
    found = select(Account).where(Account.id > after)
    if named is not None:
        lower = func.lower(Account.name)
        found = found.where(lower.contains(named.lower(), autoescape=True) | (col(Account.id) == named))
    if role is not None:
        found = found.where(Account.role == role)
    return list(session.exec(found.order_by(col(Account.id)).limit(limit)))


def stewards_live(session: AnySession) -> int:
    """How many stewards there are that are not disabled."""
    counted = select(func.count()).where(col(Account.role) == Role.STEWARD, col(Account.disabled_at).is_(None))
    return session.exec(counted).one()


def interests(session: AnySession, *, account_id: str) -> list[DeclaredInterest]:
    """Everything that an account has declared, also what it dropped."""
    return list(session.exec(_INTERESTS, params={"of": account_id}))


def sign_in_count(session: AnySession, *, bucket: str) -> SignInCount | None:
    """One count of attempts."""
    return session.get(SignInCount, bucket)


def known_address(session: AnySession, *, account_id: str, address: str) -> KnownAddress | None:
    """Whether an account has signed in from an address, and when last."""
    return session.get(KnownAddress, (account_id, address))
