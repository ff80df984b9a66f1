"""Reading what honest files say, and where: by real child processes."""

import io
import struct
import subprocess
import sys
import zlib
from collections.abc import Callable, Mapping

import pytest
from fpdf import FPDF
from PIL import Image, PngImagePlugin

from app.adapters.page_reader import LIMITS, LONGEST, ConfinedPageReader
from app.core.errors import CantrailError, Kind
from app.core.pages import Box, Page, box_of
from app.services.ports import Looked, ReadText

PDF = "application/pdf"
HELVETICA = "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>"
GOTHIC = (
    "<< /Type /Font /Subtype /Type0 /BaseFont /Gothic /Encoding /UniJIS-UTF16-H /DescendantFonts [<< /Type /Font "
    "/Subtype /CIDFontType0 /BaseFont /Gothic /DW 1000 /CIDSystemInfo << /Registry (Adobe) /Ordering (Japan1) "
    "/Supplement 6 >> /FontDescriptor << /Type /FontDescriptor /FontName /Gothic /Flags 4 /Ascent 880 /Descent -120 "
    "/CapHeight 880 /ItalicAngle 0 /StemV 80 /FontBBox [0 -120 1000 880] >> >>] >>"
)

# By the clock a child may take longer than it otherwise may: on a machine that has too much to do it waits.
reader = ConfinedPageReader(programs="/nowhere", limits=LIMITS._replace(seconds=300.0))


def pdf_of(objects: Mapping[int, str | bytes], trailer: str = "") -> bytes:
    """A PDF of numbered objects, whose first is the catalogue."""
    out = bytearray(b"%PDF-1.7\n")
    places = {}
    for number, body in sorted(objects.items()):
        places[number] = len(out)
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body if isinstance(body, bytes) else body.encode("latin-1"))
    start = len(out)
    out += b"xref\n0 1\n0000000000 65535 f \n"
    for number, place in places.items():
        out += b"%d 1\n%010d 00000 n \n" % (number, place)
    out += f"trailer\n<< /Size {max(objects) + 1} /Root 1 0 R {trailer} >>\nstartxref\n{start}\n%%EOF\n".encode("ascii")
    return bytes(out)


def stream(data: bytes, more: str = "") -> bytes:
    return f"<< /Length {len(data)} {more} >>\nstream\n".encode("latin-1") + data + b"\nendstream"


def one_page(
    drawing: bytes, *, page: str = "", more: str = "", font: str = HELVETICA, catalogue: str = "", trailer: str = ""
) -> bytes:
    """A PDF of one page, 600 by 800 points, with a drawing."""
    objects: dict[int, str | bytes] = {
        1: f"<< /Type /Catalog /Pages 2 0 R {catalogue} >>",
        2: "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        3: f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 600 800] /Resources << /Font << /F 5 0 R >> >> "
        f"/Contents 4 0 R {page} >>",
        4: stream(drawing, more),
        5: font,
    }
    return pdf_of(objects, trailer)


def written(text: str, left: int, up: int, size: int = 20) -> bytes:
    return f"BT /F {size} Tf {left} {up} Td ({text}) Tj ET\n".encode("cp1252")


def paper(*pages: str) -> bytes:
    pdf = FPDF()
    pdf.set_font("Helvetica", size=10)
    for text in pages:
        pdf.add_page()
        pdf.multi_cell(0, 5, text)
    return bytes(pdf.output())


def handbook(pages: int, line: Callable[[int], str], lines: int) -> bytes:
    """A PDF of many pages, each with a line that is printed so many times. To have it laid out takes seconds."""
    objects: dict[int, str | bytes] = {
        1: "<< /Type /Catalog /Pages 2 0 R >>",
        2: f"<< /Type /Pages /Count {pages} /Kids [{' '.join(f'{4 + 2 * n} 0 R' for n in range(pages))}] >>",
        3: HELVETICA,
    }
    for n in range(pages):
        objects[4 + 2 * n] = (
            f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 600 800] /Resources << /Font << /F 3 0 R >> >> "
            f"/Contents {5 + 2 * n} 0 R >>"
        )
        objects[5 + 2 * n] = stream(b"".join(written(line(n), 30, 760 - 30 * place, 10) for place in range(lines)))
    return pdf_of(objects)


