"""The desk: which work waits for reviewers, and in which order.

Work is taken by a time of its own, not by who shouts: its age, put forward by how many askers it keeps waiting, and
put back where a newcomer brought it. Both are bounded, so that whatever has waited longer than the two together comes
before everything that arrives today: age wins in the end. What would lower a vetted figure comes before all of it.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

import msgspec

from app.core.claim import Bound, Condition, Quantity, SourceType, Subject, factor_of, limit_pair, mass_of
from app.core.dossier import Facts
from app.core.lifecycle import BINDING, DEAD, UNDECIDED, State
from app.core.mass import Counts
from app.core.mismatch import stops_approval
from app.core.review import APPROVALS_TO_SET, ClaimFacts, Decision
from app.core.scope import overlap
from app.core.working_back import standing_statement, today

KNOWN_FROM: Final = 5
"""A newcomer is an author of whose claims two reviewers have approved fewer than this."""

DAYS_FOR_A_DOUBLING: Final = 2
MOST_DAYS_AHEAD: Final = 30
"""Each doubling of how often a figure was asked for in vain puts work two days forward, thirty at most."""

DAYS_BEHIND: Final = 7
"""A newcomer's work waits this much longer than a known hand's."""

HELD_FOR: Final = timedelta(minutes=30)
MOST_HELD: Final = 5
"""How long a piece of work is held before it is anybody's again, and how many somebody holds at a time."""


class WorkKind(StrEnum):
    """What there is to do."""

    FIRST_READING = "first_reading"
    EVIDENCE_BROUGHT = "evidence_brought"
    SECOND_READING = "second_reading"
    REVIEW_DUE = "review_due"
    SETTLEMENT = "settlement"
    MISMATCH = "mismatch"
    DERIVED_AGAIN = "derived_again"
    RECORD = "record"
    NEAR_COPY = "near_copy"
    FIND_EVIDENCE = "find_evidence"
    EVIDENCE_WANTED = "evidence_wanted"


READINGS: Final = frozenset(
    {WorkKind.FIRST_READING, WorkKind.EVIDENCE_BROUGHT, WorkKind.SECOND_READING, WorkKind.REVIEW_DUE}
)
"""Work that begins with a blind reading: two people do not do it at once, and the desk does not show the figure."""

FOR_AUTHORS: Final = frozenset({WorkKind.EVIDENCE_WANTED})
"""Work that waits for who entered the claim, and stands on no reviewer's desk."""

FOR_STEWARDS: Final = frozenset({WorkKind.MISMATCH})


class Due(msgspec.Struct, frozen=True, order=True):
    """A piece of work: what is to be done, about what, and since when it waits (RFC 3339, as the ledger writes it)."""

    kind: WorkKind
    about: str
    since: str


class Place(msgspec.Struct, frozen=True, order=True):
    """Where work stands: the lower `turn` first, then the earlier time."""

    turn: int
    stands_at: str


def place(since: str, *, asked: int, newcomer: bool, lowers: bool) -> Place:
    """The place of work that waits since a time, for a figure that was asked for in vain so many times."""
    ahead = min(DAYS_FOR_A_DOUBLING * max(asked, 0).bit_length(), MOST_DAYS_AHEAD)
    behind = DAYS_BEHIND if newcomer else 0
    moment = datetime.fromisoformat(since) + timedelta(days=behind - ahead)
    return Place(0 if lowers else 1, moment.replace(tzinfo=None).isoformat(timespec="microseconds") + "Z")


def work_on(claim: ClaimFacts) -> tuple[Due, ...]:
    """The work on one claim, as its own history gives it."""
    return tuple(sorted(_work_on(claim)))


def _work_on(claim: ClaimFacts) -> Iterator[Due]:
    if claim.state in DEAD:
        return
    stopped = stops_approval(claim.judgements)
    if claim.state is State.NEEDS_EVIDENCE:
        yield Due(WorkKind.EVIDENCE_WANTED, claim.id, _asked_at(claim) or claim.submitted_at)
    elif claim.state is State.SUBMITTED and not stopped:
        yield _undecided(claim)
    elif claim.state is State.APPROVED and not stopped:
        if len(claim.approvals) < APPROVALS_TO_SET:
            first = next(each.at for each in claim.reviews if each.decision == Decision.APPROVE)
            yield Due(WorkKind.SECOND_READING, claim.id, first)
        elif claim.overdue_years is not None and claim.review_by is not None:
            yield Due(WorkKind.REVIEW_DUE, claim.id, f"{claim.review_by}T00:00:00.000000Z")
    for dispute in claim.disputes:
        if dispute.suspends:
            yield Due(WorkKind.SETTLEMENT, dispute.id, dispute.at)
    judged = {each.reading for each in claim.judgements}
    for reading in claim.readings:
        if not reading.matches and reading.id not in judged:
            yield Due(WorkKind.MISMATCH, reading.id, reading.at)


def _undecided(claim: ClaimFacts) -> Due:
    if claim.source_type is SourceType.UNVERIFIED:
        return Due(WorkKind.FIND_EVIDENCE, claim.id, claim.submitted_at)
    asked = _asked_at(claim)
    if asked is None:
        return Due(WorkKind.FIRST_READING, claim.id, claim.submitted_at)
    brought = [citation.at for citation in claim.citations if citation.at >= asked]
    return Due(WorkKind.EVIDENCE_BROUGHT, claim.id, max(brought, default=asked))


