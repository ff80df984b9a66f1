"""Accessory pages drawn as intervals: each in its place on one scale, with what the agreeing ones share."""

from typing import Any

import msgspec
import pytest

from app.core.claim import Condition
from app.core.derived import Method
from app.core.mass import Unit
from app.core.scope import SILENT
from app.services import deriving
from app.services.inputs import DerivationIn, RowIn, StatedMass
from app.services.views.derivations import DerivationView, derivation_view
from app.web.pages.intervals import HEAD, MOST_DRAWN, ROW, Intervals, intervals

Rows = list[tuple[str, str]]


def view(rows: Rows, unit: Unit = Unit.KG, **more: Any) -> DerivationView:
    given = DerivationIn(
        Method.ACCESSORY_PAGES,
        [
            RowIn(f"Rack {place}", _mass(mass, unit), _mass(load, unit), **more)
            for place, (mass, load) in enumerate(rows)
        ],
    )
    return derivation_view(
        deriving.work_out(None, given, None, Condition.ON_ROAD, SILENT), given, Condition.ON_ROAD, unit
    )


def _mass(value: str, unit: Unit) -> StatedMass:
    return StatedMass(value, "lb" if unit is Unit.LB else "kg")


def drawn(rows: Rows, unit: Unit = Unit.KG, **more: Any) -> Intervals:
    found = intervals(view(rows, unit, **more))
    assert found is not None
    return found


def at(place: str | None) -> float:
    assert place is not None and place.endswith("%")
    return float(place[:-1])


def test_sums_that_agree_meet_in_the_shaded_band_and_the_figure_is_its_low_end() -> None:
    found = drawn([("20", "55"), ("25", "50"), ("5.4", "69.6")])

    assert found.compared == "accessory and load together"
    assert found.figure == "74.9 kg" and at(found.figure_x) == at(found.shared_x)
    assert [bar.words for bar in found.bars] == ["agrees"] * 3
    for bar in found.bars:
        assert at(bar.x) <= at(found.shared_x)
        assert at(bar.x) + at(bar.width) >= at(found.shared_x) + at(found.shared_width) - 0.02
    assert "The agreeing rows share 74.9 to 75.1 kg." in found.summary


def test_loads_that_agree_are_held_against_each_other_by_the_load() -> None:
    found = drawn([("20", "60"), ("5", "60")])

    assert found.compared == "the load" and found.figure == "at least 59.5 kg"
    assert [bar.said for bar in found.bars] == ["59.5 to 60.5 kg"] * 2


def test_rows_that_keep_the_rest_from_agreeing_are_told_apart() -> None:
    found = drawn([("20", "55"), ("25", "50"), ("5", "90")])

    assert [bar.words for bar in found.bars] == ["would agree, but for others"] * 2 + ["does not agree"]
    assert found.figure.startswith("at least ") and at(found.figure_x) < at(found.shared_x)


def test_one_row_stands_alone_with_room_around_it() -> None:
    found = drawn([("20", "60")])

    assert [bar.part for bar in found.bars] == ["alone"] and found.shared_x is None
    assert 0 < at(found.bars[0].x) < at(found.bars[0].x) + at(found.bars[0].width) < 100
    assert found.height > HEAD + ROW


def test_a_load_that_is_the_accessorys_own_rating_is_left_out() -> None:
    rows = [("20", "55"), ("25", "50")]
    given = view(rows)
    limited = view(rows, rating=StatedMass("55", "kg"))

    assert [row.part for row in given.rows] == ["agrees", "agrees"]
    found = intervals(limited)
    assert found is not None and found.bars[0].words.startswith("left out")


@pytest.mark.parametrize(
    "rows",
    [
        [("0", "0")],
        [("0", "0"), ("999999", "999999")],
        [("0.000001", "0.000001"), ("0.000002", "0.000003")],
        [("20", "60")] * 3,
        [("12.5", "150"), ("13.5", "149"), ("400000", "1")],
    ],
)
@pytest.mark.parametrize("unit", [Unit.KG, Unit.LB])
def test_everything_stays_within_the_drawing(rows: Rows, unit: Unit) -> None:
    found = drawn(rows, unit)

    places = [at(found.figure_x), *(at(tick.x) for tick in found.ticks)]
    places += [edge for bar in found.bars for edge in (at(bar.x), at(bar.x) + at(bar.width))]
    assert all(0 <= place <= 100.01 for place in places)
    assert all(at(bar.width) >= 0.5 for bar in found.bars)
    assert 1 <= len(found.ticks) <= 7
    assert found.figure.endswith(f" {unit}") and found.unit == unit


def test_of_very_many_rows_those_that_tell_least_are_drawn_and_all_have_words() -> None:
    found = drawn([(str(200 - place), str(300 + 2 * (200 - place))) for place in range(200)])

    assert len(found.bars) == MOST_DRAWN and found.undrawn == 200 - MOST_DRAWN
    assert [bar.number for bar in found.bars] == list(range(161, 201))
    assert len(found.words) == 200 and "And 188 more" in found.summary


def test_a_long_name_is_cut_in_the_drawing() -> None:
    given = view([("20", "60")])
    long = msgspec.structs.replace(given.rows[0], accessory="R" * 80)

    found = intervals(msgspec.structs.replace(given, rows=[long]))

    assert found is not None and len(found.bars[0].name) == 30 and found.bars[0].name.endswith("…")


def test_what_has_no_rows_has_no_drawing() -> None:
    assert intervals(msgspec.structs.replace(view([("20", "60")]), rows=[])) is None
