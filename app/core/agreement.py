"""Which claims speak of the same thing, which of them agree, and which say less."""

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import NamedTuple

from app.core.claim import (
    AppliesTo,
    Basis,
    Bound,
    Condition,
    Quantity,
    Statement,
    Subject,
    SubjectKind,
    factor_of,
    limit_pair,
    mass_of,
)
from app.core.dossier import Facts
from app.core.lifecycle import State
from app.core.mass import SAME_WITHIN_G, Counts
from app.core.review import APPROVALS_TO_SET, ClaimFacts
from app.core.scope import Scope, overlap
from app.core.working_back import standing_statement


def comparable(claim: ClaimFacts, others: Iterable[ClaimFacts]) -> Iterator[ClaimFacts]:
    """Those of some claims that are of the same subject, quantity, condition and basis, and of overlapping scope."""
    matter, scope = _matter(claim), claim.statement.scope
    for other in others:
        if other.id != claim.id and _matter(other) == matter and overlap(other.statement.scope, scope):
            yield other


_Allowed = tuple[int | Fraction | None, int | Fraction | None]
"""What a claim allows: a factor, or gross and net in grams; None is unbounded, or not known. The more a thing weighs, the
less it allows: its mass stands below zero."""

Excesses = list[int | Fraction]


class _Said(NamedTuple):
    """What a claim says of its matter: where it holds, and what it allows by every way of reading its subject's counts."""

    scope: Scope
    allowed: tuple[_Allowed, ...]


Matter = tuple[Subject, Quantity, Condition | None, bool, AppliesTo]
"""What a figure is of, but for its scope."""


def _matter(claim: ClaimFacts) -> Matter:
    said = claim.statement
    counts_all = _counts_all(said, claim.subject.kind)
    return claim.subject, said.quantity, said.condition, counts_all, said.applies_to or AppliesTo.BOTH


def _counts_all(said: Statement, kind: SubjectKind) -> bool:
    """Whether a figure counts the carrier, or a mass the fixing: what does not say reads as if it did."""
    if said.basis is Basis.EXCLUDES_CARRIER:
        return kind is SubjectKind.VEHICLE and said.excluded_mass is None
    return said.basis is not Basis.EXCLUDES_FIXING


def agreeing_roots(claim: ClaimFacts, facts: Facts, without: frozenset[str]) -> list[str]:
    """The held roots of comparable claims that say the same within half a kilogram and would permit it too.

    It takes two approvals to agree: one person's approval raises nothing, not even by way of another claim. What is
    worked back from several pages is one voice, and none of its own where it shares one of them.
    """
    heard = set(facts.roots_of(claim))
    found: list[str] = []
    for other in facts.once("agreeing", claim, lambda: _agreeing(claim, facts)):
        roots = facts.roots_of(other, without=without)
        if other.derivation is None or not heard & roots.keys():
            found += voices(other, roots)
            heard |= roots.keys()
    return list(dict.fromkeys(found))


def _agreeing(claim: ClaimFacts, facts: Facts) -> list[ClaimFacts]:
    """The claims that agree with one. What is worked back comes last: it is silent where any of its pages has been
    heard."""
    against = Bound.AT_LEAST if claim.statement.quantity is Quantity.OWN_MASS else Bound.AT_MOST
    found = [
        other
        for other, excesses in _beside(claim, facts)
        if other.state is State.APPROVED
        and len(other.approvals) >= APPROVALS_TO_SET
        and other.statement.bound is not against
        and set(excesses) == {0}
    ]
    return sorted(found, key=lambda each: each.derivation is not None)


def voices(claim: ClaimFacts, roots: dict[str, bool]) -> list[str]:
    """The held roots that speak for a claim, each by itself: of what is worked back, only the first."""
    held = [root for root, is_held in roots.items() if is_held]
    return held if claim.derivation is None else held[:1]


