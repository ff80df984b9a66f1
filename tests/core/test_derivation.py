"""Limits worked back from accessory pages and by the other methods (section 2.5): the worked cases, the corners that they
leave open, and what holds of every table."""

import json
import random
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from itertools import combinations
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from app.core.claim import AppliesTo, Basis, Bound, Condition, Quantity, Statement
from app.core.derivation import (
    Agreement,
    Derived,
    Interval,
    Reading,
    Role,
    Row,
    Worked,
    factor,
    interval_of,
    net_to_gross,
    parked_multiple,
    sister_vehicle,
    solve,
)
from app.core.derivation_told import told
from app.core.errors import CantrailError, Kind
from app.core.mass import GRAMS_PER_LB, Counts, Per, Stated, Unit
from tests.core import builders
from tests.core.builders import (
    AT_LEAST,
    AT_MOST,
    EXCLUDES,
    INCLUDES,
    OFF_ROAD,
    ON_ROAD,
    PARKED,
    kg,
    lb,
    load_rating,
    mass_said,
    roof_limit,
)

EXACT = Bound.EXACT
SUMS, LOADS, NONE = Agreement.SUMS_AGREE, Agreement.LOADS_AGREE, Agreement.NO_AGREEMENT

CASES: list[dict[str, Any]] = json.loads(
    (Path(__file__).parent.parent / "vectors" / "accessories.json").read_text(encoding="utf-8")
)["cases"]


def row(
    mass: str,
    load: str,
    rating: str | None = None,
    *,
    name: str = "Tray",
    out: bool = False,
    lighter: int | None = None,
) -> Row:
    return Row(name, kg(mass), kg(load), out, None if rating is None else kg(rating), lighter)


def roles(worked: Worked) -> list[str]:
    return [str(reading.role) for reading in worked.rows]


# The worked cases


@pytest.mark.parametrize("case", CASES, ids=[str(case["id"]) for case in CASES])
def test_the_worked_cases_hold(case: dict[str, Any]) -> None:
    rows = []
    for said in case["rows"]:
        unit = Unit(said["unit"])
        rating = None if said["rating"] is None else Stated(said["rating"], unit)
        rows.append(Row("Tray", Stated(said["mass"], unit), Stated(said["load"], unit), said["leaves_out"], rating))
    worked = solve(rows)

    assert {
        "kind": worked.kind,
        "bound": worked.bound,
        "figure_g": worked.figure,
        "interval_g": None if worked.interval is None else list(worked.interval),
        "self_limited": list(worked.self_limited),
    } == case["expect"]
    assert worked.basis is INCLUDES


# Reading uncertainty


@pytest.mark.parametrize(
    ("stated", "low", "high"),
    [
        (kg("75"), 74_500, 75_500),
        (kg("75.0"), 74_950, 75_050),
        (kg("75.00"), 74_995, 75_005),
        (kg("100"), 99_500, 100_500),
        (kg("0"), 0, 500),
        (kg("0.4"), 350, 450),
        (kg("0.000001"), Fraction(1, 2000), Fraction(3, 2000)),
        (lb("165"), Fraction(329, 2) * GRAMS_PER_LB, Fraction(331, 2) * GRAMS_PER_LB),
        (lb("5.2"), Fraction(515, 100) * GRAMS_PER_LB, Fraction(525, 100) * GRAMS_PER_LB),
    ],
)
def test_a_figure_is_uncertain_by_half_a_unit_in_its_last_digit(
    stated: Stated, low: Fraction | int, high: Fraction | int
) -> None:
    assert interval_of(stated, "/x") == Interval(Fraction(low), Fraction(high))


def test_an_interval_is_shown_in_whole_grams_outward() -> None:
    assert interval_of(lb("165"), "/x").grams == (74_615, 75_070)


# Agreement


def test_intervals_that_touch_share_a_point() -> None:
    # Sums of 74 to 76 and 76 to 78; the loads are apart, and so are the masses.
    worked = solve([row("25", "50"), row("5", "72")])

    assert (worked.kind, worked.figure, worked.interval) == (SUMS, 76_000, (76_000, 76_000))