def picture(size: tuple[int, int] = (300, 200), format: str = "PNG", colour: str = "red", **options: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, format, **options)
    return out.getvalue()


def opened(png: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(png), formats=("PNG",))
    image.load()
    return image


def place(page: Page, words: str) -> Box:
    start = page.text.index(words)
    box = box_of(page, start, start + len(words))
    assert box is not None
    return box


def around(box: Box, left: int, top: int, right: int, bottom: int, *, within: int = 60) -> bool:
    wanted = (left, top, right, bottom)
    return all(
        abs(side - there) <= within
        for side, there in zip((box.left, box.top, box.right, box.bottom), wanted, strict=True)
    )


def test_a_small_paper_is_looked_at_and_read() -> None:
    content = paper("Roof load 75 kg.", "Nothing here.")
    assert reader.look(content, PDF) == Looked(2)
    text = reader.read(content, PDF)
    assert [page.text for page in text.pages] == ["Roof load 75 kg.", "Nothing here."]
    assert text.source == "layer"


def test_a_handbook_of_200_pages_is_read_whole() -> None:
    words = "The roof must never carry more than the plate on the door says with the carrier counted in"
    text = reader.read(handbook(200, lambda n: f"{words} {1000 + n}kg", lines=21), PDF)
    assert len(text.pages) == 200
    for number, page in enumerate(text.pages, start=1000):
        assert page.text.count(f"{number}kg") == 21
        assert len(page.text.split()) == 399
        assert len(page.runs) == 420
        assert [page.text[run.start : run.end] for run in page.runs[18:20]] == [str(number), "kg"]


def test_a_number_stands_where_it_was_written() -> None:
    page = reader.read(one_page(written("Dachlast 75kg", 60, 720)), PDF).pages[0]
    whole = place(page, "Dachlast 75kg")
    assert around(whole, 1000, 820, 3050, 1040)
    number, unit = place(page, "75"), place(page, "kg")
    assert whole.left < number.left < number.right <= unit.left + 40 < unit.right
    # 75 is 22.2 points wide in this font, after eight letters and a space.
    assert abs(number.right - number.left - 370) < 60


@pytest.mark.parametrize(
    ("turned", "sides"),
    [
        (0, (1000, 820, 1900, 1000)),
        (90, (9000, 1000, 9180, 1900)),
        (180, (8100, 9000, 9000, 9180)),
        (270, (820, 8100, 1000, 9000)),
        (-90, (820, 8100, 1000, 9000)),
    ],
)
def test_boxes_turn_with_the_page(turned: int, sides: tuple[int, int, int, int]) -> None:
    content = one_page(written("100kg", 60, 720), page=f"/Rotate {turned}")
    page = reader.read(content, PDF).pages[0]
    assert around(place(page, "100kg"), *sides, within=100)
    shown = dark_part(reader.picture(content, PDF, 1))
    assert around(place(page, "100kg"), *shown, within=60)


def dark_part(png: bytes) -> tuple[int, int, int, int]:
    """Where a picture is not white, in ten-thousandths."""
    image = opened(png)
    box = image.convert("L").point(lambda value: 255 if value < 128 else 0).getbbox()
    assert box is not None
    across, down = 10_000 / image.width, 10_000 / image.height
    return round(box[0] * across), round(box[1] * down), round(box[2] * across), round(box[3] * down)


@pytest.mark.parametrize("turned", [0, 90])
def test_boxes_are_those_of_what_is_cut_out(turned: int) -> None:
    content = one_page(written("100kg", 320, 420), page=f"/CropBox [300 400 500 500] /Rotate {turned}")
    page = reader.read(content, PDF).pages[0]
    assert around(place(page, "100kg"), *dark_part(reader.picture(content, PDF, 1)), within=100)


