"""Accounts, tokens and idempotency keys."""

from typing import NamedTuple

from sqlmodel import col, select

from app.core.permissions import Role
from app.persistence.models import Account, IdempotencyKey, Token
from app.persistence.session import AnySession


class Bearer(NamedTuple):
    """A token and whose it is."""

    token: Token
    account: Account


def account(session: AnySession, *, id: str) -> Account | None:
    """One account."""
    return session.get(Account, id)


def account_named(session: AnySession, *, name: str) -> Account | None:
    """The account with a name."""
    return session.exec(select(Account).where(Account.name == name)).first()


def accounts(session: AnySession, *, role: Role | None = None) -> list[Account]:
    """Every account by name, the disabled ones too; of one role."""
    wanted = select(Account) if role is None else select(Account).where(Account.role == role)
    return list(session.exec(wanted.order_by(col(Account.name))))


def bearer(session: AnySession, *, token_sha256: str) -> Bearer | None:
    """The token with a hash, whatever became of it, and its account."""
    found = session.exec(
        select(Token, Account)
        .join(Account, col(Account.id) == Token.account_id)
        .where(Token.token_sha256 == token_sha256)
    ).first()
    return None if found is None else Bearer(*found)


def token(session: AnySession, *, id: str) -> Token | None:
    """One token."""
    return session.get(Token, id)


def live_tokens(session: AnySession, *, account_id: str) -> list[Token]:
    """An account's tokens that nobody has revoked."""
    return list(session.exec(select(Token).where(Token.account_id == account_id, col(Token.revoked_at).is_(None))))


def answered(session: AnySession, *, account_id: str, key: str) -> IdempotencyKey | None:
    """What was answered to an account's request with a key."""
    return session.get(IdempotencyKey, (account_id, key))
