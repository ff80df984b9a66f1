"""Claims as they are sent, with where they stand and how certain they are."""

from collections.abc import Iterator, Mapping, Sequence

import msgspec

from app.core.claim import AppliesTo, Basis, Bound, Condition, Statement, Subject, total_grams
from app.core.confidence import Cap, Explanation, Fragility, Point, fragility
from app.core.derived import Derivation
from app.core.dossier import Facts
from app.core.errors import CantrailError, Kind
from app.core.lifecycle import State
from app.core.mass import Per, Stated
from app.core.pages import Box
from app.core.review import ClaimFacts, Dispute
from app.core.scope import Scope
from app.core.scoring import ScoredClaim, score_one
from app.core.working_back import in_kilograms, today
from app.persistence.queries import claims as queries
from app.persistence.session import AnySession
from app.services.facts import facts_about
from app.services.views.records import texts_of


class BoxView(msgspec.Struct, frozen=True):
    """A place on a page, from its top left corner, in ten-thousandths of its width and height."""

    left: int
    top: int
    right: int
    bottom: int


def shown_box(box: Box | None) -> BoxView | None:
    """A place on a page as it is sent."""
    return None if box is None else BoxView(box.left, box.top, box.right, box.bottom)


class CitationView(msgspec.Struct, frozen=True):
    """A citation, with the words quoted. Once its page was read: whether the claim's figure stands there (`found`,
    `apart`, `not_found`, `no_text`), on which page of the file, and where on it."""

    id: str
    document: str
    page: str | None
    locator: str | None
    quote: str | None
    outcome: str | None
    found_page: int | None
    box: BoxView | None


class ChangeOfEvidence(msgspec.Struct, frozen=True):
    """A page on which the claim rests has said something else since, and whether the figure was still on it."""

    document: str
    sha256: str
    outcome: str
    at: str


class ReadingView(msgspec.Struct, frozen=True):
    """A reviewer's blind reading; of what is worked back, also the rows that were read."""

    id: str
    reviewer: str
    said: Statement
    matches: bool
    differences: tuple[str, ...]
    at: str
    derivation: Derivation | None = None


class ReviewView(msgspec.Struct, frozen=True):
    """A reviewer's decision."""

    id: str
    reviewer: str
    reading: str | None
    decision: str
    code: str | None
    reason: str | None
    at: str


class VoteView(msgspec.Struct, frozen=True):
    """A reviewer's vote on a dispute."""

    id: str
    reviewer: str
    settlement: str
    code: str | None
    reason: str | None
    at: str


class JudgementView(msgspec.Struct, frozen=True):
    """What a steward found of a reading that the claim goes beyond."""

    id: str
    reading: str
    steward: str
    finding: str
    reason: str | None
    at: str


class DisputeView(msgspec.Struct, frozen=True):
    """A challenge to a claim."""

    id: str
    claim: str
    by: str
    document: str | None
    page: str | None
    reason: str | None
    state: str
    votes: list[VoteView]
    at: str


class ClaimView(msgspec.Struct, frozen=True, kw_only=True):
    """A claim as read: what it states, on what, where it stands, and what it does. `worked_back` is what its derivation
    comes to today: less than is stated where something that it takes in was corrected, and then that counts."""

    id: str
    subject: Subject
    quantity: str
    stated: Stated
    grams: int | None
    per: Per | None
    condition: Condition | None
    basis: Basis | None
    excluded_mass: Stated | None
    bound: Bound
    applies_to: AppliesTo | None
    scope: Scope
    source_type: str
    publisher: str | None
    author: str
    interest: str
    state: State
    approvals: int
    confidence: float
    sets: bool
    binds: bool
    submitted_at: str
    review_by: str | None
    overdue_years: int | None
    supersedes: str | None
    superseded_by: str | None
    answers_rejection: str | None
    answer: str | None
    citations: list[CitationView]
    readings: list[ReadingView]
    decisions: list[ReviewView]
    disputes: list[DisputeView]
    derivation: Derivation | None
    worked_back: Stated | None
    evidence_changes: list[ChangeOfEvidence]
    judgements: list[JudgementView]


class ConfidenceView(msgspec.Struct, frozen=True):
    """A claim's confidence, row by row: 1/(1+e^-sum), rounded down to three decimals, then the lowest cap."""

    claim: str
    method: str
    points: tuple[Point, ...]
    sum: float
    uncapped: float
    caps: tuple[Cap, ...]
    confidence: float
    fragility: Fragility | None


class ReadingOutcome(msgspec.Struct, frozen=True):
    """A blind reading, and only now the claim beside it."""

    reading: str
    matches: bool
    differences: tuple[str, ...]
    claim: ClaimView


def claim_view(session: AnySession, id: str) -> ClaimView:
    """One claim. Raises not_found."""
    scored, facts = scored_claim(session, id)
    return shown_claim(session, scored, facts)


def scored_claim(session: AnySession, id: str) -> tuple[ScoredClaim, Facts]:
    """One claim with its score, and the facts around it. Raises not_found."""
    facts, _ = facts_about(session, claimed_of(session, id))
    return score_one(facts.claims[id], facts), facts


