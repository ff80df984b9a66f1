"""What happened to one claim: its readings, decisions and disputes, folded from the entries that name it.

The fold is the only reader of a claim's history. The tables are written from it, and so are answers as of any entry.
"""

from collections.abc import Iterable
from datetime import date
from enum import StrEnum

import msgspec

from app.core import entries
from app.core.cited import Change, Citation, citation, looked_at
from app.core.claim import Interest, SourceType, Statement, Subject
from app.core.derived import Derivation
from app.core.entries import Entry, Payload, named
from app.core.errors import CantrailError, Kind
from app.core.lifecycle import BINDING, Event, State, after
from app.core.mismatch import Judgement
from app.core.pages import PageOutcome

YEARS_TO_REVIEW = {SourceType.MANUAL_PAGE: 5}
YEARS_TO_REVIEW_OTHERWISE = 2
REFUTERS_NEEDED = 2
APPROVALS_TO_SET = 2

Evidencing = entries.CitationAdded | entries.ClaimDerived | entries.CitationRead | entries.EvidenceChanged
"""What happens to the evidence of a claim."""


class Decision(StrEnum):
    """What a reviewer may decide."""

    APPROVE = "approve"
    REJECT = "reject"
    ASK_EVIDENCE = "ask_evidence"


class Settlement(StrEnum):
    """How a reviewer may settle a dispute."""

    UPHOLD = "uphold"
    REFUTE = "refute"


class DisputeState(StrEnum):
    """What became of a dispute."""

    OPEN = "open"
    UPHELD = "upheld"
    REFUTED = "refuted"
    LAPSED = "lapsed"


class RejectionCode(StrEnum):
    """Why a claim is rejected or refuted."""

    WRONG_VEHICLE = "wrong_vehicle"
    WRONG_CONDITION = "wrong_condition"
    CARRIER_RATING_QUOTED = "carrier_rating_quoted"
    UNIT_ERROR = "unit_error"
    MISREAD = "misread"
    WRONG_SCOPE = "wrong_scope"
    SUPERSEDED_EDITION = "superseded_edition"
    NO_EVIDENCE = "no_evidence"
    DUPLICATE = "duplicate"
    OTHER = "other"


class Reading(msgspec.Struct, frozen=True):
    """A reviewer's blind reading, and in what the claim goes beyond it; of what is worked back, the rows too."""

    id: str
    reviewer: str
    statement: Statement
    differences: tuple[str, ...]
    at: str
    derivation: Derivation | None = None

    @property
    def matches(self) -> bool:
        """Whether the claim stays within what the reviewer read."""
        return not self.differences


class Review(msgspec.Struct, frozen=True):
    """A reviewer's decision."""

    id: str
    reviewer: str
    reading: str | None
    decision: str
    code: str | None
    reason_sha256: str
    interest: Interest
    at: str


class Vote(msgspec.Struct, frozen=True):
    """A reviewer's settlement of a dispute."""

    id: str
    reviewer: str
    settlement: str
    code: str | None
    reason_sha256: str
    at: str


class Dispute(msgspec.Struct, frozen=True):
    """A challenge to a claim, with or without evidence held against it."""

    id: str
    by: str
    document: str | None
    page: str | None
    reason_sha256: str
    interest: Interest
    at: str
    state: DisputeState = DisputeState.OPEN
    votes: tuple[Vote, ...] = ()

    @property
    def suspends(self) -> bool:
        """Whether it stops the claim from setting until it is settled."""
        return self.state is DisputeState.OPEN and self.document is not None


class ClaimFacts(msgspec.Struct, frozen=True):
    """A claim and all that happened to it, up to some entry."""

    id: str
    seq: int
    subject: Subject
    statement: Statement
    source_type: SourceType
    publisher: str | None
    author: str
    interest: Interest
    submitted_at: str
    supersedes: str | None
    answers_rejection: str | None
    answer_sha256: str | None
    state: State = State.SUBMITTED
    approvals: tuple[str, ...] = ()
    review_by: str | None = None
    overdue_years: int | None = None
    superseded_by: str | None = None
    citations: tuple[Citation, ...] = ()
    readings: tuple[Reading, ...] = ()
    reviews: tuple[Review, ...] = ()
    disputes: tuple[Dispute, ...] = ()
    derivation: Derivation | None = None
    changes: tuple[Change, ...] = ()
    judgements: tuple[Judgement, ...] = ()

    @property
    def binds(self) -> bool:
        """A claim binds once one reviewer has approved it and it is not rejected, withdrawn or superseded."""
        return self.state in BINDING and bool(self.approvals)

    def reading_by(self, reviewer: str) -> Reading | None:
        """One reviewer's reading of this claim."""
        return next((reading for reading in self.readings if reading.reviewer == reviewer), None)

    def dispute(self, id: str) -> Dispute | None:
        """One of its disputes."""
        return next((dispute for dispute in self.disputes if dispute.id == id), None)