def test_masses_that_touch_are_not_apart() -> None:
    assert solve([row("24", "75"), row("25", "75")]).kind is NONE
    assert solve([row("24", "75"), row("25.1", "75")]).kind is LOADS


def test_sums_agree_on_one_limit_only_where_both_masses_and_loads_are_apart() -> None:
    # The masses are apart, and within their uncertainty the loads are the same: nothing shows that anything is subtracted.
    assert solve([row("5", "60"), row("6.1", "60")]).kind is LOADS
    # The sums share points and the loads are apart, but the masses touch.
    assert solve([row("24", "75"), row("25", "73.9")]).kind is NONE
    # The sums share a point, 66; but the two that are apart in mass are not apart in load, nor the other way round.
    worked = solve([row("5", "60"), row("6.1", "60"), row("5.5", "61.5")])
    assert (worked.kind, worked.nearly, worked.would_agree) == (NONE, LOADS, (0, 1))


def test_a_load_that_touches_the_rating_is_self_limited() -> None:
    assert solve([row("5", "75", "76"), row("25", "50")]).self_limited == (0,)
    assert solve([row("5", "75", "76.1"), row("25", "50")]).self_limited == ()


def test_rows_that_are_all_self_limited_take_part_all_the_same() -> None:
    worked = solve([row("5", "70", "70"), row("25", "50", "50")])

    assert (worked.kind, worked.figure) == (SUMS, 74_000)
    assert worked.self_limited == (0, 1)
    assert roles(worked) == ["agrees", "agrees"]


def test_each_row_has_its_intervals_and_its_part() -> None:
    worked = solve([row("25", "50"), row("5", "70"), row("10", "60", "60")])

    assert roles(worked) == ["agrees", "agrees", "self_limited"]
    assert worked.rows[0] == Reading(
        row("25", "50"),
        Interval(Fraction(24_500), Fraction(25_500)),
        Interval(Fraction(49_500), Fraction(50_500)),
        Interval(Fraction(74_000), Fraction(76_000)),
        self_limited=False,
        role=Role.AGREES,
    )
    assert (worked.would_agree, worked.others, worked.nearly) == ((), (), None)


def test_rows_that_would_agree_but_for_others_are_named_and_so_are_the_others() -> None:
    worked = solve([row("25", "50"), row("10", "90"), row("5", "70"), row("7", "60", "60")])

    assert (worked.kind, worked.bound, worked.figure) == (NONE, AT_LEAST, 49_500)
    assert (worked.nearly, worked.would_agree, worked.others) == (SUMS, (0, 2), (1,))
    assert roles(worked) == ["agrees", "outlier", "agrees", "self_limited"]


def test_sums_that_would_agree_come_before_loads_that_would() -> None:
    loads = [row("5", "60"), row("12", "60"), row("30", "60")]

    assert solve([*loads, row("20", "30")]).nearly is LOADS
    both = solve([*loads, row("20", "45")])
    assert (both.nearly, both.would_agree) == (SUMS, (0, 3))


def test_of_as_many_that_would_agree_those_with_the_lowest_point_are_named() -> None:
    high, low = [row("25", "75"), row("5", "95")], [row("20", "30"), row("8", "42")]

    assert solve([*high, *low]).would_agree == (2, 3)
    assert solve([*low, *high]).would_agree == (0, 1)


def test_rows_of_which_no_two_agree_stand_alone() -> None:
    worked = solve([row("5", "90"), row("5", "60", out=True)])

    assert (worked.figure, worked.nearly, roles(worked)) == (64_000, None, ["alone", "alone"])


def test_a_row_stated_often_does_not_outvote_others() -> None:
    rare = [row("25", "75"), row("5", "95"), row("15", "85")]
    often = [row("20", "30"), row("8", "42"), row("8", "42"), row("8", "42")]

    assert solve([*rare, *often]).would_agree == (0, 1, 2)


# A lower own mass


def test_a_lower_own_mass_of_an_approved_claim_is_used() -> None:
    worked = solve([row("25", "50", lighter=24_400), row("5", "70")])

    assert (worked.kind, worked.figure, worked.interval) == (SUMS, 74_000, (74_000, 74_900))
    assert worked.rows[0].lightened
    assert worked.rows[0].mass.grams == (24_400, 24_400)
    assert worked.rows[0].total.grams == (73_900, 74_900)


