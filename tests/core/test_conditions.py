"""On-road, off-road and parked (section 2.3): what stands in for what, and what a factor reduces."""

from fractions import Fraction

import msgspec
import pytest

from app.core.claim import ON_OWN_RATING, ON_ROOF, AppliesTo, Condition, SubjectKind
from app.core.conditions import (
    ANYTHING,
    OFF_ROAD_NOT_RECORDED,
    ON_ROAD_NOT_RECORDED,
    PARKED_FROM_DRIVING,
    Figures,
    Ruling,
    concerned,
    lowered,
    lowest,
    ruling_for,
    times,
)
from app.core.given import GivenPart, GivenRoof, as_given
from app.core.mass import Counts
from app.core.scope import Car, Scope
from app.core.scoring import figures
from app.core.selection import Conflict, Factor, Firmness, Line, Side, Support
from tests.core.builders import (
    AT_LEAST,
    AT_MOST,
    EXCLUDES,
    OFF_ROAD,
    ON_ROAD,
    PARKED,
    Told,
    disputed,
    factor,
    figures_of,
    kg,
    load_rating,
    once,
    roof_limit,
    told,
    undecided,
)

GROSS, NET = Side.GROSS, Side.NET
EXACT, FLOOR, CAP = Firmness.EXACT, Firmness.FLOOR, Firmness.CAP
CAR = Car(2021, "wagon", ("bare",), "NZ")
ANYWHERE = told(roof_limit("75"))


def ruling(condition: Condition, *claims: Told, demand: float = 0.80, part: bool = False) -> Ruling:
    kind = SubjectKind.CARRIER if part else SubjectKind.VEHICLE
    found = figures(figures_of(claims, kind, Counts()))
    return ruling_for(found, None if part else CAR, condition, demand, is_roof=not part)


def amounts(lines: tuple[Line, ...]) -> list[tuple[Side, int, Firmness]]:
    return [(line.side, line.grams, line.firmness) for line in lines]


def gross(condition: Condition, *claims: Told) -> int | None:
    line = ruling(condition, *claims).line(GROSS)
    return None if line is None else line.grams


# On-road


def test_on_road_is_the_on_road_figure() -> None:
    found = ruling(ON_ROAD, told(roof_limit("75")), told(roof_limit("50", OFF_ROAD), id="C2"))

    assert amounts(found.figure) == [(GROSS, 75_000, EXACT)]
    assert amounts(found.recorded) == [(GROSS, 75_000, EXACT), (GROSS, 75_000, CAP)]
    assert (found.notes, found.vetted, found.reduced) == ((), True, ())


def test_the_off_road_figure_stands_in_for_the_on_road_one() -> None:
    found = ruling(ON_ROAD, told(roof_limit("50", OFF_ROAD)))

    assert amounts(found.figure) == [(GROSS, 50_000, EXACT)]
    assert found.notes == (ON_ROAD_NOT_RECORDED,)
    assert found.recorded == ()


def test_on_road_caps_hold_on_a_stand_in() -> None:
    found = ruling(ON_ROAD, told(roof_limit("50", OFF_ROAD)), once(roof_limit("40"), id="C2"))

    assert amounts(found.figure) == [(GROSS, 40_000, EXACT)]
    # Nothing that sets on-road permits 40 kg, but the off-road claim that stands in does.
    assert found.figure[0].support == (Support(0.95, "C1"),)
    assert amounts(found.recorded) == [(GROSS, 40_000, CAP)]


def test_off_road_caps_alone_do_not_limit_on_road() -> None:
    assert ruling(ON_ROAD, once(roof_limit("40", OFF_ROAD))).lines == ()
    assert amounts(ruling(ON_ROAD, ANYWHERE, once(roof_limit("40", OFF_ROAD), id="C2")).figure) == [
        (GROSS, 75_000, EXACT)
    ]


def test_a_cap_without_a_figure_is_kept() -> None:
    found = ruling(ON_ROAD, once(roof_limit("40")))

    assert found.figure == ()
    assert amounts(found.caps) == [(GROSS, 40_000, CAP)]


