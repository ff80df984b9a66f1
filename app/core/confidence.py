"""Confidence: the probability that relying on a claim as stated does not overstate what is allowed.

1/(1+e^-L), L a sum of named points, all in the one table below. Every point and every cap is listed in the
explanation, so that the sum can be checked by hand. Who submitted a claim adds nothing.
"""

import math
from collections.abc import Callable, Iterable, Iterator
from functools import partial

import msgspec

from app.core.agreement import agreeing_roots, contradicting, voices
from app.core.claim import (
    Basis,
    Quantity,
    SourceType,
    Subject,
    SubjectKind,
    total_grams,
)
from app.core.dossier import Facts
from app.core.lifecycle import DEAD, State
from app.core.mass import SAME_WITHIN_G
from app.core.pages import PageOutcome
from app.core.review import ClaimFacts
from app.core.scope import Dimension
from app.core.working_back import placed_apart, today

SETS_AT = 0.80
"""Claims of at least this confidence set figures; the caps see to it that two reviewers and a held page stand behind."""


class Method(msgspec.Struct, frozen=True):
    """One version of the points and caps. A version is adopted by a ledger entry and never changes."""

    version: str
    points: dict[str, float]
    caps: dict[str, float]


M1 = Method(
    version="m1",
    points={
        "source.manual_page": 1.6,
        "source.maker_statement": 0.9,
        "source.accessory_derived": 0.4,
        "source.unverified": -1.0,
        "artefact.held": 0.7,
        "artefact.not_held": -0.6,
        "artefact.nothing_cited": -1.2,
        "reading.found": 0.6,
        "reading.not_found": -1.0,
        "scope.speaks": 0.3,
        "scope.silent": -0.4,
        "basis.stated": 0.2,
        "agreement.second_root": 0.8,
        "agreement.third_root": 0.4,
        "agreement.fourth_root": 0.2,
        "contradiction.lower_root": -1.2,
        "blind.first_match": 1.0,
        "blind.second_match": 0.6,
        "blind.mismatch": -1.0,
        "plausibility.roof_above_400_kg": -1.0,
        "age.past_review": -0.5,
        "age.further_year": -0.2,
        "age.most": -1.5,
    },
    caps={
        "unverified": 0.50,
        "no_approval": 0.60,
        "one_approval": 0.79,
        "not_held": 0.79,
        "past_review_by_a_year": 0.79,
        "disputed": 0.40,
        "repeats_carrier_rating": 0.60,
        "accessory_derived": 0.85,
        "sums_agree": 0.92,
        "parked_multiple": 0.79,
    },
)

METHODS: dict[str, Method] = {method.version: method for method in (M1,)}
CURRENT = M1

PLAUSIBLE_ROOF_G = 400_000
AGREEMENT = ("agreement.second_root", "agreement.third_root", "agreement.fourth_root")
BLIND = ("blind.first_match", "blind.second_match")
PASSING = ("age.", "blind.mismatch", "reading.not_found")
"""What weakens a claim without its saying anything else: it does not lift those that the claim contradicts."""


class Point(msgspec.Struct, frozen=True):
    """One row of the sum: its code in the method's table, its points, and what it rests on (ids or a root)."""

    code: str
    points: float
    about: str | None = None


class Cap(msgspec.Struct, frozen=True):
    """One limit on the confidence, whatever the sum."""

    code: str
    at_most: float


class Fragility(msgspec.Struct, frozen=True):
    """The confidence with the strongest root taken away."""

    root: str
    confidence: float


class Explanation(msgspec.Struct, frozen=True):
    """A claim's confidence, row by row."""

    method: str
    points: tuple[Point, ...]
    sum: float
    uncapped: float
    caps: tuple[Cap, ...]
    confidence: float

    @property
    def undisputed(self) -> float:
        """What the confidence would be but for a dispute."""
        return _capped(self.uncapped, [cap for cap in self.caps if cap.code != "disputed"])

    @property
    def fresh(self) -> float:
        """What the confidence would be but for the claim's age."""
        young = [point.points for point in self.points if not point.code.startswith("age.")]
        return _capped(probability(young), [cap for cap in self.caps if cap.code != "past_review_by_a_year"])


def probability(points: Iterable[float]) -> float:
    """1/(1+e^-L) of a sum of points, rounded down to three decimals."""
    return math.floor(1000 / (1 + math.exp(-math.fsum(points)))) / 1000


def _capped(uncapped: float, caps: Iterable[Cap]) -> float:
    return min([uncapped, *(cap.at_most for cap in caps)])