@pytest.mark.parametrize("lighter", [24_500, 25_000, 30_000])
def test_an_own_mass_that_is_not_below_what_the_page_may_mean_changes_nothing(lighter: int) -> None:
    assert solve([row("25", "50", lighter=lighter), row("5", "70")]).rows[0].mass.grams == (24_500, 25_500)


def test_a_lower_own_mass_can_end_an_agreement() -> None:
    worked = solve([row("25", "50", lighter=20_000), row("5", "70")])

    assert (worked.kind, worked.figure) == (NONE, 49_500)


def test_a_lower_own_mass_raises_nothing_by_making_rows_agree() -> None:
    # By themselves, two accessories of the same mass that may take 75 and 90; lightened, sums of 95 both.
    worked = solve([row("20", "75"), row("20", "90", lighter=5_000)])

    assert (worked.kind, worked.figure) == (NONE, 74_500)
    assert not any(reading.lightened for reading in worked.rows)


def test_of_the_same_figure_what_claims_less_stands() -> None:
    # Lightened, both sums are 90; by themselves the rows tell at least 90.
    worked = solve([row("20", "80", out=True, lighter=10_000), row("19.5", "71", out=True)])

    assert (worked.kind, worked.bound, worked.figure) == (NONE, AT_LEAST, 89_950)


# A cap


@pytest.mark.parametrize(
    ("cap", "figure", "interval", "uncapped"),
    [
        (80_000, 74_000, (74_000, 76_000), None),
        (75_000, 74_000, (74_000, 75_000), None),
        (74_000, 74_000, (74_000, 74_000), None),
        (73_999, 73_999, (73_999, 73_999), 74_000),
        (0, 0, (0, 0), 74_000),
    ],
)
def test_nothing_is_said_above_a_cap(cap: int, figure: int, interval: tuple[int, int], uncapped: int | None) -> None:
    worked = solve([row("25", "50"), row("5", "70")], cap)

    assert (worked.figure, worked.interval, worked.uncapped) == (figure, interval, uncapped)
    assert (worked.kind, worked.bound) == (SUMS, EXACT)


def test_a_cap_lowers_what_rows_that_disagree_tell() -> None:
    worked = solve([row("25", "50")], 40_000)

    assert (worked.figure, worked.interval, worked.uncapped, worked.bound) == (40_000, None, 49_500, AT_LEAST)


# Bad input


@pytest.mark.parametrize(
    ("rows", "pointer", "code"),
    [
        ([], "/rows", "no_rows"),
        ([row("5", "70")] * 201, "/rows", "too_many_rows"),
        ([row("5", "70"), row("5 kg", "70")], "/rows/1/mass/value", "bad_mass"),
        ([row("5", "70"), row("5", "70"), row("5", "1e2")], "/rows/2/load/value", "bad_mass"),
        ([row("5", "70", ""), row("-5", "70")], "/rows/0/rating/value", "bad_mass"),
        ([Row("Tray", kg("5"), Stated("0.8", Unit.FACTOR), leaves_out=False)], "/rows/0/load/value", "not_a_mass"),
    ],
)
def test_bad_rows_are_refused_by_their_place(rows: list[Row], pointer: str, code: str) -> None:
    with pytest.raises(CantrailError) as refused:
        solve(rows)

    assert refused.value.kind is Kind.INVALID
    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [(pointer, code)]


def test_as_many_as_200_rows_are_worked_out() -> None:
    rows = [row(f"{5 + place / 10:.1f}", f"{80 - place / 10:.1f}") for place in range(200)]

    assert (solve(rows).kind, solve(rows).figure) == (SUMS, 84_900)
    assert solve([*rows[1:], row("50", "90")]).would_agree == tuple(range(199))


# What holds of every table

steady = settings(
    derandomize=True, database=None, deadline=None, max_examples=250, phases=[Phase.explicit, Phase.generate]
)
MASSES = ("4", "5.2", "9", "17.5", "24", "24.0", "31")


