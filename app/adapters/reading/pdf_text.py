"""A PDF page's layer of text: what it says in reading order, and where its words stand on the page as it is shown."""

from collections.abc import Callable
from ctypes import byref, c_double
from math import ceil, floor
from typing import Final

import pypdfium2.raw as pdfium

from app.adapters.reading.words import runs_in, seen
from app.core.pages import Box, Page, Run

_WHOLE: Final = 10_000
_BREAK: Final = "\r\n"

Corners = tuple[float, float, float, float]
"""Left, bottom, right and top, in points from the bottom left."""


def text_of(page: object, layer: object) -> Page:
    """The text of a page. Words of it that lie outside of what is shown have no place."""
    text, places = _characters(layer)
    around, shown = _surveying(layer), _showing(page)
    lines: list[str] = []
    runs: list[Run] = []
    read = written = 0
    for line in text.split(_BREAK):
        lines.append(seen(line))
        for start, end in runs_in(lines[-1]):
            corners = around(places[read + start], places[read + end - 1])
            box = None if corners is None else shown(corners)
            if box is not None:
                runs.append(Run(written + start, written + end, box))
        read += len(line) + len(_BREAK)
        written += len(line) + 1
    whole = "\n".join(lines)
    return Page(whole, tuple(runs)) if whole.strip() else Page("")


def _characters(layer: object) -> tuple[str, range | list[int]]:
    """A layer's text, and for each of its characters PDFium's number of it: it numbers some that it does not give."""
    count = pdfium.FPDFText_CountChars(layer)
    if count <= 0:
        return "", range(0)
    units = (pdfium.c_ushort * (2 * count + 2))()
    given = pdfium.FPDFText_GetText(layer, 0, count, units) - 1
    text = bytes(units)[: 2 * max(given, 0)].decode("utf-16-le", "replace")
    if len(text) == count:
        return text, range(count)
    return text, [pdfium.FPDFText_GetCharIndexFromTextIndex(layer, index) for index in range(len(text))]


def _surveying(layer: object) -> Callable[[int, int], Corners | None]:
    """From some characters to the smallest rectangle around them; None where they have no extent."""
    left, top, right, bottom = c_double(), c_double(), c_double(), c_double()
    # A page has hundreds of words: what does not change from one to the next is made once.
    sides = byref(left), byref(top), byref(right), byref(bottom)
    count, get = pdfium.FPDFText_CountRects, pdfium.FPDFText_GetRect

    def around(first: int, last: int) -> Corners | None:
        found = [
            (left.value, bottom.value, right.value, top.value)
            for number in range(count(layer, first, last - first + 1))
            if get(layer, number, *sides)
        ]
        if len(found) < 2:
            return found[0] if found else None
        lefts, bottoms, rights, tops = zip(*found, strict=True)
        return min(lefts), min(bottoms), max(rights), max(tops)

    return around


def _showing(page: object) -> Callable[[Corners], Box | None]:
    """From a rectangle to its box on the page as shown: cut to the crop box and turned; None where nothing of it is."""
    cut = pdfium.FS_RECTF()
    pdfium.FPDF_GetPageBoundingBox(page, cut)
    turned = pdfium.FPDFPage_GetRotation(page)
    across, up = _WHOLE / max(cut.right - cut.left, 1e-6), _WHOLE / max(cut.top - cut.bottom, 1e-6)

    def shown(corners: Corners) -> Box | None:
        left, right = (corners[0] - cut.left) * across, (corners[2] - cut.left) * across
        low, high = (corners[1] - cut.bottom) * up, (corners[3] - cut.bottom) * up
        match turned:
            case 1:
                sides = low, left, high, right
            case 2:
                sides = _WHOLE - right, low, _WHOLE - left, high
            case 3:
                sides = _WHOLE - high, _WHOLE - right, _WHOLE - low, _WHOLE - left
            case _:
                sides = left, _WHOLE - high, right, _WHOLE - low
        return _clamped(*sides)

    return shown


def _clamped(left: float, top: float, right: float, bottom: float) -> Box | None:
    if not (left < _WHOLE and top < _WHOLE and right > 0 and bottom > 0):
        return None
    return Box(floor(max(0, left)), floor(max(0, top)), ceil(min(_WHOLE, right)), ceil(min(_WHOLE, bottom)))