def fragility(claim: ClaimFacts, facts: Facts) -> Fragility | None:
    """What would be left of a claim's confidence without the strongest root that it rests on, itself or by those that
    agree; None where it rests on none."""
    roots = [*facts.roots_of(claim), *agreeing_roots(claim, facts, frozenset())]
    without = [(explain(claim, facts, frozenset({root})).confidence, root) for root in dict.fromkeys(roots)]
    if not without:
        return None
    confidence, root = min(without)
    return Fragility(root, confidence)


def explain(claim: ClaimFacts, facts: Facts, without: frozenset[str] = frozenset()) -> Explanation:
    """Score one claim from the facts around it, under the method in force there; as if some roots were not there."""
    method = METHODS[facts.method or CURRENT.version]
    own = facts.roots_of(claim, without=without)
    agreeing = [root for root in agreeing_roots(claim, facts, without) if root not in own]
    intrinsic = list(_intrinsic(claim, facts, own, method))
    points = [
        *intrinsic,
        *_agreement(voices(claim, own), agreeing, method),
        *_contradiction(claim, facts, without, method),
    ]
    uncapped = probability(point.points for point in points)
    caps = tuple(_caps(claim, facts, own, agreeing, method))
    return Explanation(
        method=method.version,
        points=tuple(points),
        sum=round(math.fsum(point.points for point in points), 6),
        uncapped=uncapped,
        caps=caps,
        confidence=_capped(uncapped, caps),
    )


# The points


def _intrinsic(claim: ClaimFacts, facts: Facts, own: dict[str, bool], method: Method) -> Iterator[Point]:
    """Everything but agreement and contradiction: what the claim is worth by itself."""

    def point(code: str, about: str | None = None) -> Point:
        return Point(code, method.points[code], about)

    yield point(f"source.{claim.source_type}")
    yield _artefact(own, point)
    if claim.derivation is None:
        yield from _page_reading(claim, point)
    scope = _scope_code(claim)
    if scope:
        yield point(scope)
    if claim.statement.basis not in {None, Basis.NOT_STATED}:
        yield point("basis.stated")
    yield from _blind_readings(claim, point)
    if claim.subject.kind is SubjectKind.VEHICLE and claim.statement.quantity is Quantity.ROOF_LIMIT:
        if (total_grams(claim.statement, facts.counts_for(claim.subject)) or 0) > PLAUSIBLE_ROOF_G:
            yield point("plausibility.roof_above_400_kg")
    if claim.overdue_years is not None:
        yield point("age.past_review")
        further = max(
            claim.overdue_years * method.points["age.further_year"],
            method.points["age.most"] - method.points["age.past_review"],
        )
        if further:
            yield Point("age.further_year", further, str(claim.overdue_years))


def _artefact(own: dict[str, bool], point: Callable[[str], Point]) -> Point:
    if not own:
        return point("artefact.nothing_cited")
    return point("artefact.held" if any(own.values()) else "artefact.not_held")


def _page_reading(claim: ClaimFacts, point: Callable[[str, str], Point]) -> Iterator[Point]:
    """What the machine saw on the pages cited: one that shows the figure is enough."""
    seen = {citation.outcome: citation.id for citation in reversed(claim.citations)}
    if PageOutcome.FOUND in seen:
        yield point("reading.found", seen[PageOutcome.FOUND])
    elif PageOutcome.NOT_FOUND in seen:
        yield point("reading.not_found", seen[PageOutcome.NOT_FOUND])


def _scope_code(claim: ClaimFacts) -> str | None:
    if claim.subject.kind not in {SubjectKind.VEHICLE, SubjectKind.FITMENT}:
        return None
    telling = (Dimension.YEARS, Dimension.BODIES, Dimension.ROOFS)
    spoken = [claim.statement.scope.spoken(dimension) is not None for dimension in telling]
    if all(spoken):
        return "scope.speaks"
    return None if any(spoken) else "scope.silent"


def _blind_readings(claim: ClaimFacts, point: Callable[[str, str], Point]) -> Iterator[Point]:
    matches = [reading for reading in claim.readings if reading.matches]
    for code, reading in zip(BLIND, matches, strict=False):
        yield point(code, reading.id)
    for reading in claim.readings:
        if not reading.matches:
            yield point("blind.mismatch", reading.id)


def _agreement(ownvoices: list[str], agreeing: list[str], method: Method) -> Iterator[Point]:
    further = [*ownvoices, *agreeing][1:]
    for code, root in zip(AGREEMENT, further, strict=False):
        yield Point(code, method.points[code], root)


