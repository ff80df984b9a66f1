"""Reading pictures by the system's own program, which stands in here as a script that says what it would."""

import sys
from pathlib import Path

import pytest

from app.adapters.page_reader import ConfinedPageReader
from app.adapters.reading.ocr import Tesseract
from app.core.pages import Box, Page, Run
from app.services.ports import ReadText
from tests.adapters.test_page_reader import one_page, paper, picture, written

HEAD = "level page_num block_num par_num line_num word_num left top width height conf text".replace(" ", "\t")
ROWS = (
    "1 1 0 0 0 0 0 0 1000 500 -1 ",
    "4 1 1 1 1 0 100 50 400 50 -1 ",
    "5 1 1 1 1 1 100 50 200 50 96.5 Dachlast",
    "5 1 1 1 1 2 310 50 100 50 91 75kg",
    "5 1 1 1 1 3 420 50 100 50 12 9OO",
    "5 1 1 1 2 1 100 150 200 50 88 Gelände",
    "5 1 1 1 2 2 x y 200 50 88 nonsense",
    "5 1 1 1 2 3",
)
SEEN = Page(
    "Dachlast 75kg\nGelände",
    (
        Run(0, 8, Box(1000, 1000, 3000, 2000)),
        Run(9, 11, Box(3100, 1000, 3600, 2000)),
        Run(11, 13, Box(3600, 1000, 4100, 2000)),
        Run(14, 21, Box(1000, 3000, 3000, 4000)),
    ),
)


def installed(folder: Path, reading: str, languages: str = "List of available languages (3):\nosd\ndeu\neng") -> str:
    program = folder / "tesseract"
    program.write_text(
        f"#!{sys.executable}\nimport os, resource, sys\n"
        f"if '--list-langs' in sys.argv:\n    print({languages!r})\n    raise SystemExit\n"
        f"given = sys.stdin.buffer.read()\n{reading}\n"
    )
    program.chmod(0o755)
    return str(folder)


def table(*rows: str) -> str:
    return "\n".join([HEAD, *("\t".join(row.split(" ", 11)) for row in rows)])


def saying(text: str) -> str:
    return f"sys.stdout.buffer.write({text.encode()!r})"


@pytest.mark.parametrize(("media_type", "format"), [("image/png", "PNG"), ("image/jpeg", "JPEG")])
def test_a_picture_is_read_with_places(tmp_path: Path, media_type: str, format: str) -> None:
    reader = ConfinedPageReader(programs=installed(tmp_path, saying(table(*ROWS))))
    assert reader.read(picture(format=format), media_type) == ReadText((SEEN,), "ocr")


def test_the_program_gets_a_picture_drawn_again_and_the_languages_that_it_has(tmp_path: Path) -> None:
    checks = (
        "assert given.startswith(b'\\x89PNG') and b'note' not in given\n"
        "assert sys.argv[1:] == ['stdin', 'stdout', '-l', 'eng+deu', '--dpi', '300', 'tsv']\n"
        "assert set(os.environ) <= {'OMP_THREAD_LIMIT', 'LC_CTYPE'}\n"
        "assert resource.getrlimit(resource.RLIMIT_AS)[1] == 1 << 30\n"
        "assert resource.getrlimit(resource.RLIMIT_FSIZE)[1] == 0\n"
    )
    reader = ConfinedPageReader(programs=installed(tmp_path, checks + saying(table(*ROWS))))
    content = picture(format="JPEG", comment=b"note")
    assert reader.read(content, "image/jpeg").source == "ocr"


def test_pages_of_a_pdf_without_a_layer_are_read_and_the_others_left(tmp_path: Path) -> None:
    reader = ConfinedPageReader(programs=installed(tmp_path, saying(table(*ROWS))))
    assert reader.read(paper("Roof load 75 kg", ""), "application/pdf").pages[1] == SEEN
    untouched = reader.read(paper("Roof load 75 kg"), "application/pdf")
    assert (untouched.pages[0].text, untouched.source) == ("Roof load 75 kg", "layer")


def test_only_so_many_pages_are_read_so(tmp_path: Path) -> None:
    reader = ConfinedPageReader(programs=installed(tmp_path, saying(table(*ROWS))), pages_for_ocr=2)
    pages = reader.read(paper(*[""] * 4), "application/pdf").pages
    assert [page.text for page in pages] == [SEEN.text] * 2 + ["", ""]


@pytest.mark.parametrize(
    "reading",
    [
        "raise SystemExit(1)",
        "os.abort()",
        "bytearray(2 << 30)",
        saying("nonsense"),
        saying(HEAD),
        saying(table("5 1 1 1 1 1 100 50 200 50 96.5 Dachlast")),
        saying(table(ROWS[0], "5 1 1 1 1 1 100 50 200 50 3 Dachlast")),
    ],
)
def test_what_cannot_be_read_is_a_page_without_text(tmp_path: Path, reading: str) -> None:
    reader = ConfinedPageReader(programs=installed(tmp_path, reading))
    assert reader.read(picture(), "image/png") == ReadText((Page(""),), "none")


def test_a_program_without_the_languages_of_handbooks_reads_nothing(tmp_path: Path) -> None:
    folder = installed(tmp_path, saying(table(*ROWS)), "List of available languages (1):\nosd")
    assert ConfinedPageReader(programs=folder).read(picture(), "image/png") == ReadText((Page(""),), "none")


def test_where_there_is_no_program_nothing_is_read(tmp_path: Path) -> None:
    assert Tesseract(str(tmp_path)).languages == ()
    assert Tesseract(str(tmp_path)).read(picture()) is None
    reader = ConfinedPageReader(programs=str(tmp_path))
    assert reader.read(picture(), "image/png") == ReadText((Page(""),), "none")
    assert reader.read(one_page(written("75", 9, 9)), "application/pdf").source == "layer"
