"""What to leave behind: worked by hand, against every choice there is, and within bounded work."""

import random
from time import thread_time
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.core import leaving
from app.core.budget import Item, Stack, load_of, stack_up
from app.core.leaving import MOST_TIES, Left, Outcome, Thing, fewest, leave_behind
from tests.core.builders import budget_for, cargo, platform, roof_limit, told, vehicle
from tests.oracle import leaving as oracle

few: Any = st.lists(st.tuples(st.integers(0, 60), st.integers(1, 3)), max_size=5).map(
    lambda found: [(place, grams, count) for place, (grams, count) in enumerate(found)]
)


def thing(place: int, kilograms: float | None, quantity: int = 1, *, more: float = 0, stays: bool = False) -> Thing:
    def weighing(pieces: int) -> Item:
        if kilograms is None:
            return Item(f"thing {place}", None, None, None)
        mass = round(1000 * kilograms) * pieces
        return Item(f"thing {place}", mass, mass, mass + round(1000 * more) * pieces)

    return Thing(place, quantity, weighing(quantity), weighing(1), stays)


def stack_of(limit: str = "75") -> Stack:
    """A roof with the worked example's platform of 25 kg on it."""
    answer = budget_for(vehicle(told(roof_limit(limit))), platform(), fixing="built_in")
    return answer.stacked.stack


def left_of(*things: Thing, limit: str = "75", people: tuple[Item, ...] = ()) -> Left:
    load = load_of((*(each.all for each in things), *people))
    return leave_behind(stack_of(limit), load, things, people)


def test_the_fewest_first_and_of_those_the_lightest() -> None:
    # 50 kg are allowed. 40 + 14 + 20 + 20 = 94 kg: 44 too many. One piece cannot do; of two, 40 + 14 = 54 is lighter than
    # 40 + 20 = 60; three of 14 + 20 + 20 = 54 are as light, but three.
    left = left_of(thing(0, 40), thing(1, 14), thing(2, 20, 2))
    assert (left.outcome, left.pieces, left.grams, left.choices) == (Outcome.LEAVE, 2, 54_000, (((0, 1), (1, 1)),))
    assert (left.more, left.lightest) == (False, True)


def test_one_light_thing_goes_before_one_heavy_thing() -> None:
    # 45 + 6 + 4 = 55: 5 too many, and 6 is enough.
    assert left_of(thing(0, 45), thing(1, 6), thing(2, 4)).choices == (((1, 1),),)


def test_tolerances_count_to_the_full() -> None:
    # 40 + 10 is just allowed; give or take 1, a kilogram may be too many.
    assert left_of(thing(0, 40), thing(1, 10)).outcome is Outcome.NOTHING
    left = left_of(thing(0, 40), thing(1, 10, more=1))
    assert (left.pieces, left.grams, left.choices) == (1, 11_000, (((1, 1),),))


def test_of_some_pieces_only_as_many_as_must_go() -> None:
    left = left_of(thing(0, 20, 5))
    assert (left.pieces, left.grams, left.choices) == (3, 60_000, (((0, 3),),))


def test_ties_are_told_with_what_was_named_last_first() -> None:
    left = left_of(thing(0, 30), thing(1, 10), thing(2, 10, 2))
    assert left.choices == (((2, 1),), ((1, 1),))
    many = left_of(*(thing(place, 10) for place in range(11)))
    assert (many.pieces, len(many.choices), many.more) == (6, MOST_TIES, True)
    assert many.choices[0] == tuple((place, 1) for place in range(5, 11))


def test_what_stays_is_never_left() -> None:
    left = left_of(thing(0, 40, stays=True), thing(1, 14), thing(2, 8))
    assert (left.pieces, left.grams, left.choices) == (1, 14_000, (((1, 1),),))
    left = left_of(thing(0, 60, stays=True), thing(1, 14))
    assert left == Left(Outcome.WHAT_STAYS_EXCEEDS)
    # Just as much as may be carried stays: everything else goes.
    assert left_of(thing(0, 50, stays=True), thing(1, 14, 2)).choices == (((1, 2),),)


def test_people_stay() -> None:
    assert left_of(thing(0, 14), people=(cargo(45),)).choices == (((0, 1),),)
    assert left_of(thing(0, 14), people=(cargo(51),)).outcome is Outcome.WHAT_STAYS_EXCEEDS


