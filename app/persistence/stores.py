"""Writing to what is outside the ledger: accounts, tokens, idempotency keys, texts, kept answers and the outbox."""

from datetime import datetime
from hashlib import sha256
from typing import Final

from sqlalchemy import bindparam, delete, select, update
from sqlmodel import col

from app.core.permissions import Role
from app.persistence.base import adding_to, table_of
from app.persistence.models import Account, HeldText, IdempotencyKey, KeptReceipt, OutboxJob, Token
from app.persistence.session import WriteSession

_HELD: Final = select(table_of(HeldText).c.sha256).where(table_of(HeldText).c.sha256 == bindparam("of"))


def add_account(session: WriteSession, *, id: str, name: str, role: Role, now: datetime) -> Account:
    """A new account under a pseudonymous id."""
    account = Account(id=id, name=name, role=role, created_at=now)
    session.add(account)
    session.flush()
    return account


def set_role(session: WriteSession, *, account: Account, role: Role) -> None:
    """Give an account another role."""
    account.role = role
    session.add(account)


def disable_account(session: WriteSession, *, account: Account, now: datetime) -> None:
    """Disable an account, and revoke its tokens."""
    account.disabled_at = account.disabled_at or now
    session.add(account)
    live = col(Token.account_id) == account.id, col(Token.revoked_at).is_(None)
    session.exec(update(Token).where(*live).values(revoked_at=now))


def add_token(
    session: WriteSession,
    *,
    id: str,
    account_id: str,
    name: str,
    token_sha256: str,
    scopes: tuple[str, ...],
    now: datetime,
    expires_at: datetime | None,
) -> Token:
    """A new token, of which only the hash is known here."""
    token = Token(
        id=id,
        account_id=account_id,
        name=name,
        token_sha256=token_sha256,
        scopes=scopes,
        created_at=now,
        expires_at=expires_at,
    )
    session.add(token)
    session.flush()
    return token


def revoke_token(session: WriteSession, *, token: Token, now: datetime) -> None:
    """Revoke a token; one that is revoked already keeps its time."""
    token.revoked_at = token.revoked_at or now
    session.add(token)


def remember_answer(
    session: WriteSession,
    *,
    account_id: str,
    key: str,
    request_sha256: str,
    status: int,
    body: bytes,
    now: datetime,
) -> None:
    """Keep what a request with an idempotency key is answered, in the transaction of what it changed."""
    session.add(
        IdempotencyKey(
            account_id=account_id,
            key=key,
            request_sha256=request_sha256,
            status=status,
            body=body,
            created_at=now,
        )
    )
    session.flush()


def forget_answers(session: WriteSession, *, before: datetime) -> None:
    """Forget the answers that were given before a time: nobody will send those requests again."""
    session.exec(delete(IdempotencyKey).where(col(IdempotencyKey.created_at) < before))


def put_text(session: WriteSession, *, content: str) -> str:
    """Hold a text, and return its SHA-256. One that was taken down stays down."""
    digest = sha256(content.encode()).hexdigest()
    connection = session.connection()
    if connection.execute(_HELD, {"of": digest}).first() is None:
        connection.execute(adding_to(HeldText), {"sha256": digest, "content": content})
    return digest


def keep_receipt(
    session: WriteSession, *, digest: str, as_of: int, method: str, request: str, now: datetime
) -> KeptReceipt:
    """Keep an answer under its digest. One that is kept stays as it is, and one that was removed stays removed."""
    known = session.get(KeptReceipt, digest)
    if known is not None:
        return known
    row = KeptReceipt(digest=digest, as_of=as_of, method=method, request=request, kept_at=now)
    session.add(row)
    session.flush()
    return row


def remove_receipt(session: WriteSession, *, row: KeptReceipt, by: str, now: datetime) -> None:
    """Forget what was asked, and note who said so."""
    row.request = None
    row.removed_at = now
    row.removed_by = by
    session.add(row)
    session.flush()


def put_job(session: WriteSession, *, kind: str, about: str, due_at: datetime) -> None:
    """A job of the outbox, from its first try. One that waits already is due at the earlier of the two times; one that a
    worker has is taken from it."""
    known = session.get(OutboxJob, (kind, about))
    if known is not None:
        due_at = due_at if known.lease is not None else min(known.due_at, due_at)
        session.delete(known)
        session.flush()
    session.add(OutboxJob(kind=kind, about=about, due_at=due_at))
    session.flush()


def lease_job(session: WriteSession, *, job: OutboxJob, lease: str, until: datetime) -> None:
    """Let one worker have a job for a while."""
    job.lease = lease
    job.leased_until = until
    session.add(job)
    session.flush()


def lose_job(session: WriteSession, *, job: OutboxJob, failure: str) -> None:
    """Whoever had a job is gone. Only how often that has happened in a row is counted."""
    job.attempts = job.attempts + 1 if job.failure == failure else 1
    job.failure = failure
    session.add(job)
    session.flush()


def strike_job(session: WriteSession, *, job: OutboxJob) -> None:
    """A job is done."""
    session.delete(job)
    session.flush()


def postpone_job(session: WriteSession, *, job: OutboxJob, due_at: datetime, failure: str) -> None:
    """A job has failed and is tried again later."""
    job.attempts += 1
    job.due_at = due_at
    job.lease = None
    job.leased_until = None
    job.failure = failure
    session.add(job)
    session.flush()
