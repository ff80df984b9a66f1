"""One's own claims, and what became of each."""

from collections.abc import Sequence
from typing import Final

import msgspec

from app.core.claim import Basis, Bound, Condition, Subject, SubjectKind
from app.core.errors import invalid
from app.core.lifecycle import State
from app.core.mass import Per, Stated
from app.persistence.models import Claim, Decision, Settlement
from app.persistence.queries import own_claims as queries
from app.persistence.queries import subjects
from app.persistence.session import AnySession
from app.services.views.records import Page, text_of

LONGEST_CURSOR: Final = 15


class OwnClaim(msgspec.Struct, frozen=True, kw_only=True):
    """A claim that somebody entered; `name` is what its subject is called. `code`, `reason` and `at` are of the decision
    that it is rejected by, or of the one that asks for evidence."""

    id: str
    subject: Subject
    name: str | None
    quantity: str
    condition: Condition | None
    stated: Stated
    per: Per | None
    bound: Bound
    basis: Basis | None
    state: State
    approvals: int
    submitted_at: str
    superseded_by: str | None
    code: str | None
    reason: str | None
    at: str | None


def page(session: AnySession, account: str, *, cursor: str | None, limit: int) -> Page[OwnClaim]:
    """Some of the claims that an account entered, newest first."""
    rows = queries.claims_by(session, author=account, before_seq=_before(cursor), limit=limit + 1)
    ids = [each.id for each in rows[:limit] if each.state in {State.REJECTED, State.NEEDS_EVIDENCE}]
    decided, voted = queries.turned_down(session, claims=ids), queries.refuted(session, claims=ids)
    names = _names(session, rows[:limit])
    shown = [
        _shown(
            session, each, names.get((each.subject_kind, each.subject_id)), voted.get(each.id) or decided.get(each.id)
        )
        for each in rows[:limit]
    ]
    return Page(shown, str(rows[limit - 1].seq) if len(rows) > limit else None)


def _before(cursor: str | None) -> int | None:
    if cursor is None:
        return None
    if not cursor.isascii() or not cursor.isdigit() or len(cursor) > LONGEST_CURSOR:
        raise invalid("/cursor", "bad_cursor", "This cursor is none of this list's. Begin again without it.")
    return int(cursor)


def _names(session: AnySession, claims: Sequence[Claim]) -> dict[tuple[SubjectKind, str], str]:
    kinds = {each.subject_kind for each in claims}
    ids = {kind: {each.subject_id for each in claims if each.subject_kind is kind} for kind in kinds}
    return {
        (kind, id): name for kind in kinds for id, name in subjects.called(session, kind=kind, ids=ids[kind]).items()
    }


def _shown(session: AnySession, claim: Claim, name: str | None, turned_down: Decision | Settlement | None) -> OwnClaim:
    said = claim.statement
    return OwnClaim(
        id=claim.id,
        subject=Subject(claim.subject_kind, claim.subject_id),
        name=name,
        quantity=claim.quantity,
        condition=claim.condition,
        stated=said.stated,
        per=said.per,
        bound=said.bound,
        basis=said.basis,
        state=claim.state,
        approvals=claim.approvals,
        submitted_at=claim.submitted_at,
        superseded_by=claim.superseded_by,
        code=None if turned_down is None else turned_down.code,
        reason=None if turned_down is None else text_of(session, turned_down.reason_sha256),
        at=None if turned_down is None else turned_down.at,
    )
