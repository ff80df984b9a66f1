"""Ask for many things by their ids without asking for more at once than a database takes."""

from collections.abc import Iterator, Sequence
from typing import Final, TypeVar

Each = TypeVar("Each")

AT_ONCE: Final = 500
"""So many parameters at once, at most, are asked with."""


def in_batches(wanted: Sequence[Each], *, most: int = AT_ONCE) -> Iterator[list[Each]]:
    """What is wanted, in its order, so much at a time."""
    for start in range(0, len(wanted), most):
        yield list(wanted[start : start + most])