def test_conflicts_are_those_of_what_the_figure_rests_on() -> None:
    two = [told(roof_limit("75")), told(roof_limit("50"), id="C2")]
    conflict = Conflict(("C2", "C1"), 50_000, 75_000)
    off_road = [told(roof_limit("60", OFF_ROAD), id="C3"), told(roof_limit("30", OFF_ROAD), id="C4")]

    assert ruling(ON_ROAD, *two, *off_road).conflicts == (conflict,)
    assert ruling(ON_ROAD, *off_road).conflicts == (Conflict(("C4", "C3"), 30_000, 60_000),)
    assert ruling(PARKED, *two).conflicts == (conflict,)
    assert ruling(PARKED, *two, told(roof_limit("200", PARKED), id="C5")).conflicts == ()


# Off-road


def test_off_road_both_figures_bind() -> None:
    high = ruling(OFF_ROAD, told(roof_limit("75")), told(roof_limit("90", OFF_ROAD), id="C2"))
    low = ruling(OFF_ROAD, told(roof_limit("75")), told(roof_limit("50", OFF_ROAD), id="C2"))

    assert min(line.grams for line in high.figure) == 75_000
    assert min(line.grams for line in low.figure) == 50_000
    assert high.line(GROSS) == Line(GROSS, 75_000, EXACT, ("C1",), (Support(0.95, "C1"),))
    assert high.line(NET) is None
    assert high.notes == low.notes == ()


def test_the_on_road_figure_stands_in_off_road_with_a_note() -> None:
    found = ruling(OFF_ROAD, ANYWHERE)

    assert amounts(found.figure) == [(GROSS, 75_000, EXACT)]
    assert found.notes == (OFF_ROAD_NOT_RECORDED,)


def test_nothing_recorded_is_nothing_off_road() -> None:
    assert ruling(OFF_ROAD) == Ruling()


@pytest.mark.parametrize("applies_to", [None, AppliesTo.ROOF_LIMIT, AppliesTo.BOTH, AppliesTo.OWN_RATING])
def test_a_vehicle_s_factor_is_always_on_its_roof_and_makes_a_constraint_of_its_own(
    applies_to: AppliesTo | None,
) -> None:
    found = ruling(OFF_ROAD, ANYWHERE, told(factor("2/3", applies_to), 0.9, id="C2"))

    assert amounts(found.figure) == [(GROSS, 75_000, EXACT)]
    assert found.factor == Factor(Fraction(2, 3), ("C2",), (Support(0.9, "C2"),))
    assert found.reduced[0] == Line(GROSS, 50_000, EXACT, ("C1", "C2"), (Support(0.95, "C1"), Support(0.9, "C2")))
    assert found.reduced[0].confidence == 0.85


def test_a_factor_never_multiplies_the_off_road_figure() -> None:
    found = ruling(OFF_ROAD, told(roof_limit("60", OFF_ROAD)), told(factor("2/3"), id="C2"))

    assert amounts(found.figure) == [(GROSS, 60_000, EXACT)]
    assert found.reduced == ()


def test_a_factor_multiplies_caps_as_well() -> None:
    found = ruling(OFF_ROAD, once(roof_limit("75")), told(factor("2/3"), id="C2"))

    assert found.figure == ()
    assert amounts(found.reduced) == [(GROSS, 50_000, CAP)]


def test_no_factor_plays_a_part_on_road_or_parked() -> None:
    for condition in (ON_ROAD, PARKED):
        found = ruling(condition, ANYWHERE, told(factor("2/3"), id="C2"))
        assert (found.factor, found.reduced) == (None, ())
        assert found.line(GROSS) is not None