def test_what_nobody_knows_the_mass_of_is_left() -> None:
    left = left_of(thing(0, 40), thing(1, None, 2))
    assert (left.pieces, left.grams, left.choices) == (2, 0, (((1, 2),),))
    left = left_of(thing(0, 40), thing(1, None), thing(2, 14))
    assert (left.pieces, left.grams, left.choices) == (2, 14_000, (((1, 1), (2, 1)),))
    assert left_of(thing(0, 4), thing(1, None, stays=True)).outcome is Outcome.WHAT_STAYS_UNKNOWN


def test_nothing_helps_where_the_rack_is_too_much_or_the_limit_is_not_known() -> None:
    assert left_of(thing(0, 4), limit="20").outcome is Outcome.RACK_ALONE_EXCEEDS
    # With not a gram to spare, everything that weighs something goes.
    assert left_of(thing(0, 4), thing(1, 0), limit="25").choices == (((0, 1),),)
    unknown = stack_up(budget_for(vehicle(), platform()).stacked.setup)
    assert leave_behind(unknown, load_of([cargo(90)]), [thing(0, 90)]).outcome is Outcome.LIMIT_UNKNOWN


@given(few, st.integers(0, 400))
@settings(max_examples=300, deadline=None)
def test_it_equals_the_oracle(pieces: list[tuple[int, int, int]], room: int) -> None:
    found = fewest(pieces, room)
    count, grams, choices = oracle.fewest(pieces, room)
    assert (found.pieces, found.grams, found.lightest) == (count, grams, True)
    assert len(set(found.choices)) == len(found.choices) == min(len(choices), MOST_TIES)
    assert set(found.choices) <= choices
    assert found.more is (len(choices) > MOST_TIES)


@given(few, st.integers(0, 400), st.integers(0, 60))
@settings(max_examples=100, deadline=None)
def test_more_room_never_asks_for_more(pieces: list[tuple[int, int, int]], room: int, further: int) -> None:
    less, more = fewest(pieces, room), fewest(pieces, room + further)
    assert (more.pieces, more.grams) <= (less.pieces, less.grams)


@given(few, st.integers(0, 400), st.integers(0, 4))
@settings(max_examples=100, deadline=None)
def test_what_stays_never_makes_it_fewer(pieces: list[tuple[int, int, int]], room: int, staying: int) -> None:
    kept = sum(grams * count for place, grams, count in pieces if place == staying)
    if kept > room:
        return
    free = fewest(pieces, room)
    bound = fewest([each for each in pieces if each[0] != staying], room - kept)
    assert (bound.pieces, bound.grams) >= (free.pieces, free.grams)


def test_where_work_is_bounded_the_fewest_are_still_certain(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(leaving, "MOST_BITS", 60)
    proven = 0
    for seed in range(200):
        rng = random.Random(seed)
        pieces = [(place, rng.randint(1, 60), rng.randint(1, 3)) for place in range(5)]
        total = sum(grams * count for _, grams, count in pieces)
        room = rng.randint(0, total)
        found = fewest(pieces, room)
        count, grams, choices = oracle.fewest(pieces, room)
        assert found.pieces == count
        assert total - found.grams <= room
        assert found.grams == grams if found.lightest else found.grams >= grams
        assert not found.lightest or set(found.choices) <= choices
        proven += found.lightest
    assert 0 < proven < 200


def test_a_hundred_things_are_gone_through_to_the_gram_in_a_moment() -> None:
    for seed in range(10):
        rng = random.Random(seed)
        pieces = [(place, rng.randint(500, 40_000), 1) for place in range(100)]
        room = rng.randint(20_000, 900_000)
        begun = thread_time()
        found = fewest(pieces, room)
        assert thread_time() - begun < 2
        assert found.lightest
        gone = dict(found.choices[0])
        rest = sum(grams for place, grams, _ in pieces if place not in gone)
        assert rest <= room
        assert found.grams == sum(grams for place, grams, _ in pieces if place in gone)


def test_whatever_is_sent_takes_bounded_time() -> None:
    rng = random.Random("bounded")
    for lightest, heaviest in ((1, 10**8), (20_000, 20_300), (10**8 - 99, 10**8)):
        pieces = [(place, rng.randint(lightest, heaviest), 100) for place in range(200)]
        total = sum(grams * count for _, grams, count in pieces)
        begun = thread_time()
        found = fewest(pieces, total // 2)
        assert thread_time() - begun < 3
        assert total - found.grams <= total // 2
