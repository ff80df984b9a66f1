"""Finding among very many names, of which most are not even compared with the words."""

import random

import pytest
from rapidfuzz import fuzz, process, utils

from app.services.name_index import MOST, NameIndex

PARTS = ("or", "rin", "tar", "gre", "mund", "hal", "wig", "co", "zet", "low", "ka", "do")


@pytest.fixture(scope="module")
def names() -> NameIndex:
    """More names than are compared with any words."""
    chance = random.Random(7)
    made = NameIndex()
    for number in range(4 * MOST):
        word = "".join(chance.choices(PARTS, k=4))
        made.add(f"Grelmund {word.capitalize()} T{number % 9} {1990 + number % 30}")
    made.add("Orrin Tarnhalm T2 2019")
    return made


@pytest.mark.parametrize("words", ["orrin tarnhalm", "orin tarmhalm", "Tarnhalm", "TARNHALN 2019", "rrin tarnhalm"])
def test_a_name_is_among_those_compared_however_it_is_mistyped(names: NameIndex, words: str) -> None:
    near = names.near(words)
    assert len(near) <= MOST
    assert len(names) - 1 in near
    compared = {place: names[place] for place in near}
    ((_, _, best),) = process.extract(words, compared, scorer=fuzz.WRatio, processor=utils.default_process, limit=1)
    assert best == len(names) - 1


def test_what_every_name_has_tells_nothing_and_is_looked_at_where_nothing_else_is_there(names: NameIndex) -> None:
    assert len(names.near("grelmund")) == MOST
    assert len(names.near("grelmund tarnhalm")) < MOST
    assert names.near("qqqq") == []


def test_only_names_at_some_places_are_compared_where_those_are_asked_for(names: NameIndex) -> None:
    assert names.near("tarnhalm", [1, 2, 3]) == [1, 2, 3]
    many = range(len(names) - 1)
    assert set(names.near("orrin tarnhalm", many)) <= set(many)


def test_few_names_are_all_compared() -> None:
    few = NameIndex()
    few.add("Orrin Tarn")
    few.add("Cobblewyn Larkenby")
    assert few.near("x") == [0, 1]


def test_what_is_called_by_another_name_is_found_by_that_and_no_more_by_the_old_one(names: NameIndex) -> None:
    last = len(names) - 1
    names.rename(last, "Orrin Zwyckeldorn T2 2019")
    assert last in names.near("zwyckeldorn")
    assert last not in names.near("tarnhalm")
    names.rename(last, "Orrin Tarnhalm T2 2019")
    assert last in names.near("tarnhalm")
    assert last not in names.near("zwyckeldorn")
