"""The lines across a beam and what they are called: names that collide with nothing and overflow nowhere."""

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Final

import msgspec

from app.web.pages.beam_shapes import (
    BINDING_SIZE,
    EDGE,
    NAME_SIZE,
    PAD,
    Kind,
    Load,
    Mark,
    Rule,
    Scale,
    Text,
    fitted,
    measured,
)

FLAG_STEP: Final = 26.0
MOST_FLAGS: Final = 6
MOST_LINES: Final = 24


class _Flag(msgspec.Struct, frozen=True):
    """A line, on which level of letters it begins."""

    x: float
    level: int
    style: str


class Flags(msgspec.Struct, frozen=True):
    """The lines with their names: how many levels of letters there are above the beam."""

    levels: int
    rules: tuple[_Flag, ...]
    texts: tuple[Text, ...]


def ruled(flag: _Flag, axis: float) -> Rule:
    """The line of a flag, down to the axis."""
    return Rule(flag.x, 6.0 + FLAG_STEP * flag.level, axis, f"lim {flag.style}".strip())


def flags(load: Load, scale: Scale, *, narrow: bool) -> Flags:
    """Each line's name on a level of its own, the line furthest out on top: then a name to the left of its line crosses
    no other one. What stands off the drawing is told at its edge, above everything."""
    inside = [mark for mark in load.marks if scale.holds(mark.at)]
    beyond = [mark for mark in load.marks if not scale.holds(mark.at)]
    named = _named(inside)
    level = 1 if beyond else 0
    rules: list[tuple[Mark, float, int | None]] = []
    texts: list[Text] = []
    if beyond:
        edge = _edge_text(beyond, scale.width - 2 * EDGE, narrow=narrow)
        texts.append(Text(scale.width - EDGE, 18.0, edge, "flag trap", "end"))
    further = scale.width - EDGE
    for mark in named:
        x = scale.at(mark.at)
        text = _flag_text(mark, x, further, level, narrow=narrow)
        if text is None and mark.kind is not Kind.BINDING:
            rules.append((mark, x, None))
            continue
        if text is not None:
            texts.append(text)
        rules.append((mark, x, level))
        further = x
        level += 1
    rules.extend((mark, scale.at(mark.at), None) for mark in inside if mark not in named)
    levels = max(level, 1)
    drawn = tuple(
        _Flag(x, levels if at is None else at, "" if mark.kind is Kind.LIMIT else mark.kind) for mark, x, at in rules
    )
    return Flags(levels, drawn, tuple(texts))


def _named(marks: Sequence[Mark]) -> list[Mark]:
    """The lines that get names: the one that stops the load, the sticker, and the nearest others; furthest out first."""
    order = {Kind.BINDING: 0, Kind.STICKER: 1, Kind.LIMIT: 2}
    chosen = sorted(marks, key=lambda mark: (order[mark.kind], mark.at))[:MOST_FLAGS]
    return sorted(chosen, key=lambda mark: (-mark.at, order[mark.kind] != 0))


def _flag_text(mark: Mark, x: float, further: float, level: int, *, narrow: bool) -> Text | None:
    """A line's name to its left, or to its right before the next line that reaches higher, at length or in short."""
    size = BINDING_SIZE if mark.kind is Kind.BINDING else NAME_SIZE
    y = 18.0 + FLAG_STEP * level
    style = f"flag {mark.kind}"
    names = (mark.short, mark.brief, _figure(mark))
    for name in filter(None, names if narrow else (mark.name, *names)):
        width = measured(name, size)
        if width <= x - EDGE - PAD:
            return Text(round(x - PAD, 1), y, name, style, "end")
        if width <= further - x - 2 * PAD:
            return Text(round(x + PAD, 1), y, name, style)
    left, right = x - EDGE - PAD, further - x - 2 * PAD
    shown = fitted(mark.short, max(left, right), size)
    if not shown:
        return None
    return (
        Text(round(x - PAD, 1), y, shown, style, "end") if left >= right else Text(round(x + PAD, 1), y, shown, style)
    )


def _figure(mark: Mark) -> str:
    """A line's figure by itself, where there is room for nothing more: cut off in its middle it would be another one. A
    bound is never left away."""
    _, _, figure = mark.short.rpartition(" ")
    return "" if " at " in mark.short else figure


def _edge_text(beyond: Sequence[Mark], room: float, *, narrow: bool) -> str:
    first = min(beyond, key=lambda mark: mark.at)
    more = f" and {len(beyond) - 1} more" if len(beyond) > 1 else ""
    long = f"further out: {first.short if narrow else first.name}{more} \N{RIGHTWARDS ARROW}"
    return fitted(long, room, NAME_SIZE) or "\N{RIGHTWARDS ARROW}"


def apart(marks: Iterable[Mark]) -> tuple[Mark, ...]:
    """Lines that stand at one place as one line, called by the most telling of them."""
    order = {Kind.BINDING: 0, Kind.STICKER: 1, Kind.LIMIT: 2}
    found = sorted(marks, key=lambda mark: (mark.at, order[mark.kind]))[:MOST_LINES]
    kept = found[:1]
    for before, mark in pairwise(found):
        if mark.at != before.at:
            kept.append(mark)
    return tuple(kept)