def test_words_outside_of_what_is_shown_have_no_place() -> None:
    content = one_page(written("shown", 320, 420) + written("hidden", 20, 20), page="/CropBox [300 400 500 500]")
    page = reader.read(content, PDF).pages[0]
    start = page.text.index("hidden")
    assert box_of(page, start, start + 6) is None
    assert place(page, "shown").left > 900


def test_letters_of_many_languages_are_read() -> None:
    lines = ["Zulässige Dachlast: höchstens 75kg, Größe egal", "Charge autorisée sur le toit", "¿Cuánto? Tamaño máximo"]
    page = reader.read(paper("\n".join(lines)), PDF).pages[0]
    assert page.text.splitlines() == lines


def test_japanese_is_split_by_script_and_number() -> None:
    text = "ルーフ最大積載は７５kgまで"
    drawing = f"BT /F 20 Tf 60 720 Td <{text.encode('utf-16-be').hex()}> Tj ET".encode("ascii")
    page = reader.read(one_page(drawing, font=GOTHIC), PDF).pages[0]
    assert page.text == text
    pieces = [page.text[run.start : run.end] for run in page.runs]
    assert pieces == ["ルーフ", "最大積載", "は", "７５", "kg", "まで"]
    number, before = place(page, "７５"), place(page, "は")
    assert before.left < number.left < place(page, "kg").left


def test_lines_are_lines_and_runs_keep_to_them() -> None:
    page = reader.read(one_page(written("First line", 60, 720) + written("second line", 60, 690)), PDF).pages[0]
    assert page.text == "First line\nsecond line"
    assert place(page, "First").bottom < place(page, "second").top
    assert page.text[page.runs[2].start : page.runs[2].end] == "second"


def test_a_divided_word_is_one_with_two_places() -> None:
    page = reader.read(one_page(written("The carry-", 60, 720) + written("ing load 75", 60, 690)), PDF).pages[0]
    assert page.text == "The carry\u00ading load 75"
    assert place(page, "carry").bottom < place(page, "ing").top


def test_rare_letters_do_not_move_the_places_of_others() -> None:
    drawing = f"BT /F 20 Tf 60 720 Td <{'𠮷野75kg'.encode('utf-16-be').hex()}> Tj ET".encode("ascii")
    page = reader.read(one_page(drawing, font=GOTHIC), PDF).pages[0]
    assert page.text == "𠮷野75kg"
    assert around(place(page, "75"), 1667, 820, 2180, 1000)


def test_a_page_without_text_has_none() -> None:
    content = one_page(b"0 0 1 rg 100 100 50 50 re f")
    assert reader.read(content, PDF) == ReadText((Page(""),), "none")


def test_a_page_is_drawn() -> None:
    content = one_page(b"0 0 1 rg 0 0 300 800 re f")
    image = opened(reader.picture(content, PDF, 1))
    assert image.size == (1125, LONGEST)
    assert image.getpixel((100, 700)) == (0, 0, 255)
    assert image.getpixel((900, 700)) == (255, 255, 255)


def test_a_page_is_drawn_small_in_few_colours_and_no_larger_than_it_was() -> None:
    content = one_page(b"0 0 1 rg 0 0 300 800 re f " + written("100kg", 320, 720))
    small, whole = reader.picture(content, PDF, 1, 720), reader.picture(content, PDF, 1)
    image = opened(small)
    assert image.size == (720, 960)
    assert image.mode == "P" and len(small) < len(whole) / 2
    assert image.convert("RGB").getpixel((100, 700)) == (0, 0, 255)
    assert opened(reader.picture(one_page(b"", page="/MediaBox [0 0 100 800]"), PDF, 1, 720)).size[1] == LONGEST
    shot = reader.picture(picture((1000, 500)), "image/png", 1, 560)
    assert opened(shot).size == (560, 280)
    assert opened(reader.picture(picture((300, 200)), "image/png", 1, 560)).size == (300, 200)


