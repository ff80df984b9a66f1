"""Figures as they are printed in a page's folded text: masses with their units, and factors.

A figure is never a part of something else: a longer number, a code, a date, a range, a number of another unit. Where
that cannot be told, it does not count. Everything is looked at once from beginning to end, whatever the text is.
"""

import re
from bisect import bisect_left
from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import cached_property
from typing import Final

import msgspec

from app.core.derivation import interval_of
from app.core.mass import Stated, Unit, parse_factor, parse_mass
from app.core.page_words import (
    BY,
    DECIMAL_COMMA,
    DECIMAL_POINT,
    JOINT,
    KILOGRAMS,
    MULTIPLYING,
    NAMING,
    NO_MASS,
    PERCENT,
    POUNDS,
    REDUCING,
    SMALL_WORDS,
    WORD,
    Vocabulary,
    fold,
    stems,
)

HEADING_REACH: Final = 2000
"""How far below its unit's heading a number may stand, in characters."""
_LONGEST_NUMBER: Final = 20
_SAME_LINE: Final = 300

_NUMBER: Final = re.compile(rf"[0-9]+(?:[.,'’][0-9]+|{JOINT}[0-9]{{3}}(?![0-9]))*")
_GROUPED: Final = re.compile(
    rf"[1-9][0-9]{{0,2}}(?:(?:['’{JOINT}][0-9]{{3}})+(?:[.,][0-9]{{1,6}})?"
    r"|(?:\.[0-9]{3}){2,}(?:,[0-9]{1,6})?|(?:,[0-9]{3}){2,}(?:\.[0-9]{1,6})?|\.[0-9]{3},[0-9]{1,6}|,[0-9]{3}\.[0-9]{1,6})"
)
_PLAIN: Final = re.compile(r"(0|[1-9][0-9]{0,5})(?:([.,])([0-9]{1,6}))?")
_LAST_GROUP: Final = re.compile(r"[0-9]{3}(?:[.,][0-9]+)?")

# A mark of a footnote may stand between; when raised it was folded to a space, but for its bracket.
_BETWEEN: Final = r"(?:[*†‡ ]\))?[\s*†‡]{0,3}-?"
_UNIT: Final = re.compile(rf"(?:({fold(KILOGRAMS)})|({fold(POUNDS)}))(?![a-z0-9_])")
_UNIT_AFTER: Final = re.compile(_BETWEEN + _UNIT.pattern)
_RATE: Final = re.compile(
    r"[/·⋅-](?:m|cm|mm|km|ft|in|h|l|s)(?![a-z])|\.m(?![a-z])|\.?\s?(?:ft|f)(?![a-z])|\.?,?\s?[0-9.]{1,4}\s?oz"
)
_NO_MASS: Final = re.compile(rf"[\s)]{{0,3}}(?:[%‰°º\"″′$€£¥×±⁄/]|-?(?:{fold(NO_MASS)}|{SMALL_WORDS})(?![a-z_]))")
_NO_FACTOR: Final = re.compile(rf"[\s)]{{0,3}}(?:[‰°º\"″′$€£¥±⁄/]|-?(?:{fold(NO_MASS)})(?![a-z_]))")
_OTHER_HEADING: Final = re.compile(rf"[(\[](?:{fold(NO_MASS)}|%)[)\]]")
_PERCENT: Final = re.compile(rf"\s{{0,3}}-?(?:{fold(PERCENT)})")
_PARTS: Final = re.compile(r"([0-9]{1,6})\s?(?:([/⁄])|分の)\s?([0-9]{1,6})")
_ONE_CHARACTER: Final[dict[str, Fraction]] = {
    "½": Fraction(1, 2),
    "⅓": Fraction(1, 3),
    "⅔": Fraction(2, 3),
    "¼": Fraction(1, 4),
    "¾": Fraction(3, 4),
    "⅘": Fraction(4, 5),
}
_ONE_CHARACTERS: Final = re.compile(f"[{''.join(_ONE_CHARACTER)}]")
_DASHES: Final = "-‐‑‒–—−~〜"
_TO_NUMBER: Final = re.compile(rf"\s?[{_DASHES}]\s?[0-9]")

_SENTENCE_END: Final = re.compile(r"[.;。](?![0-9])")
_OFF_AFTER: Final = re.compile(r"\s?(?:たけ)?\s?(?:減|off(?![a-z ]?-?road))")
_NAMING: Final = stems(NAMING)
_REDUCING: Final = stems(REDUCING)
_MULTIPLYING: Final = stems(MULTIPLYING)
_BY: Final = stems(BY)


class Place(msgspec.Struct, frozen=True):
    """Where a figure stands in folded text, its unit included if that is printed with it. A lower rank is better."""

    start: int
    end: int
    unit: Unit | None
    rank: int


