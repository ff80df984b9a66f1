"""One fully known car (section 2.2): which claims set, bind, yield and conflict."""

from collections.abc import Sequence
from fractions import Fraction

import msgspec
import pytest

from app.core.claim import Bound
from app.core.lifecycle import State
from app.core.scope import ALL, SILENT, Car, Scope, Years
from app.core.selection import (
    VETTED,
    Candidate,
    CarLimit,
    Conflict,
    Factor,
    Firmness,
    Line,
    Mass,
    MassAnswer,
    Side,
    Standard,
    Support,
    factor_for,
    limits_for,
    mass_at,
    mass_for,
    together,
)
from tests.core.builders import AT_LEAST, AT_MOST, limit_of

GROSS, NET = Side.GROSS, Side.NET
EXACT, FLOOR, CAP = Firmness.EXACT, Firmness.FLOOR, Firmness.CAP
CAR = Car(2021, "wagon", ("raised_rail",), "NZ")
RAILS = Scope(roofs=("raised_rail",))


def amounts(lines: tuple[Line, ...]) -> list[tuple[Side, int, Firmness]]:
    return [(line.side, line.grams, line.firmness) for line in lines]


def limit_for(car: Car | None, claims: Sequence[Candidate], standard: Standard = VETTED) -> CarLimit:
    """The limit as it stands."""
    return limits_for(car, claims, standard)[0]


def figure(*claims: Candidate, standard: Standard | None = None) -> list[tuple[Side, int, Firmness]]:
    found = limit_for(CAR, claims) if standard is None else limit_for(CAR, claims, standard)
    return amounts(found.figure)


def binding(kilograms: float, **more: str) -> Candidate:
    """One approval: it lowers and never sets."""
    return limit_of(kilograms, confidence=0.3, approvals=1, **more)  # type: ignore[arg-type]


# Setting


def test_no_claim_gives_no_figure() -> None:
    assert limit_for(CAR, []) == CarLimit((), (), ())


def test_a_certain_exact_claim_sets() -> None:
    found = limit_for(CAR, [limit_of(75)])

    assert found.figure == (Line(GROSS, 75_000, EXACT, ("C1",), (Support(0.95, "C1"),)),)
    assert found.caps == (Line(GROSS, 75_000, CAP, ("C1",), (Support(0.95, "C1"),)),)
    assert found.conflicts == ()


def test_it_takes_080_to_set() -> None:
    assert figure(limit_of(75, confidence=0.80)) == [(GROSS, 75_000, EXACT)]
    assert figure(limit_of(75, confidence=0.799)) == []


def test_zero_is_a_figure() -> None:
    assert figure(limit_of(0)) == [(GROSS, 0, EXACT)]


def test_the_lowest_exact_claim_that_sets_stands_however_much_surer_another_is() -> None:
    claims = [limit_of(100, id="C1", confidence=0.99), limit_of(75, id="C2", confidence=0.8)]

    found = limit_for(CAR, claims)

    # The figure is permitted by both claims: the surer one says how surely.
    assert found.figure == (Line(GROSS, 75_000, EXACT, ("C2",), (Support(0.99, "C1"),)),)
    assert found.figure[0].confidence == found.figure[0].certainty == 0.99


def test_without_an_exact_claim_the_highest_at_least_sets_a_floor() -> None:
    claims = [limit_of(50, id="C1", bound=AT_LEAST), limit_of(60, id="C2", bound=AT_LEAST, confidence=0.85)]

    found = limit_for(CAR, claims)

    assert found.figure == (Line(GROSS, 60_000, FLOOR, ("C2",), (Support(0.85, "C2"),)),)
    assert found.caps == ()


def test_floors_go_by_gross_and_then_by_net() -> None:
    wide, narrow = limit_of(80, 60, id="C1", bound=AT_LEAST), limit_of(80, 50, id="C2", bound=AT_LEAST)

    assert figure(narrow, wide) == [(GROSS, 80_000, FLOOR), (NET, 60_000, FLOOR)]
    assert figure(limit_of(None, 50, bound=AT_LEAST), wide) == [(NET, 50_000, FLOOR)]


def test_an_exact_claim_comes_before_a_higher_at_least() -> None:
    assert figure(limit_of(50), limit_of(90, bound=AT_LEAST, id="C2")) == [(GROSS, 50_000, EXACT)]


