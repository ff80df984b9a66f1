"""Claims: what a stated figure comes to, as a pair (gross and net), a mass or a factor."""

from fractions import Fraction

import pytest

from app.core.claim import (
    QUANTITIES,
    Basis,
    Pair,
    Quantity,
    Statement,
    Subject,
    SubjectKind,
    factor_of,
    limit_pair,
    mass_of,
    total_grams,
)
from app.core.mass import Counts, Per
from tests.core.builders import EXCLUDES, INCLUDES, factor, load_rating, mass_said, roof_limit

NOTHING_COUNTED = Counts()


def test_a_subject_names_its_stream() -> None:
    assert Subject(SubjectKind.FITMENT, "F12").stream == "fitment:F12"


def test_every_kind_of_subject_has_its_quantities() -> None:
    assert set(QUANTITIES) == set(SubjectKind)
    assert QUANTITIES[SubjectKind.VEHICLE] == (Quantity.ROOF_LIMIT, Quantity.OFF_ROAD_FACTOR)
    assert QUANTITIES[SubjectKind.FITMENT] == (Quantity.LOAD_RATING,)


@pytest.mark.parametrize("basis", [INCLUDES, Basis.NOT_STATED])
def test_a_limit_that_does_not_say_otherwise_counts_the_carrier(basis: Basis) -> None:
    assert limit_pair(roof_limit("75", basis=basis), SubjectKind.VEHICLE, NOTHING_COUNTED) == Pair(75_000, None)
    assert limit_pair(load_rating("75", basis=basis), SubjectKind.CARRIER, NOTHING_COUNTED) == Pair(75_000, None)


def test_a_limit_without_a_basis_counts_the_carrier() -> None:
    silent = Statement(Quantity.ROOF_LIMIT, roof_limit("75").stated)

    assert limit_pair(silent, SubjectKind.VEHICLE, NOTHING_COUNTED) == Pair(75_000, None)


def test_a_vehicle_limit_that_leaves_out_a_carrier_says_how_heavy_it_is() -> None:
    stated = roof_limit("75", basis=EXCLUDES, excluded="5")

    assert limit_pair(stated, SubjectKind.VEHICLE, NOTHING_COUNTED) == Pair(gross=80_000, net=75_000)


def test_a_vehicle_limit_that_does_not_say_how_heavy_reads_as_including() -> None:
    stated = roof_limit("75", basis=EXCLUDES)

    assert limit_pair(stated, SubjectKind.VEHICLE, NOTHING_COUNTED) == Pair(gross=75_000, net=None)


@pytest.mark.parametrize("kind", [SubjectKind.CARRIER, SubjectKind.FIXING, SubjectKind.FITMENT])
def test_a_part_s_rating_that_excludes_itself_is_net(kind: SubjectKind) -> None:
    assert limit_pair(load_rating("100", basis=EXCLUDES), kind, NOTHING_COUNTED) == Pair(gross=None, net=100_000)


def test_figures_for_each_are_multiplied() -> None:
    three = Counts(bars=3)

    assert limit_pair(load_rating("40", per=Per.BAR), SubjectKind.CARRIER, three) == Pair(None, 120_000)
    assert mass_of(mass_said("2.5", per=Per.BAR), three) == 7_500
    assert mass_of(mass_said("2.5", per=Per.BAR), NOTHING_COUNTED) is None
    assert mass_of(Statement(Quantity.OWN_MASS, mass_said("2.5").stated), NOTHING_COUNTED) == 2_500


def test_a_factor_is_exact() -> None:
    assert factor_of(factor("2/3")) == Fraction(2, 3)


def test_total_grams_compare_statements_of_a_quantity() -> None:
    assert total_grams(load_rating("40", per=Per.PAIR), Counts(bars=5)) == 80_000
    assert total_grams(mass_said("40", per=Per.PAIR), Counts(bars=5)) == 120_000
    assert total_grams(mass_said("40", per=Per.FOOT), NOTHING_COUNTED) is None
    assert total_grams(Statement(Quantity.ROOF_LIMIT, roof_limit("75").stated), NOTHING_COUNTED) == 75_000
    assert total_grams(factor("0.5"), NOTHING_COUNTED) is None
