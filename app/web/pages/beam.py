"""The beam: all that stands on a roof along one scale, and every line that limits it. Drawn as data for a template.

Pure: from masses and names to rectangles, lines and texts in the units of a view box. What does not fit is shortened, or
left to the legend below.
"""

import math
from collections.abc import Iterator
from typing import Final

from app.web.pages.beam_flags import FLAG_STEP, flags, ruled
from app.web.pages.beam_shapes import (
    EDGE,
    FIGURE_SIZE,
    NAME_SIZE,
    PAD,
    THICK,
    Box,
    Drawing,
    Load,
    Rule,
    Scale,
    Text,
    fitted,
    measured,
    neat,
)
from app.web.pages.writing import allowed, carried, number

GAP: Final = 1.6
INSIDE: Final = 6.0
MOST_TOLD: Final = 12


def drawing(load: Load, *, narrow: bool) -> Drawing:
    """A beam for a wide screen or for a narrow one."""
    width = 360.0 if narrow else 1040.0
    scale = Scale(load, width)
    flagged = flags(load, scale, narrow=narrow)
    top = 14.0 + FLAG_STEP * flagged.levels
    axis = top + THICK + PAD
    boxes, backs, labels = _stretches(load, scale, top)
    ticks, figures = _ticks(load, scale, axis, most=4 if narrow else 8)
    rules = tuple(ruled(each, axis) for each in flagged.rules)
    return Drawing(
        name="narrow" if narrow else "wide",
        width=width,
        height=axis + 36,
        top=top,
        title=f"What is on the roof, in {'pounds' if load.unit == 'lb' else 'kilograms'}",
        description=described(load),
        boxes=boxes,
        backs=backs,
        rules=(*ticks, *rules),
        texts=(*figures, *labels, *flagged.texts),
        axis=axis,
    )


def described(load: Load) -> str:
    """A beam in words."""
    parts = [f"Rack {carried(load.rack)}"] if load.rack else []
    parts += [f"{each.name} {carried(each.mass)}" for each in load.things[:MOST_TOLD]]
    more = len(load.things) - MOST_TOLD
    told = ", ".join([*parts, *([f"and {more} more"] if more > 0 else [])]) or "Nothing"
    total = f"{told}: {carried(load.total)} {load.unit} on the roof."
    stop = load.stop
    if stop is None or not load.known:
        return f"{total} What it may carry is not known."
    left = neat(stop - load.total)
    end = f"{allowed(left)} {load.unit} left" if left >= 0 else f"over by {carried(-left)} {load.unit}"
    return f"{total} It may be {allowed(stop)} {load.unit}: {end}."


def _ticks(load: Load, scale: Scale, axis: float, *, most: int) -> tuple[list[Rule], list[Text]]:
    step = _step(scale.end / most)
    rules, texts = [], []
    unit = measured(load.unit, FIGURE_SIZE, mono=True) + 10
    # In whole steps: adding up fractions would drift away from round figures.
    for place in range(int(scale.end / (step / 5)) + 1):
        x = scale.at(place * step / 5)
        long = place % 5 == 0
        rules.append(Rule(x, axis, axis + (12 if long else 6), "tick"))
        if not long:
            continue
        text = number(neat(place // 5 * step))
        half = measured(text, FIGURE_SIZE, mono=True) / 2
        if place == 0:
            texts.append(Text(x, axis + 28, text, "num"))
        elif x + half < scale.width - EDGE - unit:
            texts.append(Text(x, axis + 28, text, "num", "middle"))
    texts.append(Text(scale.width - EDGE, axis + 28, load.unit, "num", "end"))
    return rules, texts


def _step(about: float) -> float:
    """A round step near an amount."""
    power = 10.0 ** math.floor(math.log10(about))
    return next(each for each in (power, 2 * power, 2.5 * power, 5 * power, 10 * power) if each >= about * 0.999)


# The stretches


def _stretches(load: Load, scale: Scale, top: float) -> tuple[tuple[Box, ...], tuple[Box, ...], list[Text]]:
    """The beam itself: its boxes, what lies behind letters on hatching, and the letters."""
    boxes: list[Box] = []
    backs: list[Box] = []
    texts: list[Text] = []
    stop = load.stop if load.known else None
    end = load.total if stop is None else min(load.total, max(0.0, stop))
    for name, start, after, style in _spans(load):
        x, till = scale.at(min(start, end)), scale.at(min(after, end))
        width = max(0.0, till - x - (GAP if till - x > 2 * GAP else 0.0))
        if width <= 0:
            continue
        boxes.append(Box(x, round(width, 1), style))
        inside = _inside(name, carried(after - start), x, width, top)
        texts.extend(inside)
        if style == "carrier" and inside:
            needed = max(measured(each.text, _size(each), mono=each.style != "lab") for each in inside) + 14
            backs.append(Box(inside[0].x - 6, round(min(needed, width - 4), 1), "label-bg"))
    boxes.extend(_beyond(load, scale, stop, end))
    texts.extend(_told(load, scale, stop, top))
    return tuple(boxes), tuple(backs), texts


def _spans(load: Load) -> Iterator[tuple[str, float, float, str]]:
    at = load.rack
    if load.rack:
        yield "rack", 0.0, load.rack, "carrier"
    for place, thing in enumerate(load.things):
        yield thing.name, at, at + thing.mass, "b" if place % 2 else "a"
        at += thing.mass


def _inside(name: str, figure: str, x: float, width: float, top: float) -> list[Text]:
    """What stands in a box: its name above its figure, or the figure alone, or nothing."""
    room = width - 2 * INSIDE
    shown = fitted(name, room, NAME_SIZE)
    high = top + 22
    if measured(figure, FIGURE_SIZE, mono=True) <= room and shown:
        return [Text(x + INSIDE, high, shown, "lab"), Text(x + INSIDE, high + 18, figure, "num in")]
    if measured(figure, FIGURE_SIZE, mono=True) <= width - 6:
        return [Text(x + 4, top + 34, figure, "num in")]
    return []


def _beyond(load: Load, scale: Scale, stop: float | None, end: float) -> Iterator[Box]:
    """What is left, or what is too much beyond the line; and how far all of it may reach."""
    if stop is None:
        yield Box(scale.at(end), round(scale.at(scale.end) - scale.at(end), 1), "open")
        return
    till = scale.at(load.total)
    if load.total > stop:
        yield Box(scale.at(end), round(max(2.0, till - scale.at(end)), 1), "over")
    elif scale.at(stop) - till > 2:
        yield Box(till, round(scale.at(stop) - till, 1), "left")
    if load.worst > load.total:
        yield Box(till, round(max(2.0, scale.at(load.worst) - till), 1), "worst")


def _told(load: Load, scale: Scale, stop: float | None, top: float) -> Iterator[Text]:
    """How much is left, or that nobody knows, where there is room to say so."""
    start = scale.at(load.total)
    text = "limit not known" if stop is None else f"{allowed(stop - load.total)} left"
    # Letters stand before the next line, never across one.
    ends = [scale.at(mark.at) for mark in load.marks if mark.at > load.total]
    end = min([scale.at(scale.end), *ends]) if stop is None else scale.at(stop)
    if (stop is None or stop > load.total) and measured(text, NAME_SIZE) <= end - start - 18:
        yield Text(start + 9, top + 32, text, "lab room")


def _size(text: Text) -> float:
    return NAME_SIZE if text.style == "lab" else FIGURE_SIZE
