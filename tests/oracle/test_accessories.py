"""The oracle of accessory pages holds against the worked cases, and its tables are of every kind."""

import copy
import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from .accessories import MAKERS, largest_agreeing, read, shared, tables, told

VECTORS = Path(__file__).resolve().parent.parent / "vectors" / "accessories.json"
CASES: list[dict[str, Any]] = json.loads(VECTORS.read_text(encoding="utf-8"))["cases"]
SEEDS = 750


def row(mass: str, load: str, rating: str | None = None, **more: Any) -> dict[str, Any]:
    return {"mass": mass, "load": load, "rating": rating, "unit": "kg", "leaves_out": True, "lighter": None, **more}


@pytest.mark.parametrize("case", CASES, ids=[str(case["id"]) for case in CASES])
def test_worked_case(case: dict[str, Any]) -> None:
    assert told(case["rows"]) == case["expect"]


def test_all_worked_cases_are_there() -> None:
    assert len(CASES) == 60


def test_a_figure_is_read_within_half_its_last_digit_and_a_shared_end_is_shared() -> None:
    assert read("24", "kg") == (23_500 * 10**12, 24_500 * 10**12)
    assert read("1.000001", "lb") == (453_592_596_796_185, 453_593_050_388_555)
    assert shared([(1, 3), (3, 4)]) == (3, 3)
    assert shared([(1, 3), (4, 5)]) is None


def test_masses_and_loads_must_differ_in_the_same_pair() -> None:
    split = [row("10", "90"), row("12", "89"), row("11", "88")]
    assert told(split)["kind"] == "no_agreement"
    assert told([*split, row("12", "88")])["kind"] == "sums_agree"


def test_rows_all_limited_by_themselves_are_heard_after_all() -> None:
    assert told([row("24", "75", "75"), row("31", "75", "75")]) == {
        "kind": "loads_agree",
        "bound": "at_least",
        "figure_g": 74_500,
        "interval_g": [74_500, 75_500],
        "self_limited": [0, 1],
    }


def test_a_lighter_approved_mass_is_used_as_it_is() -> None:
    assert told([row("24", "75", lighter=23_499)])["figure_g"] == 97_999
    assert told([row("24", "75", lighter=23_501)])["figure_g"] == 98_000
    assert told([row("24", "75", lighter=23_499, leaves_out=False)])["figure_g"] == 74_500


def test_a_cap_lowers_the_figure_and_never_raises_it() -> None:
    assert told([row("24", "75")], 60_000)["figure_g"] == 60_000
    assert told([row("24", "75")], 98_001)["figure_g"] == 98_000


def test_no_end_of_the_interval_is_above_the_cap() -> None:
    agreeing = [row("24", "76"), row("31", "69")]
    assert told(agreeing, 99_500)["interval_g"] == [99_000, 99_500]
    assert told(agreeing, 60_000)["interval_g"] == [60_000, 60_000]


def test_nothing_is_read_as_less_than_nothing() -> None:
    assert told([row("24", "0", leaves_out=False)])["figure_g"] == 0
    assert told([row("24", "0"), row("31", "0")])["interval_g"] == [0, 500]


def test_rows_that_agree_only_by_a_lighter_mass_tell_no_more_than_as_printed() -> None:
    rows = [row("25.2", "139.80"), row("18", "161.1", lighter=3_937)]
    assert (told(rows)["kind"], told(rows)["figure_g"]) == ("no_agreement", 164_945)


def test_rows_that_a_lighter_mass_sets_apart_tell_no_more_than_as_printed() -> None:
    sums = [row("24", "76"), row("31", "69", lighter=25_000)]
    assert (told(sums)["kind"], told(sums)["figure_g"]) == ("no_agreement", 93_500)
    loads = [row("4", "50"), row("31", "50", lighter=4_400)]
    assert (told(loads)["kind"], told(loads)["figure_g"]) == ("loads_agree", 49_500)


def test_the_largest_agreeing_rows_are_found_in_every_way() -> None:
    apart = [row("24", "76"), row("31", "69"), row("9", "80"), row("17", "80")]
    assert largest_agreeing(apart) == [("sums_agree", [0, 1]), ("loads_agree", [2, 3])]
    assert largest_agreeing([row("24", "76"), row("24", "76")]) == []


def test_tables_are_of_every_kind_and_told_in_every_way() -> None:
    kinds: Counter[str] = Counter()
    ways: Counter[str] = Counter()
    assert [tables(seed) for seed in range(30)] == [tables(seed) for seed in range(30)]
    for seed in range(SEEDS):
        table = tables(seed)
        before = copy.deepcopy(table)
        expect = told(table["rows"], table["cap"])
        assert table == before
        kinds[table["kind"]] += 1
        ways[expect["kind"]] += 1
        ways["some limited"] += 0 < len(expect["self_limited"]) < len(table["rows"])
        ways["all limited"] += len(expect["self_limited"]) == len(table["rows"]) > 1
        ways["capped"] += expect["figure_g"] < told(table["rows"])["figure_g"]
        unlightened = [dict(row, lighter=None) for row in table["rows"]]
        ways["lightened"] += told(unlightened) != told(table["rows"])
        ways["nearly"] += expect["kind"] == "no_agreement" and bool(largest_agreeing(table["rows"]))
    assert kinds == dict.fromkeys(MAKERS, SEEDS // len(MAKERS))
    assert len(ways) == 8
    assert min(ways.values()) >= 20, ways
