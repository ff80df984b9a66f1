"""From facts to figures: score every claim on a subject and sort them by what they state."""

from collections import defaultdict

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
from app.core.confidence import Explanation, explain
from app.core.dossier import Facts
from app.core.lifecycle import DEAD, UNDECIDED, State
from app.core.mass import Counts
from app.core.selection import Candidate


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


class Scored(msgspec.Struct, frozen=True):
    """A subject's claims, scored: the figures for the rules, and each claim's explanation."""

    figures: Figures
    explanations: dict[str, Explanation]


def score(facts: Facts, subject: Subject) -> Scored:
    """Score every claim on one subject under the method in force."""
    counts = facts.counts_for(subject)
    explanations: dict[str, Explanation] = {}
    claims = []
    for claim in facts.claims_on(subject):
        explanation = explain(claim, facts)
        explanations[claim.id] = explanation
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
        claims.append((claim.statement, candidate(claim.statement, standing, subject.kind, counts)))
    return Scored(figures(claims), explanations)
