"""The same load on other racks and roads: what is compared, in which order, and that it is what a budget would say."""

import random

import msgspec

from app.core import entries
from app.core.alternatives import (
    Alternative,
    Fit,
    alternatives,
    as_worked,
    difference,
    fits,
    fits_surely,
    in_conditions,
    rack_of,
    work_out,
)
from app.core.asking import Request, ask
from app.core.budget import Item, Verdict, load_of
from app.core.claim import AppliesTo, Subject, SubjectKind
from app.core.record import Record
from app.core.scope import UNKNOWN, Context
from app.core.scoring import Dossier, FitmentFigures
from tests.core.builders import (
    INCLUDES,
    OFF_ROAD,
    ON_ROAD,
    PARKED,
    TWO,
    bars,
    cargo,
    carrier,
    factor,
    fitment,
    fixing,
    load_rating,
    mass_said,
    once,
    platform,
    roof_limit,
    told,
    undecided,
    vehicle,
)
from tests.core.cases import request_of
from tests.oracle.generate import random_case


def fit(
    id: str, of: str, *, by: str | None = None, roofs: tuple[str, ...] | None = None, confirmed: bool = True
) -> FitmentFigures:
    """A fitment with its record, as a dossier has it."""
    payload = entries.FitmentAdded("tarn", of, by, roofs, ())
    record = Record(Subject(SubjectKind.FITMENT, id), 9, "author", payload, TWO if confirmed else ())
    counted = (by, roofs) if confirmed else (None, None)
    plain = fitment(carrier=of, fixing=counted[0], roofs=counted[1], id=id)
    return msgspec.structs.replace(plain, record=record)


def asked_of(car: Dossier | None, *carriers: Dossier, kg: float = 60, **more: object) -> Request:
    request = Request(ON_ROAD, 0.8, car, UNKNOWN, None, carriers, (cargo(kg),))
    return msgspec.structs.replace(request, **more)


def compared(request: Request, *racks: Dossier, by: Dossier | None = None) -> list[Alternative]:
    assert request.vehicle is not None
    known = {each.subject.id: each for each in racks}
    found = fits(request.vehicle, request.context)
    return alternatives(request, [(each, known[each.carrier], by if each.fixing else None) for each in found])


def test_bars_instead_of_the_platform_are_twenty_kilograms_more() -> None:
    # The method's worked example: 75 kg with the platform of 25 leave 50 of cargo, with the bars of 5 leave 70.
    car = vehicle(told(roof_limit("75")), fitments=(fit("F1", "deck"), fit("F2", "bars")))
    request = asked_of(car, platform())
    found = compared(request, platform(), bars())
    asked = as_worked(request, ask(request))
    assert [each.fit.carrier for each in found] == ["bars", "deck"]
    assert [difference(each.worked, asked) for each in found] == [20_000, 0]
    assert [each.worked.budget.verdict for each in found] == [Verdict.WITHIN, Verdict.OVER]
    assert [each.worked.budget.remaining for each in found] == [10_000, -10_000]
    assert [each.is_asked for each in found] == [False, True]
    assert [fits_surely(each.worked.budget) for each in found] == [True, False]


def test_what_is_in_doubt_stands_under_what_is_sure_and_the_unknown_last() -> None:
    silent = carrier(told(mass_said("1")), id="silent")
    loose = carrier(told(mass_said("2")), told(load_rating("100")), id="loose", built_in=False)
    heavy = carrier(told(mass_said("40")), told(load_rating("100")), id="heavy")
    once_said = carrier(told(mass_said("3")), told(load_rating("100")), id="once-said")
    racks = (silent, loose, once_said, heavy)
    said = (fit("F1", "silent"), fit("F2", "loose"), fit("F3", "once-said", confirmed=False), fit("F4", "heavy"))
    found = compared(asked_of(vehicle(told(roof_limit("75")), fitments=said), platform()), *racks)
    assert [(each.fit.carrier, each.worked.budget.stack.raw) for each in found] == [
        ("heavy", 35_000),
        ("loose", 73_000),
        ("once-said", 72_000),
        ("silent", None),
    ]


