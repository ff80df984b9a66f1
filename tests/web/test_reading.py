"""Handbooks that are filed over HTTP and read by the real reader, in a process of its own."""

import io
import threading
import time
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fpdf import FPDF
from fpdf.enums import AccessPermission

from app.adapters.page_reader import LIMITS, ConfinedPageReader
from app.bootstrap import Registry, open_registry
from app.services import rebuilding
from app.settings import Settings
from app.worker.draining import drain
from tests.outside import WrittenWeb
from tests.web.people import People, let_in
from tests.web.serving import serving
from tests.web.story import API, Story
from tests.web.talking import Client, talking_to

PAGES = 200
CITED = 143
WORDS = "The vehicle is to be washed with clear water and left to dry in the shade before it is driven again. "


@pytest.fixture
def registry(database_url: str, tmp_path: Path) -> Iterator[Registry]:
    """A registry with the page reader that it has where people use it."""
    settings = Settings(data_dir=tmp_path / "data", database_url=database_url)
    # Only by the clock it may take longer, on a machine that has too much to do.
    reader = ConfinedPageReader(limits=LIMITS._replace(seconds=300.0))
    registry = open_registry(settings, fetcher=WrittenWeb(), reader=reader)
    with registry.database.write() as session:
        rebuilding.begin(session, now=registry.clock.now())
    yield registry
    registry.close()


@pytest.fixture
def people(registry: Registry) -> People:
    return let_in(registry)


@pytest.fixture
def client(registry: Registry) -> Iterator[Client]:
    with talking_to(serving(registry), raises=False) as client:
        yield client


def handbook(pages: int = PAGES) -> FPDF:
    """A handbook of many pages, with the roof's figure on one of them."""
    book = FPDF(format=(148, 210))
    book.set_font("helvetica", size=9)
    book.set_auto_page_break(auto=False)
    for number in range(1, pages + 1):
        book.add_page()
        for _ in range(20):
            book.cell(0, 4, WORDS, new_x="LMARGIN", new_y="NEXT")
        if number == CITED:
            book.cell(0, 8, "Maximum permissible roof load, roof rack included: 75 kg", new_x="LMARGIN", new_y="NEXT")
        book.set_y(-20)
        book.cell(0, 8, str(number))
    return book


def blank(pages: int) -> FPDF:
    book = FPDF()
    for _ in range(pages):
        book.add_page()
    return book