@pytest.mark.parametrize(
    ("applies_to", "grams"),
    [(None, 66_666), (AppliesTo.BOTH, 66_666), (AppliesTo.OWN_RATING, 66_666), (AppliesTo.ROOF_LIMIT, 100_000)],
)
def test_a_part_s_own_factor_multiplies_its_on_road_rating(applies_to: AppliesTo | None, grams: int) -> None:
    found = ruling(OFF_ROAD, told(load_rating("100")), told(factor("2/3", applies_to), id="C2"), part=True)

    assert found.line(NET) is not None
    assert min(line.grams for line in found.figure) == grams
    assert (found.factor, found.reduced) == (None, ())
    # What is recorded is the on-road rating itself.
    assert amounts(found.recorded)[0] == (NET, 100_000, EXACT)


def test_a_part_s_factor_leaves_its_off_road_rating_alone() -> None:
    claims = [
        told(load_rating("100")),
        told(load_rating("60", OFF_ROAD), id="C2"),
        told(factor("0.9", AppliesTo.OWN_RATING), id="C3"),
    ]

    assert sorted(line.grams for line in ruling(OFF_ROAD, *claims, part=True).figure) == [60_000, 90_000]


def test_a_part_s_caps_are_multiplied_too() -> None:
    claims = [told(load_rating("60", OFF_ROAD)), once(load_rating("75"), id="C2"), told(factor("2/3"), id="C3")]

    assert amounts(ruling(OFF_ROAD, *claims, part=True).figure) == [(NET, 50_000, EXACT)]


def test_a_product_is_rounded_down_once() -> None:
    line = Line(GROSS, 100_000, EXACT, ("C1",), (), given=False)

    assert [each.grams for each in times([line], Factor(Fraction(2, 3), ("C2",)))] == [66_666]
    assert times([line], Factor(Fraction(1, 3), (), given=True))[0].given


# Parked


def test_parked_is_the_exact_parked_figure_even_below_the_on_road_one() -> None:
    for kilograms in ("200", "50"):
        found = ruling(PARKED, ANYWHERE, told(roof_limit(kilograms, PARKED), id="C2"))
        assert amounts(found.figure) == [(GROSS, int(kilograms) * 1000, EXACT)]
        assert (found.notes, found.recorded) == ((), ())


def test_what_may_be_driven_may_stand() -> None:
    found = ruling(PARKED, ANYWHERE)

    assert amounts(found.figure) == [(GROSS, 75_000, FLOOR)]
    assert found.notes == (PARKED_FROM_DRIVING,)


def test_parked_stands_in_with_the_stand_in_of_on_road() -> None:
    found = ruling(PARKED, told(roof_limit("50", OFF_ROAD)))

    assert amounts(found.figure) == [(GROSS, 50_000, FLOOR)]


@pytest.mark.parametrize(
    ("kilograms", "grams", "notes"), [("150", 150_000, ()), ("60", 75_000, (PARKED_FROM_DRIVING,))]
)
def test_the_higher_floor_stands(kilograms: str, grams: int, notes: tuple[str, ...]) -> None:
    found = ruling(PARKED, ANYWHERE, told(roof_limit(kilograms, PARKED, bound=AT_LEAST), id="C2"))

    assert amounts(found.figure) == [(GROSS, grams, FLOOR)]
    assert found.notes == notes


def test_parked_caps_hold_either_way() -> None:
    found = ruling(PARKED, ANYWHERE, told(roof_limit("60", PARKED, bound=AT_MOST), id="C2"))

    assert amounts(found.figure) == [(GROSS, 60_000, EXACT)]
    assert found.figure[0].claims == ("C2",)


def test_a_parked_floor_that_a_cap_made_exact_on_one_side_is_still_a_floor_on_the_other() -> None:
    floor = told(roof_limit("150", PARKED, basis=EXCLUDES, excluded="10", bound=AT_LEAST))
    cap = told(roof_limit("120", PARKED, bound=AT_MOST), id="C2")

    assert amounts(ruling(PARKED, floor, cap).figure) == [(GROSS, 120_000, EXACT), (NET, 150_000, FLOOR)]


def test_nothing_recorded_is_nothing_parked() -> None:
    found = ruling(PARKED)

    assert (found.figure, found.notes) == ((), ())