def test_off_road_a_rack_of_which_nobody_knows_is_no_better_than_one_that_is_known() -> None:
    honest = platform(told(factor("2/3", AppliesTo.ROOF_LIMIT), id="C-honest"), id="honest")
    nothing_off = platform(told(factor("1", AppliesTo.ROOF_LIMIT), id="C-one"), id="as-it-is")
    one_word = platform(once(factor("1", AppliesTo.ROOF_LIMIT), id="C-word"), id="one-word")
    rated = platform(told(load_rating("60", OFF_ROAD), id="C-rated"), id="rated")
    racks = (bars(), honest, nothing_off, one_word, rated)
    car = vehicle(told(roof_limit("75")), fitments=tuple(fit(f"F{n}", each.subject.id) for n, each in enumerate(racks)))
    request = asked_of(car, honest, condition=OFF_ROAD)
    found = compared(request, *racks)
    assert [(each.fit.carrier, each.worked.budget.stack.raw, each.worked.off_road_unsaid) for each in found] == [
        ("as-it-is", 50_000, False),
        ("rated", 50_000, False),
        ("honest", 25_000, False),
        ("bars", 70_000, True),
        ("one-word", 50_000, True),
    ]
    asked = as_worked(request, ask(request))
    assert [difference(each.worked, asked) for each in found] == [25_000, 25_000, 0, None, None]
    on_road = compared(msgspec.structs.replace(request, condition=ON_ROAD), *racks)
    assert on_road[0].fit.carrier == "bars"
    assert not any(each.worked.off_road_unsaid for each in on_road)


def test_undecided_claims_that_would_lower_an_alternative_stand_beside_it() -> None:
    doubted = platform(undecided(load_rating("30"), id="C-low"), id="doubted")
    car = vehicle(told(roof_limit("75")), fitments=(fit("F1", "doubted"), fit("F2", "bars")))
    found = compared(asked_of(car, bars()), doubted, bars())
    assert {each.fit.carrier: [less.claim for less in each.worked.unreviewed_lower] for each in found} == {
        "bars": [],
        "doubted": ["C-low"],
    }


def test_racks_that_leave_as_much_stand_by_weight_and_name() -> None:
    limited = (told(load_rating("30")),)
    racks = [carrier(told(mass_said(mass)), *limited, id=id) for id, mass in (("b", "9"), ("c", "8"), ("a", "9"))]
    car = vehicle(told(roof_limit("75")), fitments=tuple(fit(f"F{n}", each.subject.id) for n, each in enumerate(racks)))
    assert [each.fit.carrier for each in compared(asked_of(car), *racks)] == ["c", "a", "b"]


def test_a_rack_is_compared_with_the_fixing_that_its_fitment_names() -> None:
    feet = fixing(told(mass_said("6")), told(load_rating("50", basis=INCLUDES)))
    loose = carrier(told(mass_said("5")), told(load_rating("100")), id="loose", built_in=False)
    car = vehicle(told(roof_limit("75")), fitments=(fit("F1", "loose", by="feet"), fit("F2", "loose")))
    with_feet, unsaid = compared(asked_of(car), loose, by=feet)
    # The feet carry 50 kg with themselves and the rack: 50 - 6 - 5.
    assert (with_feet.fixing, with_feet.worked.budget.allowed) == ("feet", 39_000)
    assert (unsaid.fixing, unsaid.worked.budget.allowed) == (None, 70_000)
    assert unsaid.worked.budget.verdict is Verdict.MARGINAL
    held = asked_of(car, loose, fixing=feet)
    assert [(each.fixing, each.is_asked) for each in compared(held, loose, by=feet)] == [("feet", True)]


