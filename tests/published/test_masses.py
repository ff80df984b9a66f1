"""Masses against published values: the pound, the rounding of limits, and a worked example of a load limit."""

from fractions import Fraction

import pytest

from app.core.gear import weighed
from app.core.given import GivenRoof
from app.core.mass import (
    GRAMS_PER_LB,
    Stated,
    Unit,
    allowed_in,
    carried_in,
    limit_grams,
    own_mass_grams,
    parse_mass,
)
from tests.core.builders import PARKED, budget_for, kg, lb


def test_the_pound() -> None:
    """International yard and pound agreement, 1959; Weights and Measures Act 1963 (UK) s 1(1): 0.45359237 kg exactly."""
    assert parse_mass(lb("1")) == Fraction("0.45359237") * 1000
    assert Fraction("453.59237") == GRAMS_PER_LB


@pytest.mark.parametrize("pounds", ["110", "150", "165", "165.4", "220", "1400"])
@pytest.mark.parametrize("unit", [Unit.KG, Unit.LB])
def test_rounding_does_not_violate_the_original_limit(pounds: str, unit: Unit) -> None:
    """CSA B125.1 / ASME A112.18.1-2018, Annex A.2(e): "rounding is performed … in a way that does not violate the
    original limits". An upper limit is rounded down, whatever unit it is converted to, and a mass up."""
    each = Fraction(1000) if unit is Unit.KG else GRAMS_PER_LB
    original = parse_mass(lb(pounds))
    shown = Fraction(repr(allowed_in(unit, limit_grams(lb(pounds))))) * each
    weighs = Fraction(repr(carried_in(unit, own_mass_grams(lb(pounds)) or 0))) * each

    assert shown <= original <= weighs
    # Not further off than a gram and a thousandth of the unit.
    assert original - shown < 1 + each / 1000
    assert weighs - original < 1 + each / 1000


@pytest.mark.parametrize(("value", "to_even"), [("45.7500", "45.8"), ("45.4500", "45.4"), ("45.45001", "45.5")])
def test_ties_to_even_would_raise_a_limit_and_ours_does_not(value: str, to_even: str) -> None:
    """ASTM E29, secondary: how these are rounded with ties to even. Two of the three go up: not for a limit."""
    grams = limit_grams(kg(value))

    assert Fraction(grams, 1000) <= Fraction(value)
    assert Fraction(repr(allowed_in(Unit.KG, grams))) <= min(Fraction(value), Fraction(to_even) + Fraction(1, 10))
    assert [Fraction(to_even) > Fraction(value)] == [value != "45.4500"]


# 49 CFR 575.6(a)(5), worked example, secondary: 1400 lb less five people of 150 lb leaves 650 lb.
LIMIT, PERSON, PEOPLE = lb("1400"), lb("150"), 5


def test_the_worked_example_of_a_load_limit_exactly() -> None:
    """49 CFR 575.6(a)(5), worked example, secondary: 635.029318 - 340.1942775 = 294.8350405 kg."""
    assert parse_mass(LIMIT) == Fraction("635029.318")
    assert parse_mass(PERSON) * PEOPLE == Fraction("340194.2775")
    assert parse_mass(LIMIT) - parse_mass(PERSON) * PEOPLE == Fraction("294835.0405") == parse_mass(lb("650"))


def test_the_worked_example_of_a_load_limit_as_a_budget() -> None:
    """49 CFR 575.6(a)(5), worked example, secondary. The careless metric copy, 640 - 340 (5 × 70) = 300 kg, has an
    arithmetic slip and two roundings up, and overstates what is left by 5 kg."""
    people = (weighed("people", PERSON, None, PEOPLE),)

    left = budget_for(None, given_roof=GivenRoof(LIMIT), condition=PARKED, people=people).budget.remaining

    # The limit rounds down to 635,029 g and the people up to 340,195 g.
    assert left == 635_029 - 340_195 == 294_834
    assert left <= Fraction("294835.0405")
    assert allowed_in(Unit.KG, left) == 294.834
    assert left < 300_000
    # A limit and a mass rounded to a gram each leave two grams less than 650 lb at most, and never more.
    assert 649.995 < allowed_in(Unit.LB, left) <= 650


def test_the_careless_copy_is_worse_than_rounding() -> None:
    """49 CFR 575.6(a)(5), secondary: rounding to the safe side in whole kilograms would give 294, not 300."""
    safe = limit_grams(LIMIT) // 1000 - -(-(own_mass_grams(Stated("750", Unit.LB)) or 0) // 1000)

    assert safe == 635 - 341 == 294
    assert safe < Fraction("294.8350405") < 300
