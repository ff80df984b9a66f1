"""Masses and factors (section 2.1): exact, and rounded once to the safe side."""

from fractions import Fraction

import pytest

from app.core.errors import CantrailError, Fault, Kind
from app.core.mass import (
    Counts,
    Per,
    Stated,
    Unit,
    allowed_in,
    carried_in,
    ceil,
    floor,
    limit_grams,
    own_mass_grams,
    parse_factor,
    parse_mass,
)
from tests.core.builders import kg, lb

SIX = Counts(bars=3, feet=6)


@pytest.mark.parametrize(
    ("stated", "grams"),
    [
        (kg("75"), 75_000),
        (kg("0"), 0),
        (kg("75.5"), 75_500),
        (kg("0.0001"), Fraction(1, 10)),
        (kg("999999.999999"), Fraction(999_999_999_999, 1000)),
        (lb("1"), Fraction(45_359_237, 100_000)),
        (lb("165"), Fraction(165 * 45_359_237, 100_000)),
    ],
)
def test_a_stated_mass_is_converted_exactly(stated: Stated, grams: Fraction) -> None:
    assert parse_mass(stated) == grams


@pytest.mark.parametrize(
    "value",
    [
        "",
        " ",
        "-1",
        "+1",
        "1e3",
        "75kg",
        ".5",
        "5.",
        "1,5",
        "1_000",
        "1000000",
        "1.0000001",
        "²",
        "٧٥",
        "1/2",
        "nan",
        "75\n",
    ],
)
def test_what_is_not_a_plain_decimal_is_no_mass(value: str) -> None:
    with pytest.raises(CantrailError) as refused:
        parse_mass(kg(value), "/gear/0/mass")

    assert refused.value.kind is Kind.INVALID
    assert refused.value.code == "bad_mass"
    assert refused.value.faults == (Fault("/gear/0/mass", "bad_mass", refused.value.message),)
    assert refused.value.details == {}


def test_a_factor_is_no_mass() -> None:
    with pytest.raises(CantrailError) as refused:
        parse_mass(Stated("75", Unit.FACTOR))

    assert refused.value.code == "not_a_mass"
    assert refused.value.faults[0].pointer == "/stated/value"


@pytest.mark.parametrize(
    ("value", "fraction"),
    [
        ("2/3", Fraction(2, 3)),
        ("0.8", Fraction(4, 5)),
        ("1", Fraction(1)),
        ("1.0", Fraction(1)),
        ("3/3", Fraction(1)),
        ("0.000000001", Fraction(1, 10**9)),
    ],
)
def test_a_factor_is_an_exact_fraction(value: str, fraction: Fraction) -> None:
    assert parse_factor(value) == fraction


@pytest.mark.parametrize(
    "value", ["0", "0/3", "1/0", "0.0", "1.1", "4/3", "-0.5", "", "2 / 3", ".8", "8e-1", "0.5/1", "inf", "66%", "1/2/3"]
)
def test_a_factor_outside_its_range_is_refused(value: str) -> None:
    with pytest.raises(CantrailError) as refused:
        parse_factor(value, "/x")

    assert refused.value.code == "bad_factor"
    assert refused.value.faults[0].pointer == "/x"


def test_limits_round_down_and_masses_up() -> None:
    third = Fraction(100, 3)

    assert (floor(third), ceil(third)) == (33, 34)
    assert (floor(Fraction(7)), ceil(Fraction(7))) == (7, 7)
    assert (floor(third, 3), ceil(third, 3), floor(third, 2), ceil(third, 2)) == (100, 100, 66, 67)
    assert (floor(Fraction(-1, 2)), ceil(Fraction(-1, 2))) == (-1, 0)


def test_pounds_are_rounded_once_to_the_safe_side() -> None:
    # 165 × 453.59237 = 74,842.74105 g.
    assert limit_grams(lb("165")) == 74_842
    assert own_mass_grams(lb("165")) == 74_843
    # Three bars of 10.1 lb: 3 × 4,581.282937 = 13,743.848811 g, and not three times a rounded figure.
    assert limit_grams(lb("10.1"), Per.BAR, SIX) == 13_743
    assert own_mass_grams(lb("10.1"), Per.BAR, SIX) == 13_744


@pytest.mark.parametrize(
    ("per", "counts", "rating", "mass"),
    [
        (Per.TOTAL, SIX, 10_000, 10_000),
        (Per.BAR, SIX, 30_000, 30_000),
        (Per.PAIR, SIX, 10_000, 20_000),
        (Per.PAIR, Counts(bars=2), 10_000, 10_000),
        (Per.PAIR, Counts(bars=1), 0, 10_000),
        (Per.FOOT, SIX, 60_000, 60_000),
        (Per.TOTAL, Counts(), 10_000, 10_000),
        (Per.BAR, Counts(), 10_000, None),
        (Per.PAIR, Counts(), 10_000, None),
        (Per.FOOT, Counts(), 10_000, None),
        (Per.BAR, None, 10_000, None),
        (Per.TOTAL, None, 10_000, 10_000),
    ],
)
def test_a_figure_for_each_is_multiplied_by_the_count(
    per: Per, counts: Counts | None, rating: int, mass: int | None
) -> None:
    assert limit_grams(kg("10"), per, counts) == rating
    assert own_mass_grams(kg("10"), per, counts) == mass


def test_what_is_shown_is_rounded_to_the_safe_side() -> None:
    # 75,000 g are 165.34669…, and 1 g is 0.0022046… lb.
    assert allowed_in(Unit.LB, 75_000) == 165.346
    assert carried_in(Unit.LB, 75_000) == 165.347
    assert (allowed_in(Unit.LB, 1), carried_in(Unit.LB, 1)) == (0.002, 0.003)
    assert (allowed_in(Unit.LB, 0), carried_in(Unit.LB, 0)) == (0.0, 0.0)
    assert (allowed_in(Unit.KG, 75_123), carried_in(Unit.KG, 75_123)) == (75.123, 75.123)


def test_what_is_over_rounds_away_from_what_is_allowed() -> None:
    assert allowed_in(Unit.LB, -1) == -0.003
    assert carried_in(Unit.LB, -1) == -0.002


def test_an_error_keeps_its_kind_its_code_and_its_details() -> None:
    error = CantrailError(Kind.CONFLICT, "not_now", "Not now.", details={"state": "approved"})

    assert str(error) == error.message == "Not now."
    assert (error.kind, error.code, error.faults, error.details) == (
        Kind.CONFLICT,
        "not_now",
        (),
        {"state": "approved"},
    )
