"""Confidence (section 2.6): every point and every cap, by sums that are written out and can be checked by hand."""

import math

import msgspec
import pytest

from app.core.claim import AppliesTo, Basis, Bound, SourceType, Statement, Subject, SubjectKind
from app.core.confidence import METHODS, SETS_AT, Cap, Explanation, Fragility, Point, explain, probability
from app.core.entries import MethodAdopted
from app.core.lifecycle import State
from app.core.mass import Per
from app.core.scope import ALL, SILENT, Scope, Years
from tests.core.builders import (
    AT_LEAST,
    AT_MOST,
    DECK,
    EXCLUDES,
    INCLUDES,
    OFF_ROAD,
    VEHICLE,
    History,
    factor,
    load_rating,
    mass_said,
    roof_limit,
)

SPEAKS = Scope(Years(2019, 2023), ("dual_cab",), ALL)
A, B, C, D, E = (letter * 64 for letter in "abcde")
FEET = Subject(SubjectKind.FIXING, "feet")


def points(explanation: Explanation) -> dict[str, float]:
    """Points by their codes; a code that comes more than once is summed."""
    found: dict[str, float] = {}
    for point in explanation.points:
        found[point.code] = round(found.get(point.code, 0) + point.points, 6)
    return found


def caps(explanation: Explanation) -> dict[str, float]:
    return {cap.code: cap.at_most for cap in explanation.caps}


def approved(
    history: History,
    statement: Statement | None = None,
    root: str = A,
    *,
    source: SourceType = SourceType.MANUAL_PAGE,
    subject: Subject = VEHICLE,
    reads: bool = True,
) -> str:
    """A claim with its own page and two approvals."""
    claim = history.claim(statement, source=source, subject=subject, cites=[history.document(root)])
    if reads:
        history.read_and_approve(claim)
    else:
        history.approve(claim)
    return claim


# The sum


@pytest.mark.parametrize(
    ("summed", "expected"),
    [(0.0, 0.5), (math.log(4), 0.8), (-math.log(4), 0.2), (4.4, 0.987), (3.7, 0.975), (-1.0, 0.268), (10.0, 0.999)],
)
def test_confidence_is_the_logistic_of_the_sum_rounded_down(summed: float, expected: float) -> None:
    # 1/(1+e^-4.4) = 0.98787…, 1/(1+e^-3.7) = 0.97587…, 1/(1+e^1) = 0.26894….
    assert probability([summed]) == expected


def test_the_best_there_is() -> None:
    history = History()
    claim = approved(history, roof_limit(scope=SPEAKS))

    explanation = history.explained(claim)

    readings = [reading.id for reading in history.of(claim).readings]
    assert explanation.points == (
        Point("source.manual_page", 1.6),
        Point("artefact.held", 0.7),
        Point("scope.speaks", 0.3),
        Point("basis.stated", 0.2),
        Point("blind.first_match", 1.0, readings[0]),
        Point("blind.second_match", 0.6, readings[1]),
    )
    # 1.6 + 0.7 + 0.3 + 0.2 + 1.0 + 0.6 = 4.4, and 1/(1+e^-4.4) = 0.98787….
    assert (explanation.sum, explanation.uncapped, explanation.caps, explanation.confidence) == (4.4, 0.987, (), 0.987)
    assert explanation.method == "m1"
    assert explanation.confidence >= SETS_AT


def test_nobody_s_word() -> None:
    history = History()
    claim = history.claim(roof_limit(basis=Basis.NOT_STATED), source=SourceType.UNVERIFIED)

    explanation = history.explained(claim)

    assert points(explanation) == {"source.unverified": -1.0, "artefact.nothing_cited": -1.2, "scope.silent": -0.4}
    # -1.0 - 1.2 - 0.4 = -2.6, and 1/(1+e^2.6) = 0.06913….
    assert (explanation.sum, explanation.confidence) == (-2.6, 0.069)
    assert caps(explanation) == {"unverified": 0.5, "no_approval": 0.6, "not_held": 0.79}
    assert history.fragility(claim) is None


