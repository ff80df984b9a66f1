"""What the registry asks of the process that reads a file, and what that answers: JSON in an argument, the file over
standard input, MessagePack over standard output."""

from enum import StrEnum
from typing import Final

import msgspec

MOST_PAGES: Final = 500
MOST_PIXELS: Final = 40_000_000

PDF: Final = "application/pdf"
PICTURES: Final = {"image/png": "PNG", "image/jpeg": "JPEG"}
WEB_PAGES: Final = frozenset({"text/html", "application/xhtml+xml", "text/plain"})


class Action(StrEnum):
    """What may be asked for."""

    LOOK = "look"
    READ = "read"
    PICTURE = "picture"


class Asked(msgspec.Struct, frozen=True):
    """What is asked: of a picture, also which page (from 1), how many pixels its longer side has at most, and how many
    it is wide at most, unless that is 0: then it is in few colours, too."""

    action: Action
    media_type: str
    page: int = 1
    longest: int = 0
    width: int = 0


class Answer(msgspec.Struct, frozen=True):
    """What came of it: the code of a refusal, or the result, encoded by its own type."""

    refusal: str | None = None
    result: bytes = b""


class Refusal(Exception):  # noqa: N818, it is what a reader gives instead of pages
    """Why a file is not read, as one of the reader's codes."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code
