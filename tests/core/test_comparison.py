"""The blind reading (section 2.7): a claim may be more careful than what a reviewer read, and never less."""

import msgspec
import pytest

from app.core.claim import AppliesTo, Basis, Bound, Statement
from app.core.comparison import differences
from app.core.mass import Counts, Per
from app.core.scope import ALL, SILENT, Scope, Years
from tests.core.builders import (
    AT_LEAST,
    AT_MOST,
    EXCLUDES,
    INCLUDES,
    OFF_ROAD,
    factor,
    kg,
    lb,
    load_rating,
    mass_said,
    roof_limit,
)

NONE_COUNTED = Counts()


def differs(claim: Statement, reading: Statement, counts: Counts = NONE_COUNTED) -> tuple[str, ...]:
    return differences(claim, reading, counts)


def test_the_same_is_a_match() -> None:
    for said in (roof_limit(), load_rating(), mass_said(), factor()):
        assert differs(said, said) == ()


@pytest.mark.parametrize(
    ("claimed", "read", "matches"),
    [("75", "75", True), ("75.5", "75", True), ("75.501", "75", False), ("50", "75", True), ("0", "75", True)],
)
def test_a_limit_is_at_most_half_a_kilogram_above_the_reading(claimed: str, read: str, matches: bool) -> None:
    assert differs(roof_limit(claimed), roof_limit(read)) == (() if matches else ("figure",))


@pytest.mark.parametrize(
    ("claimed", "read", "matches"), [("25", "25.5", True), ("25", "25.501", False), ("30", "25", True)]
)
def test_a_mass_is_at_most_half_a_kilogram_below_the_reading(claimed: str, read: str, matches: bool) -> None:
    assert differs(mass_said(claimed), mass_said(read)) == (() if matches else ("figure",))


@pytest.mark.parametrize(
    ("claimed", "read", "matches"), [("2/3", "2/3", True), ("0.66", "2/3", True), ("0.67", "2/3", False)]
)
def test_a_factor_is_not_above_the_reading(claimed: str, read: str, matches: bool) -> None:
    assert differs(factor(claimed), factor(read)) == (() if matches else ("figure",))


def test_units_may_differ() -> None:
    pounds = msgspec.structs.replace(roof_limit(), stated=lb("165"))

    assert differs(roof_limit("75"), pounds) == ()
    assert differs(roof_limit("76"), pounds) == ("figure",)


def test_condition_basis_and_target_are_the_same() -> None:
    assert differs(roof_limit("50"), roof_limit("75", OFF_ROAD)) == ("condition",)
    assert differs(roof_limit("50"), roof_limit("75", basis=Basis.NOT_STATED)) == ("basis",)
    assert differs(roof_limit("50", basis=Basis.NOT_STATED), roof_limit("75", basis=INCLUDES)) == ("basis",)
    assert differs(factor("0.5", AppliesTo.BOTH), factor("0.5", AppliesTo.ROOF_LIMIT)) == ("applies_to",)


def test_a_limit_that_says_no_basis_is_one_of_none_stated() -> None:
    silent = msgspec.structs.replace(roof_limit(), basis=None)

    assert differs(silent, roof_limit(basis=Basis.NOT_STATED)) == ()


@pytest.mark.parametrize(
    ("claimed", "read", "matches"),
    [
        ("5", "5", True),
        ("5.5", "5", True),
        ("5.501", "5", False),
        ("2", "5", True),
        ("5", None, False),
        (None, "5", True),
    ],
)
def test_what_is_left_out_is_at_most_half_a_kilogram_above(
    claimed: str | None, read: str | None, matches: bool
) -> None:
    claim, reading = (roof_limit(basis=EXCLUDES, excluded=excluded) for excluded in (claimed, read))

    assert differs(claim, reading) == (() if matches else ("excluded_mass",))


@pytest.mark.parametrize(
    ("claimed", "read", "matches"),
    [
        (Bound.EXACT, Bound.EXACT, True),
        (AT_LEAST, Bound.EXACT, True),
        (AT_MOST, Bound.EXACT, True),
        (AT_LEAST, AT_LEAST, True),
        (AT_MOST, AT_MOST, True),
        (Bound.EXACT, AT_LEAST, False),
        (Bound.EXACT, AT_MOST, False),
        (AT_LEAST, AT_MOST, False),
        (AT_MOST, AT_LEAST, False),
    ],
)
def test_an_exact_claim_takes_an_exact_reading(claimed: Bound, read: Bound, matches: bool) -> None:
    assert differs(roof_limit(bound=claimed), roof_limit(bound=read)) == (() if matches else ("bound",))