@pytest.mark.parametrize(
    ("source", "first", "capped"),
    [
        (SourceType.MANUAL_PAGE, 1.6, {}),
        (SourceType.MAKER_STATEMENT, 0.9, {}),
        (SourceType.ACCESSORY_DERIVED, 0.4, {"accessory_derived": 0.85}),
        (SourceType.UNVERIFIED, -1.0, {"unverified": 0.5}),
    ],
)
def test_every_source_type_has_its_points_and_caps(source: SourceType, first: float, capped: dict[str, float]) -> None:
    history = History()
    explanation = history.explained(approved(history, source=source))

    assert points(explanation)[f"source.{source}"] == first
    assert caps(explanation) == capped
    # With 0.7 held, -0.4 silent, 0.2 basis, 1.0 and 0.6 read: 2.1 beside the source's own.
    assert explanation.sum == round(first + 2.1, 6)
    assert explanation.confidence == min([probability([first + 2.1]), *capped.values()])


def test_evidence_that_is_no_longer_held_counts_against() -> None:
    history = History()
    claim = approved(history)
    facts = history.facts
    facts.documents["D1"] = msgspec.structs.replace(facts.documents["D1"], taken_down=True)

    explanation = explain(facts.claims[claim], facts)

    assert points(explanation)["artefact.not_held"] == -0.6
    assert caps(explanation) == {"not_held": 0.79}
    # 1.6 - 0.6 - 0.4 + 0.2 + 1.0 + 0.6 = 2.4, and 1/(1+e^-2.4) = 0.91682….
    assert (explanation.sum, explanation.uncapped, explanation.confidence) == (2.4, 0.916, 0.79)


@pytest.mark.parametrize(
    ("scope", "code"),
    [
        (SPEAKS, "scope.speaks"),
        (Scope(ALL, ALL, ALL), "scope.speaks"),
        (SILENT, "scope.silent"),
        (Scope(markets=("NZ",)), "scope.silent"),
        (Scope(years=ALL), None),
        (Scope(Years(2019), ("wagon",), None, ("NZ",)), None),
    ],
)
def test_a_source_that_speaks_on_years_bodies_and_roofs_is_worth_more(scope: Scope, code: str | None) -> None:
    history = History()
    found = points(history.explained(history.claim(roof_limit(scope=scope))))

    assert {name: worth for name, worth in found.items() if name.startswith("scope.")} == (
        {} if code is None else {code: {"scope.speaks": 0.3, "scope.silent": -0.4}[code]}
    )


def test_scope_is_a_matter_of_vehicles_and_fitments_only() -> None:
    history = History()
    on_carrier = history.explained(history.claim(load_rating(), subject=DECK))
    on_fitment = history.explained(history.claim(load_rating(), subject=Subject(SubjectKind.FITMENT, "F9")))

    assert not any(code.startswith("scope.") for code in points(on_carrier))
    assert points(on_fitment)["scope.silent"] == -0.4


@pytest.mark.parametrize(
    ("basis", "stated"),
    [(INCLUDES, True), (EXCLUDES, True), (Basis.NOT_STATED, False)],
)
def test_a_stated_basis_is_worth_a_little(basis: Basis, stated: bool) -> None:
    history = History()

    found = points(history.explained(history.claim(roof_limit(basis=basis))))

    assert found.get("basis.stated") == (0.2 if stated else None)


def test_a_factor_has_no_basis_to_state() -> None:
    history = History()

    assert "basis.stated" not in points(history.explained(history.claim(factor(), subject=DECK)))


def test_two_blind_readings_count_and_every_mismatch_does() -> None:
    history = History()
    claim = history.claim()
    for reviewer in ("first", "second", "third"):
        history.read(claim, reviewer)
    history.read(claim, "fourth", "figure")
    history.read(claim, "fifth", "bound")

    found = points(history.explained(claim))

    assert {code: worth for code, worth in found.items() if code.startswith("blind.")} == {
        "blind.first_match": 1.0,
        "blind.second_match": 0.6,
        "blind.mismatch": -2.0,
    }


@pytest.mark.parametrize(("kilograms", "odd"), [("400", False), ("400.001", True), ("500", True)])
def test_a_roof_above_400_kg_is_doubted(kilograms: str, odd: bool) -> None:
    history = History()

    found = points(history.explained(history.claim(roof_limit(kilograms))))

    assert found.get("plausibility.roof_above_400_kg") == (-1.0 if odd else None)


