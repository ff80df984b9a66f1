"""One piece of writing: who does it, when, in which transaction, with which files."""

from collections.abc import Iterable
from datetime import datetime

from app.core.allowance import Submitted
from app.core.claim import Subject, SubjectKind
from app.core.entries import Entry, Payload
from app.core.permissions import Role, Scope, require
from app.persistence import projection, stores
from app.persistence.queries import subjects
from app.persistence.session import WriteSession
from app.services import allowance
from app.services.ports import EvidenceStore


class Caller:
    """Who is asking: an account with its role, and the scopes that its token was issued with."""

    def __init__(self, account: str, role: Role, scopes: Iterable[Scope]) -> None:
        self.account = account
        self.role = role
        self.scopes = frozenset(scopes)


class Work:
    """What every writing service works with. Nothing is kept until whoever opened the session commits it."""

    def __init__(self, session: WriteSession, caller: Caller, now: datetime, store: EvidenceStore) -> None:
        self.session = session
        self.caller = caller
        self.now = now
        self.store = store

    @property
    def account(self) -> str:
        """The pseudonymous id of who is doing this."""
        return self.caller.account

    def require(self, scope: Scope) -> None:
        """Raises where the caller's role or token does not reach to an action."""
        require(self.caller.role, self.caller.scopes, scope)

    def spend(self, what: Submitted) -> None:
        """Count one thing more that the caller submits today. Raises where a newcomer's allowance is used up."""
        allowance.spend(self.session, account=self.account, role=self.caller.role, now=self.now, what=what)

    def enter(self, payload: Payload, streams: Iterable[str]) -> Entry:
        """Append an entry, and bring the tables up to it."""
        return projection.record(self.session, actor=self.account, now=self.now, streams=list(streams), payload=payload)

    def text(self, content: str | None) -> str | None:
        """Keep a free text outside the ledger, and give its hash."""
        return None if content is None else stores.put_text(self.session, content=content)

    def streams_of(self, subject: Subject) -> tuple[str, ...]:
        """The streams that something about a subject touches: a fitment is also its vehicle's business."""
        if subject.kind is not SubjectKind.FITMENT:
            return (subject.stream,)
        fitment = subjects.fitment(self.session, id=subject.id)
        if fitment is None:
            return (subject.stream,)
        return (subject.stream, f"vehicle:{fitment.vehicle}", f"carrier:{fitment.carrier}/fits")