def test_at_most_alone_sets_nothing_and_is_kept_as_a_cap() -> None:
    found = limit_for(CAR, [limit_of(75, bound=AT_MOST)])

    assert found.figure == ()
    assert found.caps == (Line(GROSS, 75_000, CAP, ("C1",), (Support(0.95, "C1"),)),)


def test_gross_and_net_are_compared_apart() -> None:
    claims = [limit_of(75, id="C1"), limit_of(70, 65, id="C2"), limit_of(80, 60, id="C3")]

    found = limit_for(CAR, claims)

    assert [(line.side, line.grams, line.claims) for line in found.figure] == [
        (GROSS, 70_000, ("C2",)),
        (NET, 60_000, ("C3",)),
    ]


def test_a_claim_that_leaves_a_side_open_permits_it() -> None:
    found = limit_for(CAR, [limit_of(75, id="C1", confidence=0.9), limit_of(None, 60, id="C2", confidence=0.85)])

    # Each side is limited by one claim; each claim permits both lines, as it says nothing of the other side.
    assert [(line.grams, line.support) for line in found.figure] == [
        (75_000, (Support(0.9, "C1"),)),
        (60_000, (Support(0.9, "C1"),)),
    ]


def test_the_claims_that_give_a_figure_are_all_named() -> None:
    assert limit_for(CAR, [limit_of(75, id="C1"), limit_of(75, id="C2")]).figure[0].claims == ("C1", "C2")


# Binding


def test_one_approval_lowers_and_does_not_set() -> None:
    assert figure(binding(50)) == []
    assert amounts(limit_for(CAR, [binding(50)]).caps) == [(GROSS, 50_000, CAP)]
    assert figure(limit_of(75, id="C1"), binding(50, id="C2")) == [(GROSS, 50_000, EXACT)]
    assert figure(limit_of(75, id="C1"), binding(90, id="C2")) == [(GROSS, 75_000, EXACT)]


def test_what_is_lowered_is_as_sure_as_the_claim_that_permits_more() -> None:
    found = limit_for(CAR, [limit_of(75, id="C1", confidence=0.9), binding(50, id="C2")])

    assert found.figure == (Line(GROSS, 50_000, EXACT, ("C2",), (Support(0.9, "C1"),)),)


def test_an_at_least_with_one_approval_does_nothing() -> None:
    lower = limit_of(50, id="C2", bound=AT_LEAST, confidence=0.6, approvals=1)

    assert figure(limit_of(75), lower) == [(GROSS, 75_000, EXACT)]
    assert limit_for(CAR, [lower]) == CarLimit()


def test_a_floor_lowered_to_a_cap_is_exact() -> None:
    claims = [
        limit_of(90, 80, id="C1", bound=AT_LEAST),
        limit_of(75, id="C2", bound=AT_MOST, approvals=1, confidence=0.5),
    ]

    assert figure(*claims) == [(GROSS, 75_000, EXACT), (NET, 80_000, FLOOR)]
    assert figure(claims[0], binding(100, id="C2")) == [(GROSS, 90_000, FLOOR), (NET, 80_000, FLOOR)]


def test_a_cap_limits_the_side_that_a_floor_leaves_open() -> None:
    net_cap = limit_of(None, 40, id="C2", bound=AT_MOST)

    assert figure(limit_of(90, bound=AT_LEAST), net_cap) == [(GROSS, 90_000, FLOOR), (NET, 40_000, EXACT)]


def test_a_disputed_claim_goes_on_lowering() -> None:
    disputed = limit_of(50, id="C2", confidence=0.4, state=State.DISPUTED)

    assert figure(limit_of(75), disputed) == [(GROSS, 50_000, EXACT)]


@pytest.mark.parametrize("state", [State.REJECTED, State.WITHDRAWN, State.SUPERSEDED])
def test_a_dead_claim_does_nothing(state: State) -> None:
    dead = limit_of(50, id="C2", state=state)

    assert figure(limit_of(75), dead) == [(GROSS, 75_000, EXACT)]
    assert limit_for(CAR, [dead]) == CarLimit()


def test_an_undecided_claim_does_nothing() -> None:
    waiting = limit_of(50, id="C2", state=State.SUBMITTED, approvals=0, confidence=0.6)

    assert figure(limit_of(75), waiting) == [(GROSS, 75_000, EXACT)]


def test_below_080_what_is_certain_enough_sets_and_binds() -> None:
    waiting = limit_of(50, state=State.SUBMITTED, approvals=0, confidence=0.6)

    assert figure(waiting, standard=Standard(0.6)) == [(GROSS, 50_000, EXACT)]
    assert figure(waiting, standard=Standard(0.61)) == []


