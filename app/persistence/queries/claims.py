"""Claims and what happened to them: by id, by subject, for the desk, for superseding and for the daily run."""

from typing import Final, NamedTuple

from sqlalchemy import bindparam
from sqlalchemy import select as pick
from sqlmodel import col, func, select
from sqlmodel.sql.expression import SelectOfScalar

from app.core.claim import Condition, Quantity, Subject, SubjectKind
from app.core.lifecycle import BINDING, State
from app.core.review import DisputeState
from app.persistence.base import table_of
from app.persistence.models import (
    Citation,
    Claim,
    Decision,
    Dispute,
    Document,
    Reading,
    Settlement,
    TakenInput,
)
from app.persistence.session import AnySession

_BINDING: Final = select(Claim).where(
    col(Claim.subject_kind) == bindparam("kind"),
    col(Claim.subject_id) == bindparam("id"),
    col(Claim.state).in_(BINDING),
)
_PENDING: Final = _BINDING.where(col(Claim.supersedes).in_(_BINDING.with_only_columns(col(Claim.id)))).order_by(
    col(Claim.seq)
)
_DEPENDING: Final = (
    select(Claim.subject_kind, Claim.subject_id)
    .join(TakenInput, col(TakenInput.claim) == Claim.id)
    .where(col(TakenInput.subject_kind) == bindparam("kind"), col(TakenInput.subject_id) == bindparam("id"))
    .distinct()
)
_SUBJECT_OF: Final = pick(table_of(Claim).c.subject_kind, table_of(Claim).c.subject_id).where(
    table_of(Claim).c.id == bindparam("of")
)
"""Made once: every decision asks these, and building them takes longer than running them."""


class Rejected(NamedTuple):
    """A rejected claim, and the origins of what it cited: the hashes of its documents' files, or else their ids."""

    claim: Claim
    roots: frozenset[str]


def claim(session: AnySession, *, id: str) -> Claim | None:
    """One claim."""
    return session.get(Claim, id)


def subject_of(session: AnySession, *, claim: str) -> Subject | None:
    """The subject that a claim is on now; None where there is no such claim."""
    found = session.connection().execute(_SUBJECT_OF, {"of": claim}).first()
    return None if found is None else Subject(SubjectKind(found.subject_kind), found.subject_id)


def citation(session: AnySession, *, id: str) -> Citation | None:
    """One citation."""
    return session.get(Citation, id)


def reading(session: AnySession, *, id: str) -> Reading | None:
    """One reading."""
    return session.get(Reading, id)


def decision(session: AnySession, *, id: str) -> Decision | None:
    """One decision."""
    return session.get(Decision, id)


def dispute(session: AnySession, *, id: str) -> Dispute | None:
    """One dispute."""
    return session.get(Dispute, id)


def settlement(session: AnySession, *, id: str) -> Settlement | None:
    """One vote on a dispute."""
    return session.get(Settlement, id)


def claims_of(session: AnySession, *, subject: Subject, after_seq: int, limit: int) -> list[Claim]:
    """The claims on one subject whatever their state, oldest first, those that follow an entry."""
    wanted = _on(subject).where(Claim.seq > after_seq)
    return list(session.exec(wanted.order_by(col(Claim.seq)).limit(limit)))


def rejected_like(
    session: AnySession, *, subject: Subject, quantity: Quantity, condition: Condition | None
) -> list[Rejected]:
    """The rejected claims on the same subject, quantity and condition, oldest first."""
    # `==` with None is SQL's IS NULL here.
    wanted = _on(subject).where(
        Claim.quantity == quantity, col(Claim.condition) == condition, Claim.state == State.REJECTED
    )
    claims = list(session.exec(wanted.order_by(col(Claim.seq))))
    if not claims:
        return []
    cited = (
        select(Citation.claim, func.coalesce(Document.sha256, Document.id))
        .join(Document, col(Document.id) == Citation.document)
        .where(col(Citation.claim).in_([each.id for each in claims]))
    )
    roots: dict[str, set[str]] = {}
    for id, origin in session.exec(cited):
        roots.setdefault(id, set()).add(origin)
    return [Rejected(each, frozenset(roots.get(each.id, ()))) for each in claims]