def test_a_carrier_or_a_factor_is_not_doubted_for_being_heavy() -> None:
    history = History()

    heavy = points(history.explained(history.claim(load_rating("500"), subject=DECK)))
    scaled = points(history.explained(history.claim(factor("1"))))

    assert "plausibility.roof_above_400_kg" not in {*heavy, *scaled}


@pytest.mark.parametrize(
    ("years", "age"),
    [(0, -0.5), (1, -0.7), (2, -0.9), (5, -1.5), (6, -1.5), (20, -1.5)],
)
def test_age_takes_away_half_a_point_and_a_fifth_a_year(years: int, age: float) -> None:
    history = History()
    claim = approved(history)
    history.age(claim, years)

    explanation = history.explained(claim)

    assert sum(worth for code, worth in points(explanation).items() if code.startswith("age.")) == pytest.approx(age)
    assert caps(explanation) == ({"past_review_by_a_year": 0.79} if years else {})
    # 3.7 without the age: 1.6 + 0.7 - 0.4 + 0.2 + 1.0 + 0.6.
    assert explanation.sum == pytest.approx(3.7 + age)


def test_a_claim_in_date_has_no_age() -> None:
    history = History()

    assert not any(code.startswith("age.") for code in points(history.explained(approved(history))))


# Agreement: roots, and never copies


def agreement(explanation: Explanation) -> list[tuple[float, str | None]]:
    return [(each.points, each.about) for each in explanation.points if each.code.startswith("agreement.")]


def test_further_roots_of_its_own_count() -> None:
    history = History()
    claim = history.claim(cites=[history.document(root) for root in (A, B, C, D, E)])

    assert agreement(history.explained(claim)) == [(0.8, B), (0.4, C), (0.2, D)]


def test_copies_of_a_page_are_one_root() -> None:
    history = History()
    claim = history.claim(cites=[history.document(A), history.document(A)])
    for _ in range(10):
        approved(history, root=A)

    assert agreement(history.explained(claim)) == []


def test_approved_claims_that_say_the_same_lend_their_roots() -> None:
    history = History()
    claim = approved(history, roof_limit("75"), A)
    approved(history, roof_limit("75.5"), B)
    approved(history, roof_limit("74.5"), C)
    history.claim(roof_limit("75"), cites=[history.document(D)])

    assert agreement(history.explained(claim)) == [(0.8, B), (0.4, C)]


@pytest.mark.parametrize(
    "other",
    [
        roof_limit("75.501"),
        roof_limit("75", OFF_ROAD),
        roof_limit("75", basis=EXCLUDES, excluded="5"),
        roof_limit("75", bound=AT_MOST),
        roof_limit("75", scope=Scope(bodies=("wagon",))),
        factor("1"),
    ],
)
def test_what_says_something_else_does_not_agree(other: Statement) -> None:
    history = History()
    claim = approved(history, roof_limit("75", scope=Scope(bodies=("van",))), A)
    approved(history, other, B)

    assert agreement(history.explained(claim)) == []


@pytest.mark.parametrize(
    "other",
    [
        roof_limit("75", basis=Basis.NOT_STATED),
        roof_limit("75", bound=AT_LEAST),
        roof_limit("75", scope=Scope(bodies=("van", "wagon"), roofs=("bare",))),
    ],
)
def test_what_permits_the_same_agrees(other: Statement) -> None:
    history = History()
    claim = approved(history, roof_limit("75", scope=Scope(bodies=("van",))), A)
    approved(history, other, B)

    assert agreement(history.explained(claim)) == [(0.8, B)]


def test_another_subject_does_not_agree() -> None:
    history = History()
    claim = approved(history, load_rating("75"), A, subject=DECK)
    approved(history, load_rating("75"), B, subject=FEET)

    assert agreement(history.explained(claim)) == []


def test_factors_agree_when_they_are_the_same_and_for_the_same() -> None:
    history = History()
    claim = approved(history, factor("2/3"), A, subject=DECK)
    approved(history, factor("2/3", AppliesTo.BOTH), B, subject=DECK)
    approved(history, factor("2/3", AppliesTo.OWN_RATING), C, subject=DECK)
    approved(history, factor("0.7"), D, subject=DECK)

    explanation = history.explained(claim)

    assert agreement(explanation) == [(0.8, B)]
    assert "contradiction.lower_root" not in points(explanation)


