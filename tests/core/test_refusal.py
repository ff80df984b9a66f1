"""Why there is no figure (section 2.2): every kind and their order; and the undecided claims that would lower one."""

import pytest

from app.core.claim import Condition, Quantity
from app.core.lifecycle import State
from app.core.limits import limit, own_mass
from app.core.mass import Per
from app.core.refusal import Refusal, RefusalKind, Unreviewed, refusal
from app.core.scope import UNKNOWN, Context, Scope
from app.core.scoring import Dossier
from app.core.selection import Support
from tests.core.builders import (
    AT_LEAST,
    AT_MOST,
    EXCLUDES,
    OFF_ROAD,
    ON_ROAD,
    PARKED,
    Told,
    budget_for,
    carrier,
    factor,
    fitment,
    fixing,
    limit_of,
    load_rating,
    mass_said,
    once,
    platform,
    roof_limit,
    told,
    undecided,
    vehicle,
)

VANS = Scope(bodies=("van",))
WAGON = Context(2021, "wagon", ("bare",), "NZ")

ELSEWHERE = told(roof_limit("75", scope=VANS), id="C-elsewhere")
DISPUTED = told(roof_limit("75"), 0.4, id="C-disputed", state=State.DISPUTED, undisputed=0.9)
STALE = told(roof_limit("75"), 0.79, id="C-stale", fresh=0.9)
WEAK = undecided(roof_limit("75"), 0.6, id="C-weak")
CAPPING = once(roof_limit("75", bound=AT_MOST), id="C-capping")
DEAD = told(roof_limit("75"), 0.9, id="C-dead", state=State.WITHDRAWN)


def refused(*claims: Told, demand: float = 0.80) -> Refusal:
    found = limit(vehicle(*claims), WAGON, ON_ROAD, demand).refusal
    assert found is not None
    return found


# The kinds


@pytest.mark.parametrize(
    ("claims", "kind", "best"),
    [
        ([ELSEWHERE], RefusalKind.SCOPE_UNPROVEN, Support(0.95, "C-elsewhere")),
        ([DISPUTED], RefusalKind.DISPUTED, Support(0.4, "C-disputed")),
        ([STALE], RefusalKind.STALE, Support(0.79, "C-stale")),
        ([WEAK], RefusalKind.BELOW_CONFIDENCE, Support(0.6, "C-weak")),
        ([CAPPING], RefusalKind.BELOW_CONFIDENCE, None),
        ([DEAD], RefusalKind.WITHDRAWN, None),
        ([], RefusalKind.NO_CLAIM, None),
    ],
)
def test_each_kind_of_refusal(claims: list[Told], kind: RefusalKind, best: Support | None) -> None:
    assert refused(*claims) == Refusal("roof_limit", "tarn", kind, best)


@pytest.mark.parametrize("first", range(6))
def test_the_first_kind_that_fits_is_named(first: int) -> None:
    claims = [ELSEWHERE, DISPUTED, STALE, WEAK, DEAD]
    kinds = [
        RefusalKind.SCOPE_UNPROVEN,
        RefusalKind.DISPUTED,
        RefusalKind.STALE,
        RefusalKind.BELOW_CONFIDENCE,
        RefusalKind.WITHDRAWN,
        RefusalKind.NO_CLAIM,
    ]

    assert refused(*claims[first:]).kind is kinds[first]
    assert refused(*reversed(claims[first:])).kind is kinds[first]


def test_the_best_claim_is_the_surest_that_could_give_the_figure() -> None:
    surer = once(roof_limit("75", bound=AT_MOST), 0.79, id="C-most")

    assert refused(WEAK, surer, undecided(roof_limit("70"), 0.55, id="C2")).best == Support(0.6, "C-weak")


def test_there_is_no_refusal_where_there_is_a_figure() -> None:
    assert limit(vehicle(told(roof_limit("75"))), WAGON, ON_ROAD, 0.80).refusal is None


def test_a_higher_demand_is_below_confidence() -> None:
    found = refused(told(roof_limit("75"), 0.85), demand=0.9)

    assert (found.kind, found.best) == (RefusalKind.BELOW_CONFIDENCE, Support(0.85, "C1"))


def test_what_is_turned_down_is_not_unproven_for_being_sure_elsewhere() -> None:
    sure = told(roof_limit("75", scope=VANS), 0.99, id="C2")

    assert refused(told(roof_limit("75"), 0.85), sure, demand=0.9).kind is RefusalKind.BELOW_CONFIDENCE


def test_one_car_that_has_no_figure_makes_all_unproven() -> None:
    found = limit(vehicle(ELSEWHERE), UNKNOWN, ON_ROAD, 0.80)

    assert found.refusal is not None and found.refusal.kind is RefusalKind.SCOPE_UNPROVEN


