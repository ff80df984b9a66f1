"""Thrandle: trucks, and one wagon, sold in pounds at home and in kilograms abroad."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.makers.vasquell_papers import OSTREL_PAGE
from seed_demo.shapes import Caution, Claim, Document, Drawing
from seed_demo.writing import (
    EXC,
    NS,
    PARKED,
    ROAD,
    ROUGH,
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

F11, F15, F21 = "thrandle-gristow-11f-2009", "thrandle-gristow-15f-2015", "thrandle-gristow-21f-2021"
PB = "thrandle-pembrake-pb-2018"

_ROLL = Caution("WARNING", "A load on the roof raises the center of gravity. Slow down before the curve, not in it.")

GRISTOW_11F_BOOK = Document(
    *("gristow-11f-book", "thrandle", "handbook", "Gristow Operator Manual, section R", "2012 revision B"),
    *("2012-03-01", "2023-05-01", "en", "US"),
    (
        page(
            "R-1 Roof of the cab",
            "Thrandle does not offer a roof rack for the 2009-2014 Gristow in any cab. If one is fitted, rack and "
            "cargo together may not "
            "exceed 100 lb when driving.",
            "The headliner braces are not load-bearing.",
            Drawing("pickup", "Gristow."),
            _ROLL,
        ),
    ),
)
GRISTOW_15F_BOOK = Document(
    *("gristow-15f-book", "thrandle", "handbook", "Gristow Operator Manual, section R", "2016 revision A"),
    *("2015-11-01", "2023-05-01", "en", "US"),
    (
        page(
            "R-1 Roof of the cab, 2015-2020",
            table("Cab | Paved | Unpaved", "Dual cab | 154 lb | 99.2 lb", "Extra cab | 121.3 lb | 77 lb"),
            "Rack and feet are part of the load. These figures hold for all roofs.",
            _ROLL,
        ),
    ),
)
GRISTOW_15F_BULLETIN = Document(
    *(
        "gristow-15f-bulletin",
        "thrandle",
        "letter",
        "To all owners of a 2015-2020 Gristow extra cab",
        "Bulletin R-19-3",
    ),
    *("2019-09-30", "2025-02-14", "en", "US"),
    (
        page(
            "Cab roof load lowered",
            "Section R of the manual, revision A, states 121.3 lb for the extra cab on paved roads. Cracks have been "
            "found near the rear "
            "brace. Until further notice the figure is 88 lb, rack included.",
            "Please write this figure into your manual.",
        ),
    ),
)
GRISTOW_21F_BOOK = Document(
    *("gristow-21f-book", "thrandle", "handbook", "Gristow Operator Manual, section R", "2024 revision C"),
    *("2023-12-01", "2024-06-11", "en", "US"),
    (
        page(
            "R-1 Before loading",
            "The 2021 and later Gristow has a stiffer cab.",
            Drawing("pickup", "Four pads above the doors."),
        ),
        page(
            "R-2 Roof loads, 2021 and later, all roofs",
            table(
                "Cab | Paved | Unpaved | Parked",
                "Dual cab | 198.4 lb | 132.3 lb | 595.2 lb",
                "Extra cab | 165 lb | 110 lb | 495 lb",
            ),
            "Rack and feet are part of the load.",
            _ROLL,
        ),
    ),
)
PEMBRAKE_BOOK = Document(
    *("pembrake-book", "thrandle", "handbook", "Pembrake Operator Manual, section R", "2021 revision A"),
    *("2021-02-01", "2024-06-11", "en", "AU"),
    (
        page(
            "R-1 Rails",
            "The Pembrake has raised rails, flush rails, or a bare roof.",
            Drawing("wagon", "Pembrake with raised rails."),
        ),
        page(
            "R-2 Roof loads of the wagon, 2018 and later",
            "Sold in Australia: with raised or flush rails 90 kg when driving, rack included.",
            "Sold in the United States and Canada: with raised or flush rails 165 lb when driving, rack included.",
            "In every market, with a bare roof 110 lb (49.9 kg) when driving, rack included.",
            "Unpaved roads leave 3/4 of any of these.",
            "Parked, in every market: with raised or flush rails 500 lb at least.",
            _ROLL,
        ),
    ),
)
PEMBRAKE_LETTER = Document(
    *("pembrake-letter", "brakwater-vehicle-company", "letter", "Pembrake, Australian delivery", "BVC 2025/0418"),
    *("2025-04-18", "2025-05-02", "en", "AU"),
    (
        page(
            "Roof of the Pembrake",
            "We confirm for wagons delivered in Australia from 2018 on, raised or flush rails: 90 kg including the "
            "rack on sealed roads.",
            "On unsealed roads we ask for no more than 65 kg including the rack.",
        ),
    ),
)

DOCUMENTS: tuple[Document, ...] = (
    *(GRISTOW_11F_BOOK, GRISTOW_15F_BOOK, GRISTOW_15F_BULLETIN, GRISTOW_21F_BOOK, PEMBRAKE_BOOK, PEMBRAKE_LETTER),
)

_FIRST = Entered(MARRAM, "2023-05-15")
_LATER = Entered(PIPISTREL, "2024-07-01")
_LAST = Entered(OXBOW, "2025-05-26")

_RAILS = "raised_rail flush_rail"

CLAIMS: tuple[Claim, ...] = (
    _FIRST.roof(
        *("gristow-11f-ceiling", F11, "100 lb", ROAD, where((2009, 2014), "all")),
        cite(GRISTOW_11F_BOOK, 1, "rack and cargo together may not exceed 100 lb when driving"),
        two(QUILLON, UNDERFELL),
        bound="at_most",
    ),
    _FIRST.roof(
        *("gristow-15f-dual-road", F15, "154 lb", ROAD, where((2015, 2020), "dual_cab", "all")),
        cite(GRISTOW_15F_BOOK, 1, "Dual cab 154 lb 99.2 lb"),
        two(QUILLON, TAMBOUR),
    ),
    _FIRST.roof(
        *("gristow-15f-dual-rough", F15, "99.2 lb", ROUGH, where((2015, 2020), "dual_cab", "all")),
        cite(GRISTOW_15F_BOOK, 1, "Dual cab 154 lb 99.2 lb"),
        two(QUILLON, TAMBOUR),
    ),
    _FIRST.roof(
        *("gristow-15f-extra-road", F15, "121.3 lb", ROAD, where((2015, 2020), "extra_cab", "all")),
        cite(GRISTOW_15F_BOOK, 1, "Extra cab 121.3 lb 77 lb"),
        (
            *two(QUILLON, TAMBOUR),
            dispute(OXBOW, GRISTOW_15F_BULLETIN, "The maker lowered this to 88 lb in a bulletin to owners, page 1."),
        ),
    ),
    _FIRST.roof(
        *("gristow-15f-extra-rough", F15, "77 lb", ROUGH, where((2015, 2020), "extra_cab", "all")),
        cite(GRISTOW_15F_BOOK, 1, "Extra cab 121.3 lb 77 lb"),
        one(QUILLON),
    ),
    _LATER.roof(
        *("gristow-21f-dual-road", F21, "198.4 lb", ROAD, where((2021, None), "dual_cab", "all")),
        cite(GRISTOW_21F_BOOK, 2, "Dual cab 198.4 lb 132.3 lb 595.2 lb"),
        two(SEDGE, UNDERFELL),
    ),
    _LATER.roof(
        *("gristow-21f-dual-rough", F21, "132.3 lb", ROUGH, where((2021, None), "dual_cab", "all")),
        cite(GRISTOW_21F_BOOK, 2, "Dual cab 198.4 lb 132.3 lb 595.2 lb"),
        two(SEDGE, UNDERFELL),
    ),
    _LATER.roof(
        *("gristow-21f-dual-parked", F21, "595.2 lb", PARKED, where((2021, None), "dual_cab", "all")),
        cite(GRISTOW_21F_BOOK, 2, "Dual cab 198.4 lb 132.3 lb 595.2 lb"),
        two(SEDGE, VERJUICE),
    ),
    _LATER.roof(
        *("gristow-21f-extra-road", F21, "165 lb", ROAD, where((2021, None), "extra_cab", "all")),
        cite(GRISTOW_21F_BOOK, 2, "Extra cab 165 lb 110 lb 495 lb"),
        two(SEDGE, UNDERFELL),
    ),
    _LATER.roof(
        *("gristow-21f-extra-rough", F21, "110 lb", ROUGH, where((2021, None), "extra_cab", "all")),
        cite(GRISTOW_21F_BOOK, 2, "Extra cab 165 lb 110 lb 495 lb"),
        two(SEDGE, VERJUICE),
    ),
    _LATER.roof(
        *("gristow-21f-extra-as-paved", F21, "495 lb", ROAD, where((2021, None), "extra_cab", "all")),
        cite(GRISTOW_21F_BOOK, 2, "Extra cab 165 lb 110 lb 495 lb"),
        (
            misread(TAMBOUR, {"condition": PARKED}),
            ("reject", TAMBOUR, "wrong_condition", "495 lb stands in the column for parked vehicles."),
        ),
    ),
    _LATER.roof(
        *("pembrake-au-road", PB, "90 kg", ROAD, where((2018, None), "wagon", _RAILS, "AU")),
        [
            cite(PEMBRAKE_BOOK, 2, "Sold in Australia: with raised or flush rails 90 kg when driving, rack included."),
        ],
        two(QUILLON, SEDGE),
    ),
    _LATER.roof(
        *("pembrake-us-road", PB, "165 lb", ROAD, where((2018, None), "wagon", _RAILS, "US CA")),
        cite(PEMBRAKE_BOOK, 2, "with raised or flush rails 165 lb when driving, rack included"),
        two(QUILLON, SEDGE),
    ),
    _LATER.roof(
        *("pembrake-bare-road", PB, "110 lb", ROAD, where((2018, None), "wagon", "bare", "all")),
        cite(PEMBRAKE_BOOK, 2, "In every market, with a bare roof 110 lb (49.9 kg) when driving, rack included."),
        two(QUILLON, TAMBOUR),
    ),
    _LATER.factor(
        *("pembrake-factor", "vehicle", PB, "3/4", "roof_limit"),
        cite(PEMBRAKE_BOOK, 2, "Unpaved roads leave 3/4 of any of these."),
        two(QUILLON, TAMBOUR),
    ),
    _LATER.roof(
        *("pembrake-parked", PB, "500 lb", PARKED, where((2018, None), "wagon", _RAILS, "all")),
        cite(PEMBRAKE_BOOK, 2, "Parked, in every market: with raised or flush rails 500 lb at least."),
        two(QUILLON, VERJUICE),
        basis=NS,
        bound="at_least",
    ),
    _LAST.roof(
        *("pembrake-letter-road", PB, "90 kg", ROAD, where((2018, None), "wagon", _RAILS, "AU")),
        cite(PEMBRAKE_LETTER, 1, "raised or flush rails: 90 kg including the rack on sealed roads"),
        two(TAMBOUR, VERJUICE),
        source_type=STATEMENT,
    ),
    _LAST.roof(
        *("pembrake-letter-rough", PB, "65 kg", ROUGH, where((2018, None), "wagon", _RAILS, "AU")),
        cite(PEMBRAKE_LETTER, 1, "On unsealed roads we ask for no more than 65 kg including the rack."),
        one(TAMBOUR),
        source_type=STATEMENT,
    ),
    _LAST.roof(
        *("gristow-15f-bulletin-road", F15, "88 lb", ROAD, where((2015, 2020), "extra_cab")),
        cite(GRISTOW_15F_BULLETIN, 1, "Until further notice the figure is 88 lb, rack included."),
        one(SEDGE),
        source_type=STATEMENT,
    ),
    _LAST.roof(
        *("gristow-15f-lot-road", F15, "200 lb", ROAD, where((2016, 2016), "extra_cab")),
        cite(OSTREL_PAGE, 1, "2016 Gristow extra cab, roof good for 200 lb we are told."),
        (("reject", UNDERFELL, "no_evidence", "We are told, says the dealer, and not by whom."),),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _LAST.roof(
        *("gristow-11f-single-road", F11, "75 lb", ROAD, where((2009, 2014), "single_cab")),
        cite(GRISTOW_11F_BOOK, 1, "The headliner braces are not load-bearing."),
        (("withdraw",),),
        basis=EXC,
    ),
)