def bomb() -> bytes:
    """A PDF of one page whose content inflates to 540 MB, all of it a line to be drawn."""
    squeezer = zlib.compressobj(9)
    packed = b"".join(squeezer.compress(b"0 0 m " * 200_000) for _ in range(450)) + squeezer.flush()
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 300 300] /Contents 4 0 R >>",
        b"<< /Length %d /Filter /FlateDecode >>\nstream\n%s\nendstream" % (len(packed), packed),
    ]
    out = io.BytesIO(b"%PDF-1.7\n")
    out.seek(0, io.SEEK_END)
    places = []
    for number, each in enumerate(objects, start=1):
        places.append(out.tell())
        out.write(b"%d 0 obj\n%s\nendobj\n" % (number, each))
    start = out.tell()
    out.write(b"xref\n0 5\n0000000000 65535 f \n" + b"".join(b"%010d 00000 n \n" % place for place in places))
    out.write(b"trailer << /Size 5 /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % start)
    return out.getvalue()


def encrypted() -> bytes:
    book = handbook(1)
    book.set_encryption("owner", "reader", permissions=AccessPermission.none())
    return bytes(book.output())


def file(client: Client, people: People, content: bytes, name: str = "handbook.pdf") -> Any:
    return client.post(
        f"{API}/documents",
        data={"publisher": "orrin", "kind": "handbook", "language": "en"},
        files={"file": (name, content, "application/pdf")},
        headers=people["contributor"],
    )


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
def test_a_handbook_of_200_pages_is_filed_read_and_its_figure_found_in_its_place(
    registry: Registry, client: Client, people: People
) -> None:
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    vehicle = story.add("vehicles", maker=maker, model="Tarn", years={"from": 2019})
    filed = file(client, people, bytes(handbook().output()))
    assert filed.status_code == 201, filed.text
    document = filed.json()["id"]
    claim = story.post(
        "/claims",
        {
            "subject": {"kind": "vehicle", "id": vehicle},
            "quantity": "roof_limit",
            "condition": "on_road",
            "stated": {"value": "75", "unit": "kg"},
            "basis": "includes_carrier",
            "source_type": "manual_page",
            "citations": [{"document": document, "page": str(CITED)}],
        },
    )["id"]
    answered = []
    worker = threading.Thread(target=drain, args=(registry,))
    worker.start()
    while worker.is_alive():
        answered.append(client.get(f"{API}/vehicles/{vehicle}/limit?condition=on_road").status_code)
        time.sleep(0.02)
    worker.join()

    # The web process went on answering while the book was read.
    assert set(answered) == {200}
    assert len(answered) > 5
    shown = client.get(f"{API}/documents/{document}").json()
    assert (shown["pages"], shown["text"], shown["flags"], shown["not_read"]) == (PAGES, "layer", [], None)
    (cited,) = client.get(f"{API}/claims/{claim}").json()["citations"]
    assert (cited["outcome"], cited["found_page"]) == ("found", CITED)
    page = client.get(f"{API}/documents/{document}/pages/{CITED}").json()
    assert "Maximum permissible roof load" in page["text"]
    (here,) = page["cited"]
    assert (here["claim"], here["box"]) == (claim, cited["box"])
    box = cited["box"]
    assert 0 < box["left"] < box["right"] < 10_000
    assert 0 < box["top"] < box["bottom"] < 10_000
    assert box["bottom"] - box["top"] < 400
    codes = {each["code"] for each in client.get(f"{API}/claims/{claim}/confidence").json()["points"]}
    assert "reading.found" in codes
    picture = client.get(f"{API}/documents/{document}/pages/{CITED}/picture")
    assert (picture.status_code, picture.headers["content-type"]) == (200, "image/png")
    assert picture.content.startswith(b"\x89PNG\r\n\x1a\n")
    small = client.get(f"{API}/documents/{document}/pages/{CITED}/picture?width=560")
    assert int.from_bytes(small.content[16:20]) == 560
    assert len(small.content) < len(picture.content) / 2
    assert client.get(f"{API}/documents/{document}/pages/{CITED}/picture?width=561").json()["code"] == "bad_input"
    assert client.get(f"{API}/documents/{document}/pages/{PAGES + 1}").json()["code"] == "no_such_page"
    assert client.get(f"{API}/documents/{document}/pages/{PAGES + 1}/picture").json()["code"] == "no_such_page"


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
@pytest.mark.parametrize(
    ("content", "code"),
    [
        (lambda: bytes(handbook(3).output())[:-900], "file_truncated"),
        (encrypted, "file_encrypted"),
        (lambda: b"<html><body>Roof load 75 kg</body></html>", "file_type"),
        (lambda: bytes(blank(501).output()), "file_too_many_pages"),
        (lambda: b"%PDF-1.7\nnothing", "file_truncated"),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_sentence_and_nothing_is_kept(
    content: Any, code: str, registry: Registry, client: Client, people: People
) -> None:
    Story(client, people).publisher("Orrin", "vehicle_maker")
    refused = file(client, people, content())
    told = refused.json()
    assert (refused.status_code, told["code"]) == (415, code), refused.text
    assert told["detail"].endswith(".")
    assert client.get(f"{API}/documents").json()["items"] == []
    assert list(registry.settings.evidence_dir.rglob("*")) == []


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
def test_a_bomb_is_refused_or_entered_as_unreadable_and_harms_nobody(
    registry: Registry, client: Client, people: People
) -> None:
    story = Story(client, people)
    story.publisher("Orrin", "vehicle_maker")
    filed = file(client, people, bomb())
    if filed.status_code == 201:
        drain(registry)
        shown = client.get(f"{API}/documents/{filed.json()['id']}").json()
        assert shown["not_read"] == "file_bomb"
    else:
        assert (filed.status_code, filed.json()["code"]) == (415, "file_bomb")
