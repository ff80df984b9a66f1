"""The budget (section 2.4): the worked examples to the gram, every verdict with its reasons, and what is said beside."""

import pytest

from app.core.budget import (
    Budget,
    ConstraintName,
    Fitted,
    Item,
    Load,
    Missing,
    Part,
    Setup,
    Trap,
    Verdict,
    load_of,
    load_up,
    stack_up,
    work_out,
)
from app.core.claim import AppliesTo, Bound, Condition
from app.core.conditions import Ruling
from app.core.gear import CATEGORIES, recorded, usual, weighed
from app.core.given import GivenPart, GivenRoof
from app.core.scoring import Dossier
from app.core.selection import Firmness, Line, Mass, Side, Support
from tests.core.builders import (
    AT_LEAST,
    AT_MOST,
    EXCLUDES,
    INCLUDES,
    OFF_ROAD,
    ON_ROAD,
    PARKED,
    bars,
    budget_for,
    cargo,
    carrier,
    factor,
    fitment,
    fixing,
    kg,
    load_rating,
    mass_said,
    once,
    platform,
    roof_limit,
    told,
    undecided,
    vehicle,
)

ROOF = told(roof_limit("75"), id="C-roof")
CAR = vehicle(ROOF)


def named(budget: Budget) -> dict[str, int]:
    return {str(constraint.name): constraint.allowed for constraint in budget.constraints}


# The worked examples, on figures that are common practice


def test_the_platform_on_road() -> None:
    budget = budget_for(CAR, platform(), items=(cargo(40),)).budget

    # 75 - 25 = 50 on the roof; 100 on the platform.
    assert named(budget) == {"vehicle_roof": 50_000, "carrier": 100_000}
    assert (budget.allowed, budget.raw, budget.ceiling, budget.remaining) == (50_000, 50_000, 50_000, 10_000)
    assert [constraint.name for constraint in budget.binding] == [ConstraintName.VEHICLE_ROOF]
    assert (budget.verdict, budget.reasons, budget.vetted) == (Verdict.WITHIN, (), True)
    assert budget.trap == Trap("deck", 100_000, 50_000)
    assert budget.stack.mass == 25_000


def test_the_platform_off_road_with_a_factor_on_the_roof() -> None:
    deck = platform(told(factor("2/3", AppliesTo.ROOF_LIMIT), id="C-factor"))

    budget = budget_for(CAR, deck, condition=OFF_ROAD).budget

    # 75 × 2/3 - 25 = 25.
    assert budget.allowed == 25_000
    assert [(each.name, each.by, each.factor_by) for each in budget.binding] == [
        (ConstraintName.VEHICLE_ROOF_REDUCED, "tarn", "deck")
    ]
    assert budget.binding[0].line.claims == ("C-roof", "C-factor")


def test_the_platform_off_road_without_a_factor() -> None:
    assert budget_for(CAR, platform(), condition=OFF_ROAD).budget.allowed == 50_000


def test_bars_instead_of_the_platform() -> None:
    assert budget_for(CAR, bars("100")).budget.allowed == 70_000


def test_a_platform_on_bars() -> None:
    budget = budget_for(CAR, bars(), platform()).budget

    # The roof allows 75 - 30 = 45, the bars 75 - 25 = 50.
    assert [(str(each.name), each.by, each.allowed, each.place) for each in budget.constraints] == [
        ("vehicle_roof", "tarn", 45_000, 0),
        ("carrier", "bars", 50_000, 0),
        ("carrier", "deck", 100_000, 1),
    ]
    assert budget.allowed == 45_000


def test_a_roof_limit_that_excludes_a_carrier_of_5_kg() -> None:
    car = vehicle(told(roof_limit("75", basis=EXCLUDES, excluded="5")))

    # The lower of 75 and 75 + 5 - 25 = 55.
    assert budget_for(car, platform()).budget.allowed == 55_000
    assert budget_for(car, bars("100")).budget.allowed == 75_000


# Each constraint


def test_a_carrier_s_rating_that_counts_itself() -> None:
    deck = carrier(told(mass_said("25"), id="C2"), told(load_rating("60", basis=INCLUDES), id="C3"))

    # 60 - 25 = 35 for what is on it.
    assert named(budget_for(CAR, deck).budget)["carrier"] == 35_000