def _asked_at(claim: ClaimFacts) -> str | None:
    """When a reviewer last asked for evidence."""
    return max((each.at for each in claim.reviews if each.decision == Decision.ASK_EVIDENCE), default=None)


def renewed_by(claim: ClaimFacts) -> bool:
    """Whether a claim past its review-by date has been read afresh: by two reviewers who keyed their readings and
    approved after that date. Those who approved it at first keyed theirs before, once and for all; also where the date
    is the very day on which they did, because its page changed on it."""
    if claim.state is not State.APPROVED or claim.overdue_years is None or claim.review_by is None:
        return False
    fresh = {
        each.reviewer
        for each in claim.reviews
        if each.decision == Decision.APPROVE and each.at[:10] > claim.review_by and _read_since(claim, each.reviewer)
    }
    return len(fresh) >= APPROVALS_TO_SET


def _read_since(claim: ClaimFacts, reviewer: str) -> bool:
    reading = claim.reading_by(reviewer)
    return reading is not None and reading.matches and reading.at[:10] > (claim.review_by or "")


# What lowers


def lowers(claim: ClaimFacts, facts: Facts) -> bool:
    """Whether an undecided claim would lower what two reviewers approved: it says less (of a mass: more) for some car
    that both are about. It may say yes where an answer would not move; never the other way round."""
    if claim.state not in UNDECIDED:
        return False
    vetted = [other for other in facts.standing() if _vetted_beside(other, claim)]
    same = [other for other in vetted if other.statement.quantity is claim.statement.quantity]
    counts = facts.counts_for(claim.subject)
    match claim.statement.quantity:
        case Quantity.OWN_MASS:
            if claim.statement.bound is Bound.AT_MOST:
                return False
            return _heavier(claim, same, counts)
        case Quantity.OFF_ROAD_FACTOR:
            factors = [factor_of(other.statement) for other in same]
            return bool(vetted) and factor_of(claim.statement) < min(factors, default=2)
        case Quantity.ROOF_LIMIT | Quantity.LOAD_RATING:
            return claim.statement.bound is not Bound.AT_LEAST and _less(claim, same, facts)


def may_be_lowered(facts: Facts, subject: Subject) -> bool:
    """Whether two reviewers approved anything about a subject that a new claim could lower."""
    return any(each.subject == subject and len(each.approvals) >= APPROVALS_TO_SET for each in facts.standing())


def _vetted_beside(other: ClaimFacts, claim: ClaimFacts) -> bool:
    here, there = claim.statement, other.statement
    return (
        other.subject == claim.subject
        and len(other.approvals) >= APPROVALS_TO_SET
        and overlap(here.scope, there.scope)
        and (here.condition is None or _go_together(here.condition, there.condition))
    )


def _go_together(one: Condition, other: Condition | None) -> bool:
    """Whether a figure in one condition plays a part in answers in another: both driving conditions do."""
    return other is None or one is other or Condition.PARKED not in {one, other}


def _heavier(claim: ClaimFacts, same: list[ClaimFacts], counts: Counts) -> bool:
    said = mass_of(claim.statement, counts)
    known = [mass for mass in (mass_of(other.statement, counts) for other in same) if mass is not None]
    return said is not None and bool(known) and said > max(known)


def _less(claim: ClaimFacts, same: list[ClaimFacts], facts: Facts) -> bool:
    counts = facts.counts_for(claim.subject)
    here = limit_pair(standing_statement(claim, facts), claim.subject.kind, counts)
    pairs = [limit_pair(standing_statement(other, facts), claim.subject.kind, counts) for other in same]
    if not pairs:
        return False
    return any(
        said is not None and (not known or said < min(known))
        for said, known in (
            (here.gross, [pair.gross for pair in pairs if pair.gross is not None]),
            (here.net, [pair.net for pair in pairs if pair.net is not None]),
        )
    )


# What is worked back


def unsettled_derivations(facts: Facts, claims: Iterable[ClaimFacts]) -> Iterator[tuple[ClaimFacts, str]]:
    """The standing claims that are worked back and should be looked at again, each with the time since when: what they
    take in stands no more, is disputed, or comes to another figure today."""
    for claim in claims:
        if claim.derivation is None or claim.state not in BINDING:
            continue
        taken = facts.taken_by(claim)
        found = today(claim, facts)
        if all(each.state not in DEAD and each.state is not State.DISPUTED for each in taken) and (
            found is not None and found.is_what(claim.statement) and standing_statement(claim, facts) == claim.statement
        ):
            continue
        yield claim, max((last_said(each) for each in taken), default=claim.submitted_at)


def last_said(claim: ClaimFacts) -> str:
    """When somebody last decided on a claim, disputed it or settled a dispute on it; else when it was entered."""
    return max(
        claim.submitted_at,
        *(each.at for each in claim.reviews),
        *(each.at for each in claim.disputes),
        *(vote.at for each in claim.disputes for vote in each.votes),
    )