def test_each_rack_once_and_none_that_its_record_rules_out() -> None:
    said = (
        fit("F1", "deck", roofs=("track",), confirmed=False),
        fit("F2", "deck", roofs=("bare",)),
        fit("F3", "deck", roofs=("raised_rail",)),
        fit("F4", "bars", roofs=("gutter",), confirmed=False),
        fit("F5", "bars", by="feet"),
    )
    car = vehicle(told(roof_limit("75")), fitments=said)
    assert fits(car, UNKNOWN) == (
        Fit("F2", "deck", None, ("bare", "raised_rail"), confirmed=True),
        Fit("F5", "bars", "feet", None, confirmed=True),
        Fit("F4", "bars", None, ("gutter",), confirmed=False),
    )
    assert [each.fitment for each in fits(car, Context(roofs=("track",)))] == ["F5", "F1"]
    assert [each.fitment for each in fits(car, Context(roofs=("gutter", "bare")))] == ["F2", "F5", "F4"]


def test_the_order_in_which_fitments_were_entered_changes_nothing() -> None:
    racks = [carrier(told(mass_said(str(n))), told(load_rating("100")), id=f"r{n}") for n in range(2, 9)]
    said = [fit(f"F{n}", each.subject.id, confirmed=n % 3 > 0) for n, each in enumerate(racks)]
    orders = []
    for seed in range(5):
        random.Random(seed).shuffle(said)
        car = vehicle(told(roof_limit("75")), fitments=tuple(said))
        orders.append([each.fit.carrier for each in compared(asked_of(car), *racks)])
    assert all(order == orders[0] for order in orders)


def test_roads_beside_each_other() -> None:
    rough = platform(told(factor("2/3", AppliesTo.ROOF_LIMIT), id="C-factor"))
    car = vehicle(told(roof_limit("75")), told(roof_limit("200", PARKED), id="C2"))
    found = in_conditions(asked_of(car, rough, condition=OFF_ROAD))
    assert [(each.condition, each.worked.budget.allowed) for each in found] == [
        (ON_ROAD, 50_000),
        (OFF_ROAD, 25_000),
        (PARKED, 100_000),
    ]
    assert not any(each.without_people for each in found)
    sleepers = in_conditions(asked_of(car, rough, condition=PARKED, people=(Item("person", 80_000, 80_000, 80_000),)))
    assert [each.without_people for each in sleepers] == [True, True, False]
    assert [each.worked.budget.load.cargo for each in sleepers] == [60_000, 60_000, 140_000]


def test_a_fitments_own_rating_binds_in_a_comparison_too() -> None:
    low = msgspec.structs.replace(
        fitment(told(load_rating("30", basis=INCLUDES), id="C9"), carrier="deck", id="F1"),
        record=fit("F1", "deck").record,
    )
    car = vehicle(told(roof_limit("75")), fitments=(low,))
    (found,) = compared(asked_of(car, bars()), platform())
    assert found.worked.budget.allowed == 5_000


def test_every_number_is_that_of_a_budget_asked_by_itself() -> None:
    rng = random.Random("alternatives")
    for _ in range(300):
        request = request_of(random_case(rng))
        answer = ask(request)
        found = work_out(request, load_of((*request.items, *request.people)))
        assert found.budget == answer.budget
        assert found == as_worked(request, answer)


def test_one_approval_lowers_an_alternative_and_never_raises_one() -> None:
    high = told(roof_limit("75"))
    for value in ("50", "120"):
        car = vehicle(high, once(roof_limit(value), id="C7"), fitments=(fit("F1", "deck"),))
        (found,) = compared(asked_of(car), platform())
        assert found.worked.budget.allowed == (25_000 if value == "50" else 50_000)


def test_a_rack_is_named_by_what_holds_it() -> None:
    loose = carrier(id="loose", built_in=False)
    assert rack_of(asked_of(None, platform())) == (("deck",), "built_in")
    assert rack_of(asked_of(None, loose)) == (("loose",), None)
    assert rack_of(asked_of(None, loose, bars(), fixing="built_in")) == (("loose", "bars"), "built_in")
    assert rack_of(asked_of(None, loose, fixing=fixing())) == (("loose",), "feet")