@st.composite
def tables(draw: st.DrawFn) -> list[Row]:
    """Rows of which many agree: on one limit less the accessory, on one load, or some on this and some on that. Some are
    limited by themselves, and some have a lower own mass."""
    found = []
    kinds = draw(st.sampled_from(["limit", "limit", "load", "load", "mixed"]))
    for _ in range(draw(st.integers(1, 6))):
        mass = draw(st.sampled_from(MASSES))
        loads = {
            "limit": [str(80 - Decimal(mass))],
            "load": ["60", "60.0"],
            "mixed": ["60", "75", str(100 - Decimal(mass))],
        }
        load = draw(st.sampled_from(loads[kinds]))
        rating = draw(st.sampled_from([None, None, load, "75", "110"]))
        lighter = draw(st.sampled_from([None] * 6 + [int(Decimal(mass) * 1000) - 600, 3000]))
        unit = Unit.KG if kinds != "mixed" else draw(st.sampled_from([Unit.KG, Unit.KG, Unit.LB]))
        stated = [None if value is None else Stated(value, unit) for value in (mass, load, rating)]
        assert stated[0] is not None and stated[1] is not None
        found.append(Row("Tray", stated[0], stated[1], draw(st.booleans()), stated[2], lighter))
    return found


def outcome(worked: Worked) -> tuple[Agreement, Agreement | None, Bound, int, tuple[int, int] | None]:
    return worked.kind, worked.nearly, worked.bound, worked.figure, worked.interval


def plain(rows: list[Row]) -> list[Row]:
    return [msgspec.structs.replace(each, lighter=None) for each in rows]


@steady
@given(tables(), st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(rows: list[Row], rng: random.Random) -> None:
    shuffled = rng.sample(rows, len(rows))
    straight, mixed = solve(rows), solve(shuffled)

    assert outcome(mixed) == outcome(straight)
    assert sorted(map(repr, mixed.rows)) == sorted(map(repr, straight.rows))


@steady
@given(tables(), st.integers(0, 6))
def test_a_row_stated_twice_changes_nothing(rows: list[Row], place: int) -> None:
    once, twice = solve(rows), solve([*rows, rows[place % len(rows)]])

    assert outcome(twice) == outcome(once)
    assert twice.rows == (*once.rows, once.rows[place % len(rows)])


@steady
@given(tables())
def test_a_further_row_that_agrees_never_widens_the_interval(rows: list[Row]) -> None:
    before, after = solve(rows[:-1] or rows), solve(rows)
    if before.kind is after.kind and before.interval is not None:
        assert after.interval is not None
        assert before.interval[0] <= after.interval[0] <= after.interval[1] <= before.interval[1]


@steady
@given(tables(), st.integers(0, 120_000))
def test_the_cap_holds(rows: list[Row], cap: int) -> None:
    free, capped = solve(rows), solve(rows, cap)

    assert capped.figure == min(cap, free.figure)
    assert capped.uncapped == (free.figure if free.figure > cap else None)
    assert capped.interval is None or capped.figure == capped.interval[0] <= capped.interval[1] <= cap
    assert (capped.kind, capped.rows) == (free.kind, free.rows)


@steady
@given(tables())
def test_lower_own_masses_raise_nothing(rows: list[Row]) -> None:
    assert solve(rows).figure <= solve(plain(rows)).figure


@steady
@given(tables())
def test_the_figure_is_the_low_end_and_rows_that_would_agree_are_the_most_that_do(rows: list[Row]) -> None:
    worked = solve(rows)
    heard = [each for each in dict.fromkeys(worked.rows) if each.role is not Role.SELF_LIMITED]
    found = {kind: most(heard, kind) for kind in (SUMS, LOADS)}

    if worked.kind is not NONE:
        assert found[worked.kind] == len(heard)
        assert worked.kind is SUMS or found[SUMS] < len(heard)
        spans = [each.total if worked.kind is SUMS else each.load for each in heard]
        assert worked.figure == int(max(span.low for span in spans))
        return
    assert max(found.values()) < len(heard)
    assert worked.figure == int(min(each.total.low if each.row.leaves_out else each.load.low for each in heard))
    agreeing = {each for each in heard if each.role is Role.AGREES}
    assert len(agreeing) == (found[SUMS] or found[LOADS])
    assert worked.nearly == (SUMS if found[SUMS] else LOADS if found[LOADS] else None)


def most(rows: list[Reading], kind: Agreement) -> int:
    """How many rows agree at most, by looking at every choice of them."""
    for size in range(len(rows), 1, -1):
        for chosen in combinations(rows, size):
            spans = [each.total if kind is SUMS else each.load for each in chosen]
            shared = max(span.low for span in spans) <= min(span.high for span in spans)
            apart = any(
                one.mass.apart(two.mass) and (kind is LOADS or one.load.apart(two.load))
                for one, two in combinations(chosen, 2)
            )
            if shared and apart:
                return size
    return 0


def as_printed(grams: int, unit: Unit, decimals: int) -> str:
    """A true mass as a page rounds it."""
    amount = Fraction(grams) / (GRAMS_PER_LB if unit is Unit.LB else 1000)
    exact = Decimal(amount.numerator) / Decimal(amount.denominator)
    return format(exact.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_EVEN), "f")