def masses(text: str, stated: Stated, language: str | None) -> Iterator[Place]:
    """Every place where a stated mass is printed: with its own unit (rank 0), with the other one (1), or under a heading
    with its own (2) or the other (3)."""
    matching = _mass_matcher(stated, language)
    headings = _Headings(text)
    for number in _NUMBER.finditer(text):
        start, end = number.span()
        if end - start > _LONGEST_NUMBER:
            continue
        attached = _unit_after(text, end)
        if attached is not None and _continues(text, start, end):
            start -= 2
        units = matching(text[start:end].replace(" ", JOINT))
        if not units or _is_part(text, start):
            continue
        if attached is not None:
            unit, after = attached
            if unit in units:
                yield Place(start, after, unit, 0 if unit is stated.unit else 1)
        elif (under := units & headings.above(start)) and _is_bare_mass(text, start, end):
            yield Place(start, end, None, 2 if stated.unit in under else 3)


def factors(text: str, stated: Stated, words: Vocabulary, language: str | None) -> Iterator[Place]:
    """Every place where a stated factor is printed, or what it takes off."""
    factor = parse_factor(stated.value)
    decimals = None if "/" in stated.value else len(stated.value.partition(".")[2])
    for start, end, share, places in _shares(text, words, language):
        is_share, is_rest = (_same_factor(each, places, factor, decimals) for each in (share, 1 - share))
        if (is_share or is_rest) and (is_rest if _is_taken_off(text, start, end) else is_share):
            yield Place(start, end, Unit.FACTOR, 0)


# Numbers


def _values(number: str, language: str | None) -> list[str]:
    """What a number as printed may say, with a point for decimals. One mark and three digits are thousands or decimals
    by the language, or either."""
    if _GROUPED.fullmatch(number):
        mark = max(number.rfind("."), number.rfind(","))
        is_decimal = mark >= 0 and number.count(number[mark]) == 1
        whole, decimals = (number[:mark], number[mark + 1 :]) if is_decimal else (number, "")
        digits = "".join(filter(str.isdecimal, whole))
        return [f"{digits}.{decimals}" if decimals else digits] if len(digits) <= 6 else []
    plain = _PLAIN.fullmatch(number)
    if plain is None:
        return []
    whole, sign, decimals = plain.groups()
    if sign is None:
        return [whole]
    if len(decimals) != 3 or whole == "0" or len(whole) > 3:
        return [f"{whole}.{decimals}"]
    may_be_decimals = language not in (DECIMAL_COMMA if sign == "." else DECIMAL_POINT)
    may_be_thousands = language not in (DECIMAL_POINT if sign == "." else DECIMAL_COMMA)
    return [f"{whole}.{decimals}"] * may_be_decimals + [whole + decimals] * may_be_thousands


def _latin(character: str) -> bool:
    """A letter or digit of a script that sets spaces between words."""
    return character == "_" or (character.isalnum() and not "\u3000" <= character <= "\u9fff")


def _is_part(text: str, start: int) -> bool:
    """Whether what stands before a number makes it part of a code, a date, a range, a decimal or a tolerance."""
    before, second = text[max(0, start - 1) : start], text[max(0, start - 2) : max(0, start - 1)]
    if text[max(0, start - 4) : start].rstrip().endswith(("±", "+/-", "#")):
        return True
    if not before or before.isspace():
        return False
    if before in ".,":
        return second != before and not second.isalpha()
    if before in "/:":
        return second.isdigit()
    if before in _DASHES:
        return second != "" and _latin(second)
    return _latin(before) or before in "+⁄^$€£¥'’" or before in _ONE_CHARACTER


def _stands_apart(text: str, start: int, end: int) -> bool:
    """Whether a number has space, a bracket or a sentence's mark on both sides, and is no end of a range."""
    before, after = text[max(0, start - 1) : start], text[end : end + 2]
    if before and not (before.isspace() or before in "([|:=<>≤≥×*" or text[max(0, start - 2) : start] == ".."):
        return False
    if after and not (after[0].isspace() or after[0] in ")]|;*×" or (after[0] in ".,:" and not after[1:].isalnum())):
        return False
    return _TO_NUMBER.match(text, end) is None


# Masses


def _mass_matcher(stated: Stated, language: str | None) -> Callable[[str], frozenset[Unit]]:
    """What tells in which units a number as printed is the stated mass: in its own by its value, in the other where the
    readings of both share a point. Numbers are repeated on a page, so each is read once."""
    said, span = parse_mass(stated), interval_of(stated, "/stated/value")
    known: dict[str, frozenset[Unit]] = {}

    def is_stated(printed: Stated) -> bool:
        mass = parse_mass(printed)
        if printed.unit is stated.unit or not (mass and said):
            return mass == said
        return not interval_of(printed, "/printed/value").apart(span)

    def matching(number: str) -> frozenset[Unit]:
        if number not in known:
            values = _values(number, language)
            known[number] = frozenset(
                unit for unit in (Unit.KG, Unit.LB) if any(is_stated(Stated(value, unit)) for value in values)
            )
        return known[number]

    return matching


def _unit_after(text: str, end: int) -> tuple[Unit, int] | None:
    """The unit of mass that is printed with a number, and where it ends."""
    unit = _UNIT_AFTER.match(text, end)
    if unit is None or _RATE.match(text, unit.end()):
        return None
    return Unit.KG if unit[1] else Unit.LB, unit.end()