def test_masses_for_each_of_an_unknown_number_neither_agree_nor_contradict() -> None:
    history = History()
    history.carrier()
    claim = approved(history, mass_said("5"), A, subject=DECK)
    approved(history, mass_said("2.5", per=Per.BAR), B, subject=DECK)
    approved(history, mass_said("50", per=Per.BAR), C, subject=DECK)

    explanation = history.explained(claim)

    assert agreement(explanation) == []
    assert "contradiction.lower_root" not in points(explanation)


def test_masses_for_each_agree_once_the_record_is_confirmed() -> None:
    history = History()
    history.carrier(bars=2)
    history.confirm(DECK)
    claim = approved(history, mass_said("5"), A, subject=DECK)
    approved(history, mass_said("2.5", per=Per.BAR), B, subject=DECK)

    assert agreement(history.explained(claim)) == [(0.8, B)]


# Contradiction: each lower root weighs as much as the claim that cites it


def contradiction(explanation: Explanation) -> list[tuple[float, str | None]]:
    return [
        (round(each.points, 6), each.about) for each in explanation.points if each.code.startswith("contradiction.")
    ]


def test_a_lower_root_takes_away_what_its_claim_is_worth() -> None:
    history = History()
    claim = approved(history, roof_limit("75"), A)
    approved(history, roof_limit("50"), B)

    # The lower claim by itself: 1.6 + 0.7 - 0.4 + 0.2 + 1.0 + 0.6 = 3.7, worth 0.9758729…; × -1.2 = -1.171048.
    assert contradiction(history.explained(claim)) == [(-1.171048, B)]
    assert history.explained(claim).sum == round(3.7 - 1.171048, 6)
    assert history.explained(claim).confidence == 0.926


def test_a_weaker_claim_takes_away_less() -> None:
    history = History()
    claim = approved(history, roof_limit("75"), A)
    lower = history.claim(roof_limit("50"), source=SourceType.MAKER_STATEMENT, cites=[history.document(B)])
    history.approve(lower, "first")

    # 0.9 + 0.7 - 0.4 + 0.2 = 1.4, worth 0.8021838…; × -1.2 = -0.962621.
    assert contradiction(history.explained(claim)) == [(-0.962621, B)]


def test_a_root_that_several_cite_weighs_once_with_the_best_of_them() -> None:
    history = History()
    claim = approved(history, roof_limit("75"), A)
    approved(history, roof_limit("50"), B, reads=False)
    approved(history, roof_limit("60"), B)
    approved(history, roof_limit("55"), C)

    # Twice 3.7 by itself (the first, unread one, is 2.1): -1.171048 for each root.
    assert contradiction(history.explained(claim)) == [(-1.171048, B), (-1.171048, C)]


@pytest.mark.parametrize(
    "other",
    [
        roof_limit("74.5"),
        roof_limit("80"),
        roof_limit("50", OFF_ROAD),
        roof_limit("50", bound=AT_LEAST),
        roof_limit("50", basis=EXCLUDES, excluded="5"),
        roof_limit("50", scope=Scope(bodies=("wagon",))),
    ],
)
def test_what_does_not_allow_less_does_not_contradict(other: Statement) -> None:
    history = History()
    claim = approved(history, roof_limit("75", scope=Scope(bodies=("van",))), A)
    approved(history, other, B)

    assert contradiction(history.explained(claim)) == []


def test_at_most_contradicts_as_an_exact_claim_does() -> None:
    history = History()
    claim = approved(history, roof_limit("75"), A)
    approved(history, roof_limit("50", bound=AT_MOST), B)

    assert contradiction(history.explained(claim)) == [(-1.171048, B)]


def test_a_root_does_not_contradict_a_claim_that_cites_it() -> None:
    history = History()
    claim = approved(history, roof_limit("75"), A)
    approved(history, roof_limit("50"), A)

    assert contradiction(history.explained(claim)) == []


def test_for_a_mass_what_is_heavier_contradicts() -> None:
    history = History()
    claim = approved(history, mass_said("25"), A, subject=DECK)
    approved(history, mass_said("30"), B, subject=DECK)
    approved(history, mass_said("20"), C, subject=DECK)
    approved(history, mass_said("30", bound=AT_MOST), D, subject=DECK)

    # By itself: 1.6 + 0.7 + 1.0 + 0.6 = 3.9, worth 0.9801597…; × -1.2 = -1.176192. A carrier's mass has no scope.
    assert contradiction(history.explained(claim)) == [(-1.176192, B)]