PRINTED = st.tuples(
    st.integers(2_000, 30_000), st.sampled_from([Unit.KG, Unit.LB]), st.integers(0, 2), st.integers(0, 2), st.booleans()
)


@steady
@given(st.integers(40_000, 150_000), st.lists(PRINTED, min_size=2, max_size=6))
def test_pages_that_subtract_the_carrier_from_one_limit_never_tell_more_than_it(
    limit: int, pages: list[tuple[int, Unit, int, int, bool]]
) -> None:
    rows = [
        Row(
            "Tray",
            Stated(as_printed(mass, unit, digits), unit),
            Stated(as_printed(limit - mass, unit, load_digits), unit),
            out,
        )
        for mass, unit, digits, load_digits, out in pages
    ]
    worked = solve(rows)

    assert worked.figure <= limit
    if worked.kind is SUMS:
        assert worked.interval is not None
        assert worked.interval[0] <= limit <= worked.interval[1]
    assert worked.nearly is not SUMS


# The other methods


NET = roof_limit("75", basis=EXCLUDES)


@pytest.mark.parametrize(
    ("mass", "grams"),
    [("5", 79_500), ("5.0", 79_950), ("5.00", 79_995), ("0", 75_000)],
)
def test_net_to_gross_adds_the_carrier_at_the_low_end_of_its_mass(mass: str, grams: int) -> None:
    assert net_to_gross(NET, mass_said(mass), Counts()) == Derived(grams, EXACT, INCLUDES, ON_ROAD)


def test_net_to_gross_rounds_both_down() -> None:
    # 165 lb are 74,842.74 g; 11.15 lb, the low end of 11.2, are 5,057.55 g.
    limit = msgspec.structs.replace(NET, stated=lb("165"), condition=PARKED)
    mass = msgspec.structs.replace(mass_said(), stated=lb("11.2"))

    assert net_to_gross(limit, mass, Counts()) == Derived(74_842 + 5_057, EXACT, INCLUDES, PARKED)


@pytest.mark.parametrize(
    ("per", "counts", "grams"),
    [
        (Per.BAR, Counts(bars=3), 75_000 + 3 * 1_950),
        (Per.PAIR, Counts(bars=3), 75_000 + 1_950),
        (Per.PAIR, Counts(bars=4), 75_000 + 2 * 1_950),
        (Per.FOOT, Counts(feet=4), 75_000 + 4 * 1_950),
    ],
)
def test_net_to_gross_counts_no_more_bars_or_feet_than_there_are(per: Per, counts: Counts, grams: int) -> None:
    assert net_to_gross(NET, mass_said("2.0", per=per), counts).grams == grams


@pytest.mark.parametrize("per", [Per.BAR, Per.PAIR, Per.FOOT])
def test_net_to_gross_needs_the_count_of_a_mass_for_each(per: Per) -> None:
    with pytest.raises(CantrailError) as refused:
        net_to_gross(NET, mass_said("2", per=per), Counts())

    assert (refused.value.code, refused.value.faults[0].pointer) == ("count_unknown", "/takes/1")


