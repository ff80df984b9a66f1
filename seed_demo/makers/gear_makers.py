"""What the gear weighs, by its makers' lists. Each row is a line of a table and the claim made from it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.shapes import Claim, Document, Page, Story
from seed_demo.writing import MANUAL, STATEMENT, UNVERIFIED, Entered, cite, misread, one, page, table, two

# The item's slug without its maker, the words of the list's line, the figure, and what became of the claim.
Row: TypeAlias = tuple[str, str, str, Story]

_UPHELD: Story = (
    *two(QUILLON, SEDGE),
    ("dispute", OXBOW, "larder-boats", "A shop weighed one at 66 kg, page 2."),
    ("uphold", UNDERFELL, None, "That one was wet, and the sheet says that it was weighed dry."),
)

_BIVVENHOLT: tuple[Row, ...] = (
    ("dormelle-d14-2019", "Dormelle 14, with ladder and cover", "58 kg", _UPHELD),
    ("dormelle-d19-2021", "Dormelle 19, with ladder and cover", "74.5 kg", two(QUILLON, SEDGE)),
    ("clamnest-cn-2022", "Clamnest, hard shell", "63 kg", two(QUILLON, TAMBOUR)),
    ("vestibold-v2-2019", "Vestibold, poles and pegs included", "11.2 kg", two(SEDGE, TAMBOUR)),
    ("swaggle-sg-2020", "Swaggle", "7.8 kg", one(SEDGE)),
)
_ALDWETHER: tuple[Row, ...] = (
    ("lappet-l20-2018", "Lappet 2.0 m", "10.5 kg", two(UNDERFELL, VERJUICE)),
    ("lappet-l25-2018", "Lappet 2.5 m", "14 kg", two(UNDERFELL, VERJUICE)),
    ("fanlapse-fw270-2020", "Fanlapse, left hand", "23.6 kg", two(UNDERFELL, SEDGE)),
    ("showerel-sh-2021", "Showerel, empty", "4.9 kg", one(VERJUICE)),
    ("glaremat-gm-2022", "Glaremat, 110 W", "6.25 kg", ()),
    ("lumbar-lb40-2019", "Lumbar, brackets included", "3.4 kg", two(UNDERFELL, VERJUICE)),
)
_QUODDLE: tuple[Row, ...] = (
    ("wickerfin-w94-2016", "Wickerfin 9 ft 4", "15.4 lb", two(TAMBOUR, UNDERFELL)),
    ("wickerfin-w76-2016", "Wickerfin 7 ft 6", "11.9 lb", two(TAMBOUR, UNDERFELL)),
    ("paddelow-p11-2019", "Paddelow 11 ft, with paddle", "26.5 lb", two(TAMBOUR, SEDGE)),
    ("snowlath-sl-2015", "Snowlath, four pairs", "8.4 lb", two(TAMBOUR, SEDGE)),
    ("cycleft-cy1-2017", "Cycleft, one bicycle", "7.7 lb", two(TAMBOUR, QUILLON)),
    ("cycleft-cy2-2023", "Cycleft 2, one bicycle", "6.6 lb", ()),
)
_PACKLORN: tuple[Row, ...] = (
    ("coffrin-c320-2015", "Coffrin 320", "13.9 kg", two(QUILLON, VERJUICE)),
    ("coffrin-c450-2018", "Coffrin 450", "19.6 kg", two(QUILLON, VERJUICE)),
    ("sacketto-sk-2020", "Sacketto", "2.2 kg", two(QUILLON, VERJUICE)),
    ("jerribel-j20-2014", "Jerribel 20, filled with fuel", "19.1 kg", two(QUILLON, SEDGE)),
    ("watterel-wt40-2019", "Watterel 40, filled", "46.3 kg", two(QUILLON, SEDGE)),
    ("gasket-cradle-gc-2018", "Gasket Cradle, with full bottle", "12.75 kg", one(QUILLON)),
    ("sandwaddle-st2-2017", "Sandwaddle, the pair", "7.4 kg", two(QUILLON, UNDERFELL)),
    ("spadrel-sp-2016", "Spadrel", "2.1 kg", two(QUILLON, UNDERFELL)),
    ("wheelcup-wc-2019", "Wheelcup, without wheel", "3.3 kg", one(SEDGE)),
)
_OARWICK: tuple[Row, ...] = (
    ("bobbinet-k3-2014", "Bobbinet K3", "21.5 kg", two(SEDGE, TAMBOUR)),
    ("bobbinet-k5-2020", "Bobbinet K5", "27 kg", two(SEDGE, TAMBOUR)),
    ("canodel-cd16-2012", "Canodel, sixteen foot", "33.8 kg", two(SEDGE, UNDERFELL)),
    ("runglet-rg3-2018", "Runglet, three metres", "9.2 kg", two(SEDGE, UNDERFELL)),
    ("runglet-rg5-2018", "Runglet, five metres", "16.7 kg", ()),
)


def _list(title: str, head: str, rows: tuple[Row, ...], remark: str) -> Page:
    return page(title, table(head, *(f"{line} | {figure}" for _, line, figure, _ in rows)), remark)


def _weighed(desk: Entered, document: Document, rows: tuple[Row, ...], source_type: str) -> Iterator[Claim]:
    for item, line, figure, story in rows:
        name = f"{document.publisher}-{item}"
        quote = cite(document, 1, f"{line} {figure}")
        yield desk.mass(f"{name}-mass", "gear", name, figure, quote, story, source_type=source_type)


BIVVENHOLT_SHEET = Document(
    *("bivvenholt-sheet", "bivvenholt", "instruction_sheet", "Bivvenholt: packing sheet", "Sheet 1, 2023"),
    *("2023-01-01", "2024-06-24", "en", None),
    (_list("What it weighs", "Tent or awning | Mass", _BIVVENHOLT, "Weighed dry. A wet tent can be a fifth heavier."),),
)
ALDWETHER_CATALOGUE = Document(
    *("aldwether-catalogue", "aldwether", "catalogue", "Aldwether catalogue", "2024"),
    *("2024-01-01", "2024-06-24", "en", None),
    (_list("Shade and light", "Thing | Mass", _ALDWETHER, "Masses are of things as sold, bag included."),),
)
QUODDLE_SHEET = Document(
    *("quoddle-sheet", "quoddle", "instruction_sheet", "Quoddle care sheet", "2023"),
    *("2023-06-01", "2024-06-24", "en", None),
    (_list("Boards and holders", "Item | Weight", _QUODDLE, "The Rodtuck is too light for our scales."),),
)
PACKLORN_CATALOGUE = Document(
    *("packlorn-catalogue", "packlorn", "catalogue", "Packlorn: boxes, cans, tools", "Spring 2024"),
    *("2024-03-01", "2024-06-24", "en", None),
    (
        _list(
            "Own mass", "Article | Mass", _PACKLORN, "The Latchest comes in many sizes and is weighed at the counter."
        ),
    ),
)
OARWICK_PAGE = Document(
    *("oarwick-page", "oarwick", "maker_page", "Oarwick: boats and ladders", "As shown in June 2024"),
    *("2024-06-01", "2024-06-24", "en", None),
    (_list("On your shoulder", "Boat or ladder | Mass", _OARWICK, "Give or take half a kilogram of lacquer."),),
    address="https://www.oarwick.example/masses",
)
OARWICK_MIRROR = Document(
    *("larder-boats", "rooftop-larder", "accessory_page", "Boats we have in", "June list"),
    *("2024-06-15", "2025-10-13", "en", "GB"),
    (
        _list("On your shoulder", "Boat or ladder | Mass", _OARWICK, "Give or take half a kilogram of lacquer."),
        page("From our own scales", "Snoozel tent, second hand: 55.5 kg. Dormelle 14, wet: 66 kg."),
    ),
    copies="oarwick-page",
)

DOCUMENTS: tuple[Document, ...] = (
    *(BIVVENHOLT_SHEET, ALDWETHER_CATALOGUE, QUODDLE_SHEET, PACKLORN_CATALOGUE, OARWICK_PAGE, OARWICK_MIRROR),
)

_SHEETS = Entered(MARRAM, "2024-06-30")
_LISTS = Entered(PIPISTREL, "2024-07-08")
_SCALES = Entered(OXBOW, "2025-10-27")

CLAIMS: tuple[Claim, ...] = (
    *_weighed(_SHEETS, BIVVENHOLT_SHEET, _BIVVENHOLT, MANUAL),
    *_weighed(_SHEETS, QUODDLE_SHEET, _QUODDLE, MANUAL),
    *_weighed(_LISTS, ALDWETHER_CATALOGUE, _ALDWETHER, STATEMENT),
    *_weighed(_LISTS, PACKLORN_CATALOGUE, _PACKLORN, STATEMENT),
    *_weighed(_LISTS, OARWICK_PAGE, _OARWICK, STATEMENT),
    _SCALES.mass(
        *("snoozel-scales", "gear", "bivvenholt-snoozel-s1-2017", "55.5 kg"),
        cite(OARWICK_MIRROR, 2, "Snoozel tent, second hand: 55.5 kg."),
        source_type=UNVERIFIED,
    ),
    _SCALES.mass(
        *("dormelle-d14-wet", "gear", "bivvenholt-dormelle-d14-2019", "66 kg"),
        cite(OARWICK_MIRROR, 2, "Dormelle 14, wet: 66 kg."),
        (("reject", SEDGE, "other", "A wet tent is heavier, as the maker's sheet says. This is not its own mass."),),
        source_type=UNVERIFIED,
    ),
    _SCALES.mass(
        *("canodel-light", "gear", "oarwick-canodel-cd16-2012", "31 kg"),
        cite(OARWICK_PAGE, 1, "Canodel, sixteen foot 33.8 kg"),
        (
            misread(VERJUICE, {"stated": {"value": "33.8", "unit": "kg"}}),
            ("reject", VERJUICE, "misread", "The list has 33.8 kg."),
        ),
        source_type=STATEMENT,
    ),
)