def test_a_lower_factor_contradicts() -> None:
    history = History()
    claim = approved(history, factor("0.8"), A, subject=DECK)
    approved(history, factor("2/3"), B, subject=DECK)

    assert contradiction(history.explained(claim)) == [(-1.176192, B)]


# The caps


def test_no_approval_and_one_approval_are_capped() -> None:
    history = History()
    claim = history.claim(cites=[history.document()])
    history.read(claim, "first")
    history.read(claim, "second")
    none = history.explained(claim)
    history.approve(claim, "first")
    one = history.explained(claim)
    history.approve(claim, "second")
    two = history.explained(claim)

    assert (caps(none), none.confidence) == ({"no_approval": 0.6}, 0.6)
    assert (caps(one), one.confidence) == ({"one_approval": 0.79}, 0.79)
    assert (caps(two), two.confidence) == ({}, 0.975)


def test_a_disputed_claim_is_capped_and_says_what_it_would_be() -> None:
    history = History()
    claim = approved(history)
    history.dispute(claim)

    explanation = history.explained(claim)

    assert explanation.caps == (Cap("disputed", 0.4),)
    assert (explanation.confidence, explanation.undisputed, explanation.fresh) == (0.4, 0.975, 0.4)


def test_an_old_claim_is_capped_and_says_what_it_would_be() -> None:
    history = History()
    claim = approved(history)
    history.age(claim, 5)

    explanation = history.explained(claim)

    assert explanation.caps == (Cap("past_review_by_a_year", 0.79),)
    # 3.7 - 1.5 = 2.2, and 1/(1+e^-2.2) = 0.90024….
    assert (explanation.uncapped, explanation.confidence) == (0.9, 0.79)
    assert (explanation.fresh, explanation.undisputed) == (0.975, 0.79)


def test_the_lowest_cap_holds() -> None:
    history = History()
    claim = approved(history)
    history.age(claim, 1)
    history.dispute(claim)

    explanation = history.explained(claim)

    assert caps(explanation) == {"past_review_by_a_year": 0.79, "disputed": 0.4}
    assert explanation.confidence == 0.4


@pytest.mark.parametrize(
    ("rating", "capped"),
    [
        (load_rating("75"), True),
        (load_rating("75.5"), True),
        (load_rating("74.5", OFF_ROAD, basis=INCLUDES), True),
        (load_rating("37.5", per=Per.BAR), True),
        (load_rating("75.501"), False),
        (mass_said("75"), False),
    ],
)
def test_a_maker_s_statement_that_repeats_a_carrier_s_rating_is_capped(rating: Statement, capped: bool) -> None:
    history = History()
    history.carrier(bars=2)
    history.confirm(DECK)
    history.fitment()
    approved(history, rating, B, subject=DECK)
    claim = approved(history, roof_limit("75"), source=SourceType.MAKER_STATEMENT)

    assert caps(history.explained(claim)) == ({"repeats_carrier_rating": 0.6} if capped else {})


def test_only_a_maker_s_statement_of_a_roof_limit_is_taken_for_a_repetition() -> None:
    history = History()
    history.carrier()
    history.fitment()
    approved(history, load_rating("75"), B, subject=DECK)

    assert caps(history.explained(approved(history, roof_limit("75"), A))) == {}
    assert caps(history.explained(approved(history, factor("1"), source=SourceType.MAKER_STATEMENT))) == {}


def test_the_rating_of_a_carrier_that_does_not_fit_is_no_repetition() -> None:
    history = History()
    history.carrier()
    history.fitment("another")
    approved(history, load_rating("75"), B, subject=DECK)

    assert caps(history.explained(approved(history, roof_limit("75"), source=SourceType.MAKER_STATEMENT))) == {}


def test_a_rating_that_nobody_approved_is_no_repetition() -> None:
    history = History()
    history.carrier()
    history.fitment()
    history.claim(load_rating("75"), subject=DECK)

    assert caps(history.explained(approved(history, roof_limit("75"), source=SourceType.MAKER_STATEMENT))) == {}


