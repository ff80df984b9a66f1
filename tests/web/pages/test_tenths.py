"""Figures on pages stand in tenths, on the safe side of what the API says."""

from fractions import Fraction
from types import SimpleNamespace as Namespace

import pytest

from app.core.mass import GRAMS_PER_LB, Unit, allowed_in, carried_in
from app.web.pages.improving import _lowering
from app.web.pages.vehicles import lower_in
from app.web.pages.writing import MINUS, allowed, carried, grams, mass
from tests.web.pages.tabs import Square
from tests.web.story import Trade


def _read(shown: str) -> Fraction:
    return Fraction(shown.replace(MINUS, "-").replace("\N{NARROW NO-BREAK SPACE}", ""))


@pytest.mark.parametrize("unit", [Unit.KG, Unit.LB])
def test_an_allowance_is_never_overstated_and_a_load_never_understated(unit: Unit) -> None:
    grams_each = GRAMS_PER_LB if unit is Unit.LB else Fraction(1000)
    for some in [*range(400), 7_600, 14_001, 25_000, 74_842, 75_000, 99_999, 1_234_567]:
        exact = some / grams_each
        down, up = _read(allowed(allowed_in(unit, some))), _read(carried(carried_in(unit, some)))
        assert exact - Fraction(1, 9) < down <= exact <= up < exact + Fraction(1, 9)


def test_tenths_are_cut_and_kept_as_they_are() -> None:
    assert [allowed(each) for each in (75.0, 165.346, 0.099, -0.04, None)] == ["75", "165.3", "0", f"{MINUS}0.1", ""]
    assert [carried(each) for each in (75.0, 7.6, 55.116, 0.001, None)] == ["75", "7.6", "55.2", "0.1", ""]
    assert [allowed(each, sign=True) for each in (20.0, 19.96, -3.24)] == ["+20", "+19.9", f"{MINUS}3.3"]
    assert (mass(55.116, "own_mass"), mass(55.116, "roof_limit")) == ("55.2", "55.1")
    assert grams(75_000, Unit.LB) == "165.3 lb"


def test_a_plan_in_pounds_shows_tenths_and_a_working_that_adds_up(town: Square, trade: Trade) -> None:
    load = f"vehicle={trade.tarn}&carrier={trade.platform}&condition=off_road&gear.1.name=awning&gear.1.mass=30.865&unit=lb"
    shown = town.client.get(f"/plan?{load}", headers={"Cookie": "unit=lb"}).text
    assert "79.3 lb left." in shown
    assert "awning 30.9" in shown
    assert "110.231" in shown
    assert "The working keeps every digit" in shown
    assert "The working keeps every digit" not in town.client.get(f"/plan?vehicle={trade.tarn}").text


def test_of_many_claims_that_say_less_those_that_say_least_are_named() -> None:
    lower = [Namespace(claim=f"C{70 + each}", value=70.0 + each) for each in range(9)]
    answers = [
        Namespace(unreviewed_lower=lower[::-1], figure=None, unit="kg", condition=condition)
        for condition in ("on_road", "parked")
    ]
    told = list(_lowering(answers))  # type: ignore[arg-type]
    assert told[0].text == "If reviewers approve C70, no more than 70 kg counts on sealed roads and parked."
    assert [each.do for each in told] == [*(f"Look at C{70 + each}" for each in range(5)), "All claims"]
    assert told[-1].text == "4 more undecided claims say less."
    assert list(lower_in(answers)) == [f"C{70 + each}" for each in range(9)]  # type: ignore[arg-type]
