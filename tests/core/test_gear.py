"""What is carried (section 2.4): stated masses with tolerances, recorded ones, and usual ranges."""

import pytest

from app.core.budget import Item, load_of
from app.core.claim import Bound
from app.core.errors import CantrailError
from app.core.gear import CATEGORIES, Category, recorded, usual, weighed
from app.core.mass import Stated, Unit
from app.core.selection import Mass, Support
from tests.core.builders import kg, lb

TENT = CATEGORIES["rooftop_tent"]


def test_a_stated_mass_has_its_tolerance_above_it_only() -> None:
    assert weighed("awning", kg("14"), kg("1"), 1) == Item("awning", 14_000, 14_000, 15_000)
    assert weighed("pole", kg("10"), None, 1) == Item("pole", 10_000, 10_000, 10_000)


def test_what_is_carried_rounds_up_once() -> None:
    # Three times 10.1 lb: 13,743.848811 g; three times half a pound: 680.388555 g.
    assert weighed("pole", lb("10.1"), lb("0.5"), 3) == Item("pole", 13_744, 13_744, 13_744 + 681)


def test_nothing_weighs_nothing() -> None:
    assert weighed("flag", kg("0"), kg("0"), 5) == Item("flag", 0, 0, 0)


@pytest.mark.parametrize("value", ["", "-1", "1,5", "1e3", "14 kg"])
def test_what_is_no_mass_is_refused(value: str) -> None:
    with pytest.raises(CantrailError):
        weighed("thing", Stated(value, Unit.KG), None, 1)
    with pytest.raises(CantrailError):
        weighed("thing", kg("1"), Stated(value, Unit.KG), 1)


def test_a_recorded_mass_counts_each_time_and_keeps_its_claims() -> None:
    mass = Mass(12_001, Bound.EXACT, ("C1",), (Support(0.9, "C1"),))

    assert recorded("box", mass, 3) == Item("box", 36_003, 36_003, 36_003, mass)


def test_a_usual_range_has_a_bottom_and_a_top_and_is_as_heavy_as_its_top() -> None:
    assert usual("tents", TENT, 2) == Item("tents", 100_000, 200_000, 200_000)


def test_a_usual_range_reaches_up_to_what_was_approved() -> None:
    assert usual("tents", TENT, 2, [40_000, 110_000]) == Item("tents", 100_000, 220_000, 220_000)
    assert usual("tents", TENT, 2, [40_000]) == usual("tents", TENT, 2)


def test_a_thing_of_which_nothing_is_known_has_no_mass() -> None:
    assert usual("thing", None, 2) == Item("thing", None, None, None)


def test_the_three_sums_of_a_mixed_load() -> None:
    load = load_of([weighed("awning", kg("14"), kg("1"), 2), usual("tent", TENT, 1), usual("thing", None, 1)])

    # 28 + 50, 28 + 100 and 30 + 100.
    assert (load.least, load.cargo, load.worst, load.missing) == (78_000, 128_000, 130_000, ("thing",))


@pytest.mark.parametrize("category", CATEGORIES.values(), ids=lambda category: category.id)
def test_every_category_has_a_name_and_a_usual_range(category: Category) -> None:
    assert CATEGORIES[category.id] is category
    assert category.name[0].isupper()
    assert 0 < category.low < category.high
