"""Rules of thumb of the trade. Common practice, no source: never an oracle for a vetted figure, only check values."""

import pytest

from app.core.claim import AppliesTo
from app.core.gear import CATEGORIES
from tests.core.builders import (
    OFF_ROAD,
    PARKED,
    bars,
    budget_for,
    carrier,
    factor,
    load_rating,
    mass_said,
    platform,
    roof_limit,
    told,
    vehicle,
)

CAR = vehicle(told(roof_limit("75"), id="C-roof"))


def test_a_platform_of_25_on_a_roof_of_75_leaves_50() -> None:
    """Common practice, no source: 75 - 25 = 50."""
    assert budget_for(CAR, platform()).budget.allowed == 50_000


def test_a_third_less_on_unsealed_roads_leaves_25() -> None:
    """Common practice, no source: some carriers lose a third of their figure on unsealed roads; 75 × 2/3 - 25 = 25."""
    deck = platform(told(factor("2/3", AppliesTo.ROOF_LIMIT), id="C-factor"))

    assert budget_for(CAR, deck, condition=OFF_ROAD).budget.allowed == 25_000


def test_bars_instead_of_a_platform_save_20_kg() -> None:
    """Common practice, no source: a pair of bars weighs about 5 kg, and platform to bars saves about 20 kg."""
    on_bars, on_platform = budget_for(CAR, bars("100")).budget.allowed, budget_for(CAR, platform()).budget.allowed

    assert on_bars is not None and on_platform is not None
    assert on_bars - on_platform == 20_000


@pytest.mark.parametrize("kilograms", ["20", "25", "35"])
def test_a_platform_rack_takes_a_quarter_to_half_of_such_a_roof(kilograms: str) -> None:
    """Common practice, no source: a platform rack weighs 20 to 35 kg."""
    deck = carrier(told(mass_said(kilograms), id="C1"), told(load_rating("100"), id="C2"))

    assert budget_for(CAR, deck).budget.allowed == 75_000 - int(kilograms) * 1000


@pytest.mark.parametrize(("multiple", "grams"), [(2, 150_000), (3, 225_000)])
def test_a_parked_limit_is_guessed_at_two_or_three_times_the_moving_one(multiple: int, grams: int) -> None:
    """Common practice, no source: a guess, labelled so, that no answer rests on."""
    answer = budget_for(CAR, platform(), condition=PARKED, parked_multiple=multiple)

    assert answer.stacked.estimate is not None
    assert answer.stacked.estimate.parked_limit == grams
    assert answer.budget.allowed == 50_000


def test_a_rooftop_tent_weighs_50_to_100_kg() -> None:
    """Common practice, no source: which is why a tent alone is more than many a roof may carry while driving."""
    tent = CATEGORIES["rooftop_tent"]

    assert (tent.low, tent.high) == (50_000, 100_000)
