"""Reading files that strangers sent: each in a process of its own, which is confined before it sees the file."""

from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from threading import BoundedSemaphore
from typing import Final, TypeVar

import msgspec

from app.adapters.reading.children import run
from app.adapters.reading.confinement import NOT_READY, Limits
from app.adapters.reading.ocr import Tesseract
from app.adapters.reading.talk import (
    MOST_PAGES,
    MOST_PIXELS,
    PDF,
    PICTURES,
    WEB_PAGES,
    Action,
    Answer,
    Asked,
)
from app.core.errors import CantrailError, Kind
from app.core.pages import Page
from app.services.ports import Looked, ReadText

CHILD: Final = Path(__file__).with_name("reading_child.py")
LIMITS: Final = Limits(memory=512 * 1024 * 1024, processor=10, seconds=20.0)
LONGEST: Final = 1500
"""How many pixels a picture's longer side has at most."""

_AT_ONCE: Final = 2
_WAIT: Final = 60.0
_LONGEST_FOR_OCR: Final = 3500
_PAGES_FOR_OCR: Final = 20
_WHOLE: Final = 10_000
_PNG: Final = b"\x89PNG\r\n\x1a\n"
_PACKAGES: Final = ("msgspec", "pypdfium2", "PIL")

_SENTENCES: Final = {
    "file_truncated": "The file ends in the middle: a part of it is missing. Get it once more from where it came from.",
    "file_encrypted": "The file opens only with a password. Send a copy that opens without one.",
    "file_too_many_pages": f"The file has more than {MOST_PAGES} pages. Send the pages that matter, with the cover.",
    "file_bomb": "The file takes more memory or time than reading may take, or is a picture of more than "
    f"{MOST_PIXELS // 1_000_000} megapixels. Save the pages that matter anew, smaller, and send those.",
    "file_unreadable": "The file is damaged, or is not of the type that it says. Open it, save it anew, and send that.",
}

Result = TypeVar("Result")


class ConfinedPageReader:
    """Reads with a child for each file, some at once. Threads may share one."""

    def __init__(
        self,
        *,
        limits: Limits = LIMITS,
        child: Path = CHILD,
        programs: str | None = None,
        at_once: int = _AT_ONCE,
        pages_for_ocr: int = _PAGES_FOR_OCR,
        wait: float = _WAIT,
    ) -> None:
        self._limits = limits
        self._child = child
        self._paths = _paths()
        self._tesseract = Tesseract(programs)
        self._turns = BoundedSemaphore(at_once)
        self._wait = wait
        self._pages_for_ocr = pages_for_ocr

    def look(self, content: bytes, media_type: str) -> Looked:
        """A first look. Raises CantrailError: unsupported `file_truncated`, `file_encrypted`, `file_too_many_pages`,
        `file_bomb` or `file_unreadable`; unavailable `reader_busy` or `reader_unavailable`."""
        return self._ask(Asked(Action.LOOK, media_type), content, Looked)

    def read(self, content: bytes, media_type: str) -> ReadText:
        """All its pages' text. Raises as `look` does."""
        text = self._ask(Asked(Action.READ, media_type), content, ReadText)
        if not _is_sound(text):
            raise _refused("file_unreadable")
        if media_type in WEB_PAGES or not self._tesseract.languages:
            return text
        return self._with_ocr(text, content, media_type)

    def picture(self, content: bytes, media_type: str, page: int, width: int | None = None) -> bytes:
        """A page (from 1) as PNG, drawn again; no wider than `width`, and then in few colours. Raises as `look` does,
        unsupported `no_picture` for a web page, and not_found `no_such_page`."""
        if media_type in WEB_PAGES:
            raise CantrailError(
                Kind.UNSUPPORTED, "no_picture", "A web page has no picture of its own: read its text instead."
            )
        return self._draw(content, media_type, page, LONGEST, width or 0)

    def _draw(self, content: bytes, media_type: str, page: int, longest: int, width: int = 0) -> bytes:
        try:
            drawn = self._ask(Asked(Action.PICTURE, media_type, page, longest, width), content, bytes)
        except CantrailError as error:
            if error.code == "no_such_page":
                raise CantrailError(
                    Kind.NOT_FOUND, "no_such_page", f"The file has no page {page}. Pages are counted from 1."
                ) from error
            raise
        if not drawn.startswith(_PNG):
            raise _refused("file_unreadable")
        return drawn

    def _with_ocr(self, text: ReadText, content: bytes, media_type: str) -> ReadText:
        """The text with what could be read from pictures of the first pages that have none of their own."""
        pages = list(text.pages)
        wordless = [number for number, page in enumerate(pages) if not page.text.strip()][: self._pages_for_ocr]
        source = text.source
        for number in wordless:
            drawn = self._draw(content, media_type, number + 1, _LONGEST_FOR_OCR)
            with self._turn():
                found = self._tesseract.read(drawn)
            if found is not None and found.text.strip():
                pages[number] = found
                source = "ocr"
        return ReadText(tuple(pages), source)

    def _ask(self, asked: Asked, content: bytes, type: type[Result]) -> Result:
        """What a child answers. However it ends, it is an answer or a refusal."""
        if asked.media_type != PDF and asked.media_type not in PICTURES and asked.media_type not in WEB_PAGES:
            raise _refused("file_unreadable")
        words = (msgspec.json.encode(asked).decode("ascii"), *self._paths)
        with self._turn():
            try:
                ended = run(self._child, words, content, self._limits, {})
            except OSError as error:
                raise _unavailable() from error
        if ended.at_a_limit:
            raise _refused("file_bomb")
        if ended.code == NOT_READY:
            raise _unavailable()
        try:
            answer = msgspec.msgpack.decode(ended.said, type=Answer)
            if answer.refusal is None:
                return msgspec.msgpack.decode(answer.result, type=type)
        except msgspec.MsgspecError as error:
            raise _refused("file_unreadable") from error
        raise _refused(answer.refusal)

    @contextmanager
    def _turn(self) -> Iterator[None]:
        """Wait for a turn: each child may take as much memory as its limit says."""
        if not self._turns.acquire(timeout=self._wait):
            raise CantrailError(Kind.UNAVAILABLE, "reader_busy", "Other files are being read. Try again in a minute.")
        try:
            yield
        finally:
            self._turns.release()


def _paths() -> tuple[str, ...]:
    """Where the child finds this application and the packages that it needs, which are not imported here."""
    specs = [find_spec(name) for name in _PACKAGES]
    origins = [Path(spec.origin).parents[1] for spec in specs if spec is not None and spec.origin is not None]
    return tuple(dict.fromkeys(str(path) for path in (Path(__file__).parents[2], *origins)))


def _is_sound(text: ReadText) -> bool:
    """Whether what a child says hangs together: a child that a file took over may say anything."""
    return 0 < len(text.pages) <= MOST_PAGES and all(map(_is_sound_page, text.pages))


def _is_sound_page(page: Page) -> bool:
    size = len(page.text)
    return all(
        0 <= run.start < run.end <= size
        and 0 <= run.box.left <= run.box.right <= _WHOLE
        and 0 <= run.box.top <= run.box.bottom <= _WHOLE
        for run in page.runs
    )


def _refused(code: str) -> CantrailError:
    known = code if code in _SENTENCES or code == "no_such_page" else "file_unreadable"
    return CantrailError(Kind.UNSUPPORTED, known, _SENTENCES.get(known, known))


def _unavailable() -> CantrailError:
    return CantrailError(
        Kind.UNAVAILABLE, "reader_unavailable", "Files cannot be read at this moment. Try again in a few minutes."
    )
