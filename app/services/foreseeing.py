"""What a claim is weighed against before it is decided on, and what an approval would bring about: nothing is entered."""

from datetime import datetime
from typing import Final

import msgspec

from app.core import entries
from app.core.claim import Interest, Statement, Subject, SubjectKind
from app.core.dossier import Facts
from app.core.entries import Entry
from app.core.lifecycle import BINDING, DEAD, TRANSITIONS, Event, State
from app.core.mass import Unit
from app.core.plate import changes
from app.core.review import ClaimFacts, Decision
from app.core.scoring import Dossier, ScoredClaim, dossier_of, score_one
from app.persistence import ledger
from app.persistence.base import utc_text
from app.persistence.session import AnySession
from app.services.facts import Around, facts_about
from app.services.views.claims import ConfidenceView, claimed_of, confidence_of
from app.services.views.plates import ChangedView, changed_view

MOST_OTHERS: Final = 12
"""How many other claims are shown beside one; the subject's own page has them all."""


class OtherClaim(msgspec.Struct, frozen=True):
    """Another claim on the same figure: how certain it is, on how many roots it rests, and whether it shares one of
    them with the claim it stands beside."""

    id: str
    said: Statement
    source_type: str
    state: State
    confidence: float
    sets: bool
    roots: int
    shared: bool


class Foreseen(msgspec.Struct, frozen=True, kw_only=True):
    """A claim's confidence now and after one approval more by who asks, whether it would then set a figure, in whose
    place it would come, and what would change on its vehicle's plate; and whether who asks may check the record as well. `then` is null where nobody may approve it now."""

    now: ConfidenceView
    then: ConfidenceView | None
    sets: bool
    supersedes: str | None
    roots: int
    held: bool
    others: list[OtherClaim]
    more: int
    plate: list[ChangedView]
    may_confirm: bool


def foresee(session: AnySession, around: Around, claim_id: str, account: str, now: datetime, unit: Unit) -> Foreseen:
    """Weigh a claim as it stands, and as it would stand approved once more. Raises not_found."""
    dossier, facts = around(claimed_of(session, claim_id))
    scored = dossier.scored[claim_id]
    claim, subject = scored.claim, dossier.subject
    others = _others(claim, facts, dossier.scored)
    roots = facts.roots_of(claim)
    then, sets, replaced, plate = None, False, None, []
    if Event.APPROVE in TRANSITIONS[claim.state] and account not in claim.approvals:
        later, replaced = _approved(session, facts, claim, account, now)
        approved = score_one(later.claims[claim.id], later)
        then, sets = confidence_of(approved, later), approved.sets
        plate = _plate(dossier, dossier_of(later, subject), subject, unit)
    return Foreseen(
        now=confidence_of(scored, facts),
        then=then,
        sets=sets,
        supersedes=replaced,
        roots=len(roots),
        held=any(roots.values()),
        others=others[:MOST_OTHERS],
        more=max(len(others) - MOST_OTHERS, 0),
        plate=plate,
        may_confirm=_may_confirm(facts, subject, account),
    )


def _may_confirm(facts: Facts, subject: Subject, account: str) -> bool:
    """Whether the subject's record still wants a check that this account may give: that of gear raises nothing."""
    record = facts.records.get(subject)
    return (
        record is not None
        and subject.kind is not SubjectKind.GEAR
        and not record.confirmed
        and account not in record.authors
        and account not in record.confirmed_by
    )


def _approved(
    session: AnySession, facts: Facts, claim: ClaimFacts, account: str, now: datetime
) -> tuple[Facts, str | None]:
    """The facts as they would be, and the claim whose place this one would take."""
    later, _ = facts_about(session, claim.subject)
    seq, at = ledger.head(session) + 1, utc_text(now)
    reading = claim.reading_by(account)
    decided = entries.ClaimDecided(
        claim=claim.id,
        reading=None if reading is None else reading.id,
        decision=Decision.APPROVE,
        code=None,
        reason_sha256="",
        interest=Interest.NONE,
    )
    later.apply(Entry(seq, at, account, (), decided))
    older = facts.claims.get(claim.supersedes or "")
    if older is None or older.state not in BINDING or not score_one(later.claims[claim.id], later).sets:
        return later, None
    later.apply(Entry(seq + 1, at, account, (), entries.ClaimSuperseded(claim=older.id, by=claim.id)))
    return later, older.id


def _plate(before: Dossier | None, after: Dossier | None, subject: Subject, unit: Unit) -> list[ChangedView]:
    if subject.kind is not SubjectKind.VEHICLE or after is None:
        return []
    return [changed_view(subject.id, each, unit) for each in changes(before, after)]


def _others(claim: ClaimFacts, facts: Facts, scored: dict[str, ScoredClaim]) -> list[OtherClaim]:
    """The other claims on the same quantity of the same subject that stand or wait, those in its condition first, and
    of these the most certain."""
    said = claim.statement
    found = [
        each
        for each in scored.values()
        if each.claim.id != claim.id
        and each.claim.subject == claim.subject
        and each.claim.statement.quantity is said.quantity
        and each.claim.state not in DEAD
    ]
    found.sort(key=lambda each: (each.claim.statement.condition is not said.condition, -each.explanation.confidence))
    own = set(facts.roots_of(claim))
    return [
        OtherClaim(
            id=each.claim.id,
            said=each.claim.statement,
            source_type=each.claim.source_type,
            state=each.claim.state,
            confidence=each.explanation.confidence,
            sets=each.sets,
            roots=len(roots := facts.roots_of(each.claim)),
            shared=bool(own & set(roots)),
        )
        for each in found
    ]
