"""The interval of a rate against published values, and against a second implementation of the same formula."""

from fractions import Fraction
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.core.desk_figures import Z_95, place_by_age, wilson


@pytest.mark.parametrize(
    ("of_them", "number", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilson_intervals_are_the_published_ones(of_them: int, number: int, low: float, high: float) -> None:
    """R. G. Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in Medicine 17 (1998),
    method 3."""
    found = wilson(of_them, number)
    assert found is not None
    assert (round(found.low, 4), round(found.high, 4)) == (low, high)


def test_the_quantile_is_that_of_the_standard_library() -> None:
    assert pytest.approx(NormalDist().inv_cdf(0.975), abs=1e-12) == Z_95


@settings(derandomize=True, database=None, deadline=None)
@given(st.integers(1, 5000).flatmap(lambda number: st.tuples(st.integers(0, number), st.just(number))))
def test_the_ends_of_the_interval_solve_the_score_equation(counted: tuple[int, int]) -> None:
    """Wilson (1927): the ends are where (p - rate)^2 = z^2 p (1 - p) / n."""
    of_them, number = counted
    found = wilson(of_them, number)
    assert found is not None
    rate = Fraction(of_them, number)
    for end in (found.low, found.high):
        assert float((Fraction(end) - rate) ** 2) == pytest.approx(Z_95**2 * end * (1 - end) / number, abs=1e-9)
    assert 0 <= found.low <= rate <= found.high <= 1


def test_nothing_counted_has_no_interval() -> None:
    assert wilson(0, 0) is None


@pytest.mark.parametrize(("number", "percent", "place"), [(1, 50, 0), (1, 90, 0), (4, 50, 2), (5, 50, 2), (10, 90, 1)])
def test_places_by_nearest_rank(number: int, percent: int, place: int) -> None:
    ages = sorted(range(number))
    oldest_first = list(reversed(ages))
    assert place_by_age(number, percent) == place
    found = oldest_first[place]
    assert sum(age <= found for age in ages) * 100 >= percent * number