def test_a_second_independent_root_takes_the_cap_away() -> None:
    history = History()
    history.carrier()
    history.fitment()
    approved(history, load_rating("75"), B, subject=DECK)
    claim = approved(history, roof_limit("75"), A, source=SourceType.MAKER_STATEMENT)
    approved(history, roof_limit("75"), A)
    assert caps(history.explained(claim)) == {"repeats_carrier_rating": 0.6}
    approved(history, roof_limit("75"), C)

    assert caps(history.explained(claim)) == {}


# Fragility: what is left without the strongest root


def test_a_claim_with_one_root_falls_to_nothing_cited() -> None:
    history = History()
    claim = approved(history)

    # 1.6 - 1.2 - 0.4 + 0.2 + 1.0 + 0.6 = 1.8: 0.85814… uncapped, and without a held page at most 0.79.
    assert history.fragility(claim) == Fragility(A, 0.79)


def test_a_claim_with_two_roots_loses_their_agreement() -> None:
    history = History()
    claim = approved(history, roof_limit("75"), A, reads=False)
    approved(history, roof_limit("75"), B)

    explanation = history.explained(claim)

    # 1.6 + 0.7 - 0.4 + 0.2 + 0.8 = 2.9: 0.94784…. Without its own page only the other's is left, which is then no
    # further root: 1.6 - 1.2 - 0.4 + 0.2 = 0.2: 0.54983…. Without the other's: 2.1, 0.89090….
    assert (explanation.sum, explanation.confidence) == (2.9, 0.947)
    assert history.fragility(claim) == Fragility(A, 0.549)


def test_taking_a_root_away_takes_its_contradiction_away() -> None:
    history = History()
    claim = history.claim(roof_limit("75"), cites=[history.document(A), history.document(B)])
    history.approve(claim)
    approved(history, roof_limit("50"), C)

    explanation = history.explained(claim)

    # 1.6 + 0.7 - 0.4 + 0.2 + 0.8 - 1.171048 = 1.728952. Without either root, 0.8 less: 0.928952, 0.71687….
    assert explanation.sum == 1.728952
    assert history.fragility(claim) == Fragility(A, 0.716)


# The method


def test_a_claim_is_scored_by_the_method_in_force() -> None:
    history = History()
    claim = history.claim()
    history.tell("system", MethodAdopted("m1"))

    assert history.explained(claim).method == "m1"
    assert set(METHODS) == {"m1"}


def test_every_point_is_in_the_method_s_table() -> None:
    history = History()
    claim = history.claim(cites=[history.document(A), history.document(B)])
    history.read_and_approve(claim)
    method = METHODS["m1"]

    explanation = history.explained(claim)

    assert all(method.points[point.code] == point.points for point in explanation.points)
    assert explanation.sum == pytest.approx(sum(point.points for point in explanation.points))


# Nothing that makes a low claim weaker, and nobody alone, makes another one surer


def contradicted_for_vans() -> tuple[History, str, str]:
    """A limit for every body that would set but for a lower one for vans; the lower one."""
    history = History()
    high = history.claim(
        roof_limit("75", basis=Basis.NOT_STATED), source=SourceType.MAKER_STATEMENT, cites=[history.document(A)]
    )
    history.read(high, "first")
    history.approve(high)
    low = approved(history, roof_limit("50", scope=Scope(bodies=("van",))), B)
    assert 0.6 < history.explained(high).confidence < SETS_AT
    return history, high, low


def test_disputing_a_low_claim_raises_no_other_s_confidence() -> None:
    history, high, low = contradicted_for_vans()
    before = history.explained(high).confidence
    history.dispute(low)

    assert history.of(low).state is State.DISPUTED
    assert history.explained(high).confidence <= before


def test_the_age_of_a_low_claim_raises_no_other_s_confidence() -> None:
    history, high, low = contradicted_for_vans()
    before = history.explained(high).confidence
    history.age(low, 5)

    assert history.explained(high).confidence <= before


def test_a_mismatch_on_a_low_claim_raises_no_other_s_confidence() -> None:
    history, high, low = contradicted_for_vans()
    before = history.explained(high).confidence
    history.read(low, "third", "figure")

    assert history.explained(high).confidence <= before


def test_evidence_of_a_low_claim_that_is_taken_down_raises_no_other_s_confidence() -> None:
    history, high, low = contradicted_for_vans()
    before = history.explained(high).confidence
    facts = history.facts
    page = facts.claims[low].citations[0].document
    facts.documents[page] = msgspec.structs.replace(facts.documents[page], taken_down=True)

    assert explain(facts.claims[high], facts).confidence <= before