# Scope and yielding


def test_a_claim_about_other_cars_does_nothing() -> None:
    assert figure(limit_of(75), limit_of(50, id="C2", scope=Scope(bodies=("van",)))) == [(GROSS, 75_000, EXACT)]
    assert figure(limit_of(75, scope=Scope(years=Years(2022)))) == []


def test_for_a_part_scope_plays_no_part() -> None:
    assert amounts(limit_for(None, [limit_of(75, scope=Scope(bodies=("van",)))]).figure) == [(GROSS, 75_000, EXACT)]


def test_the_line_for_raised_rails_beats_the_line_that_does_not_mention_roofs() -> None:
    silent, rails = limit_of(50, id="C1"), limit_of(75, id="C2", scope=RAILS)

    assert figure(silent, rails) == [(GROSS, 75_000, EXACT)]
    assert limit_for(CAR, [silent, rails]).conflicts == ()


@pytest.mark.parametrize(
    "rails",
    [
        limit_of(75, id="C2", scope=RAILS, publisher="importer"),
        limit_of(75, id="C2", scope=RAILS, confidence=0.79, approvals=1),
        limit_of(75, id="C2", scope=RAILS, bound=AT_LEAST),
        limit_of(75, id="C2", scope=Scope(roofs=ALL)),
        limit_of(75, id="C2", scope=SILENT),
    ],
)
def test_a_claim_yields_only_to_an_exact_one_of_the_same_publisher_that_sets(rails: Candidate) -> None:
    assert figure(limit_of(50, id="C1"), rails) == [(GROSS, 50_000, EXACT)]


def test_nothing_yields_to_a_claim_about_other_cars() -> None:
    assert figure(limit_of(50), limit_of(75, id="C2", scope=Scope(roofs=("bare",)))) == [(GROSS, 50_000, EXACT)]


def test_a_claim_that_speaks_elsewhere_does_not_yield() -> None:
    spoken = limit_of(50, id="C1", scope=Scope(years=Years(2019)))

    assert figure(spoken, limit_of(75, id="C2", scope=RAILS)) == [(GROSS, 50_000, EXACT)]
    both = Scope(years=Years(2021, 2022), roofs=("raised_rail",))
    assert figure(spoken, limit_of(75, id="C2", scope=both)) == [(GROSS, 75_000, EXACT)]


def test_nothing_yields_below_080() -> None:
    silent = limit_of(50, id="C1", confidence=0.6)
    rails = limit_of(75, id="C2", scope=RAILS, confidence=0.6)

    assert figure(silent, rails, standard=Standard(0.6)) == [(GROSS, 50_000, EXACT)]


def test_claims_of_no_publisher_do_not_yield_to_each_other() -> None:
    silent, rails = limit_of(50, id="C1", publisher=None), limit_of(75, id="C2", publisher=None, scope=RAILS)

    assert figure(silent, rails) == [(GROSS, 50_000, EXACT)]


# Conflicts


@pytest.mark.parametrize(
    ("claims", "conflicts"),
    [
        ([limit_of(75, id="C1"), limit_of(75.5, id="C2")], ()),
        ([limit_of(75, id="C1"), limit_of(75.501, id="C2")], (Conflict(("C1", "C2"), 75_000, 75_501),)),
        ([limit_of(75, id="C1"), binding(50, id="C2")], (Conflict(("C2", "C1"), 50_000, 75_000),)),
        (
            [limit_of(75, id="C1"), limit_of(75.4, id="C2"), limit_of(90, id="C3")],
            (Conflict(("C1", "C2", "C3"), 75_000, 90_000),),
        ),
        ([limit_of(75, id="C1"), limit_of(50, id="C2", bound=AT_MOST)], ()),
        ([limit_of(75, id="C1"), limit_of(76, id="C2", bound=AT_LEAST)], (Conflict(("C1", "C2"), 75_000, 76_000),)),
        ([limit_of(75, id="C1"), limit_of(75.5, id="C2", bound=AT_LEAST)], ()),
        ([limit_of(75, id="C1"), limit_of(76, id="C2", bound=AT_LEAST, confidence=0.5, approvals=1)], ()),
        ([limit_of(75, id="C1"), limit_of(None, 50, id="C2")], ()),
        ([limit_of(None, 75, id="C1"), limit_of(None, 50, id="C2")], (Conflict(("C2", "C1"), 50_000, 75_000),)),
        ([limit_of(80, 75, id="C1"), limit_of(80, 50, id="C2")], ()),
        ([limit_of(75, id="C1", bound=AT_LEAST), limit_of(90, id="C2", bound=AT_LEAST)], ()),
    ],
)
def test_exact_claims_apart_and_exact_ones_under_a_floor_conflict(
    claims: list[Candidate], conflicts: tuple[Conflict, ...]
) -> None:
    assert limit_for(CAR, claims).conflicts == conflicts