def test_a_fixing_weighs_on_the_roof_and_on_ratings_that_count_it() -> None:
    feet = fixing(told(mass_said("4"), id="C4"), told(load_rating("60"), id="C5"))
    deck = carrier(
        told(mass_said("25"), id="C2"),
        told(load_rating("80", basis=INCLUDES), id="C3"),
        built_in=False,
    )

    budget = budget_for(CAR, deck, fixing=feet).budget

    # Roof: 75 - 29. Fixing: 60 - 25 for the cargo, its own mass left out. Carrier: 80 - 25 - 4.
    assert named(budget) == {"vehicle_roof": 46_000, "fixing": 35_000, "carrier": 51_000}
    assert budget.vetted
    gross = fixing(told(mass_said("4"), id="C4"), told(load_rating("60", basis=INCLUDES), id="C5"))
    # 60 - 4 - 25.
    assert named(budget_for(CAR, deck, fixing=gross).budget)["fixing"] == 31_000


def test_a_fitment_binds_as_a_carrier_does_and_is_not_needed() -> None:
    fits = fitment(told(load_rating("40"), id="C6"))
    unrated = fitment(id="F10")

    budget = budget_for(vehicle(ROOF, fitments=(fits, unrated)), platform()).budget

    assert named(budget) == {"vehicle_roof": 50_000, "carrier": 100_000, "fitment": 40_000}
    assert budget.binding[0].by == "F9"
    assert budget.missing == ()


def test_a_fitment_uses_its_carrier_s_factor() -> None:
    fits = fitment(told(load_rating("40"), id="C6"))
    deck = platform(told(factor("1/2", AppliesTo.OWN_RATING), id="C7"))

    budget = budget_for(vehicle(ROOF, fitments=(fits,)), deck, condition=OFF_ROAD).budget

    assert named(budget) == {"vehicle_roof": 50_000, "carrier": 50_000, "fitment": 20_000}


def test_a_fitment_under_another_carrier_bears_it() -> None:
    fits = fitment(told(load_rating("60"), id="C6"), carrier="bars")

    budget = budget_for(vehicle(ROOF, fitments=(fits,)), bars(), platform()).budget

    assert [(each.by, each.allowed, each.place) for each in budget.constraints if each.name == "fitment"] == [
        ("F9", 35_000, 0)
    ]


def test_every_factor_on_the_roof_makes_a_constraint_of_its_own() -> None:
    car = vehicle(ROOF, told(factor("0.8"), id="C8"))
    deck = platform(told(factor("2/3", AppliesTo.BOTH), id="C9"))
    rails = carrier(
        told(mass_said("5"), id="C2"),
        told(load_rating("100"), id="C3"),
        told(factor("0.5", AppliesTo.OWN_RATING), id="C4"),
        id="bars",
    )

    reduced = [
        (each.factor_by, each.allowed)
        for each in budget_for(car, rails, deck, condition=OFF_ROAD).budget.constraints
        if each.name is ConstraintName.VEHICLE_ROOF_REDUCED
    ]

    # 75 × 0.8 - 30 and 75 × 2/3 - 30; the bars' factor is on their own rating.
    assert reduced == [("tarn", 30_000), ("deck", 20_000)]


def test_a_fixing_s_factor_reduces_the_roof_too() -> None:
    feet = fixing(
        told(mass_said("5"), id="C4"),
        told(load_rating("100"), id="C5"),
        told(factor("0.5", AppliesTo.ROOF_LIMIT), id="C6"),
    )

    budget = budget_for(CAR, platform(), fixing=feet, condition=OFF_ROAD).budget

    # 75 × 0.5 - 30 = 7.5.
    assert (budget.allowed, budget.binding[0].factor_by) == (7_500, "feet")


def test_a_factor_is_not_applied_on_road() -> None:
    assert budget_for(vehicle(ROOF, told(factor("0.5"), id="C8")), platform()).budget.allowed == 50_000


# The asker's own figures


def test_a_given_roof_binds_beside_the_registry_s() -> None:
    budget = budget_for(CAR, platform(), given_roof=GivenRoof(kg("60"))).budget

    assert named(budget) == {"vehicle_roof": 50_000, "given_roof": 35_000, "carrier": 100_000}
    assert (budget.allowed, budget.vetted) == (35_000, False)
    assert budget.binding[0].line.given