@pytest.mark.parametrize("page", [-1, 0, 3, 2**40])
def test_there_are_no_pages_beyond_the_last(page: int) -> None:
    with pytest.raises(CantrailError) as refused:
        reader.picture(paper("one", "two"), PDF, page)
    assert (refused.value.kind, refused.value.code) == (Kind.NOT_FOUND, "no_such_page")


@pytest.mark.parametrize(
    ("content", "flags"),
    [
        (one_page(b"", catalogue="/OpenAction << /S /JavaScript /JS (app.alert\\(1\\)) >>"), ("javascript",)),
        (one_page(b"", catalogue="/OpenAction << /S /J#61vaScript /JS (1) >>"), ("javascript",)),
        (one_page(b"", catalogue="/OpenAction << /S /Launch /F (cmd) >>"), ("launch_action",)),
        (one_page(b"", page="/AA << /O << /S /Launch /F (cmd) >> >>"), ("launch_action",)),
        (one_page(b"", catalogue="/Names << /EmbeddedFiles << /Names [(a) << /F (a) >>] >> >>"), ("embedded_files",)),
        (one_page(b"", catalogue="/AcroForm << /Fields [<< /T (a) /FT /Tx >>] >>"), ("form",)),
    ],
)
def test_what_is_odd_is_flagged(content: bytes, flags: tuple[str, ...]) -> None:
    assert reader.look(content, PDF) == Looked(1, flags)


def test_what_is_odd_is_flagged_where_it_is_packed() -> None:
    packed = zlib.compress(b"7 0 << /S /JavaScript /JS (app.alert) >>")
    content = pdf_of(
        {
            1: "<< /Type /Catalog /Pages 2 0 R >>",
            2: "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
            3: "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 600 800] >>",
            6: stream(packed, "/Type /ObjStm /N 1 /First 4 /Filter /FlateDecode"),
        }
    )
    assert reader.look(content, PDF) == Looked(1, ("javascript",))


def test_a_file_that_opens_without_its_password_is_read_and_flagged() -> None:
    pdf = FPDF()
    pdf.add_page()
    pdf.set_font("Helvetica", size=10)
    pdf.cell(text="Roof load 75 kg")
    pdf.set_encryption(owner_password="invented")
    content = bytes(pdf.output())
    assert reader.look(content, PDF) == Looked(1, ("encrypted",))
    assert reader.read(content, PDF).pages[0].text == "Roof load 75 kg"


@pytest.mark.parametrize(("media_type", "format"), [("image/png", "PNG"), ("image/jpeg", "JPEG")])
def test_a_picture_is_one_page_without_text(media_type: str, format: str) -> None:
    content = picture(format=format)
    assert reader.look(content, media_type) == Looked(1)
    assert reader.read(content, media_type) == ReadText((Page(""),), "none")
    with pytest.raises(CantrailError) as refused:
        reader.picture(content, media_type, 2)
    assert refused.value.code == "no_such_page"


def test_a_picture_is_drawn_again_upright_small_and_bare() -> None:
    image = Image.new("RGB", (4000, 2000), "white")
    image.paste("blue", (0, 0, 4000, 200))
    exif = image.getexif()
    exif[0x0112] = 6
    exif[0x010E] = "somebody's name"
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif, comment=b"somebody's name", dpi=(72, 72))
    content = out.getvalue()
    assert b"somebody" in content
    drawn = reader.picture(content, "image/jpeg", 1)
    shown = opened(drawn)
    assert shown.size == (750, LONGEST)
    assert shown.getpixel((740, 700)) == pytest.approx((0, 0, 255), abs=8)
    assert shown.getpixel((10, 700)) == pytest.approx((255, 255, 255), abs=8)
    assert shown.info == {}
    assert b"somebody" not in drawn


