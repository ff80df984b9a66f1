"""A vehicle's plate: its answers for every cell and condition, at 0.80; and what an entry changed on it."""

import pytest

from app.core.claim import Condition
from app.core.lifecycle import State
from app.core.plate import MOST_CELLS, Changed, Effect, Field, changes, effect_of, plate
from app.core.scope import NONE_OF_THESE, Cell, Dimension, Scope
from app.core.scoring import Dossier
from app.core.selection import Firmness, Line, Side
from tests.core.builders import (
    EXCLUDES,
    OFF_ROAD,
    ON_ROAD,
    PARKED,
    factor,
    once,
    roof_limit,
    told,
    undecided,
    vehicle,
)

VANS = Scope(bodies=("van",))
VAN, OTHER = Cell(Dimension.BODIES, ("van",)), Cell(Dimension.BODIES, (NONE_OF_THESE,))


def shown(car: Dossier) -> list[tuple[tuple[Cell, ...], Condition, tuple[int | None, int | None] | None]]:
    return [(field.cells, field.condition, field.amounts) for field in plate(car)]


def test_a_plate_has_a_field_for_every_cell_and_condition() -> None:
    car = vehicle(told(roof_limit("50")), told(roof_limit("75", scope=VANS), id="C2"))

    assert shown(car) == [
        ((VAN,), ON_ROAD, (75_000, None)),
        ((VAN,), OFF_ROAD, (75_000, None)),
        ((VAN,), PARKED, (75_000, None)),
        ((OTHER,), ON_ROAD, (50_000, None)),
        ((OTHER,), OFF_ROAD, (50_000, None)),
        ((OTHER,), PARKED, (50_000, None)),
    ]


def test_a_plate_without_divisions_has_no_cells() -> None:
    assert shown(vehicle()) == [((), condition, None) for condition in Condition]


def test_net_limits_are_shown_beside_gross_ones() -> None:
    car = vehicle(told(roof_limit("75", basis=EXCLUDES, excluded="5")))

    assert shown(car)[0] == ((), ON_ROAD, (80_000, 75_000))
    assert Field((), ON_ROAD, None, Line(Side.NET, 60_000, Firmness.EXACT, ())).amounts == (None, 60_000)


def test_a_plate_is_drawn_at_080() -> None:
    assert shown(vehicle(undecided(roof_limit("75")), once(roof_limit("60"), id="C2")))[0] == ((), ON_ROAD, None)


def test_factors_divide_a_plate_and_dead_claims_do_not() -> None:
    dead = told(roof_limit("60", scope=Scope(roofs=("track",))), state=State.REJECTED, id="C3")
    car = vehicle(told(roof_limit("75")), told(factor("2/3", scope=VANS), id="C2"), dead)

    assert {field.cells for field in plate(car)} == {(VAN,), (OTHER,)}


def test_a_plate_is_bounded() -> None:
    claims = [
        told(roof_limit("75", scope=Scope(None, (f"b{n}",), (f"r{n}",), (f"m{n}",))), id=f"C{n}") for n in range(9)
    ]

    assert len(plate(vehicle(*claims))) == MOST_CELLS * len(Condition)


# What an entry changed


def effects(before: Dossier | None, after: Dossier) -> list[tuple[Effect, Condition, tuple[Cell, ...]]]:
    return [(each.effect, each.after.condition, each.after.cells) for each in changes(before, after)]


def test_nothing_is_changed_by_what_changes_nothing() -> None:
    car = vehicle(told(roof_limit("75")))

    assert changes(car, vehicle(told(roof_limit("75")), undecided(roof_limit("50"), id="C2"))) == ()
    assert changes(None, vehicle()) == ()


def test_a_first_figure_is_set_and_a_last_one_empties() -> None:
    none, some = vehicle(), vehicle(told(roof_limit("75")))

    assert effects(none, some) == [(Effect.SET, condition, ()) for condition in Condition]
    assert effects(None, some) == [(Effect.SET, condition, ()) for condition in Condition]
    assert effects(some, none) == [(Effect.EMPTIED, condition, ()) for condition in Condition]


def test_what_an_entry_raises_and_lowers_is_told_cell_by_cell() -> None:
    before = vehicle(told(roof_limit("60")))
    after = vehicle(told(roof_limit("60")), told(roof_limit("75", scope=VANS), id="C2"))

    assert effects(before, after) == [(Effect.RAISED, condition, (VAN,)) for condition in Condition]
    assert effects(after, before) == [(Effect.LOWERED, condition, (VAN,)) for condition in Condition]
    change = changes(before, after)[0]
    assert isinstance(change, Changed)
    assert (change.before.amounts, change.after.amounts) == ((60_000, None), (75_000, None))


def test_a_record_that_is_confirmed_in_between_is_taken_as_open() -> None:
    claim = told(roof_limit("75", scope=VANS))
    before, after = vehicle(claim, bodies=("van",), confirmed=False), vehicle(claim, bodies=("van",))

    assert effects(before, after) == []


@pytest.mark.parametrize(
    ("old", "new", "effect"),
    [
        ((75, None), (75, None), None),
        ((75, None), (60, None), Effect.LOWERED),
        ((60, None), (75, None), Effect.RAISED),
        ((75, None), (75, 70), Effect.LOWERED),
        ((75, 70), (75, None), Effect.RAISED),
        ((75, 60), (80, 50), Effect.LOWERED),
        ((None, 60), (None, 70), Effect.RAISED),
    ],
)
def test_where_one_side_fell_the_field_was_lowered(
    old: tuple[int | None, int | None], new: tuple[int | None, int | None], effect: Effect | None
) -> None:
    def field(amounts: tuple[int | None, int | None]) -> Field:
        gross, net = (
            None if grams is None else Line(side, grams, Firmness.EXACT, ())
            for side, grams in zip(Side, amounts, strict=True)
        )
        return Field((), ON_ROAD, gross, net)

    assert effect_of(field(old), field(new)) is effect