def test_a_given_roof_stands_alone_where_no_vehicle_is_named() -> None:
    budget = budget_for(None, platform(), given_roof=GivenRoof(kg("60"), EXCLUDES, kg("30"))).budget

    assert named(budget) == {"given_roof": 60_000, "carrier": 100_000}
    assert budget.verdict is Verdict.WITHIN
    assert not budget.vetted


def test_every_factor_on_the_roof_reduces_a_given_roof() -> None:
    car = vehicle(ROOF, told(factor("0.8"), 0.9, id="C8"))
    deck = platform(told(factor("2/3", AppliesTo.ROOF_LIMIT), id="C9"))

    budget = budget_for(car, deck, given_roof=GivenRoof(kg("60")), condition=OFF_ROAD).budget

    assert [(each.by, each.factor_by, each.allowed) for each in budget.constraints if each.factor_by] == [
        ("tarn", "tarn", 35_000),
        ("tarn", "deck", 25_000),
        ("given", "tarn", 23_000),
        ("given", "deck", 15_000),
    ]
    # The asker's roof is certain by itself; the factor on it is a claim.
    assert (budget.weakest, budget.binding[0].line.support) == (Support(0.95, "C-mass"), (Support(0.95, "C9"),))


def test_a_carrier_as_given() -> None:
    mine = GivenPart(kg("25"), kg("100"), EXCLUDES, "2/3", AppliesTo.ROOF_LIMIT)

    budget = budget_for(CAR, mine, condition=OFF_ROAD).budget

    assert named(budget) == {"vehicle_roof": 50_000, "vehicle_roof_reduced": 25_000, "carrier": 100_000}
    assert budget.trap == Trap("given carrier 1", 100_000, 25_000)
    assert not budget.vetted


def test_a_fixing_as_given_is_said() -> None:
    budget = budget_for(CAR, platform(built_in=False), fixing=GivenPart(kg("3"), kg("90"))).budget

    assert budget.reasons == ()
    assert named(budget)["fixing"] == 90_000 - 3_000 - 25_000


# Missing figures


@pytest.mark.parametrize(
    ("deck", "missing", "ceiling"),
    [
        (carrier(told(load_rating("100"))), (Missing("own_mass", "deck"),), 75_000),
        (carrier(told(mass_said("25"))), (Missing("load_rating", "deck"),), 50_000),
        (carrier(), (Missing("own_mass", "deck"), Missing("load_rating", "deck")), 75_000),
        (GivenPart(), (Missing("own_mass", "given carrier 1"), Missing("load_rating", "given carrier 1")), 75_000),
    ],
)
def test_a_part_needs_its_mass_and_its_rating(
    deck: Dossier | GivenPart, missing: tuple[Missing, ...], ceiling: int
) -> None:
    budget = budget_for(CAR, deck, items=(cargo(10),)).budget

    assert (budget.missing, budget.ceiling) == (missing, ceiling)
    assert (budget.raw, budget.allowed, budget.remaining, budget.remaining_worst) == (None, None, None, None)
    assert (budget.binding, budget.trap, budget.confidence, budget.weakest, budget.vetted) == (
        (),
        None,
        None,
        None,
        False,
    )
    assert budget.verdict is Verdict.UNKNOWN
    assert budget.stack.allowed is None


def test_with_a_mass_unknown_an_exact_allowance_is_a_cap() -> None:
    budget = budget_for(CAR, carrier(told(load_rating("100")))).budget

    assert {constraint.line.firmness for constraint in budget.constraints} == {Firmness.CAP}


def test_a_roof_without_a_figure_leaves_its_caps_as_a_ceiling() -> None:
    budget = budget_for(vehicle(once(roof_limit("60"))), platform()).budget

    assert budget.missing == (Missing("roof_limit", "tarn"),)
    assert (budget.allowed, budget.ceiling) == (None, 35_000)
    assert budget.reasons == ("roof_limit_not_known",)


def test_a_floor_is_no_ceiling() -> None:
    car = vehicle(told(roof_limit("75", bound=AT_LEAST)))

    assert budget_for(car).budget.ceiling is None
    assert budget_for(car, platform()).budget.ceiling == 100_000