# Own masses: the mirror


def mass_of(
    kilograms: float | None,
    *,
    id: str = "C1",
    confidence: float = 0.95,
    bound: Bound = Bound.EXACT,
    approvals: int = 2,
    dead: bool = False,
) -> Candidate:
    grams = None if kilograms is None else round(kilograms * 1000)
    return Candidate(id, "maker", bound, confidence, binds=approvals > 0 and not dead, dead=dead, mass=grams)


def weight(*claims: Candidate) -> tuple[int, Bound] | None:
    found = mass_for(claims).mass
    return None if found is None else (found.grams, found.bound)


def test_the_highest_mass_stands() -> None:
    found = mass_for([mass_of(25, id="C1", confidence=0.85), mass_of(24.8, id="C2", confidence=0.99)])

    # Only the claim of 25 kg says as much as 25; the other says less, and permits this too.
    assert found == MassAnswer(Mass(25_000, Bound.EXACT, ("C1",), (Support(0.99, "C2"),)))
    assert found.mass is not None and found.mass.confidence == 0.99


def test_no_claim_gives_no_mass() -> None:
    assert mass_for([]) == MassAnswer(None)
    assert weight(mass_of(25, confidence=0.79, approvals=1)) is None
    assert weight(mass_of(25, bound=AT_LEAST)) is None
    assert weight(mass_of(25, dead=True)) is None


def test_one_approval_makes_a_thing_heavier_and_never_lighter() -> None:
    heavier, lighter = (
        mass_of(30, id="C2", confidence=0.5, approvals=1),
        mass_of(20, id="C2", confidence=0.5, approvals=1),
    )

    assert weight(mass_of(25), heavier) == (30_000, Bound.EXACT)
    assert weight(mass_of(25), lighter) == (25_000, Bound.EXACT)
    assert weight(mass_of(25), mass_of(30, bound=AT_LEAST, id="C2", confidence=0.5, approvals=1)) == (
        30_000,
        Bound.EXACT,
    )
    assert weight(mass_of(25), mass_of(30, bound=AT_MOST, id="C2", confidence=0.5, approvals=1)) == (
        25_000,
        Bound.EXACT,
    )


def test_without_an_exact_claim_the_lowest_at_most_stands() -> None:
    assert weight(mass_of(30, bound=AT_MOST), mass_of(28, bound=AT_MOST, id="C2")) == (28_000, Bound.AT_MOST)
    assert weight(mass_of(28, bound=AT_MOST), mass_of(29, id="C2", confidence=0.5, approvals=1)) == (
        29_000,
        Bound.EXACT,
    )
    assert weight(mass_of(28, bound=AT_MOST), mass_of(27, id="C2", confidence=0.5, approvals=1)) == (
        28_000,
        Bound.AT_MOST,
    )


def test_a_mass_for_each_of_an_unknown_number_leaves_it_unknown() -> None:
    assert weight(mass_of(25), mass_of(None, id="C2")) is None
    assert weight(mass_of(25), mass_of(None, id="C2", bound=AT_MOST)) == (25_000, Bound.EXACT)
    assert weight(mass_of(25), mass_of(None, id="C2", confidence=0.5, approvals=0)) == (25_000, Bound.EXACT)
    assert weight(mass_of(25), mass_of(None, id="C2", dead=True)) == (25_000, Bound.EXACT)


@pytest.mark.parametrize(
    ("claims", "conflicts"),
    [
        ([mass_of(25, id="C1"), mass_of(24.5, id="C2")], ()),
        ([mass_of(25, id="C1"), mass_of(24, id="C2")], (Conflict(("C1", "C2"), 24_000, 25_000),)),
        ([mass_of(25, id="C1"), mass_of(24, id="C2", bound=AT_MOST)], (Conflict(("C1", "C2"), 24_000, 25_000),)),
        ([mass_of(25, id="C1"), mass_of(30, id="C2", bound=AT_MOST)], ()),
        ([mass_of(25, id="C1"), mass_of(30, id="C2", bound=AT_LEAST)], ()),
        ([mass_of(25, id="C1", bound=AT_MOST), mass_of(28, id="C2", bound=AT_MOST)], ()),
    ],
)
def test_masses_conflict_as_limits_do(claims: list[Candidate], conflicts: tuple[Conflict, ...]) -> None:
    assert mass_for(claims).conflicts == conflicts


