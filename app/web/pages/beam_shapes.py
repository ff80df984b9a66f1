"""What a beam is made of: the load that is drawn, its scale, the shapes on the drawing, and how wide letters are.

Letters are measured on the wide side, so that what is drawn fits in whatever face the reader has.
"""

import unicodedata
from enum import StrEnum
from typing import Final

import msgspec

EDGE: Final = 8.0
PAD: Final = 8.0
THICK: Final = 54.0
FARTHEST: Final = 3.0
"""What stands further out than so many times the load and its limit is not drawn to scale: it is told at the edge."""

UNSAID: Final = 100.0
"""How long the scale is about, where nothing is known that could stand on it."""

NAME_SIZE: Final = 15.0
FIGURE_SIZE: Final = 13.0
BINDING_SIZE: Final = 18.0
SHORTEST: Final = 4
"""A name is shortened to no fewer letters."""


class Kind(StrEnum):
    """What a line across the beam is."""

    LIMIT = "limit"
    BINDING = "bind"
    STICKER = "trap"


class Thing(msgspec.Struct, frozen=True):
    """Something carried: its name, and how heavy all of it is at most."""

    name: str
    mass: float


class Mark(msgspec.Struct, frozen=True):
    """A line across the beam: where it stands on the scale, and what it is called: at length, in short, and where there
    is no room for that."""

    at: float
    name: str
    short: str
    kind: Kind = Kind.LIMIT
    brief: str = ""


class Load(msgspec.Struct, frozen=True):
    """What is drawn: the rack with what holds it, each thing in order, how heavy all may be at worst, and the lines."""

    unit: str
    rack: float
    things: tuple[Thing, ...]
    worst: float
    marks: tuple[Mark, ...]
    known: bool = True

    @property
    def total(self) -> float:
        """All that is on the roof."""
        return self.rack + sum(each.mass for each in self.things)

    @property
    def stop(self) -> float | None:
        """Where the load must end, if that is known."""
        return min((mark.at for mark in self.marks if mark.kind is Kind.BINDING), default=None)


class Box(msgspec.Struct, frozen=True):
    """A stretch of the beam."""

    x: float
    width: float
    style: str


class Text(msgspec.Struct, frozen=True):
    """Letters at a place."""

    x: float
    y: float
    text: str
    style: str
    anchor: str = "start"


class Rule(msgspec.Struct, frozen=True):
    """A line from top to bottom."""

    x: float
    top: float
    bottom: float
    style: str


class Drawing(msgspec.Struct, frozen=True):
    """A beam, ready to be put into a template."""

    name: str
    width: float
    height: float
    top: float
    title: str
    description: str
    boxes: tuple[Box, ...]
    backs: tuple[Box, ...]
    rules: tuple[Rule, ...]
    texts: tuple[Text, ...]
    axis: float
    thick: float = THICK


class Scale:
    """From masses to places on the drawing."""

    def __init__(self, load: Load, width: float) -> None:
        heaviest = max(load.total, load.worst, load.stop or 0.0)
        marked = [mark.at for mark in load.marks]
        if heaviest <= 0:
            heaviest = min((each for each in marked if each > 0), default=UNSAID)
        drawn = [each for each in marked if each <= heaviest * FARTHEST]
        self.end = max([heaviest, *drawn]) * 1.06
        if load.stop is None and not drawn:
            self.end = heaviest * 1.6
        self.width = width
        self._per = (width - 2 * EDGE) / self.end

    def at(self, mass: float) -> float:
        """Where a mass stands."""
        return round(EDGE + max(0.0, mass) * self._per, 1)

    def holds(self, mass: float) -> bool:
        """Whether it stands on the drawing at all."""
        return mass <= self.end


_NARROW: Final = frozenset("iljtfr.,:;'|!()[]’ ")
_WIDE: Final = frozenset("mMW@%#…")


def measured(text: str, size: float, *, mono: bool = False) -> float:
    """How wide letters are at most."""
    if mono:
        return len(text) * size * 0.66
    return sum(_em(letter) for letter in text) * size


def _em(letter: str) -> float:
    if letter in _NARROW:
        return 0.42
    if letter in _WIDE:
        return 0.98
    if unicodedata.east_asian_width(letter) in {"W", "F"} or not letter.isascii():
        return 1.05
    return 0.79 if letter.isupper() or letter in "w&" else 0.62


def fitted(text: str, room: float, size: float) -> str:
    """A text, shortened to fit; empty where too little of it would be left."""
    if measured(text, size) <= room:
        return text
    shown = text
    while len(shown) >= SHORTEST and measured(f"{shown}…", size) > room:
        shown = shown[:-1]
    return f"{shown.rstrip()}…" if len(shown) >= SHORTEST else ""


def neat(value: float) -> float:
    """Without the dust that sums of floats leave."""
    return round(value, 3)
