"""Whether a claim's stated figure stands on a page that it cites, and where.

A mass is found in its own unit by its value ("75.0" is "75"), and in the other unit where what is printed and what is
stated, each half a unit in its last digit either way, may be the same mass. Its unit is printed with it, or in a heading
before it: a unit with no number of its own. A factor is a fraction, a percentage or a decimal, in figures or in words; a
fraction and its decimal are the same where the decimal is the fraction rounded, to two places at least.

The figure must stand near its words. A word is near within 300 characters; after the figure, also within three lines with
text (headings stand above, so before it lines are not counted). A roof limit needs a word for the roof and one for a load
(or a weight), a rating one for a load, an own mass one for a weight or mass, a factor one for rough roads. A nought may
also be said in words ("not permitted"), near a word for the roof or, for a rating, for a load.

Of several places, one among the words that the citation quotes comes first; then one with the stated unit printed, then one
with the other unit, then one under a heading (of the stated unit, then of the other) or in words; of those alike the one
nearest to words of all its groups; then the first. What is quoted never makes a figure found that would not be without it.
"""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from itertools import accumulate
from typing import Final

import msgspec

from app.core.claim import Quantity, Statement
from app.core.mass import Unit, parse_mass
from app.core.page_words import WORD, Group, Vocabulary, fold_characters, vocabulary
from app.core.pages import Box, Page, PageOutcome, box_of
from app.core.printed_figures import Place, factors, masses

REACH: Final = 300
LINES_AFTER: Final = 3
LONGEST_SNIPPET: Final = 160
_LONGEST_WORD: Final = 60
_LONGEST_QUOTE: Final = 200
_QUOTED_WORD: Final = re.compile(r"[^\W_]+")

Needs = tuple[frozenset[Group], ...]
"""For each word that a figure needs near it, the groups of which it may be one."""

NEEDS: Final[dict[Quantity, Needs]] = {
    Quantity.ROOF_LIMIT: (frozenset({Group.ROOF}), frozenset({Group.LOAD, Group.MASS})),
    Quantity.LOAD_RATING: (frozenset({Group.LOAD}),),
    Quantity.OWN_MASS: (frozenset({Group.MASS}),),
    Quantity.OFF_ROAD_FACTOR: (frozenset({Group.ROUGH}),),
}
SAID_NOUGHT: Final[dict[Quantity, Needs]] = {
    Quantity.ROOF_LIMIT: (frozenset({Group.ROOF}),),
    Quantity.LOAD_RATING: (frozenset({Group.LOAD}),),
}


class Found(msgspec.Struct, frozen=True):
    """Where a figure stands in a page's text, with its unit as printed there, if it is; the word that it stands near (of
    a roof limit, the one for the roof); and the line around it."""

    start: int
    end: int
    box: Box | None
    unit: Unit | None
    near: str
    snippet: str


class _Near(msgspec.Struct, frozen=True):
    """A word near a figure, and how many characters lie between."""

    distance: int
    start: int
    end: int


class _Mentions(msgspec.Struct, frozen=True):
    """Where the words of some groups stand in folded text, in order."""

    starts: tuple[int, ...]
    ends: tuple[int, ...]


def look_for(
    statement: Statement, page: Page, language: str | None, quote: str | None = None
) -> tuple[PageOutcome, Found | None]:
    """Whether a statement's figure stands on a page near its words, and its best place there. `language` is the
    document's, as two letters; the words of all languages are taken where it is None or has none here. `quote` is what
    the citation says is written there.

    Raises `invalid` where what is stated is no mass, or no factor; never for a page.
    """
    pieces = fold_characters(page.text)
    text = "".join(pieces)
    words = vocabulary(language)
    places = list(_places(text, statement, words, language))
    best = _best(text, places, words, _quoted(text, quote or ""))
    if best is None:
        if places:
            return PageOutcome.APART, None
        has_text = any(character.isalnum() for character in text)
        return PageOutcome.NOT_FOUND if has_text else PageOutcome.NO_TEXT, None
    place, near = best
    ends = list(accumulate(map(len, pieces)))
    start, end = _unfolded(ends, place.start, place.end)
    word = page.text[slice(*_unfolded(ends, near.start, near.end))]
    return PageOutcome.FOUND, Found(
        start=start,
        end=end,
        box=box_of(page, start, end),
        unit=place.unit,
        near=_one_line(word, _LONGEST_WORD),
        snippet=_snippet(page.text, start, end),
    )


