"""Which claims speak of the same thing, which of them agree, and which say less."""

from collections.abc import Iterable, Iterator

from app.core.claim import AppliesTo, Basis, Bound, Quantity, Statement, SubjectKind, factor_of, limit_pair, mass_of
from app.core.dossier import Facts
from app.core.lifecycle import State
from app.core.mass import SAME_WITHIN_G, Counts
from app.core.review import APPROVALS_TO_SET, ClaimFacts
from app.core.scope import overlap
from app.core.working_back import standing_statement


def comparable(claim: ClaimFacts, others: Iterable[ClaimFacts]) -> Iterator[ClaimFacts]:
    """Those of some claims that are of the same subject, quantity, condition and basis, and of overlapping scope."""
    said = claim.statement
    for other in others:
        theirs = other.statement
        if (
            other.id != claim.id
            and other.subject == claim.subject
            and theirs.quantity is said.quantity
            and theirs.condition is said.condition
            and _counts_all(theirs, claim.subject.kind) is _counts_all(said, claim.subject.kind)
            and _target(theirs.applies_to) is _target(said.applies_to)
            and overlap(theirs.scope, said.scope)
        ):
            yield other


def _counts_all(said: Statement, kind: SubjectKind) -> bool:
    """Whether a figure counts the carrier, or a mass the fixing: what does not say reads as if it did."""
    if said.basis is Basis.EXCLUDES_CARRIER:
        return kind is SubjectKind.VEHICLE and said.excluded_mass is None
    return said.basis is not Basis.EXCLUDES_FIXING


def _target(applies_to: AppliesTo | None) -> AppliesTo:
    return applies_to or AppliesTo.BOTH


def agreeing_roots(claim: ClaimFacts, facts: Facts, without: frozenset[str]) -> list[str]:
    """The held roots of comparable claims that say the same within half a kilogram and would permit it too.

    It takes two approvals to agree: one person's approval raises nothing, not even by way of another claim. What is
    worked back from several pages is one voice, and none of its own where it shares one of them.
    """
    against = Bound.AT_LEAST if claim.statement.quantity is Quantity.OWN_MASS else Bound.AT_MOST
    heard = set(facts.roots_of(claim))
    found: list[str] = []
    # What is worked back comes last: it is silent where any of its pages has been heard.
    for other, excesses in sorted(_beside(claim, facts), key=lambda each: each[0].derivation is not None):
        if (
            other.state is State.APPROVED
            and len(other.approvals) >= APPROVALS_TO_SET
            and other.statement.bound is not against
            and set(excesses) == {0}
        ):
            roots = facts.roots_of(other, without=without)
            if other.derivation is None or not heard & roots.keys():
                found += voices(other, roots)
                heard |= roots.keys()
    return list(dict.fromkeys(found))


def voices(claim: ClaimFacts, roots: dict[str, bool]) -> list[str]:
    """The held roots that speak for a claim, each by itself: of what is worked back, only the first."""
    held = [root for root, is_held in roots.items() if is_held]
    return held if claim.derivation is None else held[:1]


def contradicts(other: ClaimFacts, claim: ClaimFacts, facts: Facts) -> bool:
    """Whether another claim says less than a claim does, by more than half a kilogram."""
    return _says_less(other, claim, _excesses(other, claim, facts))


def contradicting(claim: ClaimFacts, facts: Facts) -> Iterator[ClaimFacts]:
    """The comparable claims that stand and say less than a claim does."""
    return (other for other, excesses in _beside(claim, facts) if _says_less(other, claim, excesses))


def _says_less(other: ClaimFacts, claim: ClaimFacts, excesses: list[int]) -> bool:
    permits_more = Bound.AT_MOST if claim.statement.quantity is Quantity.OWN_MASS else Bound.AT_LEAST
    return other.statement.bound is not permits_more and max(excesses) > 0


def _beside(claim: ClaimFacts, facts: Facts) -> list[tuple[ClaimFacts, list[int]]]:
    """The comparable claims that stand, each with by how much a claim goes beyond it. A claim is explained once for each
    of its roots, and they are the same each time."""
    key = ("beside", claim.id)
    known: tuple[ClaimFacts, list[tuple[ClaimFacts, list[int]]]] | None = facts.memory.get(key)
    if known is None or known[0] is not claim:
        found = [(other, _excesses(other, claim, facts)) for other in comparable(claim, facts.standing())]
        known = facts.memory[key] = claim, found
    return known[1]


def _excesses(other: ClaimFacts, claim: ClaimFacts, facts: Facts) -> list[int]:
    """By how much the claim goes beyond the other, by every way of reading the subject's counts."""
    return [_excess(other, claim, facts, counts) for counts in facts.counts_read(claim.subject)]


def _excess(other: ClaimFacts, claim: ClaimFacts, facts: Facts, counts: Counts) -> int:
    """By how much the claim goes beyond the other: 0 within half a kilogram, above 0 where the other allows less."""
    if claim.statement.quantity is Quantity.OFF_ROAD_FACTOR:
        mine, theirs = factor_of(claim.statement), factor_of(other.statement)
        return (mine > theirs) - (mine < theirs)
    if claim.statement.quantity is Quantity.OWN_MASS:
        beyond = [_more(mass_of(other.statement, counts), mass_of(claim.statement, counts))]
    else:
        here = limit_pair(standing_statement(claim, facts), claim.subject.kind, counts)
        there = limit_pair(standing_statement(other, facts), claim.subject.kind, counts)
        beyond = [_more(here.gross, there.gross), _more(here.net, there.net)]
    compared = [each for each in beyond if each is not None]
    if not compared:
        return -1
    if max(compared) > SAME_WITHIN_G:
        return max(compared)
    return 0 if min(compared) >= -SAME_WITHIN_G else -1


def _more(one: int | None, other: int | None) -> int | None:
    return None if one is None or other is None else one - other
