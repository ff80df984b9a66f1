"""What is wrong with a registry, found one thing after another: each says where and what."""

from collections.abc import Callable
from typing import Final

import msgspec

Progress = Callable[[str, int, int], None]
"""Told what is looked at, how much of it is done, and of how much."""

MOST_TOLD: Final = 100
"""How many findings of one check are listed; the others are counted."""


class Finding(msgspec.Struct, frozen=True):
    """One thing that is wrong: where, and what."""

    where: str
    what: str


class Check(msgspec.Struct, frozen=True):
    """One thing that was looked at: how many there are, how many things are wrong, and the first of these."""

    name: str
    looked_at: int
    wrong: int
    findings: tuple[Finding, ...] = ()


class Findings:
    """One check while it is made."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.looked_at = 0
        self.wrong = 0
        self._told: list[Finding] = []

    def add(self, where: str, what: str) -> None:
        """Something is wrong."""
        self.wrong += 1
        if len(self._told) < MOST_TOLD:
            self._told.append(Finding(where, what))

    def check(self) -> Check:
        """The check, done."""
        return Check(self.name, self.looked_at, self.wrong, tuple(self._told))


def nothing_told(_what: str, _done: int, _of: int) -> None:
    """For those who want to be told of no progress."""