def test_a_parked_guess_is_never_part_of_the_answer() -> None:
    assert ruling(PARKED, once(roof_limit("75"))).figure == ()


# What two reviewers approved goes on limiting while it does not set


@pytest.mark.parametrize(
    ("condition", "floor", "figure"),
    [(ON_ROAD, ON_ROAD, OFF_ROAD), (OFF_ROAD, ON_ROAD, OFF_ROAD), (OFF_ROAD, OFF_ROAD, ON_ROAD)],
)
def test_disputing_a_floor_raises_no_answer(condition: Condition, floor: Condition, figure: Condition) -> None:
    floored, other = told(roof_limit("50", floor, bound=AT_LEAST)), told(roof_limit("75", figure), 0.9, id="C2")

    assert gross(condition, floored, other) == 50_000
    found = ruling(condition, disputed(floored), other).line(GROSS)
    assert found == Line(GROSS, 50_000, FLOOR, ("C1",), (Support(0.9, "C2"),))


def test_of_floors_that_wait_the_lowest_limits() -> None:
    low, high = (disputed(told(roof_limit(kg, bound=AT_LEAST), id=f"C{kg}")) for kg in ("30", "80"))
    other = told(roof_limit("75", OFF_ROAD))

    assert gross(ON_ROAD, low, high, other) == gross(ON_ROAD, high, low, other) == 30_000
    assert gross(ON_ROAD, high, other) == 75_000


def test_a_floor_that_waits_limits_nothing_that_it_did_not() -> None:
    low, low_parked = (disputed(told(roof_limit("30", of, bound=AT_LEAST))) for of in (ON_ROAD, PARKED))
    figure, floor = told(roof_limit("75"), id="C2"), told(roof_limit("75", bound=AT_LEAST), id="C2")

    assert gross(ON_ROAD, low, figure) == gross(ON_ROAD, low, floor) == 75_000
    assert gross(PARKED, low_parked, figure) == gross(PARKED, low_parked, floor) == 75_000


def test_a_claim_that_waits_gives_no_figure() -> None:
    floored, exact = disputed(told(roof_limit("50", bound=AT_LEAST))), disputed(told(roof_limit("50"), id="C2"))

    assert [gross(condition, floored, exact) for condition in Condition] == [None, None, None]


def test_a_floor_that_one_reviewer_approved_limits_nothing() -> None:
    other = told(roof_limit("75", OFF_ROAD), id="C2")

    assert gross(ON_ROAD, once(roof_limit("50", bound=AT_LEAST)), other) == 75_000


# The demand


def test_a_higher_demand_refuses_what_is_less_certain_and_keeps_what_limits() -> None:
    claims = [told(roof_limit("75"), 0.9), told(factor("2/3"), 0.9, id="C2")]

    enough, more = ruling(OFF_ROAD, *claims, demand=0.9), ruling(OFF_ROAD, *claims, demand=0.95)

    assert amounts(enough.figure) == [(GROSS, 75_000, EXACT)]
    assert more.figure == ()
    assert amounts(more.caps) == [(GROSS, 75_000, CAP), (GROSS, 75_000, CAP)]
    assert amounts(more.reduced) == [(GROSS, 50_000, CAP), (GROSS, 50_000, CAP)]
    assert more.below == enough.figure
    assert more.vetted


def test_a_floor_that_is_refused_leaves_no_cap() -> None:
    found = ruling(ON_ROAD, told(roof_limit("75", bound=AT_LEAST), 0.85), demand=0.9)

    assert (found.figure, found.caps) == ((), ())


def test_a_factor_s_certainty_does_not_refuse_a_limit() -> None:
    claims = [told(load_rating("100"), 0.95), told(factor("2/3"), 0.8, id="C2")]

    assert ruling(OFF_ROAD, *claims, demand=0.9, part=True).figure != ()