def _places(text: str, statement: Statement, words: Vocabulary, language: str | None) -> Iterator[tuple[Place, Needs]]:
    """Every place where the figure is printed or said, with what it needs near it."""
    needs = NEEDS[statement.quantity]
    if statement.quantity is Quantity.OFF_ROAD_FACTOR:
        yield from ((place, needs) for place in factors(text, statement.stated, words, language))
        return
    yield from ((place, needs) for place in masses(text, statement.stated, language))
    if statement.quantity in SAID_NOUGHT and not parse_mass(statement.stated):
        for start, end in words.no_load.places(text):
            yield Place(start, end, None, 2), SAID_NOUGHT[statement.quantity]


# Nearness


def _quoted(text: str, quote: str) -> list[tuple[int, int]]:
    """Where the words of a quote stand in folded text, one after the other, whatever marks and spaces are between."""
    said = _QUOTED_WORD.findall("".join(fold_characters(quote[:_LONGEST_QUOTE])))
    if not said:
        return []
    return [each.span() for each in re.finditer(r"[\W_]{1,40}".join(map(re.escape, said)), text)]


def _best(
    text: str, places: list[tuple[Place, Needs]], words: Vocabulary, quoted: list[tuple[int, int]]
) -> tuple[Place, _Near] | None:
    """The best place that has its words near, with the first of them."""
    lines = _lines(text)
    mentions: dict[frozenset[Group], _Mentions] = {}
    best: tuple[tuple[bool, int, int, int, int], Place, _Near] | None = None
    for place, needs in places:
        near = []
        for groups in needs:
            if groups not in mentions:
                mentions[groups] = _mentions(text, groups, words)
            near.append(_nearest(place, mentions[groups], lines))
        told = [each for each in near if each is not None]
        if len(told) < len(near):
            continue
        elsewhere = not any(start <= place.start and place.end <= end for start, end in quoted)
        order = (elsewhere, place.rank, max(each.distance for each in told), place.start, place.end)
        if best is None or order < best[0]:
            best = order, place, told[0]
    return None if best is None else best[1:]


def _lines(text: str) -> list[int]:
    """Where the lines with text begin."""
    lines = text.split("\n")
    begins = accumulate((len(line) + 1 for line in lines), initial=0)
    return [begin for begin, line in zip(begins, lines, strict=False) if line and not line.isspace()]


def _mentions(text: str, groups: frozenset[Group], words: Vocabulary) -> _Mentions:
    """Where the words of some groups stand."""
    known: dict[str, bool] = {}
    found = set()
    for word in WORD.finditer(text):
        said = word[0]
        if said not in known:
            known[said] = any(words.words[group].match(said) for group in groups)
        if known[said]:
            found.add(word.span())
    for group in groups:
        found.update(words.phrases[group].places(text))
    ordered = sorted(found)
    return _Mentions(tuple(start for start, _ in ordered), tuple(end for _, end in ordered))


def _nearest(place: Place, mentions: _Mentions, lines: list[int]) -> _Near | None:
    """The nearest word to a figure, the one before it if two are as near; None if none is near."""
    after = bisect_left(mentions.starts, place.start)
    near = []
    if after:
        start, end = mentions.starts[after - 1], mentions.ends[after - 1]
        near.append(_Near(max(0, place.start - end), start, end))
    if after < len(mentions.starts):
        start, end = mentions.starts[after], mentions.ends[after]
        if bisect_right(lines, start) - bisect_right(lines, place.end) <= LINES_AFTER:
            near.append(_Near(max(0, start - place.end), start, end))
    return min((each for each in near if each.distance <= REACH), key=lambda each: each.distance, default=None)


# Back to the page


def _unfolded(ends: list[int], start: int, end: int) -> tuple[int, int]:
    """The characters of a page that some of its folded text came from; `ends` says where each one's ends in it."""
    return bisect_right(ends, start), bisect_left(ends, end) + 1


def _one_line(text: str, longest: int) -> str:
    return " ".join(text.split())[:longest]


def _snippet(text: str, start: int, end: int) -> str:
    """The line around some characters, or as much of it on both sides as may be shown."""
    first = max(0, start - LONGEST_SNIPPET, text.rfind("\n", 0, start) + 1)
    last = text.find("\n", end, end + LONGEST_SNIPPET)
    last = min(len(text), end + LONGEST_SNIPPET) if last < 0 else last
    if last - first > LONGEST_SNIPPET:
        spare = max(0, LONGEST_SNIPPET - (end - start))
        first = max(first, min(start - spare // 2, last - LONGEST_SNIPPET))
    return _one_line(text[first:last], LONGEST_SNIPPET)
