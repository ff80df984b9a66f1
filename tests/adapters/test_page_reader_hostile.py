"""Reading what is damaged or meant to harm: a refusal with a code, whatever the file does to the child."""

import io
import random
import struct
import zlib
from collections.abc import Callable
from functools import cache

import pytest
from fpdf import FPDF
from PIL import Image

from app.adapters.page_reader import ConfinedPageReader
from app.adapters.reading.confinement import Limits
from app.core.errors import CantrailError, Kind
from app.core.pages import Page
from tests.adapters.test_page_reader import (
    HELVETICA,
    PDF,
    one_page,
    paper,
    pdf_of,
    picture,
    png_chunk,
    reader,
    stream,
    written,
)

PNG, JPEG, HTML, TEXT = "image/png", "image/jpeg", "text/html", "text/plain"
CODES = {"file_truncated", "file_encrypted", "file_too_many_pages", "file_bomb", "file_unreadable"}
MEBIBYTE = 1 << 20

# As much memory as in the open, but little time: what never ends need not be waited for.
hasty = ConfinedPageReader(programs="/nowhere", limits=Limits(memory=512 * MEBIBYTE, processor=2, seconds=120.0))


def outcome(act: Callable[[], object]) -> str:
    """The code of the refusal, or "" where there was none."""
    try:
        act()
    except CantrailError as error:
        return error.code if error.kind is Kind.UNSUPPORTED else f"{error.kind} {error.code}"
    return ""