@pytest.mark.parametrize(
    ("mode", "filled", "seen"),
    [
        ("RGBA", (0, 0, 0, 0), (255, 255, 255)),
        ("L", 128, (128, 128, 128)),
        ("LA", (0, 0), (255, 255, 255)),
        ("1", 1, (255, 255, 255)),
        ("P", 0, (0, 0, 0)),
        ("I;16", 0x8000, (128, 128, 128)),
    ],
)
def test_pictures_of_all_depths_are_drawn(mode: str, filled: int | tuple[int, ...], seen: tuple[int, ...]) -> None:
    out = io.BytesIO()
    Image.new(mode, (3000, 40), filled).save(out, "PNG")
    drawn = opened(reader.picture(out.getvalue(), "image/png", 1))
    assert drawn.size == (1500, 20)
    assert drawn.getpixel((700, 10)) == seen


def test_words_in_a_pictures_own_data_go() -> None:
    notes = PngImagePlugin.PngInfo()
    notes.add_text("Author", "somebody")
    content = picture(pnginfo=notes)
    assert b"somebody" in content
    assert b"somebody" not in reader.picture(content, "image/png", 1)


def test_a_web_page_is_read_as_a_reader_sees_it() -> None:
    page = (
        "<!doctype html><html><head><title>Roofs</title><meta charset=utf-8><style>p { color: red }</style>"
        "<script>document.write('<p>900 kg</p>')</script></head><body><h1>Dachlast</h1><p>H&ouml;chstens\n  <b>75</b>kg"
        "<br>auf Straßen</p><template><p>800 kg</p></template><table><tr><td>Gelände</td><td>50 kg</td></tr></table>"
        "<!-- 700 kg --></body></html>"
    )
    text = reader.read(page.encode(), "text/html")
    assert text == ReadText((Page("Roofs\nDachlast\nHöchstens 75kg\nauf Straßen\nGelände 50 kg"),), "layer")
    assert reader.look(page.encode(), "text/html") == Looked(1)


@pytest.mark.parametrize(
    "content",
    [
        "<p>Größe 50 €</p>".encode(),
        "<p>Größe 50 €</p>".encode("utf-8-sig"),
        "<p>Größe 50 €</p>".encode("utf-16"),
        "<p>Größe 50 €</p>".encode("cp1252"),
        b"<meta charset='iso-8859-1'>" + "<p>Größe 50 €</p>".encode("cp1252"),
        b'<meta http-equiv="Content-Type" content="text/html; charset=iso-8859-15">'
        + "<p>Größe 50 €</p>".encode("iso8859-15"),
        b'<?xml version="1.0" encoding="windows-1252"?>' + "<p>Größe 50 €</p>".encode("cp1252"),
        b"<meta charset=unicode_escape>" + "<p>Größe 50 €</p>".encode(),
        b"<meta charset=no-such-thing>" + "<p>Größe 50 €</p>".encode(),
    ],
)
def test_a_web_pages_letters_are_told_from_its_charset(content: bytes) -> None:
    assert reader.read(content, "application/xhtml+xml").pages[0].text == "Größe 50 €"


def test_a_japanese_page_is_read_by_the_charset_that_it_names() -> None:
    content = b"<meta charset=Shift_JIS>" + "最大積載75kg".encode("shift_jis")
    assert reader.read(content, "text/html").pages[0].text == "最大積載75kg"


def test_plain_text_is_read_as_it_stands() -> None:
    text = reader.read(b"<b>Roof</b>\r\n  75 kg\x07\n", "text/plain")
    assert text == ReadText((Page("<b>Roof</b>\n  75 kg \n"),), "layer")
    assert reader.read(b"  \n", "text/plain") == ReadText((Page(""),), "none")


@pytest.mark.parametrize("media_type", ["text/html", "application/xhtml+xml", "text/plain"])
def test_a_web_page_has_no_picture(media_type: str) -> None:
    with pytest.raises(CantrailError) as refused:
        reader.picture(b"<p>75 kg</p>", media_type, 1)
    assert (refused.value.kind, refused.value.code) == (Kind.UNSUPPORTED, "no_picture")


def test_the_libraries_that_read_are_not_loaded_here() -> None:
    asked = "import app.adapters.page_reader, sys; print({'pypdfium2', 'pypdfium2_raw', 'PIL'} & set(sys.modules))"
    ran = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "set()"


def png_chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
