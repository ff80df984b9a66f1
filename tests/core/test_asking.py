"""Asking: a limit by itself or a budget, for a car as far as it is known, with the questions that would narrow it."""

from typing import Literal

import pytest

from app.core.asking import Estimate, Request, StackAnswer, ask, stack_answer
from app.core.budget import Item, Missing, Verdict
from app.core.claim import AppliesTo, Condition
from app.core.conditions import OFF_ROAD_NOT_RECORDED, PARKED_FROM_DRIVING, Figures
from app.core.errors import CantrailError, Fault, Kind
from app.core.given import GivenPart, GivenRoof
from app.core.limits import limit, own_mass
from app.core.refusal import Refusal, RefusalKind
from app.core.roof import MOST_REMEMBERED, remembered
from app.core.scope import ALL, NONE_OF_THESE, UNKNOWN, Context, Dimension, Scope, Years
from app.core.scoring import Dossier, joined
from app.core.selection import Conflict, Firmness, Side, Support
from tests.core.builders import (
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
    fitment_dossier,
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
RAILS, VANS = Scope(roofs=("raised_rail",)), Scope(bodies=("van",))
FULL = Context(2021, "wagon", ("bare",), "NZ")


def grams(car: Dossier, context: Context, condition: Condition = ON_ROAD) -> int | None:
    line = limit(car, context, condition, 0.80).ruling.line(Side.GROSS)
    return None if line is None else line.grams


# A limit by itself


def test_a_car_not_fully_known_is_allowed_the_lowest_of_what_it_could_be() -> None:
    car = vehicle(told(roof_limit("50")), told(roof_limit("75", scope=RAILS), id="C2"), roofs=("bare", "raised_rail"))

    assert grams(car, Context(roofs=("raised_rail",))) == 75_000
    assert grams(car, Context(roofs=("bare",))) == 50_000
    assert grams(car, UNKNOWN) == 50_000


def test_a_car_with_two_roofs_is_allowed_no_less_than_the_lower_of_them() -> None:
    car = vehicle(
        told(roof_limit("75", scope=RAILS), id="C1"), told(roof_limit("60", scope=Scope(roofs=("glass",))), id="C2")
    )

    assert grams(car, Context(roofs=("glass", "raised_rail"))) == 60_000


def test_a_record_closes_what_the_car_could_be_once_it_is_confirmed() -> None:
    claim = told(roof_limit("75", scope=Scope(bodies=("wagon",))))

    assert grams(vehicle(claim, bodies=("wagon",)), UNKNOWN) == 75_000
    assert grams(vehicle(claim, bodies=("wagon",), confirmed=False), UNKNOWN) is None
    assert grams(vehicle(claim, bodies=("wagon", "van")), UNKNOWN) is None


def test_a_question_says_what_each_value_would_give() -> None:
    car = vehicle(
        told(roof_limit("50")), told(roof_limit("75", scope=RAILS), id="C2"), roofs=("bare", "glass", "raised_rail")
    )

    found = limit(car, UNKNOWN, ON_ROAD, 0.80)

    (asked,) = found.open
    assert asked.dimension is Dimension.ROOFS
    lines = [(answer.value, answer.ruling.line(Side.GROSS)) for answer in asked.answers]
    assert [(value, line.grams if line else None) for value, line in lines] == [
        ("bare", 50_000),
        ("glass", 50_000),
        ("raised_rail", 75_000),
    ]


def test_a_dimension_on_which_all_agree_is_not_asked() -> None:
    car = vehicle(told(roof_limit("75")), told(roof_limit("75", scope=RAILS), id="C2"))

    assert limit(car, UNKNOWN, ON_ROAD, 0.80).open == ()


def test_years_are_asked_as_ranges() -> None:
    car = vehicle(told(roof_limit("75", scope=Scope(years=Years(2019, 2021)))), years=Years(2019, 2024))

    found = limit(car, UNKNOWN, ON_ROAD, 0.80)

    assert found.ruling.figure == ()
    assert [(answer.value, bool(answer.ruling.figure)) for answer in found.open[0].answers] == [
        (Years(2019, 2021), True),
        (Years(2022, 2024), False),
    ]
    assert found.refusal is not None and found.refusal.kind is RefusalKind.SCOPE_UNPROVEN


def test_the_lowest_cap_is_kept_where_some_car_has_no_figure() -> None:
    car = vehicle(told(roof_limit("75", scope=VANS)), once(roof_limit("60"), id="C2"))

    found = limit(car, UNKNOWN, ON_ROAD, 0.80)

    assert found.ruling.figure == ()
    assert {(line.grams, line.firmness) for line in found.ruling.caps} == {(60_000, Firmness.CAP)}


def test_a_reduction_on_which_cars_differ_is_asked() -> None:
    car = vehicle(ROOF, told(factor("2/3", scope=VANS), id="C2"), bodies=("van", "wagon"))

    assert [each.dimension for each in limit(car, UNKNOWN, OFF_ROAD, 0.80).open] == [Dimension.BODIES]
    assert limit(car, UNKNOWN, ON_ROAD, 0.80).open == ()


@pytest.mark.parametrize(
    ("context", "pointer", "message"),
    [
        (Context(year=2018), "/context/year", "its years are 2019 to 2024."),
        (Context(body="van"), "/context/body", "its bodies are dual_cab, wagon."),
        (Context(roofs=("bare", "glass")), "/context/roofs", "its roofs are bare."),
        (Context(market="ZA"), "/context/market", "its markets are NZ."),
    ],
)
def test_a_car_that_the_record_rules_out_is_bad_input(context: Context, pointer: str, message: str) -> None:
    car = vehicle(ROOF, bodies=("dual_cab", "wagon"), roofs=("bare",), markets=("NZ",))
    for question in (lambda: limit(car, context, ON_ROAD, 0.80), lambda: budget_for(car, context=context)):
        with pytest.raises(CantrailError) as refused:
            question()
        assert (refused.value.kind, refused.value.code) == (Kind.INVALID, "context_ruled_out")
        assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [(pointer, "ruled_out")]
        assert message in refused.value.message


def test_every_thing_that_is_ruled_out_is_named() -> None:
    car = vehicle(ROOF, years=Years(2019), bodies=("wagon",))

    with pytest.raises(CantrailError, match="its years are 2019 to now") as refused:
        limit(car, Context(2010, "van"), ON_ROAD, 0.80)

    assert [fault.pointer for fault in refused.value.faults] == ["/context/year", "/context/body"]


def test_an_unconfirmed_record_rules_nothing_out() -> None:
    assert grams(vehicle(ROOF, bodies=("wagon",), confirmed=False), Context(2010, "van")) == 75_000


def test_a_part_s_rating_by_itself() -> None:
    found = limit(platform(), UNKNOWN, ON_ROAD, 0.80)

    assert (found.condition, found.open, found.refusal) == (ON_ROAD, (), None)
    assert [(line.side, line.grams) for line in found.ruling.figure] == [(Side.NET, 100_000)]


def test_a_fitment_s_rating_by_itself_has_a_scope() -> None:
    fits = fitment_dossier(told(load_rating("60")), told(load_rating("40", scope=VANS), id="C2"))

    found = limit(fits, UNKNOWN, ON_ROAD, 0.80)

    assert [line.grams for line in found.ruling.figure] == [40_000]
    assert [(answer.value, answer.ruling.figure[0].grams) for answer in found.open[0].answers] == [
        ("van", 40_000),
        (NONE_OF_THESE, 60_000),
    ]
    assert [line.grams for line in limit(fits, FULL, ON_ROAD, 0.80).ruling.figure] == [60_000]


def test_an_own_mass_by_itself() -> None:
    found = own_mass(platform(), 0.80)

    assert found.found.mass is not None and found.found.mass.grams == 25_000
    assert (found.refusal, found.unreviewed_higher) == (None, ())


# What a budget needs


def test_a_roof_must_come_from_somewhere() -> None:
    with pytest.raises(CantrailError) as refused:
        budget_for(None, platform())

    assert refused.value.code == "roof_missing"
    assert refused.value.faults == (Fault("/vehicle", "roof_missing", refused.value.message),)


@pytest.mark.parametrize("condition", [ON_ROAD, OFF_ROAD])
def test_nobody_rides_on_a_roof(condition: Condition) -> None:
    with pytest.raises(CantrailError) as refused:
        budget_for(vehicle(ROOF), people=(cargo(80),), condition=condition)

    assert (refused.value.kind, refused.value.code) == (Kind.INVALID, "people_while_driving")
    assert refused.value.faults[0].pointer == "/people"
    assert budget_for(vehicle(ROOF), people=(cargo(60),), condition=PARKED).budget.load.cargo == 60_000


# Questions of a budget


def test_a_budget_asks_what_would_change_it() -> None:
    car = vehicle(told(roof_limit("50")), told(roof_limit("75", scope=RAILS), id="C2"), roofs=("bare", "raised_rail"))

    answer = budget_for(car, platform())

    assert answer.budget.allowed == 25_000
    assert [(each.dimension, each.answers) for each in answer.stacked.questions] == [
        (Dimension.ROOFS, (("bare", 25_000), ("raised_rail", 50_000)))
    ]


def test_a_budget_does_not_ask_what_would_not_change_it() -> None:
    car = vehicle(told(roof_limit("150")), told(roof_limit("175", scope=RAILS), id="C2"))

    # The platform's 100 kg bind whatever the roof is.
    assert limit(car, UNKNOWN, ON_ROAD, 0.80).open != ()
    assert budget_for(car, platform()).stacked.questions == ()


def test_a_value_without_a_figure_is_answered_with_none() -> None:
    car = vehicle(told(roof_limit("75", scope=VANS)))

    answer = budget_for(car, platform())

    assert answer.budget.allowed is None
    assert [(each.dimension, each.answers) for each in answer.stacked.questions] == [
        (Dimension.BODIES, (("van", 50_000), (NONE_OF_THESE, None)))
    ]


def test_fitments_are_part_of_the_question() -> None:
    fits = fitment(told(load_rating("40", scope=VANS), id="C5"))
    car = vehicle(ROOF, fitments=(fits,), bodies=("van", "wagon"))

    answer = budget_for(car, platform())

    assert answer.budget.allowed == 40_000
    assert [each.answers for each in answer.stacked.questions] == [(("van", 40_000), ("wagon", 50_000))]
    assert budget_for(car, platform(), context=Context(body="wagon")).budget.allowed == 50_000


def test_dimensions_multiply() -> None:
    car = vehicle(
        told(roof_limit("80", scope=Scope(bodies=("van",), roofs=ALL)), id="C1"),
        told(roof_limit("70", scope=Scope(bodies=("wagon",), roofs=("bare",))), id="C2"),
        told(roof_limit("60", scope=Scope(bodies=("wagon",), roofs=("track",))), id="C3"),
        bodies=("van", "wagon"),
        roofs=("bare", "track"),
    )

    asked = {each.dimension: each.answers for each in budget_for(car).stacked.questions}

    assert asked == {
        Dimension.BODIES: (("van", 80_000), ("wagon", 60_000)),
        Dimension.ROOFS: (("bare", 70_000), ("track", 60_000)),
    }


# The fixing


@pytest.mark.parametrize(
    ("deck", "said"),
    [
        (platform(), True),
        (platform(built_in=False), False),
        (carrier(told(mass_said("25")), told(load_rating("100"), id="C2"), confirmed=False), False),
        (GivenPart(kg("25"), kg("100"), EXCLUDES), False),
    ],
)
def test_a_fixing_is_built_in_where_the_confirmed_record_says_so(deck: Dossier | GivenPart, said: bool) -> None:
    car = vehicle(ROOF)

    unsaid, claimed = budget_for(car, deck), budget_for(car, deck, fixing="built_in")

    assert unsaid.stacked.setup.fixing_said is claimed.stacked.setup.fixing_said is said
    assert unsaid.budget.reasons == (() if said else ("fixing_not_said",))


def test_it_is_the_lowest_carrier_s_fixing_that_counts() -> None:
    assert not budget_for(vehicle(ROOF), platform(built_in=False), platform(id="top")).stacked.setup.fixing_said
    assert not budget_for(vehicle(ROOF)).stacked.setup.fixing_said


# Which fitments are compatible


Fixing = Dossier | GivenPart | Literal["built_in"] | None


def fitted(
    car: Dossier, *stack: Dossier | GivenPart, context: Context = FULL, fixing: Fixing = None
) -> list[tuple[str, int]]:
    setup = budget_for(car, *stack, context=context, fixing=fixing).stacked.setup
    return [(each.id, each.carrier) for each in setup.fitments]


def test_a_fitment_of_another_carrier_does_not_bind() -> None:
    assert fitted(vehicle(ROOF, fitments=(fitment(carrier="other"),)), platform()) == []
    assert fitted(vehicle(ROOF, fitments=(fitment(),)), GivenPart(kg("25"), kg("100"))) == []


def test_a_fitment_binds_wherever_its_carrier_stands() -> None:
    assert fitted(vehicle(ROOF, fitments=(fitment(),)), bars(), platform()) == [("F9", 1)]


@pytest.mark.parametrize(
    ("roofs", "context", "binds"),
    [
        (None, FULL, True),
        (("bare", "track"), FULL, True),
        (("track",), FULL, False),
        (("track",), UNKNOWN, True),
    ],
)
def test_a_fitment_binds_on_the_roofs_that_the_car_may_have(
    roofs: tuple[str, ...] | None, context: Context, binds: bool
) -> None:
    found = fitted(vehicle(ROOF, fitments=(fitment(roofs=roofs),)), platform(), context=context)

    assert found == ([("F9", 0)] if binds else [])


FEET = fixing(told(mass_said("4"), id="C7"), told(load_rating("90"), id="C8"))


@pytest.mark.parametrize(
    ("named", "said", "binds"),
    [
        (None, None, True),
        (None, FEET, True),
        (None, "built_in", True),
        ("feet", None, True),
        ("feet", FEET, True),
        ("feet", GivenPart(kg("3"), kg("90")), True),
        ("other", FEET, False),
        ("feet", "built_in", False),
    ],
)
def test_a_fitment_binds_with_the_fixing_that_may_be_meant(named: str | None, said: Fixing, binds: bool) -> None:
    found = fitted(vehicle(ROOF, fitments=(fitment(fixing=named),)), platform(), fixing=said)

    assert found == ([("F9", 0)] if binds else [])


def test_a_built_in_fixing_that_no_record_confirms_is_not_said() -> None:
    fits = fitment(told(load_rating("30"), id="C5"), fixing="feet")
    car = vehicle(ROOF, fitments=(fits,))
    deck = platform(built_in=False)

    assert budget_for(car, deck).budget.allowed == 30_000
    assert budget_for(car, deck, fixing="built_in").budget.allowed == 30_000


def test_a_fitment_by_itself_uses_its_carrier_s_factor() -> None:
    fits = fitment_dossier(told(load_rating("60"), id="C5"))
    deck = platform(told(factor("1/2", AppliesTo.OWN_RATING), id="C6"))

    whole = joined(fits, deck)

    assert [line.grams for line in limit(whole, UNKNOWN, OFF_ROAD, 0.80).ruling.figure] == [30_000]
    assert (whole.subject, whole.as_of) == (fits.subject, max(fits.as_of, deck.as_of))
    assert joined(fits, deck) is whole
    assert joined(fits, platform()) is not whole


def test_a_car_that_could_be_too_many_things_is_not_gone_through() -> None:
    many = [
        told(roof_limit("75", scope=Scope(Years(1990 + n, 1990 + n), (f"b{n}",), (f"r{n}",), (f"m{n}",))), id=f"C{n}")
        for n in range(12)
    ]
    capped = once(roof_limit("60"), id="C-cap", publisher="importer")
    fits = fitment(told(load_rating("40"), id="C-fits"))
    car = vehicle(told(roof_limit("80"), id="C-all"), *many, capped, confirmed=False, fitments=(fits,))

    answer = budget_for(car, platform())

    # Thirteen cells on each of four dimensions: nothing is named, and what limits every car still limits.
    assert answer.budget.missing == (Missing("roof_limit", "tarn"),)
    assert [each.kind for each in answer.refusals] == [RefusalKind.SCOPE_UNPROVEN]
    assert answer.budget.ceiling == 35_000
    assert answer.stacked.questions == ()
    assert budget_for(car, platform(), context=FULL).budget.allowed == 35_000


def test_what_limits_every_car_does_not_yield_where_cars_are_not_gone_through() -> None:
    many = [
        told(roof_limit("75", scope=Scope(Years(1990 + n, 1990 + n), (f"b{n}",), (f"r{n}",), (f"m{n}",))), id=f"C{n}")
        for n in range(12)
    ]
    car = vehicle(told(roof_limit("60"), id="C-all"), *many, confirmed=False)

    assert budget_for(car).budget.ceiling == budget_for(car, context=FULL).budget.allowed == 60_000


def test_a_fitment_is_taken_at_080_whatever_is_demanded() -> None:
    fits = fitment(told(load_rating("40"), 0.85, id="C5"))
    car = vehicle(told(roof_limit("75"), 0.99), fitments=(fits,))

    for demand in (0.5, 0.95):
        setup = budget_for(car, platform(), demand=demand).stacked.setup
        assert [line.grams for line in setup.fitments[0].rating.figure] == [40_000]


# A parked limit guessed at


def test_a_parked_limit_is_guessed_at_only_when_asked() -> None:
    car = vehicle(ROOF)

    asked = budget_for(car, platform(), condition=PARKED, parked_multiple=3)
    unasked = budget_for(car, platform(), condition=PARKED)

    # 75 × 3 = 225, less the platform's 25.
    assert asked.stacked.estimate == Estimate(3, 225_000, 200_000)
    assert unasked.stacked.estimate is None
    assert asked.budget == unasked.budget
    assert asked.budget.allowed == 50_000


def test_a_guess_is_made_for_standing_only() -> None:
    assert budget_for(vehicle(ROOF), platform(), parked_multiple=3).stacked.estimate is None
    given = GivenRoof(kg("75"))
    assert budget_for(None, given_roof=given, condition=PARKED, parked_multiple=3).stacked.estimate is None


def test_nothing_is_guessed_from_nothing() -> None:
    assert budget_for(vehicle(), platform(), condition=PARKED, parked_multiple=2).stacked.estimate is None


def test_a_guess_never_goes_below_nothing_and_takes_the_lower_side() -> None:
    car = vehicle(told(roof_limit("20", basis=EXCLUDES, excluded="5")))

    estimate = budget_for(car, platform(), condition=PARKED, parked_multiple=2).stacked.estimate

    # Net 40; gross 50 - 25 = 25.
    assert estimate == Estimate(2, 40_000, 25_000)
    light = vehicle(told(roof_limit("10")))
    assert budget_for(
        light, carrier(told(mass_said("25")), id="x"), condition=PARKED, parked_multiple=2
    ).stacked.estimate == Estimate(2, 20_000, 0)


# What is said beside a budget


def test_every_figure_that_is_missing_has_its_reason() -> None:
    deck = carrier(undecided(mass_said("25"), id="C2"))
    feet = fixing(told(mass_said("4"), id="C3"))
    nothing = cargo(1)
    answer = budget_for(vehicle(undecided(roof_limit("75"), id="C1")), deck, GivenPart(), fixing=feet, items=(nothing,))

    assert answer.refusals == (
        Refusal("roof_limit", "tarn", RefusalKind.BELOW_CONFIDENCE, Support(0.55, "C1")),
        Refusal("load_rating", "feet", RefusalKind.NO_CLAIM, None),
        Refusal("own_mass", "deck", RefusalKind.BELOW_CONFIDENCE, Support(0.55, "C2")),
        Refusal("load_rating", "deck", RefusalKind.NO_CLAIM, None),
        Refusal("own_mass", "given carrier 2", RefusalKind.NO_CLAIM, None),
        Refusal("load_rating", "given carrier 2", RefusalKind.NO_CLAIM, None),
    )
    assert [(each.figure, each.subject) for each in answer.refusals] == [
        (each.figure, each.subject) for each in answer.budget.missing
    ]


def test_a_thing_of_unknown_mass_is_refused_by_name() -> None:
    answer = budget_for(vehicle(ROOF), items=(Item("thing", None, None, None),))

    assert answer.refusals == (Refusal("mass", "thing", RefusalKind.NO_CLAIM, None),)
    assert answer.budget.missing == (Missing("mass", "thing"),)


def test_a_refusal_asks_for_what_was_asked() -> None:
    car = vehicle(told(roof_limit("75", scope=VANS)))

    answer = budget_for(car, context=FULL)

    assert [each.kind for each in answer.refusals] == [RefusalKind.SCOPE_UNPROVEN]
    assert answer.budget.verdict is Verdict.UNKNOWN


def test_all_conflicts_are_listed() -> None:
    fits = fitment(told(load_rating("60"), id="C5"), told(load_rating("50"), id="C6"))
    car = vehicle(ROOF, told(roof_limit("60"), id="C2"), fitments=(fits,))
    deck = platform(told(mass_said("20"), id="C3"), told(load_rating("90"), id="C4"), built_in=False)

    answer = budget_for(car, deck, GivenPart(kg("1"), kg("100")), fixing=FEET)

    assert answer.stacked.conflicts == (
        Conflict(("C2", "C-roof"), 60_000, 75_000),
        Conflict(("C6", "C5"), 50_000, 60_000),
        Conflict(("C4", "C-rating"), 90_000, 100_000),
        Conflict(("C-mass", "C3"), 20_000, 25_000),
    )


def test_notes_are_listed_once_each() -> None:
    fits = fitment(told(load_rating("60"), id="C5"))

    answer = budget_for(vehicle(ROOF, fitments=(fits,)), platform(), condition=OFF_ROAD)

    assert answer.stacked.notes == (OFF_ROAD_NOT_RECORDED,)
    assert budget_for(vehicle(ROOF), condition=PARKED).stacked.notes == (PARKED_FROM_DRIVING,)
    assert budget_for(None, given_roof=GivenRoof(kg("60")), condition=PARKED).stacked.notes == ()


# What is worked out once


def test_a_stack_is_worked_out_once_for_as_long_as_its_dossiers_hold() -> None:
    car, deck = vehicle(ROOF), platform()

    first, again = budget_for(car, deck), budget_for(car, deck, items=(cargo(10),))
    other = budget_for(car, platform())

    assert first.stacked is again.stacked
    assert first.stacked.key is not None
    assert other.stacked is not first.stacked
    assert again.budget.remaining == 40_000


@pytest.mark.parametrize(("fixing", "given_roof"), [(GivenPart(kg("3"), kg("90")), None), (None, GivenRoof(kg("60")))])
def test_the_asker_s_own_figures_are_not_remembered(fixing: Fixing, given_roof: GivenRoof | None) -> None:
    car, deck = vehicle(ROOF), platform()

    first, again = (budget_for(car, deck, fixing=fixing, given_roof=given_roof) for _ in range(2))

    assert first.stacked.key is None
    assert first.stacked is not again.stacked
    assert first.stacked == again.stacked


def test_a_memory_is_bounded() -> None:
    car = vehicle(ROOF)
    for number in range(MOST_REMEMBERED):
        assert remembered(car, number, lambda: "worked out") == "worked out"
    assert remembered(car, 0, lambda: "worked out again") == "worked out"
    assert len(car.memory) == MOST_REMEMBERED

    assert remembered(car, "one more", lambda: "worked out") == "worked out"
    assert len(car.memory) == 1


def test_a_stack_by_itself() -> None:
    request = Request(ON_ROAD, 0.80, vehicle(ROOF), UNKNOWN, None, (platform(),), ())

    found = stack_answer(request)

    assert isinstance(found, StackAnswer)
    assert found.stack.allowed == 50_000
    assert ask(request).stacked is found


def test_a_rating_that_counts_its_carrier_is_its_sticker_all_the_same() -> None:
    deck = carrier(told(mass_said("25"), id="C2"), told(load_rating("100", basis=INCLUDES), id="C3"))

    trap = budget_for(vehicle(ROOF), deck).budget.trap

    assert trap is not None and trap.carrier_rating == 100_000


def test_a_dossier_of_nothing_has_no_figures() -> None:
    assert vehicle().figures == Figures()


def test_a_carrier_s_new_factor_is_not_forgotten() -> None:
    car = vehicle(told(roof_limit("175")), fitments=(fitment(told(load_rating("60"), id="C5")),))
    slow = platform(told(factor("1/2", AppliesTo.OWN_RATING), id="C6"))

    assert budget_for(car, platform(), condition=OFF_ROAD).budget.allowed == 60_000
    assert budget_for(car, slow, condition=OFF_ROAD).budget.allowed == 30_000


def test_a_car_known_to_have_no_roof_of_any_kind() -> None:
    assert grams(vehicle(ROOF), Context(roofs=())) == 75_000


def test_where_it_takes_two_answers_both_are_asked_for() -> None:
    page = told(roof_limit("75", scope=Scope(Years(2019, 2023), ("dual_cab",))))
    found = budget_for(vehicle(page, confirmed=False), context=UNKNOWN)

    assert found.budget.allowed is None
    assert [asked.dimension for asked in found.stacked.questions] == [Dimension.YEARS, Dimension.BODIES]
    known = budget_for(vehicle(page, confirmed=False), context=Context(2021))
    assert [dict(asked.answers) for asked in known.stacked.questions] == [{"dual_cab": 75_000, NONE_OF_THESE: None}]
