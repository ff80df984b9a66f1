"""What to leave behind, told the slow way: every choice there is, one after the other."""

from collections.abc import Sequence
from itertools import product

Pieces = Sequence[tuple[int, int, int]]
"""Places, each with the grams of a piece and how many there are."""

Choice = tuple[tuple[int, int], ...]


def fewest(pieces: Pieces, room: int) -> tuple[int, int, set[Choice]]:
    """The fewest pieces to leave so that the rest has room, what the lightest such choice weighs, and every such choice."""
    found: dict[tuple[int, int], set[Choice]] = {}
    for left in product(*(range(count + 1) for _, _, count in pieces)):
        rest = sum(grams * (count - gone) for (_, grams, count), gone in zip(pieces, left, strict=True))
        if rest <= room:
            weighs = sum(grams * gone for (_, grams, _), gone in zip(pieces, left, strict=True))
            choice = tuple((place, gone) for (place, _, _), gone in zip(pieces, left, strict=True) if gone)
            found.setdefault((sum(left), weighs), set()).add(choice)
    best = min(found)
    return (*best, found[best])