def test_a_lower_demand_matters_only_where_there_is_no_figure() -> None:
    waiting = undecided(roof_limit("50"), 0.6, id="C2")

    assert amounts(ruling(ON_ROAD, ANYWHERE, waiting, demand=0.5).figure) == [(GROSS, 75_000, EXACT)]
    loose = ruling(ON_ROAD, waiting, demand=0.5)
    assert (amounts(loose.figure), loose.vetted) == ([(GROSS, 50_000, EXACT)], False)
    assert ruling(ON_ROAD, waiting, demand=0.7) == Ruling()


def test_a_lower_demand_fills_in_with_the_factors_of_that_demand() -> None:
    claims = [undecided(roof_limit("75"), 0.6), undecided(factor("2/3"), 0.6, id="C2")]

    assert amounts(ruling(OFF_ROAD, *claims, demand=0.5).reduced)[0] == (GROSS, 50_000, EXACT)


# Lowering and the lowest of several


def test_lowering_keeps_what_is_lower_already() -> None:
    figure = (Line(GROSS, 75_000, EXACT, ("C1",)),)

    assert lowered(figure, ()) == figure
    assert lowered(figure, (Line(GROSS, 75_000, CAP, ("C2",)),)) == figure
    assert lowered((), (Line(GROSS, 10_000, CAP, ("C2",)),)) == ()


def test_lowering_bounds_a_side_that_was_open() -> None:
    figure = (Line(GROSS, 75_000, EXACT, ("C1",), (Support(0.9, "C1"),)),)
    cap = Line(NET, 60_000, CAP, ("C2",), (Support(0.85, "C3"),))

    # Whoever sets 75 kg in all permits 60 kg of cargo too.
    assert lowered(figure, (cap,)) == (*figure, Line(NET, 60_000, EXACT, ("C2",), (Support(0.9, "C1"),)))


def test_the_lowest_of_several_ways() -> None:
    high = Ruling((Line(GROSS, 75_000, EXACT, ("C1",)),), notes=("a",))
    low = Ruling(
        (Line(GROSS, 50_000, EXACT, ("C2",)), Line(NET, 45_000, FLOOR, ("C2",))), notes=("a", "b"), vetted=False
    )

    found = lowest([high, low])

    assert amounts(found.figure) == [(GROSS, 50_000, EXACT), (NET, 45_000, FLOOR)]
    assert (found.notes, found.vetted) == (("a", "b"), False)
    assert lowest([high]) is high


def test_of_equal_lines_the_least_certain_counts() -> None:
    sure = Line(GROSS, 75_000, EXACT, ("C1",), (Support(0.95, "C1"),))
    less = Line(GROSS, 75_000, EXACT, ("C2",), (Support(0.85, "C2"),))

    assert lowest([Ruling((sure,)), Ruling((less,))]).figure == (less,)
    assert lowest([Ruling((less,)), Ruling((sure,))]).figure == (less,)


def test_where_one_way_has_no_figure_there_is_none_but_caps_are_kept() -> None:
    line = Line(GROSS, 75_000, EXACT, ("C1",))

    found = lowest([Ruling((line,)), Ruling(caps=(Line(GROSS, 60_000, CAP, ("C2",)),))])

    assert found.figure == ()
    assert amounts(found.caps) == [(GROSS, 60_000, CAP)]


def test_what_is_not_needed_binds_where_it_is_known() -> None:
    line = Line(GROSS, 75_000, EXACT, ("C1",))

    assert lowest([Ruling((line,)), Ruling()], needed=False).figure == (line,)


def test_the_lowest_factor_of_all_ways_counts() -> None:
    found = lowest([Ruling(), Ruling(factor=Factor(Fraction(2, 3), ())), Ruling(factor=Factor(Fraction(1, 2), ()))])

    assert found.factor == Factor(Fraction(1, 2), ())


# Which claims play a part


def test_claims_are_sorted_by_what_they_state() -> None:
    told_of = figures_of(
        [ANYWHERE, told(roof_limit("50", OFF_ROAD), id="C2"), told(factor("2/3"), id="C3")], SubjectKind.VEHICLE
    )
    found = figures(told_of)

    assert [each.claim for each in found.of(ON_ROAD)] == ["C1"]
    assert [each.claim for each in found.of(OFF_ROAD)] == ["C2"]
    assert found.of(PARKED) == ()
    assert found.masses == ()
    assert [(applies_to, each.claim) for applies_to, each in found.factors] == [(None, "C3")]