def test_a_stand_in_for_other_cars_is_unproven_too() -> None:
    elsewhere = told(roof_limit("50", OFF_ROAD, scope=VANS))
    for condition in (ON_ROAD, OFF_ROAD, PARKED):
        found = limit(vehicle(elsewhere), WAGON, condition, 0.80).refusal
        assert found is not None and found.kind is RefusalKind.SCOPE_UNPROVEN


def test_a_parked_claim_says_nothing_of_driving() -> None:
    found = limit(vehicle(told(roof_limit("200", PARKED))), WAGON, ON_ROAD, 0.80).refusal

    assert found is not None and found.kind is RefusalKind.NO_CLAIM


def test_a_part_s_rating_and_mass_are_refused_alike() -> None:
    deck = carrier(undecided(load_rating("100"), id="C1"), told(mass_said("25"), state=State.REJECTED, id="C2"))

    rating, mass = limit(deck, UNKNOWN, ON_ROAD, 0.80).refusal, own_mass(deck, 0.80).refusal

    assert rating == Refusal("load_rating", "deck", RefusalKind.BELOW_CONFIDENCE, Support(0.55, "C1"))
    assert mass == Refusal("own_mass", "deck", RefusalKind.WITHDRAWN, None)


def test_at_least_says_only_what_a_mass_is_not() -> None:
    found = own_mass(carrier(told(mass_said("25", bound=AT_LEAST))), 0.80).refusal

    assert found == Refusal("own_mass", "deck", RefusalKind.BELOW_CONFIDENCE, None)


def test_a_mass_that_a_higher_demand_turns_down_is_below_confidence() -> None:
    found = own_mass(carrier(told(mass_said("25"), 0.85)), 0.9)

    assert found.refusal == Refusal("own_mass", "deck", RefusalKind.BELOW_CONFIDENCE, Support(0.85, "C1"))
    assert own_mass(carrier(told(mass_said("25"), 0.9)), 0.9).refusal is None


def test_a_refusal_may_be_had_from_candidates_alone() -> None:
    found = refusal("roof_limit", "tarn", [], [limit_of(75, state=State.REJECTED)], 0.80, ())

    assert found.kind is RefusalKind.WITHDRAWN


# What is easily taken for another kind


def test_a_factor_alone_is_no_figure_of_other_cars() -> None:
    found = limit(vehicle(told(factor("2/3"))), WAGON, OFF_ROAD, 0.80).refusal

    assert found == Refusal("roof_limit", "tarn", RefusalKind.NO_CLAIM, None)


def test_below_080_a_figure_for_other_cars_only_is_unproven() -> None:
    found = limit(vehicle(undecided(roof_limit("75", scope=VANS), 0.6)), UNKNOWN, ON_ROAD, 0.5).refusal

    assert found is not None and found.kind is RefusalKind.SCOPE_UNPROVEN


def test_a_mass_of_unknown_number_is_not_unproven_for_its_scope() -> None:
    found = own_mass(carrier(told(mass_said("2.5", per=Per.BAR))), 0.80).refusal

    assert found is not None and found.kind is RefusalKind.BELOW_CONFIDENCE


# Undecided claims that would be lower


def lower_limits(car: Dossier, context: Context = WAGON) -> list[tuple[str, int | None]]:
    return [(each.claim, each.grams) for each in limit(car, context, ON_ROAD, 0.80).unreviewed_lower]


def test_undecided_claims_that_would_lower_are_listed_and_change_nothing() -> None:
    waiting = undecided(roof_limit("50"), 0.3, id="C2")
    asked = told(roof_limit("60"), 0.3, id="C3", state=State.NEEDS_EVIDENCE, approvals=0)

    found = limit(vehicle(told(roof_limit("75")), waiting, asked), WAGON, ON_ROAD, 0.80)

    assert found.unreviewed_lower == (
        Unreviewed("C2", "roof_limit", 50_000, 0.3),
        Unreviewed("C3", "roof_limit", 60_000, 0.3),
    )
    assert min(line.grams for line in found.ruling.figure) == 75_000


@pytest.mark.parametrize(
    "waiting",
    [
        undecided(roof_limit("75"), id="C2"),
        undecided(roof_limit("80"), id="C2"),
        undecided(roof_limit("50", bound=AT_LEAST), id="C2"),
        undecided(roof_limit("50", scope=VANS), id="C2"),
        undecided(roof_limit("50", PARKED), id="C2"),
        once(roof_limit("50"), id="C2"),
        told(roof_limit("50"), state=State.WITHDRAWN, approvals=0, id="C2"),
    ],
)
def test_what_would_not_lower_is_not_listed(waiting: Told) -> None:
    assert lower_limits(vehicle(told(roof_limit("75")), waiting)) == []


def test_a_lower_limit_for_some_car_that_this_could_be_is_listed() -> None:
    car = vehicle(told(roof_limit("75")), undecided(roof_limit("50", scope=VANS), id="C2"))
    closed = vehicle(told(roof_limit("75")), undecided(roof_limit("50", scope=VANS), id="C2"), bodies=("wagon",))

    assert lower_limits(car, UNKNOWN) == [("C2", 50_000)]
    assert lower_limits(closed, UNKNOWN) == []