def test_a_root_that_is_not_held_takes_no_cap_away() -> None:
    history = History()
    history.carrier()
    history.fitment()
    approved(history, load_rating("75"), B, subject=DECK)
    gone = history.document(C)
    claim = history.claim(roof_limit("75"), source=SourceType.MAKER_STATEMENT, cites=[history.document(A), gone])
    history.read_and_approve(claim)
    facts = history.facts
    facts.documents[gone] = msgspec.structs.replace(facts.documents[gone], taken_down=True)

    assert caps(explain(facts.claims[claim], facts)) == {"repeats_carrier_rating": 0.6}


def test_it_takes_a_held_page_and_two_approvals_to_agree() -> None:
    history = History()
    claim = approved(history, roof_limit("75"), A)
    other = history.claim(roof_limit("75"), cites=[history.document(B)])
    history.approve(other, "first")
    once = agreement(history.explained(claim))
    history.approve(other, "second")
    facts = history.facts
    page = facts.claims[other].citations[0].document
    facts.documents[page] = msgspec.structs.replace(facts.documents[page], taken_down=True)

    assert once == []
    assert agreement(history.explained(claim)) == [(0.8, B)]
    assert agreement(explain(facts.claims[claim], facts)) == []


def test_a_claim_with_one_approval_makes_no_other_set() -> None:
    history = History()
    claim = approved(
        history, roof_limit("75", basis=Basis.NOT_STATED), A, source=SourceType.MAKER_STATEMENT, reads=False
    )
    assert history.explained(claim).confidence < SETS_AT
    history.approve(history.claim(roof_limit("75"), cites=[history.document(B)]), "first")

    assert history.explained(claim).confidence < SETS_AT


def test_a_mass_of_no_stated_basis_counts_as_including() -> None:
    history = History()
    claim = approved(history, mass_said("25", basis=Basis.INCLUDES_FIXING), A, subject=DECK)
    approved(history, mass_said("30", basis=Basis.NOT_STATED), B, subject=DECK)

    assert contradiction(history.explained(claim)) != []


def test_a_limit_that_reads_as_including_is_compared_as_including() -> None:
    history = History()
    claim = approved(history, roof_limit("75"), A)
    approved(history, roof_limit("50", basis=EXCLUDES), B)

    assert contradiction(history.explained(claim)) != []


def test_limits_that_leave_out_different_carriers_do_not_agree() -> None:
    history = History()
    claim = approved(history, roof_limit("75", basis=EXCLUDES, excluded="25"), A)
    approved(history, roof_limit("75", basis=EXCLUDES, excluded="5"), B)

    assert agreement(history.explained(claim)) == []


def test_bounds_of_what_is_scored_do_not_matter_to_its_own_points() -> None:
    history = History()
    found = {history.explained(history.claim(roof_limit(bound=bound))).sum for bound in Bound}

    assert len(found) == 1


# What the machine reads


def test_a_figure_that_is_found_on_one_of_its_pages_counts_for_and_one_on_none_against() -> None:
    history = History()
    history.vehicle()
    claim = history.claim(cites=[history.document("a" * 64), history.document("b" * 64)])
    first, second = (citation.id for citation in history.facts.claims[claim].citations)

    def reading() -> dict[str, float]:
        told = explain(history.facts.claims[claim], history.facts).points
        return {each.code: each.points for each in told if each.code.startswith("reading")}

    assert reading() == {}
    history.look(claim, first, "no_text")
    assert reading() == {}
    history.look(claim, first, "not_found")
    assert reading() == {"reading.not_found": -1.0}
    history.look(claim, second, "found")
    assert reading() == {"reading.found": 0.6}


def test_a_low_claim_whose_figure_is_not_found_contradicts_as_much_as_before() -> None:
    history = History()
    history.vehicle()
    high = history.claim(cites=[history.document("a" * 64)])
    history.approve(high)
    low = history.claim(roof_limit("60"), cites=[history.document("b" * 64)])
    history.read_and_approve(low, "third")
    before = explain(history.facts.claims[high], history.facts).confidence
    history.look(low, history.facts.claims[low].citations[0].id, "not_found")

    assert explain(history.facts.claims[high], history.facts).confidence == before