def test_nothing_known_has_no_ceiling() -> None:
    assert budget_for(vehicle()).budget.ceiling is None


# The verdicts, first that fits


@pytest.mark.parametrize(
    ("kilograms", "verdict", "reasons"),
    [
        (50, Verdict.WITHIN, ()),
        (50.001, Verdict.OVER, ("over_vehicle_roof",)),
        (100.001, Verdict.OVER, ("over_vehicle_roof", "over_carrier")),
    ],
)
def test_over_an_exact_allowance(kilograms: float, verdict: Verdict, reasons: tuple[str, ...]) -> None:
    budget = budget_for(CAR, platform(), items=(cargo(kilograms),)).budget

    assert (budget.verdict, budget.reasons) == (verdict, reasons)


def test_over_though_something_is_missing() -> None:
    budget = budget_for(CAR, carrier(told(mass_said("25"))), items=(cargo(60),)).budget

    assert (budget.verdict, budget.reasons) == (Verdict.OVER, ("over_vehicle_roof",))


def test_over_by_a_cap_without_a_figure() -> None:
    budget = budget_for(vehicle(once(roof_limit("60"))), items=(cargo(61),)).budget

    assert (budget.verdict, budget.reasons) == (Verdict.OVER, ("over_vehicle_roof",))


def test_over_with_the_bottom_of_a_range_only() -> None:
    tent = usual("tent", CATEGORIES["rooftop_tent"], 1)

    # 50 to 100 kg on 50: perhaps; on 49: over, even at the bottom.
    assert budget_for(CAR, platform(), items=(tent,)).budget.verdict is Verdict.UNKNOWN
    assert budget_for(vehicle(told(roof_limit("74"))), platform(), items=(tent,)).budget.verdict is Verdict.OVER


def test_more_than_a_floor_is_unknown() -> None:
    car = vehicle(told(roof_limit("75", bound=AT_LEAST)))

    budget = budget_for(car, platform(), items=(cargo(51),)).budget

    assert (budget.verdict, budget.reasons) == (Verdict.UNKNOWN, ("perhaps_over_vehicle_roof",))
    assert budget.remaining == -1_000
    assert budget_for(car, platform(), items=(cargo(50),)).budget.verdict is Verdict.WITHIN


def test_what_is_missing_and_what_is_perhaps_over_are_named_once_each() -> None:
    car = vehicle(told(roof_limit("75", bound=AT_LEAST)))
    nothing = Item("thing", None, None, None)

    budget = budget_for(car, carrier(id="a"), carrier(id="b"), items=(cargo(90), nothing, nothing)).budget

    assert budget.verdict is Verdict.UNKNOWN
    assert budget.reasons == (
        "own_mass_not_known",
        "load_rating_not_known",
        "mass_not_known",
        "perhaps_over_vehicle_roof",
    )


def test_the_worst_case_over_is_marginal() -> None:
    budget = budget_for(CAR, platform(), items=(cargo(49, worst=51),)).budget

    assert (budget.verdict, budget.reasons) == (Verdict.MARGINAL, ("worst_over_vehicle_roof",))
    assert (budget.remaining, budget.remaining_worst) == (1_000, -1_000)


def test_a_fixing_that_is_not_said_is_marginal() -> None:
    budget = budget_for(CAR, platform(built_in=False), items=(cargo(10, worst=60),)).budget

    assert (budget.verdict, budget.reasons) == (Verdict.MARGINAL, ("worst_over_vehicle_roof", "fixing_not_said"))
    assert budget.stack.fixing_unsaid
    assert not budget.vetted


def test_without_a_carrier_no_fixing_is_missed() -> None:
    budget = budget_for(CAR, items=(cargo(70),)).budget

    assert (budget.verdict, budget.vetted, budget.trap) == (Verdict.WITHIN, True, None)


def test_a_carrier_alone_may_be_too_much() -> None:
    budget = budget_for(vehicle(told(roof_limit("20"))), platform()).budget

    assert (budget.raw, budget.allowed, budget.remaining) == (-5_000, 0, -5_000)
    assert (budget.verdict, budget.reasons) == (Verdict.OVER, ("over_vehicle_roof",))
    assert budget.trap == Trap("deck", 100_000, 0)
    assert budget.stack.allowed == 0


