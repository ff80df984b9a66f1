"""Makes the scenario's papers: real PDF pages with text in them (plates are made next door).

The same document gives the same bytes every time: dates are fixed, nothing is random, and only the letters that
come with the libraries are used.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from random import Random
from typing import Literal, assert_never

from fpdf import FPDF
from fpdf.enums import XPos, YPos

from seed_demo.outlines import OUTLINES
from seed_demo.plates import plate
from seed_demo.publishers import PUBLISHERS
from seed_demo.shapes import Block, Caution, Document, Drawing, Page, Steps, Table

__all__ = ["file", "pdf", "plate"]

_INK = (34, 34, 32)
_GREY = (120, 118, 112)
_ACCENTS = ((26, 82, 96), (122, 46, 34), (58, 78, 42), (70, 58, 104), (120, 84, 20), (40, 60, 90))
# Width and height in millimetres.
_SIZES: dict[str, tuple[int, int]] = {
    "handbook": (122, 172),
    "instruction_sheet": (122, 172),
    "catalogue": (148, 190),
    "letter": (148, 200),
    "maker_page": (190, 156),
    "accessory_page": (190, 156),
}
_GREETINGS = {
    "en": ("Dear Sir or Madam,", "Yours faithfully,"),
    "de": ("Sehr geehrte Damen und Herren,", "Mit freundlichen Grüßen"),
    "fr": ("Madame, Monsieur,", "Veuillez agréer nos salutations distinguées."),
    "es": ("Muy señores nuestros:", "Atentamente,"),
}


def file(doc: Document) -> tuple[str, str, bytes]:
    """A document's file: its name, its media type, its bytes."""
    if doc.kind == "plate_photo":
        return f"{doc.key}.png", "image/png", plate(doc)
    return f"{doc.key}.pdf", "application/pdf", pdf(doc)


def pdf(doc: Document) -> bytes:
    """A document as a PDF: a small booklet page for handbooks and sheets, A4 for letters, lists and web pages."""
    paper = _Paper(doc)
    for number, page in enumerate(doc.pages, start=1):
        paper.lay(page, number)
    return bytes(paper.output())


