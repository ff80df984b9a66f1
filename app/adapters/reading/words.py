"""A line's characters as runs: words, with each number in a run of its own."""

import re
from collections.abc import Iterator
from typing import Final

SOFT_HYPHEN: Final = "\u00ad"
"""Stands where a word is divided between two lines: its halves have places of their own."""

_HAN: Final = "\u2e80-\u2fdf\u3005-\u3007\u3400-\u4dbf\u4e00-\u9fff\uf900-\ufaff\U00020000-\U0003ffff"
_HIRAGANA: Final = "\u3040-\u309f"
_KATAKANA: Final = "\u30a0-\u30ff\u31f0-\u31ff\uff66-\uff9f"
_RUN: Final = re.compile(
    rf"\d+(?:[.,'’]\d+)*|[{_HAN}]+|[{_HIRAGANA}]+|[{_KATAKANA}]+|[^\s\d{_HAN}{_HIRAGANA}{_KATAKANA}{SOFT_HYPHEN}]+"
)

_UNSEEN: Final = {
    number: " "
    for number in (*range(0x20), *range(0x7F, 0xA0), *range(0xD800, 0xE000), 0xFFFF)
    if chr(number) not in "\t\n"
}
_DIVIDING: Final = {0x02: SOFT_HYPHEN, 0xFFFE: SOFT_HYPHEN}
"""How PDFium writes the hyphen of a divided word."""
_SEEN: Final = _UNSEEN | _DIVIDING


def runs_in(line: str) -> Iterator[tuple[int, int]]:
    """From where to where its runs go. A number keeps its separators; Chinese and Japanese, which set no spaces, are
    split where the script changes."""
    for found in _RUN.finditer(line):
        yield found.span()


def seen(text: str) -> str:
    """Text of the same length without control characters and halves of characters."""
    return text.translate(_SEEN)