# What is carried


def test_a_load_is_summed_three_ways() -> None:
    items = [
        weighed("awning", kg("14"), kg("1"), 2),
        usual("tent", CATEGORIES["rooftop_tent"], 1),
        recorded("box", Mass(12_000, Bound.EXACT, ("C1",), (Support(0.9, "C1"),)), 2),
    ]

    assert load_of(items) == Load(
        28_000 + 50_000 + 24_000, 28_000 + 100_000 + 24_000, 30_000 + 100_000 + 24_000, (), True, (Support(0.9, "C1"),)
    )


def test_a_thing_of_unknown_mass_is_named_and_counts_as_nothing() -> None:
    budget = budget_for(CAR, platform(), items=(cargo(10), usual("thing", None, 1))).budget

    assert budget.load == Load(10_000, 10_000, 10_000, ("thing",))
    assert (budget.missing, budget.allowed, budget.ceiling) == ((Missing("mass", "thing"),), None, 50_000)
    assert (budget.verdict, budget.reasons) == (Verdict.UNKNOWN, ("mass_not_known",))
    assert (budget.binding, budget.trap, budget.vetted, budget.confidence) == ((), None, False, None)


def test_people_count_when_parked() -> None:
    car = vehicle(told(roof_limit("300", PARKED)))
    deck = carrier(told(mass_said("25"), id="C2"), told(load_rating("300", PARKED), id="C3"))
    two = (weighed("person", kg("80"), None, 2),)

    budget = budget_for(car, deck, items=(cargo(60),), people=two, condition=PARKED).budget

    assert (budget.load.cargo, budget.allowed, budget.verdict) == (220_000, 275_000, Verdict.WITHIN)


def test_a_mass_that_is_not_vetted_leaves_the_budget_unvetted() -> None:
    loose = recorded("box", Mass(12_000, Bound.EXACT, ("C1",), (Support(0.6, "C1"),), vetted=False), 1)

    assert not budget_for(CAR, platform(), items=(loose,)).budget.vetted


# The demand


def test_a_higher_demand_refuses_a_figure() -> None:
    car = vehicle(told(roof_limit("75"), 0.85))

    budget = budget_for(car, platform(), demand=0.9).budget

    assert (budget.missing, budget.ceiling) == ((Missing("roof_limit", "tarn"),), 50_000)
    assert budget_for(car, platform(), demand=0.85).budget.allowed == 50_000


def test_a_lower_demand_fills_in_what_is_missing() -> None:
    car, deck = vehicle(undecided(roof_limit("60"))), platform()

    budget = budget_for(car, deck, demand=0.5).budget

    assert (budget.allowed, budget.vetted, budget.verdict) == (35_000, False, Verdict.WITHIN)
    assert (
        budget_for(
            CAR, carrier(undecided(mass_said("20")), told(load_rating("90"), id="C3")), demand=0.5
        ).budget.allowed
        == 55_000
    )


def test_factors_on_a_roof_that_is_not_vetted_are_those_of_its_demand() -> None:
    car = vehicle(undecided(roof_limit("60")))
    deck = platform(undecided(factor("1/2", AppliesTo.ROOF_LIMIT), id="C9"))

    assert budget_for(car, deck, demand=0.5, condition=OFF_ROAD).budget.allowed == 5_000
    assert budget_for(CAR, deck, demand=0.5, condition=OFF_ROAD).budget.allowed == 50_000


# Confidence


def test_confidence_is_one_less_all_that_is_missing() -> None:
    car = vehicle(told(roof_limit("75"), 0.9, id="C1"))
    deck = carrier(told(mass_said("25"), 0.95, id="C2"), told(load_rating("100"), 0.81, id="C3"))

    budget = budget_for(car, deck).budget

    # The rating does not bind: 1 - 0.1 - 0.05.
    assert (budget.confidence, budget.weakest) == (0.85, Support(0.9, "C1"))