def claim_facts(history: Iterable[Entry]) -> ClaimFacts:
    """Fold the entries of one claim's stream, oldest first; what happens to another claim and only names this one is
    passed over. Raises ValueError where the first is not the claim."""
    claim: ClaimFacts | None = None
    for entry in history:
        if claim is None:
            claim = begun(entry)
        elif claim_named_by(entry.payload) == claim.id:
            claim = advance(claim, entry)
    if claim is None:
        raise ValueError("a claim's history begins with the claim")
    return claim


def begun(entry: Entry) -> ClaimFacts:
    """A claim as it is entered."""
    payload = entry.payload
    if not isinstance(payload, entries.ClaimSubmitted):
        raise ValueError(f"entry {entry.seq} does not begin a claim")
    return ClaimFacts(
        id=named(entries.CLAIM, entry.seq),
        seq=entry.seq,
        subject=payload.subject,
        statement=payload.statement,
        source_type=payload.source_type,
        publisher=payload.publisher,
        author=entry.actor,
        interest=payload.interest,
        submitted_at=entry.at,
        supersedes=payload.supersedes,
        answers_rejection=payload.answers_rejection,
        answer_sha256=payload.answer_sha256,
    )


def claim_named_by(payload: Payload) -> str | None:
    """The id of the claim to which an entry happens, if it happens to one."""
    return getattr(payload, "claim", None)


def advance(claim: ClaimFacts, entry: Entry) -> ClaimFacts:
    """The claim after one more of its entries. What is not about the claim itself leaves it as it is."""
    match entry.payload:
        case (
            entries.CitationAdded()
            | entries.ClaimDerived()
            | entries.CitationRead()
            | entries.EvidenceChanged() as evidencing
        ):
            return _evidenced(claim, entry, evidencing)
        case entries.ReadingKeyed() as keyed:
            id = named(entries.REVIEW, entry.seq)
            reading = Reading(id, entry.actor, keyed.statement, keyed.differences, entry.at, keyed.derivation)
            return msgspec.structs.replace(claim, readings=(*claim.readings, reading))
        case entries.ClaimDecided() as decided:
            return _decided(claim, entry, decided)
        case entries.ClaimWithdrawn():
            return _moved(claim, Event.WITHDRAW)
        case entries.ClaimDisputed() as disputed:
            return _disputed(claim, entry, disputed)
        case entries.DisputeSettled() as settled:
            return _settled(claim, entry, settled)
        case entries.DisputeLapsed() as lapsed:
            return _with_dispute(claim, lapsed.dispute, state=DisputeState.LAPSED)
        case entries.ClaimSuperseded() as superseded:
            return msgspec.structs.replace(_moved(claim, Event.SUPERSEDE), superseded_by=superseded.by)
        case entries.ClaimRevived():
            return _revived(claim)
        case entries.ClaimAged() | entries.ClaimRenewed() as dated:
            return _dated(claim, entry, dated)
        case entries.MismatchJudged() as judged:
            return msgspec.structs.replace(claim, judgements=(*claim.judgements, _judgement(entry, judged)))
        case _:
            return claim


def _moved(claim: ClaimFacts, event: Event) -> ClaimFacts:
    return msgspec.structs.replace(claim, state=after(claim.state, event))


def _evidenced(claim: ClaimFacts, entry: Entry, payload: Evidencing) -> ClaimFacts:
    match payload:
        case entries.CitationAdded() as added:
            cited = msgspec.structs.replace(claim, citations=(*claim.citations, citation(entry, added)))
            return _moved(cited, Event.ADD_EVIDENCE) if added.later else cited
        case entries.ClaimDerived() as derived:
            return msgspec.structs.replace(claim, derivation=derived.derivation)
        case entries.CitationRead() as read:
            return msgspec.structs.replace(claim, citations=looked_at(claim.citations, read))
        case entries.EvidenceChanged() as changed:
            return _changed(claim, entry, changed)


def _changed(claim: ClaimFacts, entry: Entry, changed: entries.EvidenceChanged) -> ClaimFacts:
    """A page that no longer shows the figure makes the claim due for review at once."""
    change = Change(changed.document, changed.sha256, changed.outcome, entry.at)
    review_by = claim.review_by
    if changed.outcome == PageOutcome.NOT_FOUND and review_by is not None:
        review_by = min(review_by, entry.at[:10])
    return msgspec.structs.replace(claim, changes=(*claim.changes, change), review_by=review_by)