@pytest.mark.parametrize(
    ("limit", "mass", "bound"),
    [
        (EXACT, EXACT, EXACT),
        (EXACT, AT_LEAST, AT_LEAST),
        (AT_LEAST, EXACT, AT_LEAST),
        (AT_LEAST, AT_LEAST, AT_LEAST),
        (AT_MOST, EXACT, AT_MOST),
        (AT_MOST, AT_LEAST, "opposite_bounds"),
        (EXACT, AT_MOST, "mass_at_most"),
        (AT_LEAST, AT_MOST, "mass_at_most"),
        (AT_MOST, AT_MOST, "mass_at_most"),
    ],
)
def test_a_sum_is_exact_only_if_both_are_and_told_only_if_it_is_bounded(limit: Bound, mass: Bound, bound: str) -> None:
    said = msgspec.structs.replace(NET, bound=limit), mass_said("5", bound=mass), Counts()
    if bound in set(Bound):
        assert net_to_gross(*said).bound == bound
        return
    with pytest.raises(CantrailError) as refused:
        net_to_gross(*said)
    assert refused.value.code == bound


@pytest.mark.parametrize(
    ("limit", "mass", "code", "pointer"),
    [
        (roof_limit("75"), mass_said("5"), "not_net", "/takes/0"),
        (roof_limit("75", basis=Basis.NOT_STATED), mass_said("5"), "not_net", "/takes/0"),
        (roof_limit("75", basis=EXCLUDES, excluded="5"), mass_said("5"), "mass_already_said", "/takes/0"),
        (load_rating("75"), mass_said("5"), "not_a_roof_limit", "/takes/0"),
        (NET, load_rating("5"), "not_an_own_mass", "/takes/1"),
    ],
)
def test_net_to_gross_takes_in_a_net_limit_and_an_own_mass(
    limit: Statement, mass: Statement, code: str, pointer: str
) -> None:
    with pytest.raises(CantrailError) as refused:
        net_to_gross(limit, mass, Counts())

    assert (refused.value.code, refused.value.faults[0].pointer) == (code, pointer)


def test_a_factor_multiplies_exactly_and_rounds_down_once() -> None:
    pounds = msgspec.structs.replace(roof_limit(), stated=lb("165"))

    assert factor(roof_limit("75"), builders.factor("2/3")) == Derived(50_000, EXACT, INCLUDES, OFF_ROAD)
    # 74,842.74105 × 2/3 = 49,895.16; × 0.8 = 59,874.19.
    assert factor(pounds, builders.factor("2/3")).grams == 49_895
    assert factor(pounds, builders.factor("0.8", AppliesTo.BOTH)).grams == 59_874


@pytest.mark.parametrize("bound", Bound)
@pytest.mark.parametrize("basis", [INCLUDES, EXCLUDES, Basis.NOT_STATED])
def test_a_factor_leaves_basis_and_bound_as_they_are(bound: Bound, basis: Basis) -> None:
    found = factor(roof_limit("75", basis=basis, bound=bound), builders.factor("0.5"))

    assert (found.bound, found.basis) == (bound, basis)


def test_a_factor_does_not_make_the_excluded_carrier_lighter() -> None:
    assert factor(roof_limit("75", basis=EXCLUDES, excluded="5"), builders.factor("0.5")).excluded_mass is None


@pytest.mark.parametrize(
    ("limit", "by", "code", "pointer"),
    [
        (roof_limit(condition=OFF_ROAD), builders.factor(), "not_on_road", "/takes/0"),
        (roof_limit(condition=PARKED), builders.factor(), "not_on_road", "/takes/0"),
        (load_rating(), builders.factor(), "not_a_roof_limit", "/takes/0"),
        (roof_limit(), builders.factor("0.5", AppliesTo.OWN_RATING), "not_a_roof_factor", "/takes/1"),
        (roof_limit(), mass_said(), "not_a_roof_factor", "/takes/1"),
    ],
)
def test_a_factor_takes_in_an_on_road_limit_and_a_factor_on_it(
    limit: Statement, by: Statement, code: str, pointer: str
) -> None:
    with pytest.raises(CantrailError) as refused:
        factor(limit, by)

    assert (refused.value.code, refused.value.faults[0].pointer) == (code, pointer)


