"""Skaveld: northern wagons, with the maker's own bars."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.shapes import Caution, Claim, Document, Drawing, Steps
from seed_demo.writing import (
    NS,
    PARKED,
    ROAD,
    ROUGH,
    SILENT,
    STATEMENT,
    UNVERIFIED,
    Entered,
    cite,
    dispute,
    misread,
    one,
    page,
    table,
    two,
    where,
)

U1, U2, FR = "skaveld-uvenn-u1-2013", "skaveld-uvenn-u2-2020", "skaveld-frostrik-fr-2016"
BJELKON = "skaveld-bjelkon-bj-2020"

_SNOW = Caution("NOTE", "Wet snow on a rack weighs as well. Sweep it off before you load, and before you leave.")

UVENN_U1_BOOK = Document(
    *("uvenn-u1-book", "skaveld", "handbook", "Uvenn U1 book, chapter Roof", "Edition 2015"),
    *("2015-01-01", "2023-10-02", "en", None),
    (
        page(
            "Roof load, 2013 to 2019",
            table("Body | Roof load", "Wagon | 75 kg", "Sedan | 60 kg"),
            "Wherever the book says roof load it means everything that was not there when the car left the works.",
            _SNOW,
        ),
    ),
)
UVENN_U2_FIRST = Document(
    *("uvenn-u2-first", "skaveld", "handbook", "Uvenn U2 book, chapter Roof", "Edition 2020"),
    *("2020-01-01", "2023-10-02", "en", None),
    (page("Roof load, from 2020", "Wagon with flush rails: 100 kg, bars and load together, driving.", _SNOW),),
)
UVENN_U2_BOOK = Document(
    *("uvenn-u2-book", "skaveld", "handbook", "Uvenn U2 book, chapter Roof", "Edition 2023"),
    *("2023-01-01", "2024-01-29", "en", None),
    (
        page("Rails and glass", "Order the glass roof and you give up some load.", Drawing("wagon", "Flush rails.")),
        page(
            "Roof load, from 2020",
            table(
                "Wagon with | Driving | Standing",
                "Flush rails | 90 kg | 270 kg",
                "Raised rails | 100 kg | 300 kg",
                "Glass roof, either rail | 75 kg | 225 kg",
            ),
            "Bars and load together.",
            "Forest roads: 60 kg with either rail, glass roof or not, bars and load together.",
            _SNOW,
        ),
    ),
)
UVENN_U2_PLATE = Document(
    *("uvenn-u2-plate", "skaveld", "plate_photo", "Plate in the boot of a Uvenn", "Wagon, 2022"),
    *("2022-01-01", "2024-01-29", "en", "NO"),
    (page("SKAVELD", "UVENN U2 WAGON", "FLUSH RAILS", "ROOF 90 KG", "GLASS 75 KG"),),
)
FROSTRIK_BOOK = Document(
    *("frostrik-book", "skaveld", "handbook", "Frostrik book, chapter Roof", "Edition 2021"),
    *("2021-01-01", "2024-01-29", "en", None),
    (
        page(
            "Roof load, from 2016",
            "Wagon, any roof: 150 kg driving, carrier and load together. Dual cab, any roof: 100 kg driving, carrier "
            "and load together.",
            "Off the road: wagon 110 kg, dual cab 70.5 kg, carrier and load together, any roof.",
            "Standing, any body and any roof: 400 kg at the most. We have not tried more.",
            Drawing("pickup", "Dual cab."),
            _SNOW,
        ),
    ),
)
FROSTRIK_PAGE = Document(
    *("frostrik-page", "skaveld", "maker_page", "Frostrik: facts", "As shown in June 2025"),
    *("2025-05-28", "2025-06-16", "en", "NO"),
    (
        page(
            "Facts",
            table("Frostrik wagon | Fact", "Wading | 85 cm", "Roof, driving | 150 kg", "Tent for three | yes"),
        ),
    ),
    address="https://www.skaveld.example/frostrik/facts",
)
BJELKON_SHEET = Document(
    *("bjelkon-sheet", "skaveld", "instruction_sheet", "Bjelkon bars", "Sheet 12"),
    *("2020-02-01", "2024-01-29", "en", None),
    (
        page(
            "Bjelkon bars for the Uvenn U2",
            "The pair with its feet is 6.8 kg. The pair carries 85 kg.",
            "On forest roads the bars, and the roof under them, carry 0.7 of what they carry on the road.",
            Drawing("bars", "Bjelkon."),
            Steps(("Open the flaps in the rail.", "Press the feet home until they click.", "Lock.")),
        ),
    ),
)
STRAP_PAGE = Document(
    *("strap-page", "the-strap-cupboard", "accessory_page", "Straps by vehicle", "List 9"),
    *("2026-03-09", "2026-03-30", "en", None),
    (
        page(
            "How many straps",
            "Uvenn wagon of 2016, 100 kg: six straps.",
            "Frostrik dual cab, 150 kg: eight straps.",
        ),
    ),
)

DOCUMENTS: tuple[Document, ...] = (
    *(
        UVENN_U1_BOOK,
        UVENN_U2_FIRST,
        UVENN_U2_BOOK,
        UVENN_U2_PLATE,
        FROSTRIK_BOOK,
        FROSTRIK_PAGE,
        BJELKON_SHEET,
        STRAP_PAGE,
    ),
)

_FIRST = Entered(OXBOW, "2023-10-16")
_SECOND = Entered(MARRAM, "2024-02-12")
_THIRD = Entered(PIPISTREL, "2025-06-23")
_LAST = Entered(MARRAM, "2026-04-06")

_2, _F = (2020, None), (2016, None)

CLAIMS: tuple[Claim, ...] = (
    _FIRST.roof(
        *("uvenn-u1-wagon-road", U1, "75 kg", ROAD, where((2013, 2019), "wagon")),
        cite(UVENN_U1_BOOK, 1, "Wagon 75 kg"),
        two(SEDGE, TAMBOUR),
    ),
    _FIRST.roof(
        *("uvenn-u1-sedan-road", U1, "60 kg", ROAD, where((2013, 2019), "sedan")),
        cite(UVENN_U1_BOOK, 1, "Sedan 60 kg"),
        (
            misread(QUILLON, {"basis": NS}),
            *one(SEDGE),
        ),
    ),
    _FIRST.roof(
        *("uvenn-u2-first-road", U2, "100 kg", ROAD, where(_2, "wagon", "flush_rail")),
        cite(UVENN_U2_FIRST, 1, "Wagon with flush rails: 100 kg, bars and load together, driving."),
        two(SEDGE, TAMBOUR),
    ),
    _SECOND.roof(
        *("uvenn-u2-flush-road", U2, "90 kg", ROAD, where(_2, "wagon", "flush_rail")),
        [cite(UVENN_U2_BOOK, 2, "Flush rails 90 kg 270 kg"), cite(UVENN_U2_PLATE, 1, "ROOF 90 KG")],
        two(UNDERFELL, VERJUICE),
        supersedes="uvenn-u2-first-road",
    ),
    _SECOND.roof(
        *("uvenn-u2-flush-parked", U2, "270 kg", PARKED, where(_2, "wagon", "flush_rail")),
        cite(UVENN_U2_BOOK, 2, "Flush rails 90 kg 270 kg"),
        two(UNDERFELL, VERJUICE),
    ),
    _SECOND.roof(
        *("uvenn-u2-raised-road", U2, "100 kg", ROAD, where(_2, "wagon", "raised_rail")),
        cite(UVENN_U2_BOOK, 2, "Raised rails 100 kg 300 kg"),
        two(UNDERFELL, VERJUICE),
    ),
    _SECOND.roof(
        *("uvenn-u2-raised-parked", U2, "300 kg", PARKED, where(_2, "wagon", "raised_rail")),
        cite(UVENN_U2_BOOK, 2, "Raised rails 100 kg 300 kg"),
        one(UNDERFELL),
    ),
    _SECOND.roof(
        *("uvenn-u2-glass-road", U2, "75 kg", ROAD, where(_2, "wagon", "glass")),
        cite(UVENN_U2_BOOK, 2, "Glass roof, either rail 75 kg 225 kg"),
        two(UNDERFELL, QUILLON),
    ),
    _SECOND.roof(
        *("uvenn-u2-glass-parked", U2, "225 kg", PARKED, where(_2, "wagon", "glass")),
        cite(UVENN_U2_BOOK, 2, "Glass roof, either rail 75 kg 225 kg"),
        two(UNDERFELL, QUILLON),
    ),
    _SECOND.roof(
        *("uvenn-u2-rough", U2, "60 kg", ROUGH, where(_2, "wagon", "all")),
        cite(UVENN_U2_BOOK, 2, "Forest roads: 60 kg with either rail, glass roof or not, bars and load together."),
        two(UNDERFELL, QUILLON),
    ),
    _SECOND.roof(
        *("frostrik-wagon-road", FR, "150 kg", ROAD, where(_F, "wagon", "all")),
        cite(FROSTRIK_BOOK, 1, "Wagon, any roof: 150 kg driving, carrier and load together."),
        two(SEDGE, QUILLON),
    ),
    _SECOND.roof(
        *("frostrik-dual-road", FR, "100 kg", ROAD, where(_F, "dual_cab", "all")),
        cite(FROSTRIK_BOOK, 1, "Dual cab, any roof: 100 kg driving, carrier and load together."),
        two(SEDGE, QUILLON),
    ),
    _SECOND.roof(
        *("frostrik-wagon-rough", FR, "110 kg", ROUGH, where(_F, "wagon", "all")),
        cite(FROSTRIK_BOOK, 1, "Off the road: wagon 110 kg, dual cab 70.5 kg, carrier and load together, any roof."),
        two(SEDGE, TAMBOUR),
    ),
    _SECOND.roof(
        *("frostrik-dual-rough", FR, "70.5 kg", ROUGH, where(_F, "dual_cab", "all")),
        cite(FROSTRIK_BOOK, 1, "Off the road: wagon 110 kg, dual cab 70.5 kg, carrier and load together, any roof."),
        two(SEDGE, TAMBOUR),
    ),
    _SECOND.roof(
        *("frostrik-parked-ceiling", FR, "400 kg", PARKED, where(_F, "all", "all")),
        cite(FROSTRIK_BOOK, 1, "Standing, any body and any roof: 400 kg at the most."),
        two(SEDGE, TAMBOUR),
        basis=NS,
        bound="at_most",
    ),
    _SECOND.mass(
        *("bjelkon-mass", "carrier", BJELKON, "6.8 kg"),
        cite(BJELKON_SHEET, 1, "The pair with its feet is 6.8 kg."),
        two(QUILLON, SEDGE),
        per="pair",
        basis="includes_fixing",
    ),
    _SECOND.rating(
        *("bjelkon-road", "carrier", BJELKON, "85 kg", ROAD),
        cite(BJELKON_SHEET, 1, "The pair carries 85 kg."),
        two(QUILLON, SEDGE),
        per="pair",
        basis=NS,
    ),
    _SECOND.factor(
        *("bjelkon-factor", "carrier", BJELKON, "0.7", "both"),
        cite(BJELKON_SHEET, 1, "the bars, and the roof under them, carry 0.7 of what they carry on the road"),
        two(QUILLON, SEDGE),
    ),
    _THIRD.roof(
        *("frostrik-page-road", FR, "150 kg", ROAD, where(None, "wagon")),
        cite(FROSTRIK_PAGE, 1, "Roof, driving 150 kg"),
        (
            ("ask_evidence", UNDERFELL, "Is the page kept, and does it say which body?"),
            ("add_evidence", "frostrik-page", "1", "Frostrik wagon"),
            *two(TAMBOUR, VERJUICE),
        ),
        basis=NS,
        source_type=STATEMENT,
    ),
    _THIRD.roof(
        *("frostrik-wagon-newer", FR, "165 kg", ROAD, where(_F, "wagon", "all")),
        cite(FROSTRIK_PAGE, 1, "Roof, driving 150 kg"),
        (("withdraw",),),
        source_type=STATEMENT,
    ),
    _LAST.roof(
        *("frostrik-strap-dual", FR, "150 kg", ROAD, where(None, "dual_cab")),
        cite(STRAP_PAGE, 1, "Frostrik dual cab, 150 kg: eight straps."),
        (("reject", TAMBOUR, "wrong_vehicle", "150 kg is the wagon's figure; the dual cab has 100 kg."),),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _LAST.roof(
        *("uvenn-u1-strap", U1, "100 kg", ROAD, SILENT),
        cite(STRAP_PAGE, 1, "Uvenn wagon of 2016, 100 kg: six straps."),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _LAST.roof(
        *("frostrik-track-dispute", FR, "400 kg", PARKED, where(_F, "wagon", "all")),
        cite(FROSTRIK_BOOK, 1, "Standing, any body and any roof: 400 kg at the most. We have not tried more."),
        (
            *two(UNDERFELL, VERJUICE),
            dispute(
                PIPISTREL, FROSTRIK_BOOK, "At the most is not exactly: the page sets an upper bound and no figure."
            ),
            ("refute", QUILLON, "misread", "The page says at the most; this claim says exactly."),
            ("refute", SEDGE, "misread", "An upper bound was entered as a figure."),
        ),
        basis=NS,
    ),
)