def _decided(claim: ClaimFacts, entry: Entry, decided: entries.ClaimDecided) -> ClaimFacts:
    review = Review(
        id=named(entries.REVIEW, entry.seq),
        reviewer=entry.actor,
        reading=decided.reading,
        decision=decided.decision,
        code=decided.code,
        reason_sha256=decided.reason_sha256,
        interest=decided.interest,
        at=entry.at,
    )
    moved = msgspec.structs.replace(_moved(claim, Event(decided.decision)), reviews=(*claim.reviews, review))
    if decided.decision != Decision.APPROVE:
        return moved
    if entry.actor in moved.approvals:
        return moved
    approvals = (*moved.approvals, entry.actor)
    review_by = moved.review_by
    if len(approvals) == APPROVALS_TO_SET:
        review_by = _due(claim, entry.at)
    return msgspec.structs.replace(moved, approvals=approvals, review_by=review_by)


def _dated(claim: ClaimFacts, entry: Entry, payload: entries.ClaimAged | entries.ClaimRenewed) -> ClaimFacts:
    """A claim that is past its date by some years, or whose time begins again."""
    match payload:
        case entries.ClaimAged() as aged:
            return msgspec.structs.replace(claim, overdue_years=aged.years)
        case entries.ClaimRenewed():
            return msgspec.structs.replace(claim, overdue_years=None, review_by=_due(claim, entry.at))


def _due(claim: ClaimFacts, at: str) -> str:
    return years_after(at, YEARS_TO_REVIEW.get(claim.source_type, YEARS_TO_REVIEW_OTHERWISE))


def _judgement(entry: Entry, judged: entries.MismatchJudged) -> Judgement:
    return Judgement(
        id=named(entries.REVIEW, entry.seq),
        reading=judged.reading,
        steward=entry.actor,
        finding=judged.finding,
        reason_sha256=judged.reason_sha256,
        at=entry.at,
    )


def _disputed(claim: ClaimFacts, entry: Entry, disputed: entries.ClaimDisputed) -> ClaimFacts:
    dispute = Dispute(
        id=named(entries.DISPUTE, entry.seq),
        by=entry.actor,
        document=disputed.document,
        page=disputed.page,
        reason_sha256=disputed.reason_sha256,
        interest=disputed.interest,
        at=entry.at,
    )
    moved = _moved(claim, Event.DISPUTE) if dispute.suspends else claim
    return msgspec.structs.replace(moved, disputes=(*claim.disputes, dispute))


def _settled(claim: ClaimFacts, entry: Entry, settled: entries.DisputeSettled) -> ClaimFacts:
    vote = Vote(
        id=named(entries.REVIEW, entry.seq),
        reviewer=entry.actor,
        settlement=settled.settlement,
        code=settled.code,
        reason_sha256=settled.reason_sha256,
        at=entry.at,
    )
    dispute = claim.dispute(settled.dispute)
    if dispute is None or not dispute.suspends:
        raise CantrailError(Kind.CONFLICT, "not_now", f"{settled.dispute} does not suspend {claim.id}.")
    votes = (*dispute.votes, vote)
    if settled.settlement == Settlement.UPHOLD:
        return _with_dispute(_moved(claim, Event.UPHOLD), settled.dispute, votes=votes, state=DisputeState.UPHELD)
    if len({each.reviewer for each in votes if each.settlement == Settlement.REFUTE}) < REFUTERS_NEEDED:
        return _with_dispute(claim, settled.dispute, votes=votes)
    return _with_dispute(_moved(claim, Event.REFUTE), settled.dispute, votes=votes, state=DisputeState.REFUTED)


def _revived(claim: ClaimFacts) -> ClaimFacts:
    """A revived claim stands as it stood: with a dispute still unsettled, it comes back disputed."""
    revived = msgspec.structs.replace(_moved(claim, Event.REVIVE), superseded_by=None)
    return _moved(revived, Event.DISPUTE) if any(dispute.suspends for dispute in claim.disputes) else revived


def _with_dispute(
    claim: ClaimFacts, id: str, *, votes: tuple[Vote, ...] | None = None, state: DisputeState | None = None
) -> ClaimFacts:
    changed = tuple(
        msgspec.structs.replace(dispute, votes=dispute.votes if votes is None else votes, state=state or dispute.state)
        if dispute.id == id
        else dispute
        for dispute in claim.disputes
    )
    return msgspec.structs.replace(claim, disputes=changed)


def years_after(at: str, years: int) -> str:
    """The date, as YYYY-MM-DD, some years after a time; the 29th of February falls back to the 28th."""
    day = date.fromisoformat(at[:10])
    try:
        return day.replace(year=day.year + years).isoformat()
    except ValueError:
        return day.replace(year=day.year + years, day=28).isoformat()
