"""How reviewing is measured: rates with their uncertainty, and ages by fixed definition."""

import math
from typing import Final

import msgspec

Z_95: Final = 1.959963984540054
"""The 0.975 quantile of the standard normal distribution."""


class Interval(msgspec.Struct, frozen=True):
    """A 95 % confidence interval of a rate."""

    low: float
    high: float


def wilson(of_them: int, number: int) -> Interval | None:
    """The Wilson score interval of a rate, without continuity correction (Wilson 1927); None where nothing was counted.

    It is no worse for being asked with few or none: a rate of 0 in 20 may still be as high as 0.16.
    """
    if number == 0:
        return None
    rate, square = of_them / number, Z_95 * Z_95
    middle = (rate + square / (2 * number)) / (1 + square / number)
    reach = Z_95 / (1 + square / number) * math.sqrt(rate * (1 - rate) / number + square / (4 * number * number))
    low = 0.0 if of_them == 0 else max(0.0, middle - reach)
    high = 1.0 if of_them == number else min(1.0, middle + reach)
    return Interval(low, high)


def place_by_age(number: int, percent: int) -> int:
    """Of so many that wait, oldest first, the place (from 0) of the one that at least `percent` % are no older than:
    the nearest rank. There has to be one."""
    rank = max(1, math.ceil(number * percent / 100))
    return number - rank
