"""Which of very many names may be like some words: those that share most of their groups of three letters. Comparing the
words with each of a hundred thousand names would take longer than anything else that a page does."""

from array import array
from collections import Counter
from collections.abc import Iterable
from typing import Final

from rapidfuzz import utils

MOST: Final = 2000
"""So many names are compared with the words; where there are no more than these, all are."""

COMMON: Final = 5
"""What is in more than one of so many names tells few of them apart: it is looked at only where nothing else is there."""


class NameIndex:
    """Names in the order in which they were added, in small letters and without signs, by the groups of three letters in
    them."""

    def __init__(self) -> None:
        self._names: list[str] = []
        self._having: dict[str, array[int]] = {}

    def __len__(self) -> int:
        return len(self._names)

    def __getitem__(self, place: int) -> str:
        return self._names[place]

    def add(self, name: str) -> None:
        """Take in another name."""
        place = len(self._names)
        plain = utils.default_process(name)
        self._names.append(plain)
        for group in _groups(plain):
            self._having.setdefault(group, array("I")).append(place)

    def rename(self, place: int, name: str) -> None:
        """Call what stands at a place by another name."""
        plain = utils.default_process(name)
        before, after = _groups(self._names[place]), _groups(plain)
        self._names[place] = plain
        for group in before - after:
            self._having[group].remove(place)
        for group in after - before:
            self._having.setdefault(group, array("I")).append(place)

    def near(self, words: str, among: Iterable[int] | None = None) -> list[int]:
        """The places of the names that may be like some words, so many at most; of those at some places."""
        allowed = None if among is None else set(among)
        if len(allowed if allowed is not None else self._names) <= MOST:
            return sorted(allowed) if allowed is not None else list(range(len(self._names)))
        lists = [self._having[group] for group in _groups(utils.default_process(words)) if group in self._having]
        telling = [each for each in lists if len(each) * COMMON <= len(self._names)] or lists
        shared: Counter[int] = Counter()
        for each in telling:
            shared.update(each if allowed is None else allowed.intersection(each))
        return sorted(shared, key=shared.__getitem__, reverse=True)[:MOST]


def _groups(text: str) -> set[str]:
    """The groups of three letters in a plain text's words, with a blank before and behind each word."""
    padded = [f" {word} " for word in text.split()]
    return {word[start : start + 3] for word in padded for start in range(len(word) - 2)}