def test_a_higher_demand_refuses_a_mass_that_is_less_certain() -> None:
    claims = [mass_of(25, confidence=0.9)]
    vetted = mass_for(claims).mass

    assert mass_at(claims, 0.9) == MassAnswer(vetted)
    assert mass_at(claims, 0.95) == MassAnswer(None, (), vetted)


def test_a_lower_demand_fills_in_a_mass_that_is_missing() -> None:
    found = mass_at([mass_of(25, confidence=0.6, approvals=0)], 0.6)

    assert found.mass == Mass(25_000, Bound.EXACT, ("C1",), (Support(0.6, "C1"),), vetted=False)
    assert mass_at([mass_of(25, confidence=0.5)], 0.6) == MassAnswer(None)
    assert (
        mass_at([mass_of(25), mass_of(30, id="C2", confidence=0.6, approvals=0)], 0.6).mass
        == mass_for([mass_of(25)]).mass
    )


# Factors


def factor_of(
    value: str, *, id: str = "C1", confidence: float = 0.95, approvals: int = 2, scope: Scope = SILENT
) -> Candidate:
    return Candidate(id, "maker", Bound.EXACT, confidence, binds=approvals > 0, scope=scope, factor=Fraction(value))


def test_the_lowest_factor_counts() -> None:
    found = factor_for([factor_of("0.8"), factor_of("2/3", id="C2", confidence=0.85), factor_of("2/3", id="C3")])

    assert found == Factor(Fraction(2, 3), ("C2", "C3"), (Support(0.95, "C3"),))


def test_no_factor_counts_that_neither_binds_nor_sets() -> None:
    assert factor_for([]) is None
    assert factor_for([factor_of("0.5", confidence=0.6, approvals=0)]) is None
    assert factor_for([msgspec.structs.replace(factor_of("0.5"), dead=True)]) is None
    assert factor_for([limit_of(75)]) is None
    found = factor_for([factor_of("0.5", confidence=0.6, approvals=1)])
    assert found is not None and found.value == Fraction(1, 2)


def test_a_factor_counts_below_080_where_that_is_asked() -> None:
    waiting = factor_of("0.5", confidence=0.6, approvals=0)

    found = factor_for([waiting], standard=Standard(0.6))

    assert found is not None and found.value == Fraction(1, 2)


def test_a_vehicle_s_factor_has_a_scope() -> None:
    assert factor_for([factor_of("0.5", scope=Scope(bodies=("van",)))], CAR) is None
    assert factor_for([factor_of("0.5", scope=Scope(bodies=("wagon",)))], CAR) is not None
    assert factor_for([factor_of("0.5", scope=Scope(bodies=("van",)))]) is not None


def test_a_lowered_factor_is_as_sure_as_the_one_that_permits_more() -> None:
    found = factor_for([factor_of("0.8"), factor_of("2/3", id="C2", confidence=0.6, approvals=1)])

    assert found is not None
    assert together(found.support) == 0.95


# Confidence of what is put together


def test_what_is_missing_from_certainty_adds_up() -> None:
    one, two = Support(0.95, "C1"), Support(0.9, "C2")

    assert together([]) == 0.0
    assert together([one]) == 0.95
    assert together([one, two]) == 0.85
    assert together([one, two, one]) == 0.85
    assert together([Support(0.4, "C1"), Support(0.3, "C2")]) == 0


def test_the_asker_s_own_line_is_certain() -> None:
    given = Line(GROSS, 75_000, EXACT, (), given=True)
    bare = Line(GROSS, 75_000, CAP, ("C1",))

    assert (given.confidence, given.certainty) == (1.0, 1.0)
    assert (bare.confidence, bare.certainty) == (0.0, 0.0)
    assert Mass(5_000, Bound.EXACT, (), given=True).confidence == 1.0


def test_a_line_that_a_factor_reduced_is_certain_as_its_limit_is() -> None:
    reduced = Line(GROSS, 50_000, EXACT, ("C1", "C2"), (Support(0.95, "C1"), Support(0.8, "C2")))

    assert (reduced.confidence, reduced.certainty) == (0.75, 0.95)
