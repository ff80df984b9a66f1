"""How much the tests try that could go on for ever: random histories, generated cases, odd requests, points at which to die.

The ordinary run tries the same share of them each time, so that it ends while somebody waits. With CANTRAIL_NIGHT=1 there is
all night.
"""

import os
from collections.abc import Sequence
from typing import Final, TypeVar

NIGHT: Final = os.environ.get("CANTRAIL_NIGHT") == "1"

T = TypeVar("T")


def share(of: Sequence[T], one_in: int, turn: int = 0) -> Sequence[T]:
    """One in so many of some things, beginning at another place each turn; all of them where there is all night."""
    return of if NIGHT else of[turn % one_in :: one_in]


def tonight(ordinary: int, at_night: int) -> int:
    """How many of something are tried."""
    return at_night if NIGHT else ordinary
