"""A document's pages as text: what stands where, so that a figure can be looked for and shown in its place."""

from enum import StrEnum

import msgspec


class Box(msgspec.Struct, frozen=True, array_like=True):
    """A place on a page, from its top left corner, in ten-thousandths of its width and height."""

    left: int
    top: int
    right: int
    bottom: int


class Run(msgspec.Struct, frozen=True, array_like=True):
    """The characters of a page's text from `start` up to `end`, and where they stand: a word, or a number in one."""

    start: int
    end: int
    box: Box


class Page(msgspec.Struct, frozen=True):
    """One page: its text in reading order, and where its words stand, in the order of the text. A page without
    geometry (a web page) has no runs; one without text (a photograph that nobody could read) has neither."""

    text: str
    runs: tuple[Run, ...] = ()


class PageOutcome(StrEnum):
    """What the machine's look at a cited page came to: `apart` where the figure is printed, but not near its words."""

    FOUND = "found"
    APART = "apart"
    NOT_FOUND = "not_found"
    NO_TEXT = "no_text"


def box_of(page: Page, start: int, end: int) -> Box | None:
    """The smallest box around some of a page's characters, or None where their place is not known."""
    boxes = [run.box for run in page.runs if run.start < end and run.end > start]
    if not boxes:
        return None
    return Box(
        min(box.left for box in boxes),
        min(box.top for box in boxes),
        max(box.right for box in boxes),
        max(box.bottom for box in boxes),
    )
