"""What accessory pages tell, held against a brute-force oracle written apart from the core, on random tables."""

from typing import Any

import pytest

from app.core.derivation import Role, Row, Worked, solve
from app.core.mass import Stated, Unit
from tests.oracle.accessories import largest_agreeing, tables, taking_part, told

BATCHES = 20
TABLES_IN_A_BATCH = 150
NAMED_IN_A_BATCH = 50


def as_row(number: int, row: dict[str, Any]) -> Row:
    unit = Unit(row["unit"])
    return Row(
        accessory=f"accessory {number}",
        mass=Stated(row["mass"], unit),
        load=Stated(row["load"], unit),
        leaves_out=row["leaves_out"],
        rating=None if row["rating"] is None else Stated(row["rating"], unit),
        lighter=row["lighter"],
    )


def solved(table: dict[str, Any]) -> Worked:
    return solve([as_row(number, row) for number, row in enumerate(table["rows"])], table["cap"])


def as_expected(worked: Worked) -> dict[str, Any]:
    return {
        "kind": str(worked.kind),
        "bound": str(worked.bound),
        "figure_g": worked.figure,
        "interval_g": None if worked.interval is None else list(worked.interval),
        "self_limited": [index for index, reading in enumerate(worked.rows) if reading.self_limited],
    }


def playing(worked: Worked, role: Role) -> list[int]:
    return [index for index, reading in enumerate(worked.rows) if reading.role is role]


def seeds_of(batch: int) -> range:
    return range(batch * TABLES_IN_A_BATCH, (batch + 1) * TABLES_IN_A_BATCH)


@pytest.mark.parametrize("batch", range(BATCHES))
def test_what_pages_tell_equals_the_oracle(batch: int) -> None:
    for seed in seeds_of(batch):
        table = tables(seed)
        assert as_expected(solved(table)) == told(table["rows"], table["cap"]), f"seed {seed}: {table}"


@pytest.mark.parametrize("batch", range(BATCHES))
def test_rows_that_would_agree_and_the_others_are_named_as_the_oracle_finds_them(batch: int) -> None:
    for seed in seeds_of(batch)[:NAMED_IN_A_BATCH]:
        table = tables(seed)
        worked = solved(table)
        heard = taking_part(table["rows"])
        agreeing, outliers = playing(worked, Role.AGREES), playing(worked, Role.OUTLIER)
        if told(table["rows"])["kind"] != "no_agreement":
            assert (agreeing, outliers, worked.nearly) == (heard, [], None), f"seed {seed}: {table}"
            continue
        possible = largest_agreeing(table["rows"])
        if not possible:
            assert (agreeing, outliers, worked.nearly) == ([], [], None), f"seed {seed}: {table}"
            continue
        assert (worked.nearly, agreeing) in possible, f"seed {seed}: {table}"
        assert outliers == [index for index in heard if index not in agreeing], f"seed {seed}: {table}"