def test_at_most_and_what_limits_another_side_are_listed() -> None:
    car = vehicle(
        told(roof_limit("75")),
        undecided(roof_limit("60", bound=AT_MOST), id="C2"),
        undecided(roof_limit("90", basis=EXCLUDES, excluded="10"), id="C3"),
    )

    # The third leaves the roof higher, and would be the first to limit the cargo alone.
    assert lower_limits(car) == [("C2", 60_000), ("C3", 90_000)]


def test_where_there_is_no_figure_every_undecided_claim_is_listed() -> None:
    assert lower_limits(vehicle(WEAK)) == [("C-weak", 75_000)]
    assert lower_limits(vehicle(WEAK, CAPPING)) == []


def test_off_road_undecided_factors_that_would_lower_are_listed() -> None:
    car = vehicle(told(roof_limit("75")), told(factor("0.8"), id="C2"))
    deck = platform(undecided(factor("0.7"), id="C3"), undecided(factor("1/2"), id="C4"))
    lower = vehicle(
        told(roof_limit("75")),
        told(factor("0.8"), id="C2"),
        undecided(factor("0.9"), id="C5"),
        undecided(factor("0.7"), id="C6"),
    )

    def listed(*stack: Dossier, condition: Condition = OFF_ROAD) -> list[tuple[str, str]]:
        answer = budget_for(*stack, condition=condition)
        return [(each.claim, each.figure) for each in answer.stacked.unreviewed_lower]

    assert listed(car, deck) == [("C3", "off_road_factor"), ("C4", "off_road_factor")]
    assert listed(lower) == [("C6", "off_road_factor")]
    assert listed(car, deck, condition=ON_ROAD) == []


def test_undecided_masses_that_would_be_heavier_are_listed() -> None:
    deck = platform(
        undecided(mass_said("30"), id="C3"),
        undecided(mass_said("20"), id="C4"),
        undecided(mass_said("40", bound=AT_MOST), id="C5"),
        undecided(mass_said("10", per=Per.BAR), id="C6"),
        once(mass_said("20"), id="C7"),
    )
    car = vehicle(told(roof_limit("75")))

    assert budget_for(car, deck).stacked.unreviewed_lower == (Unreviewed("C3", Quantity.OWN_MASS, 30_000, 0.55),)
    assert own_mass(deck, 0.80).unreviewed_higher == (Unreviewed("C3", "own_mass", 30_000, 0.55),)
    unknown = carrier(undecided(mass_said("30"), id="C3"))
    assert [each.claim for each in own_mass(unknown, 0.80).unreviewed_higher] == ["C3"]


def test_a_budget_lists_those_of_every_part_and_fitment() -> None:
    fits = fitment(told(load_rating("60"), id="C5"), undecided(load_rating("40"), id="C6"))
    idle = fitment(undecided(load_rating("10"), id="C0"), carrier="other", id="F10")
    car = vehicle(told(roof_limit("75")), undecided(roof_limit("50"), id="C2"), fitments=(fits, idle))
    feet = fixing(
        told(mass_said("4"), id="C7"), told(load_rating("90"), id="C8"), undecided(load_rating("30"), id="C9")
    )
    deck = platform(undecided(load_rating("80"), id="C10"), built_in=False)

    answer = budget_for(car, deck, fixing=feet)

    assert [(each.claim, each.figure) for each in answer.stacked.unreviewed_lower] == [
        ("C2", "roof_limit"),
        ("C6", "load_rating"),
        ("C9", "load_rating"),
        ("C10", "load_rating"),
    ]
    assert answer.budget.allowed == 75_000 - 29_000


@pytest.mark.parametrize(
    ("condition", "claims"),
    [
        (ON_ROAD, [told(roof_limit("75")), undecided(roof_limit("50", OFF_ROAD), id="C2")]),
        (PARKED, [told(roof_limit("200", PARKED)), undecided(roof_limit("75"), id="C2")]),
    ],
)
def test_what_another_condition_says_is_not_listed_where_it_would_change_nothing(
    condition: Condition, claims: list[Told]
) -> None:
    found = limit(vehicle(*claims), WAGON, condition, 0.80)

    assert found.unreviewed_lower == ()


def test_a_factor_for_other_cars_hides_no_undecided_one() -> None:
    car = vehicle(told(roof_limit("75")), told(factor("0.5", scope=VANS), id="C2"), undecided(factor("0.7"), id="C3"))

    listed = budget_for(car, context=WAGON, condition=OFF_ROAD).stacked.unreviewed_lower

    assert [each.claim for each in listed] == ["C3"]


def test_a_limit_by_itself_lists_undecided_factors() -> None:
    deck = platform(undecided(factor("1/2"), id="C3"))

    assert [each.claim for each in limit(deck, UNKNOWN, OFF_ROAD, 0.80).unreviewed_lower] == ["C3"]
