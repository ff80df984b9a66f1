"""What is odd about a PDF, as codes: what it does when it is opened, and what it carries besides its pages."""

import re
import zlib
from collections.abc import Iterator
from typing import Final

import pypdfium2.raw as pdfium

_MARKS: Final = {
    "embedded_files": re.compile(rb"/(?:EmbeddedFiles?|FileAttachment)\b"),
    "javascript": re.compile(rb"/JavaScript\b"),
    "launch_action": re.compile(rb"/Launch\b"),
}
_ESCAPED: Final = re.compile(rb"#([0-9A-Fa-f]{2})")
_PACKED: Final = re.compile(rb"/ObjStm\b")
_STREAM: Final = re.compile(rb"\bstream\r?\n")
_STREAM_END: Final = b"endstream"
_DICTIONARY: Final = 1024
_UNPACKED_EACH: Final = 8 * 1024 * 1024
_UNPACKED: Final = 64 * 1024 * 1024


def oddities(document: object, content: bytes) -> tuple[str, ...]:
    """What PDFium knows of, and what names in the file tell, packed ones too: PDFium knows only some of the places
    where an action may hang. A name may also stand where it does nothing; what is told is worth a look, no more."""
    found = set()
    if pdfium.FPDFDoc_GetJavaScriptActionCount(document) > 0:
        found.add("javascript")
    if pdfium.FPDFDoc_GetAttachmentCount(document) > 0:
        found.add("embedded_files")
    if pdfium.FPDF_GetFormType(document) != pdfium.FORMTYPE_NONE:
        found.add("form")
    if pdfium.FPDF_GetSecurityHandlerRevision(document) >= 0:
        found.add("encrypted")
    for text in (content, *_unpacked(content)):
        plain = _ESCAPED.sub(_character, text)
        found |= {code for code, mark in _MARKS.items() if mark.search(plain)}
    return tuple(sorted(found))


def _character(escaped: re.Match[bytes]) -> bytes:
    return bytes([int(escaped[1], 16)])


def _unpacked(content: bytes) -> Iterator[bytes]:
    """The streams of objects of a file, as far as they can be inflated, up to a size."""
    left = _UNPACKED
    whole = memoryview(content)
    for packed in _PACKED.finditer(content):
        stream = _STREAM.search(content, packed.end(), packed.end() + _DICTIONARY)
        if stream is None or left <= 0:
            continue
        end = content.find(_STREAM_END, stream.end())
        try:
            text = zlib.decompressobj().decompress(whole[stream.end() : end], min(left, _UNPACKED_EACH))
        except zlib.error:
            continue
        left -= len(text)
        yield text