@cache
def deflated(mebibytes: int, filled: bytes = b" ") -> bytes:
    packing = zlib.compressobj(9)
    piece = (filled * (MEBIBYTE // len(filled) + 1))[:MEBIBYTE]
    return b"".join([*(packing.compress(piece) for _ in range(mebibytes)), packing.flush()])


def tree(kids: str, count: str, more: dict[int, str | bytes] | None = None) -> bytes:
    return pdf_of(
        {
            1: "<< /Type /Catalog /Pages 2 0 R >>",
            2: f"<< /Type /Pages /Kids [{kids}] {count} >>",
            3: "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 600 800] >>",
            **(more or {}),
        }
    )


def drawing_forms(forms: dict[int, tuple[bytes, int]]) -> bytes:
    """A page that draws form 10; each form has a drawing, and another as its /X."""
    named = "/Resources << /Font << /F 5 0 R >> /XObject << /X {} 0 R >> >>"
    shape = "/Type /XObject /Subtype /Form /BBox [0 0 600 800] "
    return pdf_of(
        {
            1: "<< /Type /Catalog /Pages 2 0 R >>",
            2: "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
            3: f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 600 800] {named.format(10)} /Contents 4 0 R >>",
            4: stream(b"/X Do"),
            5: HELVETICA,
            **{number: stream(drawn, shape + named.format(other)) for number, (drawn, other) in forms.items()},
        }
    )


def encrypted() -> bytes:
    pdf = FPDF()
    pdf.add_page()
    pdf.set_encryption(owner_password="invented", user_password="invented too")
    return bytes(pdf.output())


def cut(content: bytes, share: float) -> bytes:
    return content[: round(len(content) * share)]


def png(width: int, height: int, *chunks: bytes, pixels: bytes = zlib.compress(b"\0" * 52)) -> bytes:
    head = png_chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + b"".join(chunks) + png_chunk(b"IDAT", pixels) + png_chunk(b"IEND", b"")


def photograph(format: str) -> bytes:
    noise = random.Random(7).randbytes(200 * 200 * 3)
    out = io.BytesIO()
    Image.frombytes("RGB", (200, 200), noise).save(out, format)
    return out.getvalue()


def updated(content: bytes) -> bytes:
    """A file with the beginning of an update after its end."""
    return content + b"6 0 obj\n<< /Type /Page /Par"


PAPER = paper(*["Roof load 75 kg, the rack counted."] * 20)
LAUGHS = {
    number: (b"/X Do " * 10, number + 1) if number < 18 else (b"0 0 9 9 re f", number) for number in range(10, 19)
}

HOSTILE: dict[str, tuple[Callable[[], bytes], str, set[str]]] = {
    "pdf with a password": (encrypted, PDF, {"file_encrypted"}),
    "pdf cut at a tenth": (lambda: cut(PAPER, 0.1), PDF, {"file_truncated"}),
    "pdf cut at the half": (lambda: cut(PAPER, 0.5), PDF, {"file_truncated"}),
    "pdf cut at nine tenths": (lambda: cut(PAPER, 0.9), PDF, {"file_truncated"}),
    "pdf cut in its last line": (lambda: PAPER.rstrip()[:-1], PDF, {"file_truncated"}),
    "pdf cut after its first": (lambda: PAPER[:9], PDF, {"file_truncated"}),
    "pdf cut in an update": (lambda: updated(PAPER), PDF, {"file_truncated"}),
    "pdf that is empty": (lambda: b"", PDF, {"file_unreadable"}),
    "pdf that is a beginning and an end": (lambda: b"%PDF-1.7\n%%EOF", PDF, {"file_unreadable"}),
    "pdf that is a web page": (lambda: b"<html>%PDF-1.7 %%EOF</html>", PDF, {"file_unreadable"}),
    "pdf without pages": (lambda: tree("", "/Count 0"), PDF, {"file_unreadable"}),
    "pdf whose pages hold themselves": (lambda: tree("2 0 R", "/Count 3"), PDF, {"file_unreadable"}),
    "pdf with a page that is not there": (lambda: tree("3 0 R 9 0 R", "/Count 2"), PDF, {"file_unreadable"}),
    "pdf that claims 100,000 pages": (lambda: tree("3 0 R", "/Count 100000"), PDF, {"file_too_many_pages"}),
    "pdf of 100,000 pages": (lambda: tree("3 0 R " * 100_000, "/Count 100000"), PDF, {"file_too_many_pages"}),
    "pdf of uncounted pages": (lambda: tree("3 0 R " * 100_000, ""), PDF, {"file_too_many_pages"}),
    "pdf of 501 pages": (lambda: tree("3 0 R " * 501, "/Count 501"), PDF, {"file_too_many_pages"}),
    "pdf stream of a gibibyte": (
        lambda: one_page(deflated(1024), more="/Filter /FlateDecode"),
        PDF,
        {"file_bomb"},
    ),
    "pdf stream of a gibibyte packed twice": (
        lambda: one_page(zlib.compress(deflated(1024), 9), more="/Filter [/FlateDecode /FlateDecode]"),
        PDF,
        {"file_bomb"},
    ),
    "pdf of 300 mebibytes of words": (
        lambda: one_page(deflated(300, b"(75) Tj "), more="/Filter /FlateDecode"),
        PDF,
        {"file_bomb"},
    ),
    "pdf of saved states": (
        lambda: one_page(deflated(600, b"q "), more="/Filter /FlateDecode"),
        PDF,
        {"file_bomb"},
    ),
    "pdf of forms in forms": (lambda: drawing_forms(LAUGHS), PDF, {"file_bomb"}),
    "pdf form that draws itself": (lambda: drawing_forms({10: (b"/X Do " * 2, 10)}), PDF, {"", "file_bomb"}),
    "pdf of nested lists": (lambda: one_page(b"", catalogue="/X " + "[" * 200_000 + "]" * 200_000), PDF, {""}),
    "pdf of nested dictionaries": (
        lambda: one_page(b"", page="/X " + "<</X " * 99_999 + "1" + ">>" * 99_999),
        PDF,
        {""},
    ),
    "pdf of nested operands": (lambda: one_page(b"[" * 500_000 + b"]" * 500_000 + b" TJ"), PDF, {""}),
    "pdf page of no size": (lambda: one_page(written("75", 9, 9), page="/MediaBox [0 0 0 0]"), PDF, {""}),
    "pdf page of great size": (lambda: one_page(written("75", 9, 9), page="/MediaBox [0 0 1e9 1e39]"), PDF, {""}),
    "png of 50,000 by 50,000": (lambda: png(50_000, 50_000), PNG, {"file_bomb"}),
    "png of 41 megapixels": (lambda: png(41_000, 1000), PNG, {"file_bomb"}),
    "png with a colour profile of a gibibyte": (
        lambda: png(4, 4, png_chunk(b"iCCP", b"a\0\0" + deflated(1024))),
        PNG,
        {"file_bomb"},
    ),
    "png with a note of a gibibyte": (
        lambda: png(4, 4, png_chunk(b"zTXt", b"a\0\0" + deflated(1024))),
        PNG,
        {"file_bomb"},
    ),
    "png with many notes": (
        lambda: png(4, 4, *[png_chunk(b"zTXt", b"a\0\0" + deflated(1))] * 200),
        PNG,
        {"file_bomb"},
    ),
    "png of four pixels and a gibibyte": (lambda: png(4, 4, pixels=deflated(1024)), PNG, {"file_unreadable"}),
    "png without its pixels": (lambda: png(400, 400), PNG, CODES),
    "png cut at the half": (lambda: cut(photograph("PNG"), 0.5), PNG, {"file_truncated"}),
    "png cut before its end": (lambda: photograph("PNG")[:-12], PNG, {"file_truncated"}),
    "png that is a jpeg": (lambda: photograph("JPEG") + b"IEND", PNG, {"file_unreadable"}),
    "jpeg cut at a tenth": (lambda: cut(photograph("JPEG"), 0.1), JPEG, {"file_truncated"}),
    "jpeg cut at the half": (lambda: cut(photograph("JPEG"), 0.5), JPEG, {"file_truncated"}),
    "jpeg cut at the half, with an end": (
        lambda: cut(photograph("JPEG"), 0.5) + b"\xff\xd9",
        JPEG,
        {"", "file_truncated", "file_unreadable"},
    ),
    "jpeg that is a png": (lambda: picture() + b"\xff\xd9", JPEG, {"file_unreadable"}),
    "web page of a million blocks": (lambda: b"<div>" * 1_000_000, HTML, {"", "file_bomb"}),
    "web page of beginnings": (lambda: b"<" * 5_000_000, HTML, {"", "file_bomb"}),
    "web page of open comments": (lambda: b"<!--" * 1_000_000, HTML, {"", "file_bomb"}),
    "web page of open values": (lambda: b"<a " + b"a='" * 300_000, HTML, {"", "file_bomb"}),
    "web page that is a pdf": (lambda: PAPER, HTML, {"file_unreadable"}),
    "text of noughts": (lambda: b"75 kg\0\0\0", TEXT, {"file_unreadable"}),
    "a type that nobody reads": (lambda: b"GIF89a", "image/gif", {"file_unreadable"}),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_refused_or_read_within_the_limits(name: str) -> None:
    make, media_type, expected = HOSTILE[name]
    content = make()
    assert outcome(lambda: hasty.read(content, media_type)) in expected
    if media_type in {PDF, PNG, JPEG}:
        assert outcome(lambda: hasty.look(content, media_type)) in {"", *expected}
        assert outcome(lambda: hasty.picture(content, media_type, 1)) in {"", *CODES}


def test_there_are_forty_of_them() -> None:
    assert len(HOSTILE) >= 40


@pytest.mark.parametrize(
    "name", ["pdf of 100,000 pages", "pdf with a password", "pdf cut at the half", "png with a note of a gibibyte"]
)
def test_a_look_refuses_what_reading_would(name: str) -> None:
    make, media_type, expected = HOSTILE[name]
    assert outcome(lambda: hasty.look(make(), media_type)) in expected


@pytest.mark.parametrize(
    ("content", "media_type"),
    [(PAPER, PDF), (photograph("PNG"), PNG), (photograph("JPEG"), JPEG)],
    ids=["pdf", "png", "jpeg"],
)
@pytest.mark.parametrize("seed", range(17))
def test_flipped_bytes_are_read_or_refused(content: bytes, media_type: str, seed: int) -> None:
    chance = random.Random(seed)
    damaged = bytearray(content)
    for _ in range(1 + seed % 5):
        damaged[chance.randrange(len(damaged))] ^= 1 << chance.randrange(8)
    assert outcome(lambda: hasty.read(bytes(damaged), media_type)) in {"", *CODES}


def test_words_hidden_between_the_pages_harm_no_other_page() -> None:
    garbage = one_page(b"\xff\xfe(( BT /F 20 Tf 60 720 Td (75) Tj ET")
    assert [type(page) for page in reader.read(garbage, PDF).pages] == [Page]


def test_each_refusal_says_what_to_do() -> None:
    said: dict[str, str] = {}
    for make, media_type, expected in HOSTILE.values():
        if len(expected) == 1 and "" not in expected and not expected <= said.keys():
            with pytest.raises(CantrailError) as refused:
                hasty.read(make(), media_type)
            said[refused.value.code] = refused.value.message
    assert said.keys() == CODES
    assert len(set(said.values())) == len(CODES)
    assert all(any(word in message for word in ("Send", "send", "Get")) for message in said.values())
