"""Web pages and plain text: what they say, without where, for they have no place until a browser gives them one."""

import codecs
import re
from html.parser import HTMLParser
from typing import Final

from app.adapters.reading.talk import Refusal
from app.adapters.reading.words import seen
from app.core.pages import Page
from app.services.ports import Looked, ReadText

_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_NO_TEXT: Final = (b"%PDF-", b"\x89PNG", b"\xff\xd8\xff", b"PK\x03\x04", b"GIF8")
_NAMED: Final = re.compile(rb"""(?:charset|encoding)\s*=\s*["']?\s*([A-Za-z0-9_:.-]{1,40})""")
_WHERE_NAMED: Final = 4096
_WESTERN: Final = "cp1252"
_CHARSETS: Final = {
    "ascii": _WESTERN,
    "iso8859-1": _WESTERN,
    "gb2312": "gb18030",
    "gbk": "gb18030",
    **{f"iso8859-{part}": f"iso8859-{part}" for part in range(2, 17) if part != 12},
    **{f"cp125{page}": f"cp125{page}" for page in range(9)},
    **{name: name for name in ("utf-8", "koi8-r", "koi8-u", "big5", "gb18030", "euc_kr", "euc_jp")},
    **{name: name for name in ("shift_jis", "cp932", "iso2022_jp")},
}
"""What a page may say that it is written in, and what that is read as. Other codecs do more than letters."""

_DROPPED: Final = frozenset({"script", "style", "template", "noscript", "svg"})
_APART: Final = frozenset({"td", "th"})
_BLOCKS: Final = frozenset(
    [
        "address",
        "article",
        "aside",
        "blockquote",
        "body",
        "br",
        "button",
        "caption",
        "center",
        "dd",
        "details",
        "dialog",
        "dir",
        "div",
        "dl",
        "dt",
        "fieldset",
        "figcaption",
        "figure",
        "footer",
        "form",
        "h1",
        "h2",
        "h3",
        "h4",
        "h5",
        "h6",
        "head",
        "header",
        "hr",
        "html",
        "legend",
        "li",
        "main",
        "menu",
        "nav",
        "ol",
        "optgroup",
        "option",
        "p",
        "pre",
        "section",
        "select",
        "summary",
        "table",
        "tbody",
        "tfoot",
        "thead",
        "title",
        "tr",
        "ul",
    ]
)
_SPACES: Final = re.compile(r"[ \t\n\r\f]+")
_WIDE: Final = re.compile(r" {2,}")
_EMPTY_LINES: Final = re.compile(r"[ \t]*\n\s*")


def look(content: bytes, media_type: str) -> Looked:
    """One page of text."""
    _decoded(content, media_type)
    return Looked(1)


def read(content: bytes, media_type: str) -> ReadText:
    """Its text, a block a line."""
    text = _decoded(content, media_type)
    if media_type != "text/plain":
        parser = _Text()
        parser.feed(text)
        parser.close()
        text = parser.text()
    text = seen(text.replace("\r\n", "\n").replace("\r", "\n"))
    return ReadText((Page(text),), "layer") if text.strip() else ReadText((Page(""),), "none")


def _decoded(content: bytes, media_type: str) -> str:
    """The characters: as a mark at the beginning says, or the page itself, or UTF-8 where it is that, or Western."""
    if content.startswith(_NO_TEXT):
        raise Refusal("file_unreadable")
    for mark, charset in _MARKS:
        if content.startswith(mark):
            return content[len(mark) :].decode(charset, "replace")
    if b"\0" in content:
        raise Refusal("file_unreadable")
    named = None if media_type == "text/plain" else _named(content[:_WHERE_NAMED])
    if named is not None:
        return content.decode(named, "replace")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        return content.decode(_WESTERN, "replace")


def _named(beginning: bytes) -> str | None:
    for found in _NAMED.finditer(beginning):
        try:
            charset = _CHARSETS.get(codecs.lookup(found[1].decode("ascii")).name)
        except LookupError:
            continue
        if charset is not None:
            return charset
    return None


class _Text(HTMLParser):
    """Gathers what a page says to a reader."""

    def __init__(self) -> None:
        super().__init__()
        self._pieces: list[str] = []
        self._dropping = ""
        self._depth = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A block begins a line; what is dropped begins."""
        if self._dropping:
            self._depth += tag == self._dropping
        elif tag in _DROPPED:
            self._dropping, self._depth = tag, 1
        else:
            self._divide(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element without content, as XHTML writes it."""
        if not self._dropping:
            self._divide(tag)

    def handle_endtag(self, tag: str) -> None:
        """A block ends its line; what is dropped ends."""
        if not self._dropping:
            self._divide(tag)
        elif tag == self._dropping:
            self._depth -= 1
            if self._depth == 0:
                self._dropping = ""

    def handle_data(self, data: str) -> None:
        """What is said; white space in the source is one space."""
        if not self._dropping:
            self._pieces.append(_SPACES.sub(" ", data))

    def text(self) -> str:
        """All of it, without empty lines."""
        return _EMPTY_LINES.sub("\n", _WIDE.sub(" ", "".join(self._pieces))).strip()

    def _divide(self, tag: str) -> None:
        if tag in _BLOCKS:
            self._pieces.append("\n")
        elif tag in _APART:
            self._pieces.append(" ")