def _contradiction(claim: ClaimFacts, facts: Facts, without: frozenset[str], method: Method) -> Iterator[Point]:
    """Each independent root that says less takes away as much as the claim that cites it is worth by itself.

    What weakens the lower claim does not lift this one: disputes, age, mismatches, a figure that the machine does not
    find and lost evidence are left out of that worth; and roots count as one only where two people say that they are.
    """
    weights: dict[str, float] = {}
    against = facts.once("against", claim, lambda: _against(claim, facts, method))
    for (root, as_it_stands), worth in against.items():
        if as_it_stands not in without:
            weights[root] = max(weights.get(root, 0.0), worth)
    for root, worth in weights.items():
        yield Point("contradiction.lower_root", method.points["contradiction.lower_root"] * worth, root)


def _against(claim: ClaimFacts, facts: Facts, method: Method) -> dict[tuple[str, str | None], float]:
    """The roots that say less than a claim and on which it does not rest itself, settled and as they stand today, each
    with the most that a claim which cites it is worth."""
    own = facts.roots_of(claim, settled=True)
    found: dict[tuple[str, str | None], float] = {}
    for other in contradicting(claim, facts):
        worth = facts.once("worth", other, partial(_lasting_worth, other, facts, method))
        for root, as_it_stands, _ in facts.rooted(other, settled=True):
            if root not in own:
                found[root, as_it_stands] = max(found.get((root, as_it_stands), 0.0), worth)
    return found


def _lasting_worth(claim: ClaimFacts, facts: Facts, method: Method) -> float:
    """What a claim is worth by itself, whatever has weakened it since, where its roots are held."""
    points = _intrinsic(claim, facts, dict.fromkeys(facts.roots_of(claim), True), method)
    lasting = (each.points for each in points if not each.code.startswith(PASSING))
    return 1 / (1 + math.exp(-math.fsum(lasting)))


# The caps


def _caps(claim: ClaimFacts, facts: Facts, own: dict[str, bool], agreeing: list[str], method: Method) -> Iterator[Cap]:
    def cap(code: str) -> Cap:
        return Cap(code, method.caps[code])

    if claim.source_type is SourceType.UNVERIFIED:
        yield cap("unverified")
    if claim.derivation is not None:
        yield from _derivation_caps(claim, facts, method)
    elif claim.source_type is SourceType.ACCESSORY_DERIVED:
        yield cap("accessory_derived")
    if not claim.approvals:
        yield cap("no_approval")
    elif len(claim.approvals) == 1:
        yield cap("one_approval")
    if not any(own.values()):
        yield cap("not_held")
    if claim.overdue_years:
        yield cap("past_review_by_a_year")
    if claim.state is State.DISPUTED:
        yield cap("disputed")
    if sum(own.values()) + len(agreeing) < 2 and _repeats_carrier_rating(claim, facts):
        yield cap("repeats_carrier_rating")


def _derivation_caps(claim: ClaimFacts, facts: Facts, method: Method) -> Iterator[Cap]:
    """A derivation is never more certain than what it takes in: one that is disputed suspends it, one that fell, or
    that no longer goes with the rest, or that was placed on another vehicle, ends it."""
    found = today(claim, facts)
    code = "sums_agree" if found is not None and found.agrees_widely else "accessory_derived"
    yield Cap(code, method.caps[code])
    if found is None or not found.is_what(claim.statement) or placed_apart(claim, facts):
        yield Cap("weakest_input", 0.0)
        return
    if not found.may_set:
        yield Cap("parked_multiple", method.caps["parked_multiple"])
    inputs = [0.0 if taken.state in DEAD else explain(taken, facts).confidence for taken in facts.taken_by(claim)]
    if inputs:
        yield Cap("weakest_input", min(inputs))


def _repeats_carrier_rating(claim: ClaimFacts, facts: Facts) -> bool:
    """Whether a maker's statement of a roof limit equals the rating of a carrier recorded as fitting the vehicle."""
    if claim.source_type is not SourceType.MAKER_STATEMENT or claim.statement.quantity is not Quantity.ROOF_LIMIT:
        return False
    limit = total_grams(claim.statement, facts.counts_for(claim.subject)) or 0
    carriers = {
        Subject(SubjectKind.CARRIER, getattr(fitment.payload, "carrier", ""))
        for fitment in facts.fitments_of(claim.subject.id)
    }
    ratings = (
        total_grams(rating.statement, counts)
        for rating in facts.claims.values()
        if rating.subject in carriers and rating.statement.quantity is Quantity.LOAD_RATING and rating.binds
        for counts in facts.counts_read(rating.subject)
    )
    return any(rating is not None and abs(rating - limit) <= SAME_WITHIN_G for rating in ratings)