def contradicts(other: ClaimFacts, claim: ClaimFacts, facts: Facts) -> bool:
    """Whether another claim says less than a claim does, by more than half a kilogram."""
    return _says_less(other, claim, _excesses(_said(claim, facts), _said(other, facts), claim.statement.quantity))


def contradicting(claim: ClaimFacts, facts: Facts) -> list[ClaimFacts]:
    """The comparable claims that stand and say less than a claim does."""
    return facts.once(
        "contradicting",
        claim,
        lambda: [other for other, excesses in _beside(claim, facts) if _says_less(other, claim, excesses)],
    )


def _says_less(other: ClaimFacts, claim: ClaimFacts, excesses: Excesses) -> bool:
    permits_more = Bound.AT_MOST if claim.statement.quantity is Quantity.OWN_MASS else Bound.AT_LEAST
    return other.statement.bound is not permits_more and max(excesses) > 0


def _beside(claim: ClaimFacts, facts: Facts) -> list[tuple[ClaimFacts, Excesses]]:
    """The comparable claims that stand, oldest first, each with by how much a claim goes beyond it."""
    return facts.once("beside", claim, lambda: list(_compared(claim, facts)))


def _compared(claim: ClaimFacts, facts: Facts) -> Iterator[tuple[ClaimFacts, Excesses]]:
    """Very many claims on one matter say the same: they are compared at once."""
    mine = _said(claim, facts)
    known: dict[_Said, Excesses | None] = {}
    for other, theirs in _standing_on(_matter(claim), facts):
        if theirs not in known:
            meet = overlap(theirs.scope, mine.scope)
            known[theirs] = _excesses(mine, theirs, claim.statement.quantity) if meet else None
        excesses = known[theirs]
        if excesses is not None and other.id != claim.id:
            yield other, excesses


def _standing_on(matter: Matter, facts: Facts) -> list[tuple[ClaimFacts, _Said]]:
    """The claims that stand on one matter, oldest first, with what they say. All are sorted by their matters at once."""
    by_matter: dict[Matter, list[tuple[ClaimFacts, _Said]]] | None = facts.memory.get("matters")
    if by_matter is None:
        by_matter = {}
        for each in facts.standing():
            by_matter.setdefault(_matter(each), []).append((each, _said(each, facts)))
        facts.memory["matters"] = by_matter
    return by_matter.get(matter, [])


def _said(claim: ClaimFacts, facts: Facts) -> _Said:
    """What a claim says, by every way of reading its subject's counts."""

    def allowed(counts: Counts) -> _Allowed:
        if claim.statement.quantity is Quantity.OFF_ROAD_FACTOR:
            return factor_of(claim.statement), None
        if claim.statement.quantity is Quantity.OWN_MASS:
            mass = mass_of(claim.statement, counts)
            return None if mass is None else -mass, None
        limit = limit_pair(standing_statement(claim, facts), claim.subject.kind, counts)
        return limit.gross, limit.net

    def find() -> _Said:
        return _Said(claim.statement.scope, tuple(allowed(counts) for counts in facts.counts_read(claim.subject)))

    return facts.once("said", claim, find)


def _excesses(mine: _Said, theirs: _Said, quantity: Quantity) -> Excesses:
    """By how much one goes beyond the other, by every way of reading the subject's counts: 0 where both are the same, within
    half a kilogram; above 0 where the other allows less."""
    same_within = 0 if quantity is Quantity.OFF_ROAD_FACTOR else SAME_WITHIN_G
    return [_excess(*each, same_within) for each in zip(mine.allowed, theirs.allowed, strict=True)]


def _excess(mine: _Allowed, theirs: _Allowed, same_within: int) -> int | Fraction:
    compared = [
        here - there for here, there in zip(mine, theirs, strict=True) if here is not None and there is not None
    ]
    if not compared:
        return -1
    if (most := max(compared)) > same_within:
        return most
    return 0 if min(compared) >= -same_within else -1