def claimed_of(session: AnySession, id: str) -> Subject:
    """The subject that a claim is on now. Raises not_found."""
    subject = queries.subject_of(session, claim=id)
    if subject is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_claim", f"There is no claim {id!r}.")
    return subject


def shown_claim(session: AnySession, scored: ScoredClaim, facts: Facts) -> ClaimView:
    """A claim as it is sent."""
    return shown_claims(session, [scored], facts)[0]


def shown_claims(session: AnySession, scored: Sequence[ScoredClaim], facts: Facts) -> list[ClaimView]:
    """Claims as they are sent: what people wrote about them is read all at once."""
    texts = texts_of(session, (sha256 for each in scored for sha256 in _written(each.claim)))
    return [_shown(each, facts, texts) for each in scored]


def _written(claim: ClaimFacts) -> Iterator[str | None]:
    """The hashes of all that people wrote about a claim."""
    yield claim.answer_sha256
    yield from (each.quote_sha256 for each in claim.citations)
    yield from (each.reason_sha256 for each in claim.reviews)
    yield from (each.reason_sha256 for each in claim.judgements)
    for dispute in claim.disputes:
        yield dispute.reason_sha256
        yield from (vote.reason_sha256 for vote in dispute.votes)


def _shown(scored: ScoredClaim, facts: Facts, texts: Mapping[str | None, str]) -> ClaimView:
    claim, said = scored.claim, scored.claim.statement
    back = today(claim, facts)
    return ClaimView(
        id=claim.id,
        subject=claim.subject,
        quantity=said.quantity,
        stated=said.stated,
        grams=total_grams(said, facts.counts_for(claim.subject)),
        per=said.per,
        condition=said.condition,
        basis=said.basis,
        excluded_mass=said.excluded_mass,
        bound=said.bound,
        applies_to=said.applies_to,
        scope=said.scope,
        source_type=claim.source_type,
        publisher=claim.publisher,
        author=claim.author,
        interest=claim.interest,
        state=claim.state,
        approvals=len(claim.approvals),
        confidence=scored.explanation.confidence,
        sets=scored.sets,
        binds=claim.binds,
        submitted_at=claim.submitted_at,
        review_by=claim.review_by,
        overdue_years=claim.overdue_years,
        supersedes=claim.supersedes,
        superseded_by=claim.superseded_by,
        answers_rejection=claim.answers_rejection,
        answer=texts.get(claim.answer_sha256),
        citations=[
            CitationView(
                each.id,
                each.document,
                each.page,
                each.locator,
                texts.get(each.quote_sha256),
                each.outcome,
                each.found_page,
                shown_box(each.box),
            )
            for each in claim.citations
        ],
        readings=[
            ReadingView(
                each.id, each.reviewer, each.statement, each.matches, each.differences, each.at, each.derivation
            )
            for each in claim.readings
        ],
        decisions=_decisions(claim, texts),
        disputes=[_dispute(claim.id, each, texts) for each in claim.disputes],
        derivation=claim.derivation,
        worked_back=None if back is None else in_kilograms(back.grams),
        evidence_changes=[
            ChangeOfEvidence(each.document, each.sha256, each.outcome, each.at) for each in claim.changes
        ],
        judgements=[
            JudgementView(each.id, each.reading, each.steward, each.finding, texts.get(each.reason_sha256), each.at)
            for each in claim.judgements
        ],
    )


def _dispute(claim_id: str, dispute: Dispute, texts: Mapping[str | None, str]) -> DisputeView:
    votes = [
        VoteView(vote.id, vote.reviewer, vote.settlement, vote.code, texts.get(vote.reason_sha256), vote.at)
        for vote in dispute.votes
    ]
    return DisputeView(
        id=dispute.id,
        claim=claim_id,
        by=dispute.by,
        document=dispute.document,
        page=dispute.page,
        reason=texts.get(dispute.reason_sha256),
        state=dispute.state,
        votes=votes,
        at=dispute.at,
    )


def _decisions(claim: ClaimFacts, texts: Mapping[str | None, str]) -> list[ReviewView]:
    return [
        ReviewView(
            each.id,
            each.reviewer,
            each.reading,
            each.decision,
            each.code,
            texts.get(each.reason_sha256),
            each.at,
        )
        for each in claim.reviews
    ]


def confidence_of(scored: ScoredClaim, facts: Facts) -> ConfidenceView:
    """A claim's confidence as it is sent, with what would be left of it without its strongest root."""
    return confidence_view(scored.claim.id, scored.explanation, fragility(scored.claim, facts))


def confidence_view(claim: str, explanation: Explanation, weaker: Fragility | None = None) -> ConfidenceView:
    """A confidence as it is sent, or as a ladder is drawn from it."""
    return ConfidenceView(
        claim=claim,
        method=explanation.method,
        points=tuple(Point(each.code, round(each.points, 6), each.about) for each in explanation.points),
        sum=explanation.sum,
        uncapped=explanation.uncapped,
        caps=explanation.caps,
        confidence=explanation.confidence,
        fragility=weaker,
    )