def test_what_is_carried_counts_in_confidence() -> None:
    box = recorded("box", Mass(12_000, Bound.EXACT, ("C9",), (Support(0.85, "C9"),)), 1)

    budget = budget_for(CAR, platform(), items=(box,)).budget

    # 1 - 0.05 (roof) - 0.05 (own mass) - 0.15 (box).
    assert (budget.confidence, budget.weakest) == (0.75, Support(0.85, "C9"))


def test_all_that_bind_count_and_confidence_is_never_below_nothing() -> None:
    car = vehicle(told(roof_limit("75"), 0.8, id="C1"))
    deck = carrier(told(mass_said("25"), 0.8, id="C2"), told(load_rating("50"), 0.8, id="C3"))
    boxes = tuple(recorded("box", Mass(1_000, Bound.EXACT, (id,), (Support(0.8, id),)), 1) for id in ("C4", "C5", "C6"))

    budget = budget_for(car, deck).budget
    loaded = budget_for(car, deck, items=boxes).budget

    assert [constraint.name for constraint in budget.binding] == [ConstraintName.VEHICLE_ROOF, ConstraintName.CARRIER]
    assert budget.confidence == 0.4
    assert loaded.confidence == 0


def test_the_asker_s_own_figures_rest_on_no_claim() -> None:
    budget = budget_for(None, GivenPart(kg("25"), kg("100"), EXCLUDES), given_roof=GivenRoof(kg("60"))).budget

    assert (budget.confidence, budget.weakest) == (None, None)


# Setups that no request makes, but the type allows


def part(id: str, mass: int, grams: int) -> Part:
    line = Line(Side.NET, grams, Firmness.EXACT, ("C1",), (Support(0.9, "C1"),))
    return Part(id, Mass(mass, Bound.EXACT, ("C2",), (Support(0.9, "C2"),)), Ruling((line,)))


def test_a_setup_of_a_part_alone() -> None:
    setup = Setup(
        ON_ROAD, None, None, None, part("feet", 4_000, 60_000), (part("deck", 25_000, 50_000),), (), fixing_said=True
    )

    budget = work_out(setup, Load(0, 0, 0))

    assert (budget.allowed, budget.trap, budget.vetted) == (35_000, None, True)


def test_a_setup_of_nothing_allows_nothing_to_be_named() -> None:
    for condition in Condition:
        empty = Setup(condition, None, None, None, None, (), (), fixing_said=False)
        budget = load_up(stack_up(empty), Load(0, 0, 0))
        assert (budget.raw, budget.ceiling, budget.binding, budget.confidence) == (None, None, (), None)


def test_a_vehicle_without_a_name() -> None:
    line = Line(Side.GROSS, 60_000, Firmness.EXACT, ("C1",))
    setup = Setup(OFF_ROAD, None, Ruling((line,)), None, None, (), (Fitted("F1", 0, Ruling()),), fixing_said=False)

    assert [constraint.by for constraint in stack_up(setup).constraints] == [""]
    nothing = Setup(OFF_ROAD, None, Ruling(), None, None, (), (), fixing_said=False)
    assert stack_up(nothing).missing == (Missing("roof_limit", ""),)


def test_of_equal_allowances_the_firmest_is_named() -> None:
    lines = tuple(
        Line(Side.GROSS, 60_000, firmness, (firmness,)) for firmness in (Firmness.FLOOR, Firmness.CAP, Firmness.EXACT)
    )
    setup = Setup(ON_ROAD, "tarn", Ruling(lines), None, None, (), (), fixing_said=False)

    assert stack_up(setup).constraints[0].line.firmness is Firmness.EXACT
    assert stack_up(setup).constraints[0].ceiling == 60_000


def test_at_most_bounds_are_caps() -> None:
    car = vehicle(ROOF, told(roof_limit("70", bound=AT_MOST), id="C2"))

    assert budget_for(car, platform()).budget.allowed == 45_000


def test_a_cap_that_binds_is_no_surer_than_the_figures_above_it() -> None:
    fits = fitment(once(load_rating("40"), id="C6"))
    car = vehicle(told(roof_limit("75"), 0.8, id="C1"), fitments=(fits,))

    budget = budget_for(car, platform()).budget

    # 40 kg is allowed; that it does not overstate is as sure as that 50 on the roof does not: 1 - 0.2 - 0.05.
    assert budget.allowed == 40_000
    assert budget.confidence is not None and budget.confidence <= 0.75
