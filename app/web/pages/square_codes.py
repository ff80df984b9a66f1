"""Square codes (QR) as what a page draws them from: a strict policy lets no style through that a library would write."""

from typing import Final, NamedTuple

import segno

QUIET: Final = 4
"""The light margin that a reader needs, in modules."""


class SquareCode(NamedTuple):
    """A square code: so many modules wide, and its dark ones as a path."""

    size: int
    path: str


def square_code(text: str) -> SquareCode:
    """A text as a square code."""
    rows = [list(row) for row in segno.make(text, error="m", micro=False).matrix_iter(border=QUIET)]
    return SquareCode(len(rows), "".join(_runs(y, row) for y, row in enumerate(rows)))


def _runs(y: int, row: list[int]) -> str:
    """The dark stretches of one row."""
    drawn, start = [], None
    for x, dark in enumerate([*row, 0]):
        if dark and start is None:
            start = x
        elif not dark and start is not None:
            drawn.append(f"M{start} {y}h{x - start}v1H{start}z")
            start = None
    return "".join(drawn)
