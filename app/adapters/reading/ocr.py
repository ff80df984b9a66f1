"""Reading pictures by tesseract, where the machine has it: it gets only pictures that were drawn again, and is confined
as the readers are."""

import shutil
from collections.abc import Iterator
from functools import cached_property
from pathlib import Path
from typing import Final, NamedTuple

from app.adapters.reading.children import Ended, run
from app.adapters.reading.confinement import Limits
from app.adapters.reading.words import runs_in, seen
from app.core.pages import Box, Page, Run

_SCRIPT: Final = Path(__file__).parents[1] / "confined_program.py"
_APPLICATION: Final = str(Path(__file__).parents[3])
_LIMITS: Final = Limits(memory=1024 * 1024 * 1024, processor=40, seconds=60)
_ENVIRONMENT: Final = {"OMP_THREAD_LIMIT": "1"}

_LANGUAGES: Final = ("eng", "deu", "fra", "spa", "ita", "por", "nld", "swe", "jpn")
"""Those of the words by which figures are known, in tesseract's codes."""
_LEAST_SURE: Final = 50.0
_PAGE: Final = "1"
_WORD: Final = "5"
_COLUMNS: Final = 12
_WHOLE: Final = 10_000


class Tesseract:
    """The program, if it stands in one of some folders (as PATH names them; the process's own where none is given)."""

    def __init__(self, folders: str | None, limits: Limits = _LIMITS) -> None:
        self._program = shutil.which("tesseract", path=folders)
        self._limits = limits

    @cached_property
    def languages(self) -> tuple[str, ...]:
        """The languages that it can read, of those that matter here; none where it is not installed."""
        said = self._run("--list-langs", given=b"")
        installed = set(said.split()) if said is not None else set()
        return tuple(language for language in _LANGUAGES if language in installed)

    def read(self, png: bytes) -> Page | None:
        """What stands in a picture, or None where it cannot be told."""
        if not self.languages:
            return None
        words = ("stdin", "stdout", "-l", "+".join(self.languages), "--dpi", "300", "tsv")
        said = self._run(*words, given=png)
        return None if said is None else _page(said)

    def _run(self, *words: str, given: bytes) -> str | None:
        """What it says, or None where it is not there or did not end well."""
        if self._program is None:
            return None
        command = (_APPLICATION, str(Path(self._program).absolute()), *words)
        try:
            ended: Ended = run(_SCRIPT, command, given, self._limits, _ENVIRONMENT)
        except OSError:
            return None
        return ended.said.decode("utf-8", "replace") if ended.code == 0 and not ended.at_a_limit else None


class _Row(NamedTuple):
    """One row of its table: what it is, in which line, where (in pixels), how sure (of a hundred), and what it says."""

    level: str
    line: tuple[str, ...]
    left: int
    top: int
    width: int
    height: int
    sure: float
    text: str


def _page(table: str) -> Page | None:
    """The words that it is rather sure of, line by line. A number within a word has its share of the word's width."""
    rows = list(_rows(table))
    whole = next((row for row in rows if row.level == _PAGE and row.width > 0 and row.height > 0), None)
    if whole is None:
        return None
    text, line = "", None
    runs: list[Run] = []
    for row in rows:
        word = seen(row.text).strip()
        if row.level != _WORD or not word or row.sure < _LEAST_SURE:
            continue
        if line is not None:
            text += " " if row.line == line else "\n"
        line = row.line
        for start, end in runs_in(word):
            runs.append(Run(len(text) + start, len(text) + end, _part(row, whole, start / len(word), end / len(word))))
        text += word
    return Page(text, tuple(runs))


def _rows(table: str) -> Iterator[_Row]:
    for line in table.splitlines()[1:]:
        cells = line.split("\t", _COLUMNS - 1)
        try:
            left, top, width, height = map(int, cells[6:10])
            yield _Row(cells[0], tuple(cells[2:5]), left, top, width, height, float(cells[10]), "".join(cells[11:]))
        except (IndexError, ValueError):
            continue


def _part(row: _Row, whole: _Row, start: float, end: float) -> Box:
    """The box of a part of a word, in ten-thousandths of the page."""
    return Box(
        _share(row.left + row.width * start, whole.width),
        _share(row.top, whole.height),
        _share(row.left + row.width * end, whole.width),
        _share(row.top + row.height, whole.height),
    )


def _share(length: float, whole: int) -> int:
    return min(_WHOLE, max(0, round(length * _WHOLE / whole)))
