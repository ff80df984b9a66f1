"""Accessory pages drawn: for each row the interval in which the roof's limit lies by that page, on one scale, with what
the agreeing ones share and the figure that follows.

Across, places are in hundredths of the drawing's width, and letters keep their size however wide the page is. The scale
begins near the lowest figure and not at nought: what tells is whether intervals meet.
"""

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from app.services.views.derivations import DerivationView, RowView, SpanView
from app.web.pages.writing import allowed, carried, number

ROW: Final = 46
HEAD: Final = 34
FOOT: Final = 30
MOST_DRAWN: Final = 40
"""Of more rows, those that tell least are drawn; the table beneath has them all."""
_THINNEST: Final = 0.5
_MOST_TICKS: Final = 6
_LONGEST: Final = 30
_MARGIN: Final = 6.0

PARTS: Final[dict[str, str]] = {
    "agrees": "agrees",
    "self_limited": "left out: the accessory’s own rating",
    "outlier": "does not agree",
    "alone": "stands alone",
}


class Bar(NamedTuple):
    """One row's interval: its place across and down, its label, what it tells, and its part in the outcome."""

    number: int
    name: str
    part: str
    words: str
    said: str
    x: str
    width: str
    y: int


class Tick(NamedTuple):
    """A mark of the scale."""

    x: str
    words: str


class Intervals(NamedTuple):
    """The drawing: its height, its bars, its scale, what agreeing rows share (`shared`, from `x` on), and the figure."""

    height: int
    bars: list[Bar]
    ticks: list[Tick]
    shared_x: str | None
    shared_width: str
    figure_x: str
    figure: str
    figure_end: str
    compared: str
    words: list[str]
    undrawn: int
    summary: str
    unit: str


def intervals(view: DerivationView) -> Intervals | None:
    """The drawing of a derivation from accessory pages; None for one that has no rows."""
    if not view.rows:
        return None
    by = view.outcome if view.outcome != "no_agreement" else view.nearly
    spans = [_told(row, by) for row in view.rows]
    low = min([view.figure, *(span.low for span in spans)])
    high = max([view.figure, *(span.high for span in spans)])
    scale = _Scale(low, high)
    words = PARTS if view.nearly is None else PARTS | {"agrees": "would agree, but for others"}
    lowest = sorted(range(len(spans)), key=lambda place: spans[place].low)[:MOST_DRAWN]
    bars = [
        _bar(place, view.rows[place], spans[place], scale, view.unit, words[view.rows[place].part], down)
        for down, place in enumerate(sorted(lowest))
    ]
    agreeing = [span for row, span in zip(view.rows, spans, strict=True) if row.part == "agrees"]
    shared = _shared(agreeing)
    figure_at = scale.place(view.figure)
    return Intervals(
        height=HEAD + ROW * len(bars) + FOOT,
        bars=bars,
        ticks=[Tick(_hundredths(scale.place(each)), number(each)) for each in scale.ticks()],
        shared_x=None if shared is None else _hundredths(scale.place(shared.low)),
        shared_width="0%" if shared is None else _width(scale.place(shared.low), scale.place(shared.high)),
        figure_x=_hundredths(figure_at),
        figure=f"{'at least ' if view.bound == 'at_least' else ''}{allowed(view.figure)} {view.unit}",
        figure_end="start" if figure_at < 50 else "end",
        compared={"sums_agree": "accessory and load together", "loads_agree": "the load"}.get(
            by or "", "what each tells"
        ),
        words=[words[row.part] for row in view.rows],
        undrawn=len(spans) - len(bars),
        summary=_summary(view, bars, shared),
        unit=view.unit,
    )


def _told(row: RowView, by: str | None) -> SpanView:
    """What is held against the other rows: accessory and load together, or the load, or what the row tells by itself."""
    match by:
        case "sums_agree":
            return row.together
        case "loads_agree":
            return row.load
        case _:
            return row.together if row.leaves_out else row.load


def _bar(place: int, row: RowView, span: SpanView, scale: "_Scale", unit: str, words: str, down: int) -> Bar:
    left, right = scale.place(span.low), scale.place(span.high)
    name = row.accessory if len(row.accessory) <= _LONGEST else f"{row.accessory[: _LONGEST - 1]}…"
    return Bar(
        place + 1,
        name,
        row.part,
        words,
        said_span(span, unit),
        _hundredths(left),
        _width(left, right),
        HEAD + ROW * down,
    )


def said_span(span: SpanView, unit: str = "") -> str:
    """An interval in words, with its unit where one is given."""
    low, high = allowed(span.low), carried(span.high)
    ends = low if low == high else f"{low} to {high}"
    return f"{ends} {unit}" if unit else ends


def _shared(spans: Sequence[SpanView]) -> SpanView | None:
    """What all of some intervals share."""
    if not spans:
        return None
    low, high = max(span.low for span in spans), min(span.high for span in spans)
    return SpanView(low, high) if low <= high else None


def _summary(view: DerivationView, bars: Sequence[Bar], shared: SpanView | None) -> str:
    """The drawing in a few sentences, for whoever does not see it."""
    rows = [f"Row {bar.number}, {bar.name}: {bar.said}, {bar.words}." for bar in bars[:12]]
    further = len(view.rows) - len(rows)
    told = [*rows, *([f"And {further} more, in the table below."] if further else [])]
    if shared is not None:
        told.append(f"The agreeing rows share {said_span(shared, view.unit)}.")
    bound = "at least " if view.bound == "at_least" else ""
    return " ".join([*told, f"Figure: {bound}{allowed(view.figure)} {view.unit}."])


class _Scale:
    """From masses to hundredths of the width."""

    def __init__(self, low: float, high: float) -> None:
        room = max((high - low) * 0.08, 0.5)
        self._low = max(0.0, low - room)
        self._high = high + room

    def place(self, mass: float) -> float:
        """Where a mass stands."""
        return _MARGIN + (100 - 2 * _MARGIN) * (mass - self._low) / (self._high - self._low)

    def ticks(self) -> list[float]:
        """Round masses on the scale, a few of them."""
        step = 10.0 ** math.floor(math.log10(self._high - self._low))
        step = next(
            step * times
            for times in (0.1, 0.2, 0.5, 1, 2, 5)
            if math.floor(self._high / (step * times)) - math.ceil(self._low / (step * times)) < _MOST_TICKS
        )
        first = math.ceil(self._low / step)
        return [round(step * each, 6) for each in range(first, math.floor(self._high / step) + 1)]


def _width(left: float, right: float) -> str:
    return _hundredths(max(_THINNEST, right - left))


def _hundredths(place: float) -> str:
    return f"{place:.2f}%"
