"""Writing sessions, passwords, codes, interests and attempts: what is outside the ledger about people."""

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import delete, update
from sqlmodel import col, select

from app.core.claim import Interest
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
from app.persistence.session import WriteSession


def set_password(session: WriteSession, *, account: Account, password_hash: str | None) -> None:
    """Give an account another password, by its hash."""
    account.password_hash = password_hash
    session.add(account)
    session.flush()


def enable_account(session: WriteSession, *, account: Account) -> None:
    """Let a disabled account act again. Its tokens stay revoked."""
    account.disabled_at = None
    session.add(account)
    session.flush()


def forget_name(session: WriteSession, *, account: Account, now: datetime) -> None:
    """Put an account's pseudonym in the place of its name."""
    account.name = account.id
    account.forgotten_at = account.forgotten_at or now
    session.add(account)
    session.flush()


# Sessions and tokens


def add_session(
    session: WriteSession,
    *,
    account_id: str,
    token_sha256: str,
    second_factor: bool,
    now: datetime,
    expires_at: datetime,
) -> WebSession:
    """A new session, of which only the hash is known here."""
    added = WebSession(
        token_sha256=token_sha256,
        account_id=account_id,
        second_factor=second_factor,
        created_at=now,
        last_seen_at=now,
        expires_at=expires_at,
    )
    session.add(added)
    session.flush()
    return added


def end_session(session: WriteSession, *, token_sha256: str) -> None:
    """End one session."""
    session.exec(delete(WebSession).where(col(WebSession.token_sha256) == token_sha256))


def end_sessions(session: WriteSession, *, account_id: str, but: str = "") -> None:
    """End every session of an account, but for one."""
    session.exec(
        delete(WebSession).where(col(WebSession.account_id) == account_id, col(WebSession.token_sha256) != but)
    )


def session_seen(session: WriteSession, *, token_sha256: str, now: datetime) -> None:
    """Something was asked in a session."""
    session.exec(update(WebSession).where(col(WebSession.token_sha256) == token_sha256).values(last_seen_at=now))


def token_used(session: WriteSession, *, token_sha256: str, now: datetime) -> None:
    """A token was shown."""
    session.exec(update(Token).where(col(Token.token_sha256) == token_sha256).values(last_used_at=now))


# One-time passwords and codes


def put_one_time_password(session: WriteSession, *, account_id: str, sealed: str, now: datetime) -> None:
    """A new secret, not confirmed yet, in the place of one that was not confirmed either."""
    session.exec(delete(OneTimePassword).where(col(OneTimePassword.account_id) == account_id))
    session.add(OneTimePassword(account_id=account_id, sealed=sealed, created_at=now))
    session.flush()


def confirm_one_time_password(session: WriteSession, *, kept: OneTimePassword, now: datetime) -> None:
    """It counts from now on."""
    kept.confirmed_at = now
    session.add(kept)
    session.flush()


def step_used(session: WriteSession, *, kept: OneTimePassword, step: int) -> None:
    """The code of a time step was used: it and those before are taken no more."""
    kept.last_step = step
    session.add(kept)
    session.flush()


def drop_one_time_password(session: WriteSession, *, account_id: str) -> None:
    """An account has no one-time passwords any more, and no codes that stand in for them."""
    session.exec(delete(OneTimePassword).where(col(OneTimePassword.account_id) == account_id))
    drop_codes(session, account_id=account_id, purpose=Purpose.RECOVERY)


def put_codes(
    session: WriteSession,
    *,
    account_id: str,
    purpose: Purpose,
    hashes: Iterable[str],
    now: datetime,
    expires_at: datetime | None = None,
) -> None:
    """New codes for a purpose, in the place of all that the account had for it."""
    drop_codes(session, account_id=account_id, purpose=purpose)
    for each in hashes:
        session.add(
            SingleUseCode(
                code_sha256=each, account_id=account_id, purpose=purpose, created_at=now, expires_at=expires_at
            )
        )
    session.flush()


def use_code(session: WriteSession, *, code: SingleUseCode) -> None:
    """A code was used."""
    session.delete(code)
    session.flush()


def drop_codes(session: WriteSession, *, account_id: str, purpose: Purpose) -> None:
    """None of an account's codes for a purpose works any more."""
    session.exec(
        delete(SingleUseCode).where(col(SingleUseCode.account_id) == account_id, col(SingleUseCode.purpose) == purpose)
    )


# Interests


def declare(session: WriteSession, *, account_id: str, publisher: str, kind: Interest, now: datetime) -> None:
    """An interest is there, from now on or still."""
    kept = session.get(DeclaredInterest, (account_id, publisher, kind))
    if kept is None:
        kept = DeclaredInterest(account_id=account_id, publisher=publisher, kind=kind, declared_at=now)
    kept.dropped_at = None
    session.add(kept)
    session.flush()


def drop_interest(session: WriteSession, *, kept: DeclaredInterest, now: datetime) -> None:
    """An interest is there no more, as its owner says."""
    kept.dropped_at = kept.dropped_at or now
    session.add(kept)
    session.flush()


# Attempts to sign in


def set_count(session: WriteSession, *, bucket: str, tries: int, since: datetime) -> None:
    """A count is so much, in a window that began then."""
    kept = session.get(SignInCount, bucket) or SignInCount(bucket=bucket, tries=0, since=since)
    kept.tries = tries
    kept.since = since
    session.add(kept)
    session.flush()


def know_address(session: WriteSession, *, account_id: str, address: str, now: datetime, most: int) -> None:
    """An account has signed in from an address; the `most` that it signed in from last are known."""
    kept = session.get(KnownAddress, (account_id, address)) or KnownAddress(
        account_id=account_id, address=address, last_at=now
    )
    kept.last_at = now
    session.add(kept)
    session.flush()
    all_known = (
        select(KnownAddress).where(KnownAddress.account_id == account_id).order_by(col(KnownAddress.last_at).desc())
    )
    for each in list(session.exec(all_known))[most:]:
        session.delete(each)
    session.flush()


def forget_addresses(session: WriteSession, *, account_id: str) -> None:
    """No address is known for an account any more."""
    session.exec(delete(KnownAddress).where(col(KnownAddress.account_id) == account_id))


def forget_tokens(session: WriteSession, *, account_id: str) -> None:
    """Nothing is kept of an account's tokens, nor of what it named them."""
    session.exec(delete(Token).where(col(Token.account_id) == account_id))


def forget_interests(session: WriteSession, *, account_id: str) -> None:
    """Nothing is known of whom an account works for."""
    session.exec(delete(DeclaredInterest).where(col(DeclaredInterest.account_id) == account_id))


def clean(session: WriteSession, *, now: datetime, counts_before: datetime, addresses_before: datetime) -> None:
    """Remove sessions and codes that are over, and attempts and addresses of long ago."""
    session.exec(delete(WebSession).where(col(WebSession.expires_at) <= now))
    session.exec(delete(SingleUseCode).where(col(SingleUseCode.expires_at) <= now))
    session.exec(delete(SignInCount).where(col(SignInCount.since) < counts_before))
    session.exec(delete(KnownAddress).where(col(KnownAddress.last_at) < addresses_before))
