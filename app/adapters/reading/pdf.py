"""PDF files, by PDFium's own interface: a first look, the text of every page, a page drawn."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from ctypes import string_at
from typing import Final

import pypdfium2.raw as pdfium

from app.adapters.reading.oddities import oddities
from app.adapters.reading.pdf_text import text_of
from app.adapters.reading.talk import MOST_PAGES, Refusal
from app.core.pages import Page
from app.services.ports import Looked, ReadText

_MAGIC: Final = b"%PDF-"
_TAIL: Final = 1024
_END: Final = b"%%EOF"
_OBJECT: Final = re.compile(rb"\d+\s+\d+\s+obj\b")
_REFUSALS: Final = {pdfium.FPDF_ERR_PASSWORD: "file_encrypted", pdfium.FPDF_ERR_SECURITY: "file_encrypted"}
_WHITE: Final = 0xFFFFFFFF


def look(content: bytes) -> Looked:
    """How many pages there are, each of them there, and what is odd."""
    with _opened(content) as document:
        pages = pdfium.FPDF_GetPageCount(document)
        size = pdfium.FS_SIZEF()
        for number in range(pages):
            if not pdfium.FPDF_GetPageSizeByIndexF(document, number, size):
                raise Refusal("file_unreadable")
        return Looked(pages, oddities(document, content))


def read(content: bytes) -> ReadText:
    """The text of every page. A page that cannot be read refuses the file: what it says would be missed."""
    with _opened(content) as document:
        pages = tuple(_text(document, number) for number in range(pdfium.FPDF_GetPageCount(document)))
    return ReadText(pages, "layer" if any(page.text for page in pages) else "none")


def picture(content: bytes, page: int, longest: int, most: int = 0) -> bytes:
    """A page drawn as PNG; no wider than `most` and in few colours, unless that is 0."""
    from app.adapters.reading.pictures import png_of

    with _opened(content) as document:
        if not 1 <= page <= pdfium.FPDF_GetPageCount(document):
            raise Refusal("no_such_page")
        with _page(document, page - 1) as handle:
            width, height = _pixels(
                pdfium.FPDF_GetPageWidthF(handle), pdfium.FPDF_GetPageHeightF(handle), longest, most or longest
            )
            drawn = pdfium.FPDFBitmap_Create(width, height, 0)
            if not drawn:
                raise MemoryError
            pdfium.FPDFBitmap_FillRect(drawn, 0, 0, width, height, _WHITE)
            pdfium.FPDF_RenderPageBitmap(drawn, handle, 0, 0, width, height, 0, pdfium.FPDF_ANNOT)
            stride = pdfium.FPDFBitmap_GetStride(drawn)
            pixels = pdfium.FPDFBitmap_GetBuffer(drawn)
            return png_of(string_at(pixels, stride * height), width, height, stride, few=most > 0)


def _pixels(width: float, height: float, longest: int, most: int) -> tuple[int, int]:
    """How wide and high a page is drawn: its longer side has so many pixels, and it is no wider than `most`."""
    scale = min(longest / max(width, height, 1e-6), most / max(width, 1e-6))
    return min(longest, max(1, round(width * scale))), min(longest, max(1, round(height * scale)))


@contextmanager
def _opened(content: bytes) -> Iterator[object]:
    """A document that has pages, not too many. What ends too early is refused, though PDFium would make do with the
    pages that it finds."""
    if not content.startswith(_MAGIC):
        raise Refusal("file_unreadable")
    if not _is_whole(content):
        raise Refusal("file_truncated")
    document = pdfium.FPDF_LoadMemDocument64(content, len(content), None)
    if not document:
        raise Refusal(_REFUSALS.get(pdfium.FPDF_GetLastError(), "file_unreadable"))
    try:
        pages = pdfium.FPDF_GetPageCount(document)
        if pages > MOST_PAGES:
            raise Refusal("file_too_many_pages")
        if pages < 1:
            raise Refusal("file_unreadable")
        yield document
    finally:
        pdfium.FPDF_CloseDocument(document)


def _is_whole(content: bytes) -> bool:
    """Whether a file has its end, and no further object begins after it."""
    end = content.rfind(_END)
    tail = len(content.rstrip(b"\0\t\n\f\r ")) - _TAIL
    return end >= tail and end >= 0 and not _OBJECT.search(content, end)


def _text(document: object, number: int) -> Page:
    with _page(document, number) as page:
        layer = pdfium.FPDFText_LoadPage(page)
        if not layer:
            raise Refusal("file_unreadable")
        try:
            return text_of(page, layer)
        finally:
            pdfium.FPDFText_ClosePage(layer)


@contextmanager
def _page(document: object, number: int) -> Iterator[object]:
    page = pdfium.FPDF_LoadPage(document, number)
    if not page:
        raise Refusal("file_unreadable")
    try:
        yield page
    finally:
        pdfium.FPDF_ClosePage(page)