YEARS = Scope(years=Years(2019, 2021))


@pytest.mark.parametrize(
    ("claimed", "read", "differing"),
    [
        (SILENT, SILENT, ()),
        (SILENT, Scope(ALL, ALL, ALL, ALL), ()),
        (SILENT, YEARS, ("years",)),
        (Scope(roofs=ALL), SILENT, ("roofs",)),
        (Scope(roofs=ALL), Scope(roofs=ALL), ()),
        (Scope(roofs=ALL), Scope(roofs=("bare",)), ("roofs",)),
        (YEARS, SILENT, ()),
        (YEARS, Scope(years=ALL), ()),
        (YEARS, Scope(years=Years(2019)), ()),
        (Scope(years=Years(2019)), YEARS, ("years",)),
        (Scope(bodies=("van",)), Scope(bodies=("van", "wagon")), ()),
        (Scope(bodies=("van", "wagon")), Scope(bodies=("van",)), ("bodies",)),
        (Scope(markets=("NZ",)), Scope(bodies=("van",), markets=("ZA",)), ("bodies", "markets")),
    ],
)
def test_the_claim_s_cars_are_within_the_reading_s(claimed: Scope, read: Scope, differing: tuple[str, ...]) -> None:
    assert differs(roof_limit(scope=claimed), roof_limit(scope=read)) == differing


# Figures for each bar, pair or foot


@pytest.mark.parametrize("per", Per)
def test_figures_for_the_same_part_compare_without_a_count(per: Per) -> None:
    assert differs(load_rating("40", per=per), load_rating("40", per=per)) == ()
    assert differs(load_rating("45", per=per), load_rating("40", per=per)) == ("figure",)
    assert differs(mass_said("4", per=per), mass_said("5", per=per)) == ("figure",)


@pytest.mark.parametrize(
    ("claimed", "read"), [(Per.TOTAL, Per.BAR), (Per.BAR, Per.TOTAL), (Per.PAIR, Per.FOOT), (Per.FOOT, Per.TOTAL)]
)
def test_figures_for_different_parts_compare_only_with_a_count(claimed: Per, read: Per) -> None:
    assert differs(load_rating("10", per=claimed), load_rating("40", per=read)) == ("per",)


def test_figures_for_different_parts_compare_in_all() -> None:
    two = Counts(bars=2, feet=4)

    assert differs(load_rating("80"), load_rating("40", per=Per.BAR), two) == ()
    assert differs(load_rating("81"), load_rating("40", per=Per.BAR), two) == ("figure",)
    assert differs(mass_said("5"), mass_said("5", per=Per.PAIR), two) == ()
    assert differs(mass_said("2.5", per=Per.FOOT), mass_said("5", per=Per.BAR), two) == ()


def test_a_statement_that_does_not_say_what_it_is_per_is_total() -> None:
    bare = msgspec.structs.replace(load_rating("80"), per=None)

    assert differs(bare, load_rating("80")) == ()
    assert differs(bare, load_rating("40", per=Per.BAR), Counts(bars=2)) == ()


def test_every_difference_is_named() -> None:
    claim = roof_limit("100", basis=INCLUDES, scope=Scope(roofs=ALL))
    reading = Statement(
        claim.quantity, kg("75"), OFF_ROAD, Per.TOTAL, EXCLUDES, kg("5"), AT_LEAST, scope=Scope(roofs=("bare",))
    )

    assert differs(claim, reading) == ("condition", "basis", "figure", "bound", "roofs")


def test_half_a_kilogram_is_half_a_kilogram_in_all() -> None:
    counts = Counts(bars=3, feet=6)

    # 40.4 kg on each of six feet is 2.4 kg more in all than 40 kg on each; 0.2 kg on each of three bars 0.6 kg.
    assert differs(load_rating("40.4", per=Per.FOOT), load_rating("40", per=Per.FOOT), counts) == ("figure",)
    assert differs(load_rating("40.2", per=Per.BAR), load_rating("40", per=Per.BAR), counts) == ("figure",)
