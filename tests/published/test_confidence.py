"""Confidence against things outside the project: the logistic function, and that copies confirm nothing."""

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.core.confidence import SETS_AT, probability
from tests.core.builders import History


@pytest.mark.parametrize(
    ("odds", "chance"),
    [
        (Fraction(1), Fraction(1, 2)),
        (Fraction(4), Fraction(4, 5)),
        (Fraction(9), Fraction(9, 10)),
        (Fraction(1, 3), Fraction(1, 4)),
    ],
)
def test_the_logistic_function_undoes_the_logarithm_of_the_odds(odds: Fraction, chance: Fraction) -> None:
    """The definition of log-odds: L = ln(p / (1 - p)), so that odds of 4 to 1 are a probability of 0.8."""
    found = probability([math.log(odds)])

    assert chance - Fraction(1, 1000) < Fraction(repr(found)) <= chance


@settings(derandomize=True, database=None, deadline=None, max_examples=300)
@given(st.lists(st.floats(-6, 6), max_size=12))
def test_the_logistic_function_is_a_shifted_hyperbolic_tangent(points: list[float]) -> None:
    """The identity 1/(1+e^-x) = (1 + tanh(x/2))/2, by the mathematics library's own tanh; rounded down to 0.001."""
    other = (1 + math.tanh(math.fsum(points) / 2)) / 2
    found = probability(points)

    assert 0 <= found <= 1
    assert found <= other + 1e-12
    assert other - found < 0.001 + 1e-12


def test_what_sets_takes_odds_of_four_to_one() -> None:
    """The same definition: 0.80 is ln 4 = 1.386… points, and a hundredth less does not do."""
    assert probability([math.log(4)]) >= SETS_AT > probability([math.log(4) - 0.01])


def test_copies_confirm_nothing() -> None:
    """STANAG 2511, secondary: "confirmed" needs a different source, so that copies of one report do not count."""
    history = History()
    page = history.document("a" * 64)
    claim = history.claim(cites=[page])
    history.read_and_approve(claim)
    alone = history.explained(claim)
    for number in range(10):
        copy = history.claim(author=f"copier-{number}", cites=[history.document("a" * 64)])
        history.read_and_approve(copy)
    echoed = history.explained(claim)
    history.read_and_approve(history.claim(cites=[history.document("b" * 64)]))

    assert echoed.confidence == alone.confidence
    assert history.explained(claim).sum == pytest.approx(alone.sum + 0.8)
