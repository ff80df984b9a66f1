"""The ladder of points: a claim's confidence drawn as its points added up, one rung after the other, so that it can be
checked by hand.

Every place is in hundredths of the drawing's width: the drawing is as wide as its page, and its bars line up from row to
row. A rung begins where the one before it ended.
"""

import math
from collections.abc import Callable, Sequence
from typing import Final, NamedTuple

from app.core.confidence import SETS_AT
from app.services.views.claims import ConfidenceView
from app.web.pages.writing import MINUS

SETS_AT_POINTS: Final = math.log(SETS_AT / (1 - SETS_AT))
"""So many points come to a confidence of 0.80."""

_MARGIN: Final = 2.0
_THINNEST: Final = 0.8
_NEAR_THE_END: Final = 88

RUNGS: Final[dict[str, str]] = {
    "source.manual_page": "page of the maker’s own handbook",
    "source.maker_statement": "statement of the maker or its importer",
    "source.accessory_derived": "worked back from what is published for accessories",
    "source.unverified": "an unverified word",
    "artefact.held": "the page is held",
    "artefact.not_held": "cited, but the page is not held",
    "artefact.nothing_cited": "nothing is cited",
    "reading.found": "the machine found the figure on the page, near its words",
    "reading.not_found": "the page has text, and the figure is not on it",
    "scope.speaks": "speaks on years, bodies and roofs",
    "scope.silent": "says nothing of years, bodies or roofs",
    "basis.stated": "says whether the rack counts",
    "agreement.second_root": "a second independent source agrees",
    "agreement.third_root": "a third independent source agrees",
    "agreement.fourth_root": "a fourth independent source agrees",
    "contradiction.lower_root": "an independent source says less",
    "blind.first_match": "first blind reading agrees",
    "blind.second_match": "second blind reading agrees",
    "blind.mismatch": "a blind reading differs",
    "plausibility.roof_above_400_kg": "more than 400 kg on a roof is hard to believe",
    "age.past_review": "past its review date",
    "age.further_year": "further years past its review date",
}
CAPS: Final[dict[str, str]] = {
    "unverified": "an unverified word",
    "no_approval": "no reviewer has approved it",
    "one_approval": "one reviewer has approved it, and it takes two",
    "not_held": "no page of it is held",
    "past_review_by_a_year": "its review is a year overdue",
    "disputed": "disputed, and not settled",
    "repeats_carrier_rating": "it only repeats the rating of a rack that fits this vehicle",
    "accessory_derived": "worked back from accessories",
    "sums_agree": "worked back from accessories, three or more of which agree",
    "parked_multiple": "a guess by a multiple",
    "weakest_input": "no more certain than the weakest of what it is worked back from",
}


class Rests(NamedTuple):
    """What a row rests on, in a few words, and where that is."""

    words: str
    href: str


class Rung(NamedTuple):
    """One row: its words, its points, on what it rests, and its bar from `x` on; `below` is whether it takes away."""

    code: str
    words: str
    points: float
    rests: list[Rests]
    x: str
    width: str
    below: bool


class Held(NamedTuple):
    """A cap in words, whether it is the one that holds the confidence down, and if not, why not."""

    words: str
    at_most: float
    holds: bool
    why_not: str


class Ladder(NamedTuple):
    """A confidence as a ladder: its rungs, the bar of their sum, the places of nought and of what a claim needs to set,
    and the caps, the lowest first."""

    rungs: list[Rung]
    total: Rung
    nought: str
    needed: str
    needed_anchor: str
    caps: list[Held]
    sum: float
    uncapped: float
    confidence: float


def ladder(view: ConfidenceView, rests: Callable[[str], list[Rests]] = lambda _: []) -> Ladder:
    """A claim's confidence as a ladder. `rests` tells on what a row rests that names something."""
    stops = [0.0]
    for point in view.points:
        stops.append(stops[-1] + point.points)
    place = _scale([*stops, SETS_AT_POINTS])
    rungs = [
        _rung(
            point.code,
            rung(point.code),
            stops[row],
            stops[row + 1],
            rests(point.about) if point.about else [],
            place,
        )
        for row, point in enumerate(view.points)
    ]
    total = _rung("sum", "together", 0.0, view.sum, [], place)
    capped = view.confidence < view.uncapped
    caps = sorted(view.caps, key=lambda each: each.at_most)
    return Ladder(
        rungs,
        total,
        _hundredths(place(0.0)),
        _hundredths(place(SETS_AT_POINTS)),
        "end" if place(SETS_AT_POINTS) > _NEAR_THE_END else "middle",
        [
            Held(
                held_by(each.code),
                each.at_most,
                capped and each is caps[0],
                "not reached" if each.at_most >= view.uncapped else "a lower one holds",
            )
            for each in caps
        ],
        view.sum,
        view.uncapped,
        view.confidence,
    )


def rung(code: str) -> str:
    """What gives points or takes them, in words."""
    return RUNGS.get(code, code)


def held_by(code: str) -> str:
    """What caps a confidence, in words."""
    return CAPS.get(code, code)


def _rung(
    code: str, words: str, begins: float, ends: float, rests: list[Rests], place: Callable[[float], float]
) -> Rung:
    left, right = sorted((place(begins), place(ends)))
    if right - left < _THINNEST:
        left = max(0.0, min(left, 100 - _THINNEST))
        right = left + _THINNEST
    return Rung(
        code, words, round(ends - begins, 6), rests, _hundredths(left), _hundredths(right - left), below=ends < begins
    )


def _scale(stops: Sequence[float]) -> Callable[[float], float]:
    """Where a sum stands, in hundredths of the width. Nought and what a claim needs to set are always within."""
    low, high = min(stops), max(stops)
    return lambda points: _MARGIN + (100 - 2 * _MARGIN) * (points - low) / (high - low)


def exactly(points: float) -> str:
    """Points with a sign and as many decimals as it takes to add them up by hand: one, and four at most."""
    whole, _, decimals = f"{abs(points):.4f}".partition(".")
    return f"{MINUS if points < 0 else '+'}{whole}.{decimals.rstrip('0') or '0'}"


def _hundredths(place: float) -> str:
    return f"{place:.2f}%"