def _continues(text: str, start: int, end: int) -> bool:
    """Whether a number with its unit is the end of one whose thousands stand apart by a common space, as in 1 100 kg."""
    return (
        start >= 2
        and text[start - 1] == " "
        and text[start - 2] in "123456789"
        and (start == 2 or not (_latin(text[start - 3]) or text[start - 3] in ".,'’/" + _DASHES))
        and _LAST_GROUP.fullmatch(text, start, end) is not None
    )


def _is_bare_mass(text: str, start: int, end: int) -> bool:
    """Whether a number without a unit of mass may be a mass: it stands apart, is nothing's name, has no other unit."""
    if not _stands_apart(text, start, end) or _NO_MASS.match(text, end):
        return False
    line = text[max(0, start - 40) : start].rpartition("\n")[2]
    words = WORD.findall(line)
    return not (words and _NAMING.match(words[-1])) and not line.rstrip().endswith("×")


class _Headings:
    """The units that stand on a page without a number: those of the nearest line before a number are its own."""

    def __init__(self, text: str) -> None:
        self._text = text

    @cached_property
    def _units(self) -> tuple[list[int], list[frozenset[Unit]]]:
        places: list[int] = []
        units: list[frozenset[Unit]] = []
        found = [match for pattern in (_UNIT, _OTHER_HEADING) for match in pattern.finditer(self._text)]
        for match in sorted(found, key=lambda each: each.start()):
            is_mass = match.re is _UNIT
            if is_mass and self._is_no_heading(match):
                continue
            start = match.start()
            unit = frozenset({Unit.KG if match[1] else Unit.LB} if is_mass else ())
            beside = bool(places) and start - places[-1] < _SAME_LINE and "\n" not in self._text[places[-1] : start]
            places.append(start)
            units.append(units[-1] | unit if beside else unit)
        return places, units

    def _is_no_heading(self, unit: re.Match[str]) -> bool:
        """Whether a unit is printed with a number, ends a longer word or is part of another unit."""
        before = self._text[max(0, unit.start() - 5) : unit.start()]
        with_number = before.rstrip(" \n\t-*†‡)]" + JOINT)[-1:].isdigit()
        return with_number or (before != "" and _latin(before[-1])) or _RATE.match(self._text, unit.end()) is not None

    def above(self, position: int) -> frozenset[Unit]:
        """The units under which a number at this place stands."""
        places, units = self._units
        last = bisect_left(places, position) - 1
        return units[last] if last >= 0 and position - places[last] <= HEADING_REACH else frozenset()


# Factors


def _same_factor(one: Fraction, one_decimals: int | None, other: Fraction, other_decimals: int | None) -> bool:
    """Whether two factors are the same, or one is a fraction and the other its decimal to two places at least."""
    if one == other:
        return True
    if (one_decimals is None) == (other_decimals is None):
        return False
    decimals = max(one_decimals or 0, other_decimals or 0)
    return decimals >= 2 and abs(one - other) <= Fraction(1, 2 * 10**decimals)


def _shares(text: str, words: Vocabulary, language: str | None) -> Iterator[tuple[int, int, Fraction, int | None]]:
    """Fractions, percentages and decimals on a page: where, how much, and to how many decimals (None: exactly)."""
    for parts in _PARTS.finditer(text):
        above, below = (parts[1], parts[3]) if parts[2] else (parts[3], parts[1])
        after = text[parts.end() : parts.end() + 1]
        whole = not _is_part(text, parts.start()) and not (_latin(after) or after == "/")
        if whole and int(below) and _unit_after(text, parts.end()) is None and not _NO_FACTOR.match(text, parts.end()):
            yield parts.start(), parts.end(), Fraction(int(above), int(below)), None
    for one in _ONE_CHARACTERS.finditer(text):
        if not text[max(0, one.start() - 1) : one.start()].isdigit():
            yield one.start(), one.end(), _ONE_CHARACTER[one[0]], None
    for share, phrases in words.spelled.items():
        yield from ((start, end, share, None) for start, end in phrases.places(text))
    for number in _NUMBER.finditer(text):
        start, end = number.span()
        if end - start > _LONGEST_NUMBER or _is_part(text, start):
            continue
        percent = _PERCENT.match(text, end)
        for printed in _values(number[0], language):
            places = len(printed.partition(".")[2])
            if percent is not None:
                yield start, percent.end(), Fraction(printed) / 100, places + 2
            elif places and _is_bare_factor(text, start, end):
                yield start, end, Fraction(printed), places


def _is_bare_factor(text: str, start: int, end: int) -> bool:
    return _stands_apart(text, start, end) and _unit_after(text, end) is None and not _NO_FACTOR.match(text, end)


def _is_taken_off(text: str, start: int, end: int) -> bool:
    """Whether a share is what a load is reduced by, and not what is left of it."""
    if _OFF_AFTER.match(text, end):
        return True
    before = WORD.findall(_SENTENCE_END.split(text[max(0, start - 60) : start])[-1])
    if not before or not _BY.match(before[-1]) or any(map(_MULTIPLYING.match, before)):
        return False
    after = WORD.findall(_SENTENCE_END.split(text[end : end + 60])[0])
    return any(map(_REDUCING.match, before + after))
