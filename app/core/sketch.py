"""A sketch of a text: a few numbers, of which near copies share most. It says which texts are worth comparing.

The numbers are the lowest hashes of the text's runs of words (Broder, "On the resemblance and containment of
documents", 1997: from memory): two texts share as large a part of them as they share of their runs.
"""

import hashlib
from typing import Final

RUN: Final = 6
"""How many words stand in a run."""

NUMBERS: Final = 32
"""How many numbers a sketch has at most."""

WORTH_COMPARING: Final = 6
"""From how many shared numbers on two texts are worth comparing word by word."""


def sketch(text: str) -> tuple[int, ...]:
    """The sketch of a text: empty where it has too few words to tell copies by."""
    words = text.casefold().split()
    runs = {" ".join(words[start : start + RUN]) for start in range(len(words) - RUN + 1)}
    # 48 bits fit every database's integer, and JSON's exact numbers.
    numbers = {int.from_bytes(hashlib.sha256(run.encode()).digest()[:6]) for run in runs}
    return tuple(sorted(numbers)[:NUMBERS])
