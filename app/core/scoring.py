"""From facts to figures: score every claim on a subject and sort them by what they state."""

from collections import defaultdict
from collections.abc import Hashable, Iterator, Mapping

import msgspec

from app.core.claim import (
    AppliesTo,
    Condition,
    Quantity,
    Statement,
    Subject,
    SubjectKind,
    factor_of,
    limit_pair,
    mass_of,
)
from app.core.conditions import Figures
from app.core.confidence import CURRENT, SETS_AT, Explanation, explain
from app.core.dossier import Facts
from app.core.enquiry import Asked
from app.core.entries import FitmentAdded
from app.core.lifecycle import DEAD, UNDECIDED, State
from app.core.mass import Counts
from app.core.record import Record
from app.core.review import APPROVALS_TO_SET, ClaimFacts
from app.core.selection import Candidate
from app.core.working_back import standing_statement


class Standing(msgspec.Struct, frozen=True):
    """How a claim stands, apart from what it states."""

    claim: str
    publisher: str | None
    state: State
    approvals: int
    confidence: float
    undisputed: float = 0.0
    fresh: float = 0.0
    roots: tuple[str, ...] = ()


def candidate(statement: Statement, standing: Standing, kind: SubjectKind, counts: Counts) -> Candidate:
    """A claim as selection sees it."""
    pair = limit_pair(statement, kind, counts) if statement.condition is not None else None
    return Candidate(
        claim=standing.claim,
        publisher=standing.publisher,
        bound=statement.bound,
        confidence=standing.confidence,
        binds=standing.approvals > 0 and standing.state not in DEAD,
        undecided=standing.state in UNDECIDED,
        dead=standing.state in DEAD,
        approved_twice=standing.approvals >= APPROVALS_TO_SET,
        scope=statement.scope,
        gross=pair.gross if pair else None,
        net=pair.net if pair else None,
        mass=mass_of(statement, counts) if statement.quantity is Quantity.OWN_MASS else None,
        factor=factor_of(statement) if statement.quantity is Quantity.OFF_ROAD_FACTOR else None,
        undisputed=standing.undisputed,
        fresh=standing.fresh,
        roots=standing.roots,
    )


def figures(claims: list[tuple[Statement, Candidate]]) -> Figures:
    """Sort candidates by what they state."""
    limits: defaultdict[Condition, list[Candidate]] = defaultdict(list)
    masses: list[Candidate] = []
    factors: list[tuple[AppliesTo | None, Candidate]] = []
    for statement, each in claims:
        if statement.quantity is Quantity.OWN_MASS:
            masses.append(each)
        elif statement.quantity is Quantity.OFF_ROAD_FACTOR:
            factors.append((statement.applies_to, each))
        elif statement.condition is not None:
            limits[statement.condition].append(each)
    return Figures({of: tuple(found) for of, found in limits.items()}, tuple(masses), tuple(factors))


class ScoredClaim(msgspec.Struct, frozen=True):
    """A claim, why it is as certain as it is, and how selection sees it."""

    claim: ClaimFacts
    explanation: Explanation
    candidate: Candidate

    @property
    def sets(self) -> bool:
        """Whether it sets at 0.80."""
        return not self.candidate.dead and self.explanation.confidence >= SETS_AT


class FitmentFigures(msgspec.Struct, frozen=True):
    """One fitment of a vehicle: what it joins, on which roofs (None: not said), and its claims; with the record that says
    so."""

    id: str
    carrier: str
    fixing: str | None
    roofs: tuple[str, ...] | None
    figures: Figures
    record: Record | None = None


class Dossier:
    """One subject as the rules take it, as of an entry: its record, its claims scored, its fitments.

    `asked_as` is the subject that was asked for, where it is answered as one that it was merged into. `memory` is for
    answers worked out from it, which hold as long as it does.
    """

    def __init__(
        self,
        record: Record,
        figures: Figures,
        fitments: tuple[FitmentFigures, ...] = (),
        *,
        scored: Mapping[str, ScoredClaim] | None = None,
        method: str = CURRENT.version,
        as_of: int = 0,
        asked: tuple[Asked, ...] = (),
        asked_as: Subject | None = None,
    ) -> None:
        self.subject = record.subject
        self.asked_as = asked_as or record.subject
        self.record = record
        self.figures = figures
        self.fitments = fitments
        self.scored = dict(scored or {})
        self.method = method
        self.as_of = as_of
        self.asked = asked
        self.memory: dict[Hashable, object] = {}


def dossier_of(facts: Facts, subject: Subject) -> Dossier | None:
    """The dossier of one subject, or of the one into which it was merged; None where the facts hold no record of it."""
    named, subject = subject, facts.in_force(subject)
    record = facts.records.get(subject)
    if record is None:
        return None
    scored = score(facts, subject)
    fitments = tuple(_fitments(facts, subject, scored)) if subject.kind is SubjectKind.VEHICLE else ()
    return Dossier(
        record,
        figures([(each.claim.statement, each.candidate) for each in scored.values() if each.claim.subject == subject]),
        fitments,
        scored=scored,
        method=facts.method or CURRENT.version,
        as_of=facts.seq,
        asked=facts.asked_about(subject),
        asked_as=named,
    )


def joined(fitment: Dossier, carrier: Dossier) -> Dossier:
    """A fitment with its carrier: the carrier's own factor multiplies what both allow together."""
    key = ("joined", carrier.as_of)
    known = fitment.memory.get(key)
    if not isinstance(known, Dossier):
        known = Dossier(
            fitment.record,
            msgspec.structs.replace(fitment.figures, factors=carrier.figures.factors),
            scored=fitment.scored,
            method=fitment.method,
            as_of=max(fitment.as_of, carrier.as_of),
            asked=fitment.asked,
            asked_as=fitment.asked_as,
        )
        fitment.memory[key] = known
    return known


def score(facts: Facts, subject: Subject) -> dict[str, ScoredClaim]:
    """Score every claim on one subject."""
    return {claim.id: score_one(claim, facts) for claim in facts.claims_on(subject)}


def score_one(claim: ClaimFacts, facts: Facts) -> ScoredClaim:
    """Score one claim: where there are very many on a subject, a small part of scoring them all."""
    explanation = explain(claim, facts)
    return ScoredClaim(claim, explanation, _candidate(claim, explanation, facts))


def _candidate(claim: ClaimFacts, explanation: Explanation, facts: Facts) -> Candidate:
    standing = Standing(
        claim=claim.id,
        publisher=claim.publisher,
        state=claim.state,
        approvals=len(claim.approvals),
        confidence=explanation.confidence,
        undisputed=explanation.undisputed,
        fresh=explanation.fresh,
        roots=tuple(facts.roots_of(claim)),
    )
    said = standing_statement(claim, facts)
    return candidate(said, standing, claim.subject.kind, facts.counts_for(claim.subject))


def _fitments(facts: Facts, vehicle: Subject, scored: dict[str, ScoredClaim]) -> Iterator[FitmentFigures]:
    """The vehicle's fitments; their claims join the vehicle's scored ones."""
    for record in facts.fitments_of(vehicle.id):
        if isinstance(record.payload, FitmentAdded):
            fitment = record.payload
            its_own = score(facts, record.subject)
            scored.update(its_own)
            found = figures([(each.claim.statement, each.candidate) for each in its_own.values()])
            # What a record says of fixing and roofs would leave the fitment out: it counts once confirmed.
            fixing, roofs = (fitment.fixing, fitment.roofs) if record.confirmed else (None, None)
            yield FitmentFigures(record.subject.id, fitment.carrier, fixing, roofs, found, record)