def pending_supersessions(session: AnySession, *, subject: Subject) -> list[Claim]:
    """The claims on a subject that would take the place of another on it which still stands, oldest first: each does so
    once it sets."""
    return list(session.exec(_PENDING, params={"kind": subject.kind, "id": subject.id}))


def superseded_by(session: AnySession, *, claim: str) -> list[Claim]:
    """The claims whose place one has taken: they stand again if it is refuted."""
    return list(session.exec(select(Claim).where(Claim.superseded_by == claim).order_by(col(Claim.seq))))


def claims_to_age(session: AnySession, *, today: str) -> list[Claim]:
    """The standing claims whose review-by date, or the next whole year after it, is today (YYYY-MM-DD) or was before.

    A claim is past a date only on the day after: whoever appends `claim_aged` leaves out those of today.
    """
    wanted = select(Claim).where(col(Claim.next_aged) <= today, col(Claim.state).in_(BINDING))
    return list(session.exec(wanted.order_by(col(Claim.seq))))


def disputes_to_lapse(session: AnySession, *, opened_before: str) -> list[Dispute]:
    """The open disputes without held evidence from before a time, as the ledger writes times, oldest first."""
    wanted = select(Dispute).where(
        Dispute.state == DisputeState.OPEN, col(Dispute.document).is_(None), Dispute.at < opened_before
    )
    return list(session.exec(wanted.order_by(col(Dispute.at))))


def depending_on(session: AnySession, *, subject: Subject) -> list[Subject]:
    """The subjects with claims that are worked back from claims on a subject."""
    found = session.exec(_DEPENDING, params={"kind": subject.kind, "id": subject.id})
    return sorted(Subject(SubjectKind(kind), id) for kind, id in found)


def subjects_working_back(session: AnySession) -> list[Subject]:
    """The subjects with claims that are worked back from others."""
    wanted = (
        select(Claim.subject_kind, Claim.subject_id)
        .join(TakenInput, col(TakenInput.claim) == Claim.id)
        .where(col(Claim.state).in_(BINDING))
        .distinct()
    )
    return sorted(Subject(SubjectKind(kind), id) for kind, id in session.exec(wanted))


def working_back_from(session: AnySession, *, subject: Subject, limit: int) -> dict[str, Subject]:
    """The claims that are worked back from claims on a subject, by id, each with the subject that it is on now."""
    wanted = (
        select(TakenInput.claim, Claim.subject_kind, Claim.subject_id)
        .join(Claim, col(Claim.id) == TakenInput.claim)
        .where(TakenInput.subject_kind == subject.kind, TakenInput.subject_id == subject.id)
    )
    found = session.exec(wanted.order_by(col(TakenInput.claim)).limit(limit))
    return {id: Subject(SubjectKind(kind), of) for id, kind, of in found}


def citations_of(session: AnySession, *, claim: str) -> list[Citation]:
    """A claim's citations, in the order of citing."""
    cited = select(Citation).where(Citation.claim == claim)
    return sorted(session.exec(cited), key=lambda each: _number(each.id))


def disputes_of(session: AnySession, *, claim: str) -> list[Dispute]:
    """A claim's disputes, oldest first."""
    held = select(Dispute).where(Dispute.claim == claim)
    return sorted(session.exec(held), key=lambda each: _number(each.id))


def _on(subject: Subject) -> SelectOfScalar[Claim]:
    return select(Claim).where(Claim.subject_kind == subject.kind, Claim.subject_id == subject.id)


def _number(id: str) -> int:
    """Ids of what entries created are in the order of their numbers, not of their spelling."""
    return int(id[1:])