@pytest.mark.parametrize("condition", Condition)
@pytest.mark.parametrize("bound", Bound)
def test_a_sister_vehicle_has_the_same_limit_in_everything(condition: Condition, bound: Bound) -> None:
    limit = roof_limit("75.5", condition, basis=EXCLUDES, excluded="5", bound=bound)

    assert sister_vehicle(limit) == Derived(75_500, bound, EXCLUDES, condition, kg("5"))


def test_a_limit_that_says_no_basis_says_none_on_its_sister() -> None:
    limit = Statement(Quantity.ROOF_LIMIT, kg("75"), ON_ROAD)

    assert sister_vehicle(limit) == Derived(75_000, EXACT, Basis.NOT_STATED, ON_ROAD)


@pytest.mark.parametrize("limit", [load_rating(), mass_said(), Statement(Quantity.ROOF_LIMIT, kg("75"))])
def test_a_sister_vehicle_shares_roof_limits_only(limit: Statement) -> None:
    with pytest.raises(CantrailError) as refused:
        sister_vehicle(limit)

    assert refused.value.code == "not_a_roof_limit"


@pytest.mark.parametrize(("multiple", "grams"), [(1, 74_842), (3, 224_528), (10, 748_427)])
def test_a_parked_multiple_is_a_guess_that_never_sets(multiple: int, grams: int) -> None:
    limit = msgspec.structs.replace(roof_limit(bound=AT_MOST), stated=lb("165"))

    assert parked_multiple(limit, multiple) == Derived(grams, AT_MOST, INCLUDES, PARKED, may_set=False)


@pytest.mark.parametrize("multiple", [-1, 0, 11])
def test_a_parked_multiple_is_from_1_to_10(multiple: int) -> None:
    with pytest.raises(CantrailError) as refused:
        parked_multiple(roof_limit(), multiple)

    assert (refused.value.code, refused.value.faults[0].pointer) == ("bad_multiple", "/multiple")


def test_a_parked_multiple_is_one_of_the_on_road_limit() -> None:
    with pytest.raises(CantrailError) as refused:
        parked_multiple(roof_limit(condition=PARKED), 2)

    assert refused.value.code == "not_on_road"


# The working in sentences


def test_sums_that_agree_are_told() -> None:
    rows = [row("25", "50", name="Long tray"), row("5", "70", name="Bars"), row("9", "60", "60", name="Basket")]

    assert told(solve(rows), Unit.KG) == [
        "Row 1, Long tray: itself 24.5 to 25.5 kg; load 49.5 to 50.5 kg; together 74 to 76 kg.",
        "Row 2, Bars: itself 4.5 to 5.5 kg; load 69.5 to 70.5 kg; together 74 to 76 kg.",
        "Row 3, Basket: itself 8.5 to 9.5 kg; load 59.5 to 60.5 kg; together 68 to 70 kg.",
        "Row 3: limited by the accessory's own rating, which tells nothing of the roof.",
        "Rows 1 and 2 agree on accessory and load together: 74 to 76 kg.",
        "The pages subtract the carrier from one limit, so that limit counts the carrier.",
        "Roof limit, carrier counted: 74 kg; it lies between 74 and 76 kg.",
    ]


def test_pounds_are_told_as_the_page_has_them_and_the_figure_rounded_down() -> None:
    rows = [Row("Bars", lb("5.2"), lb("80"), leaves_out=False), Row("Tray", lb("25"), lb("80.0"), leaves_out=False)]
    pounds, kilograms = (told(solve(rows), unit) for unit in (Unit.LB, Unit.KG))

    assert pounds == [
        "Row 1, Bars: itself 5.15 to 5.25 lb; load 79.5 to 80.5 lb; together 84.65 to 85.75 lb.",
        "Row 2, Tray: itself 24.5 to 25.5 lb; load 79.95 to 80.05 lb; together 104.45 to 105.55 lb.",
        "Rows 1 and 2 agree on the load, whatever the accessory weighs: 79.95 to 80.05 lb.",
        "The pages do not say whether the carrier counts; read as counting it, the limit is at least 79.948 lb.",
        "Roof limit, carrier counted: at least 79.948 lb.",
    ]
    assert kilograms[0] == (
        "Row 1, Bars: itself 2.336 to 2.382 kg; load 36.06 to 36.515 kg; together 38.396 to 38.896 kg."
    )
    assert kilograms[-1] == "Roof limit, carrier counted: at least 36.264 kg."


