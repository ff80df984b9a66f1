"""Masses and factors: whole grams, exact fractions, and rounding that never tells anyone that more is allowed.

A limit rounds down and a mass up, once, after everything has been multiplied exactly. The pound is exactly
0.45359237 kg (international yard and pound agreement, 1959).
"""

import re
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

import msgspec

from app.core.errors import invalid

GRAMS_PER_KG = 1000
GRAMS_PER_LB = Fraction(45_359_237, 100_000)
SAME_WITHIN_G = 500
"""Figures at most this far apart are the same figure in another unit's rounding."""

_MASS = re.compile(r"[0-9]{1,6}(\.[0-9]{1,6})?")
_FACTOR = re.compile(r"[0-9]{1,6}(\.[0-9]{1,9}|/[0-9]{1,6})?")


class Unit(StrEnum):
    """The unit in which a source states a figure."""

    KG = "kg"
    LB = "lb"
    FACTOR = "factor"


class Per(StrEnum):
    """What a figure is for: everything, or each bar, pair of bars or foot."""

    TOTAL = "total"
    BAR = "bar"
    PAIR = "pair"
    FOOT = "foot"


class Stated(msgspec.Struct, frozen=True):
    """A figure word for word as its source states it."""

    value: str
    unit: Unit


class Counts(msgspec.Struct, frozen=True):
    """How many bars or feet a part has, as far as its confirmed record says."""

    bars: int | None = None
    feet: int | None = None


def parse_mass(stated: Stated, pointer: str = "/stated/value") -> Fraction:
    """Exact grams of a stated mass. Raises `invalid` at `pointer` for anything but a plain decimal."""
    return _exact_grams(stated, pointer)


@lru_cache(maxsize=8192)
def _exact_grams(stated: Stated, pointer: str) -> Fraction:
    """The same few masses are stated again and again."""
    if stated.unit is Unit.FACTOR:
        raise invalid(pointer, "not_a_mass", "State a mass in kg or lb; a factor is stated for off_road_factor only.")
    if _MASS.fullmatch(stated.value) is None:
        raise invalid(
            pointer,
            "bad_mass",
            'Write the mass as the source prints it, digits with a point for decimals and no unit: "75" or "165.5".',
        )
    whole, _, decimals = stated.value.partition(".")
    scale = 10 ** len(decimals)
    digits = int(whole + decimals)
    if stated.unit is Unit.LB:
        return Fraction(digits * GRAMS_PER_LB.numerator, scale * GRAMS_PER_LB.denominator)
    return Fraction(digits * GRAMS_PER_KG, scale)


def parse_factor(value: str, pointer: str = "/stated/value") -> Fraction:
    """An exact fraction in (0, 1]. Raises `invalid` at `pointer` for anything else."""
    try:
        factor = Fraction(value) if _FACTOR.fullmatch(value) else Fraction(0)
    except ZeroDivisionError:
        factor = Fraction(0)
    if not 0 < factor <= 1:
        raise invalid(pointer, "bad_factor", 'Write a factor above 0 and at most 1 as "2/3" or "0.8".')
    return factor


def floor(exact: Fraction, times: int = 1) -> int:
    """Round a limit, so many times: down to a whole gram, once."""
    return exact.numerator * times // exact.denominator


def ceil(exact: Fraction, times: int = 1) -> int:
    """Round a mass, so many times: up to a whole gram, once."""
    return -(-exact.numerator * times // exact.denominator)


def limit_grams(stated: Stated, per: Per = Per.TOTAL, counts: Counts | None = None) -> int:
    """What a stated limit or rating allows in all. An unknown count reads the figure as the total."""
    multiplier = 1
    if counts is not None:
        match per:
            case Per.TOTAL:
                pass
            case Per.BAR:
                multiplier = 1 if counts.bars is None else counts.bars
            case Per.PAIR:
                multiplier = 1 if counts.bars is None else counts.bars // 2
            case Per.FOOT:
                multiplier = 1 if counts.feet is None else counts.feet
    return floor(parse_mass(stated), multiplier)


def own_mass_grams(stated: Stated, per: Per = Per.TOTAL, counts: Counts | None = None) -> int | None:
    """What a thing itself weighs in all, or None where the figure is for each of an unknown number."""
    counted = counts or Counts()
    match per:
        case Per.TOTAL:
            multiplier: int | None = 1
        case Per.BAR:
            multiplier = counted.bars
        case Per.PAIR:
            multiplier = None if counted.bars is None else -(-counted.bars // 2)
        case Per.FOOT:
            multiplier = counted.feet
    return None if multiplier is None else ceil(parse_mass(stated), multiplier)


def allowed_in(unit: Unit, grams: int) -> float:
    """What is allowed, in the unit shown: rounded down to three decimals."""
    if unit is Unit.LB:
        return (grams * 100_000_000 // 45_359_237) / 1000
    return grams / 1000


def carried_in(unit: Unit, grams: int) -> float:
    """What is carried, in the unit shown: rounded up to three decimals."""
    if unit is Unit.LB:
        return -(-grams * 100_000_000 // 45_359_237) / 1000
    return grams / 1000