def test_a_limit_without_a_condition_is_no_limit() -> None:
    said, standing = told(roof_limit("75"))
    bare = msgspec.structs.replace(said, condition=None)

    assert figures(figures_of([(bare, standing)], SubjectKind.VEHICLE)) == Figures()


@pytest.mark.parametrize(
    ("targets", "expected"),
    [(ANYTHING, ["C1", "C2", "C3", "C4"]), (ON_ROOF, ["C2", "C3", "C4"]), (ON_OWN_RATING, ["C1", "C3", "C4"])],
)
def test_factors_are_chosen_by_what_they_apply_to(targets: frozenset[AppliesTo | None], expected: list[str]) -> None:
    kinds = [AppliesTo.OWN_RATING, AppliesTo.ROOF_LIMIT, AppliesTo.BOTH, None]
    claims = [told(factor("2/3", each), id=f"C{place}") for place, each in enumerate(kinds, start=1)]

    assert [each.claim for each in figures(figures_of(claims, SubjectKind.CARRIER)).factors_on(targets)] == expected


@pytest.mark.parametrize(
    ("condition", "expected"), [(ON_ROAD, ["C1", "C2"]), (OFF_ROAD, ["C1", "C2", "C4"]), (PARKED, ["C1", "C2", "C3"])]
)
def test_the_claims_that_play_a_part_in_a_condition(condition: Condition, expected: list[str]) -> None:
    claims = [
        ANYWHERE,
        told(roof_limit("50", OFF_ROAD), id="C2"),
        told(roof_limit("200", PARKED), id="C3"),
        told(factor("2/3"), id="C4"),
    ]

    assert [each.claim for each in concerned(figures(figures_of(claims, SubjectKind.VEHICLE)), condition)] == expected


# The asker's own figures


def test_a_roof_limit_as_given_is_an_on_road_figure_that_rests_on_no_claim() -> None:
    given = GivenRoof(kg("70"), EXCLUDES, kg("5"))

    found = as_given(ruling_for(given.figures(), None, OFF_ROAD, 0.99, is_roof=True))

    assert amounts(found.figure) == [(GROSS, 75_000, EXACT), (NET, 70_000, EXACT)]
    assert {(line.claims, line.support, line.given) for line in (*found.lines, *found.recorded)} == {((), (), True)}


def test_a_part_as_given_has_its_mass_its_rating_and_its_factor() -> None:
    given = GivenPart(kg("25"), kg("100"), EXCLUDES, "2/3", AppliesTo.BOTH)

    mass = given.mass
    assert mass is not None and (mass.grams, mass.given, mass.claims) == (25_000, True, ())
    assert given.roof_factor == Factor(Fraction(2, 3), (), given=True)
    found = ruling_for(given.figures(), None, OFF_ROAD, 0.80, is_roof=False)
    assert amounts(found.figure) == [(NET, 66_666, EXACT)]


def test_a_part_of_which_nothing_is_known() -> None:
    given = GivenPart()

    assert (given.mass, given.roof_factor, given.figures()) == (None, None, Figures())


def test_a_part_s_factor_on_its_own_rating_is_not_one_on_the_roof() -> None:
    assert GivenPart(off_road_factor="2/3", factor_applies_to=AppliesTo.OWN_RATING).roof_factor is None


def test_a_given_rating_of_no_stated_basis_counts_the_part() -> None:
    given = GivenPart(kg("25"), kg("100"))

    assert amounts(ruling_for(given.figures(), None, ON_ROAD, 0.80, is_roof=False).figure) == [(GROSS, 100_000, EXACT)]


def test_a_vehicle_s_factor_for_other_cars_plays_no_part() -> None:
    other = told(factor("2/3", scope=Scope(bodies=("van",))), id="C2")

    assert ruling(OFF_ROAD, ANYWHERE, other).factor is None