def test_one_page_is_told_for_what_it_is() -> None:
    assert told(solve([row("25", "50", out=True)] * 2), Unit.KG)[2:] == [
        "One page tells only that the roof takes at least 74 kg: row 1.",
        "Its page says that the load leaves the accessory out, so both count.",
        "Roof limit, carrier counted: at least 74 kg.",
    ]


def test_rows_that_disagree_are_told_with_those_that_would_agree() -> None:
    rows = [row("25", "50"), row("5", "70"), row("15", "60"), row("10", "90")]

    assert told(solve(rows), Unit.KG)[4:] == [
        "Rows 1, 2 and 3 would agree on accessory and load together, but for row 4.",
        "The least that any row tells stands: row 1, that the roof takes at least 49.5 kg.",
        "Its page does not say that the load leaves the accessory out, so the load alone counts.",
        "Roof limit, carrier counted: at least 49.5 kg.",
    ]


def test_loads_that_would_agree_and_rows_that_do_not_at_all_are_told() -> None:
    nearly = told(solve([row("5", "60"), row("25", "60"), row("10", "20"), row("10", "90")]), Unit.KG)
    never = told(solve([row("5", "60"), row("5", "90")]), Unit.KG)

    assert nearly[4] == "Rows 1 and 2 would agree on the load, but for rows 3 and 4."
    assert never[2] == "No two accessories of different mass agree on anything."


def test_a_table_of_nothing_but_ratings_says_so() -> None:
    assert told(solve([row("5", "70", "70")]), Unit.KG)[1:3] == [
        "Every load is its accessory's own rating, so the roof may well take more; all rows count nevertheless.",
        "One page tells only that the roof takes at least 69.5 kg: row 1.",
    ]


def test_a_lower_own_mass_is_told_whether_it_is_used_or_not() -> None:
    used = told(solve([row("25", "50", lighter=24_400), row("5", "70", lighter=5_000)]), Unit.KG)
    unused = told(solve([row("20", "75"), row("20", "90", lighter=5_000)]), Unit.KG)

    assert used[0] == (
        "Row 1, Tray: itself 24.4 kg, by the lower own mass that an approved claim gives; "
        "load 49.5 to 50.5 kg; together 73.9 to 74.9 kg."
    )
    assert used[1] == "Row 2, Tray: itself 4.5 to 5.5 kg; load 69.5 to 70.5 kg; together 74 to 76 kg."
    assert unused[2] == (
        "An approved claim gives row 2 a lower own mass, 5 kg. "
        "The pages would tell no less with it, so the page's own stands."
    )


def test_a_cap_is_told_beside_what_the_pages_alone_would_give() -> None:
    rows = [row("25", "50"), row("5", "70")]

    assert told(solve(rows, 70_000), Unit.KG)[-2:] == [
        "The pages alone would give 74 kg; a lower limit of this vehicle stands at 70 kg.",
        "Roof limit, carrier counted: 70 kg.",
    ]
    assert told(solve(rows, 75_000), Unit.KG)[-1] == "Roof limit, carrier counted: 74 kg; it lies between 74 and 75 kg."


@steady
@given(tables(), st.sampled_from([Unit.KG, Unit.LB]))
def test_every_table_is_told_and_ends_in_its_figure_rounded_down(rows: list[Row], unit: Unit) -> None:
    worked = solve(rows)
    *lines, last = told(worked, unit)
    said = Fraction(last.removeprefix("Roof limit, carrier counted: ").removeprefix("at least ").split()[0])
    exact = Fraction(worked.figure) / (GRAMS_PER_LB if unit is Unit.LB else 1000)

    assert exact - Fraction(1, 1000) < said <= exact
    assert len(lines) > len(rows)
    assert all(line.endswith(".") for line in (*lines, last))