class _Paper(FPDF):
    """One document in its house's manner: letters and colour go by the publisher's name."""

    def __init__(self, doc: Document) -> None:
        super().__init__(format=_SIZES[doc.kind], unit="mm")
        mark = sum(doc.publisher.encode())
        self.doc = doc
        self.house = PUBLISHERS[doc.publisher]["name"]
        self.face = ("helvetica", "times")[mark % 2] if doc.kind != "letter" else "times"
        self.accent = _ACCENTS[mark % len(_ACCENTS)]
        self.size = 10.0 if doc.kind in {"letter", "maker_page", "accessory_page"} else 9.0
        moment = datetime.fromisoformat(doc.published).replace(tzinfo=UTC)
        self.set_creation_date(moment)
        self.set_title(doc.title)
        self.set_author(self.house)
        self.set_lang(doc.language)
        self.set_auto_page_break(auto=False)
        side = 18 if doc.kind == "letter" else 13
        self.set_margins(side, 14, side)

    def lay(self, page: Page, number: int) -> None:
        """Add a page: its furniture, its title, then its blocks one below the other."""
        self.add_page()
        match self.doc.kind:
            case "letter":
                self._letterhead(page, first=number == 1)
            case "maker_page" | "accessory_page":
                self._browser_print(page, number)
            case _:
                self._running_head(page)
        self.set_text_color(*_INK)
        for block in page.blocks:
            self._block(block)
        if self.doc.kind == "letter" and number == len(self.doc.pages):
            self._signature()
        self._foot(number)

    def _line(self, text: str, size: float, style: Literal["", "B", "I"] = "", gap: float = 1.35) -> None:
        self.set_font(self.face, style, size)
        room = self.w - self.r_margin - self.x - 2 * self.c_margin
        for line in self._wrapped(text, room):
            self.cell(0, size * 0.3528 * gap, line, align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)

    def _wrapped(self, text: str, room: float) -> list[str]:
        """Lines no wider than `room`. Several times as fast as the library's own way, which measures every letter."""
        blank = self.get_string_width(" ")
        lines: list[list[str]] = [[]]
        used = 0.0
        for word in text.split(" "):
            width = self.get_string_width(word)
            if lines[-1] and used + blank + width > room:
                lines.append([])
                used = 0.0
            used += width + (blank if lines[-1] else 0.0)
            lines[-1].append(word)
        return [" ".join(line) for line in lines]

    def _running_head(self, page: Page) -> None:
        self.set_fill_color(*self.accent)
        self.rect(0, 0, self.w, 7, style="F")
        self.set_text_color(255, 255, 255)
        self.set_xy(self.l_margin, 1.2)
        self._line(f"{self.house.upper()}    {self.doc.title}", 7, "B")
        self.set_xy(self.l_margin, 16)
        self.set_text_color(*self.accent)
        self._line(page.title, self.size + 5, "B", 1.2)
        self.set_draw_color(*self.accent)
        self.set_line_width(0.4)
        self.line(self.l_margin, self.get_y() + 1.2, self.w - self.r_margin, self.get_y() + 1.2)
        self.ln(5)

    def _letterhead(self, page: Page, *, first: bool) -> None:
        self.set_xy(self.l_margin, 16)
        self.set_text_color(*self.accent)
        if first:
            self._line(self.house, 17, "B")
            self.set_draw_color(*self.accent)
            self.set_line_width(0.8)
            self.line(self.l_margin, self.get_y() + 2, self.l_margin + 40, self.get_y() + 2)
            self.ln(10)
            self.set_text_color(*_INK)
            self._line(f"{_long_date(self.doc)}          {self.doc.edition}", 9)
            self.ln(7)
        self.set_text_color(*_INK)
        self._line(page.title, 11.5, "B")
        self.ln(3)
        if first:
            self._line(_GREETINGS[self.doc.language][0], self.size)
            self.ln(2.4)

    def _browser_print(self, page: Page, number: int) -> None:
        self.set_xy(self.l_margin, 7)
        self.set_text_color(*_GREY)
        self._line(f"{self.doc.obtained}    {self.doc.title} | {self.house}", 7.5)
        self.set_xy(self.l_margin, 18)
        self.set_fill_color(*self.accent)
        if number == 1:
            self.rect(self.l_margin, 16, self.w - self.l_margin - self.r_margin, 16, style="F")
            self.set_text_color(255, 255, 255)
            self.set_xy(self.l_margin + 4, 20)
            self._line(self.house, 16, "B")
            self.set_xy(self.l_margin, 39)
        self.set_text_color(*self.accent)
        self._line(page.title, 17, "B", 1.2)
        self.ln(4)

    def _signature(self) -> None:
        self.ln(3)
        self._line(_GREETINGS[self.doc.language][1], self.size)
        self.ln(4)
        self.set_draw_color(40, 50, 110)
        self.set_line_width(0.5)
        x, y = self.l_margin, self.get_y() + 4
        stroke = Random(self.doc.key)  # noqa: S311 - a scribble that is the same every time, nothing secret
        points = [(x + 3.2 * i, y + stroke.uniform(-4, 4)) for i in range(14)]
        self.polyline(points)
        self.set_xy(self.l_margin, y + 9)
        self._line(f"For {self.house}" if self.doc.language == "en" else self.house, 10, "I")

    def _foot(self, number: int) -> None:
        self.set_text_color(*_GREY)
        self.set_xy(self.l_margin, self.h - 12)
        self.set_font(self.face, "", 7.5)
        width = self.w - self.l_margin - self.r_margin
        left = self.doc.address or f"{self.house}, {self.doc.edition}"
        self.cell(width / 2, 4, left, align="L")
        self.cell(width / 2, 4, str(number), align="R")

    def _block(self, block: Block) -> None:
        match block:
            case str():
                self._line(block, self.size)
                self.ln(2.4)
            case Table():
                self._table(block)
            case Caution():
                self._caution(block)
            case Steps():
                self._steps(block)
            case Drawing():
                self._drawing(block)
            case _:
                assert_never(block)

    def _table(self, table: Table) -> None:
        width = self.w - self.l_margin - self.r_margin
        columns = self._columns(table, width)
        height = self.size * 0.3528 * 1.9
        rules: list[float] = []
        for number, cells in enumerate((table.head, *table.rows)):
            self.set_font(self.face, "" if number else "B", self.size - (0 if number else 1.5))
            self.set_fill_color(*((243, 241, 234) if number % 2 else (255, 255, 255)))
            for cell, column in zip(cells, columns, strict=True):
                self.cell(column, height, cell, align="L", fill=True)
            self.ln(height)
            rules.append(self.get_y())
        self.set_draw_color(*self.accent)
        for y in rules:
            self.set_line_width(0.4 if y in {rules[0], rules[-1]} else 0.12)
            self.line(self.l_margin, y, self.w - self.r_margin, y)
        self.ln(4)

    def _columns(self, table: Table, width: float) -> list[float]:
        """The columns' widths: what the longest cell of each needs, and an even share of what is left."""
        self.set_font(self.face, "", self.size)
        needed = [max(map(self.get_string_width, column)) + 4 for column in zip(table.head, *table.rows, strict=True)]
        spare = (width - sum(needed)) / len(needed)
        return [column + spare for column in needed]

    def _caution(self, caution: Caution) -> None:
        self.ln(1)
        x, y, width = self.l_margin, self.get_y(), self.w - self.l_margin - self.r_margin
        self.set_xy(x + 13, y + 2)
        self.set_right_margin(self.r_margin + 4)
        self.set_left_margin(x + 13)
        self._line(caution.word, self.size - 0.5, "B")
        self._line(caution.text, self.size - 0.5)
        self.set_left_margin(x)
        self.set_right_margin(x)
        bottom = self.get_y() + 2
        self.set_draw_color(*_INK)
        self.set_line_width(0.4)
        self.rect(x, y, width, bottom - y)
        self.polygon([(x + 6.5, y + 2.5), (x + 10.5, y + 9.5), (x + 2.5, y + 9.5)])
        self.set_line_width(0.7)
        self.line(x + 6.5, y + 5, x + 6.5, y + 7.3)
        self.line(x + 6.5, y + 8.4, x + 6.5, y + 8.6)
        self.set_xy(x, bottom + 3)

    def _steps(self, steps: Steps) -> None:
        x = self.l_margin
        for number, item in enumerate(steps.items, start=1):
            self.set_font(self.face, "B", self.size)
            self.cell(7, self.size * 0.3528 * 1.35, f"{number}.", align="L")
            self.set_left_margin(x + 7)
            self._line(item, self.size)
            self.set_left_margin(x)
            self.set_x(x)
            self.ln(0.8)
        self.ln(2)

    def _drawing(self, drawing: Drawing) -> None:
        width = self.w - self.l_margin - self.r_margin
        x, y = self.l_margin + width * 0.14, self.get_y() + 2
        unit = width * 0.72 / 100
        self.set_draw_color(*_INK)
        self.set_line_width(0.35)
        for shape in OUTLINES[drawing.what]:
            self.polyline([(x + unit * px, y + unit * py) for px, py in shape])
        if drawing.what != "bars":
            for wheel in (22, 80):
                self.circle(x + unit * wheel, y + unit * 38, unit * 6.5)
                self.circle(x + unit * wheel, y + unit * 38, unit * 3)
        self.set_xy(self.l_margin, y + unit * (48 if drawing.what != "bars" else 24))
        self.set_text_color(*_GREY)
        self._line(drawing.caption, self.size - 1.5, "I")
        self.set_text_color(*_INK)
        self.ln(3)


def _long_date(doc: Document) -> str:
    day = date.fromisoformat(doc.published)
    if doc.language == "de":
        return f"{day.day}.{day.month}.{day.year}"
    if doc.language in {"fr", "es"}:
        return f"{day.day}/{day.month}/{day.year}"
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
