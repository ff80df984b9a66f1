"""Vasquell: wagons and trucks from a country of pounds."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.makers.vasquell_papers import (
    DRAVONI_D1_BOOK,
    DRAVONI_D2_GONE,
    DRAVONI_D2_PAGE,
    OMBRIK_4V_BOOK,
    OMBRIK_5V_BOOK,
    OMBRIK_5V_FIRST,
    OMBRIK_5V_PLATE,
    OSTREL_PAGE,
    QUELTIS_BOOK,
    QUELTIS_LETTER,
)
from seed_demo.shapes import Claim
from seed_demo.writing import (
    EXC,
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
    evidence,
    misread,
    one,
    two,
    where,
)

V4, V5, J9 = "vasquell-ombrik-4v-2010", "vasquell-ombrik-5v-2018", "vasquell-queltis-j9-2016"
D1, D2 = "vasquell-dravoni-d1-2013", "vasquell-dravoni-d2-2020"

_OLD = Entered(MARRAM, "2023-03-20")
_BOOKS = Entered(MARRAM, "2024-04-15")
_TRUCKS = Entered(OXBOW, "2024-05-06")
_SALES = Entered(OXBOW, "2025-04-21")

_4V_RAILS = where((2010, 2017), "wagon", "raised_rail")
_4V_BARE = where((2010, 2017), "wagon", "bare")
_5V_RAILS = where((2018, None), "wagon", "raised_rail")
_5V_GLASS = where((2018, None), "wagon", "glass")

CLAIMS: tuple[Claim, ...] = (
    _OLD.roof(
        *("ombrik-4v-rails-road", V4, "165.3 lb", ROAD, _4V_RAILS),
        cite(OMBRIK_4V_BOOK, 2, "Side rails, crossbars included 165.3 lb 661 lb"),
        two(QUILLON, SEDGE),
    ),
    _OLD.roof(
        *("ombrik-4v-rails-parked", V4, "661 lb", PARKED, _4V_RAILS),
        cite(OMBRIK_4V_BOOK, 2, "Side rails, crossbars included 165.3 lb 661 lb"),
        two(QUILLON, SEDGE),
    ),
    _OLD.roof(
        *("ombrik-4v-bare-road", V4, "0 lb", ROAD, _4V_BARE),
        cite(OMBRIK_4V_BOOK, 2, "No side rails 0 lb 100 lb"),
        two(QUILLON, UNDERFELL),
        basis=NS,
    ),
    _OLD.roof(
        *("ombrik-4v-bare-parked", V4, "100 lb", PARKED, _4V_BARE),
        cite(OMBRIK_4V_BOOK, 2, "No side rails 0 lb 100 lb"),
        one(QUILLON),
        basis=NS,
    ),
    _OLD.factor(
        *("ombrik-4v-factor", "vehicle", V4, "0.6", "roof_limit"),
        cite(OMBRIK_4V_BOOK, 2, "cut the driving load to 0.6 of the figure shown"),
        two(SEDGE, TAMBOUR),
    ),
    _OLD.roof(
        *("ombrik-4v-in-kilograms", V4, "165 kg", ROAD, where((2010, 2017), "wagon")),
        cite(OMBRIK_4V_BOOK, 2, "Side rails, crossbars included 165.3 lb 661 lb"),
        (
            misread(VERJUICE, {"stated": {"value": "165.3", "unit": "lb"}, "scope": _4V_RAILS}),
            ("reject", VERJUICE, "unit_error", "The table is in pounds: 165.3 lb is not quite 75 kg."),
        ),
    ),
    _OLD.roof(
        *("ombrik-5v-first-road", V5, "176 lb", ROAD, where((2018, 2019), "wagon", "raised_rail")),
        cite(OMBRIK_5V_FIRST, 1, "Raised side rails: 176 lb with crossbars included, driving."),
        two(TAMBOUR, VERJUICE),
    ),
    _BOOKS.roof(
        *("ombrik-5v-rails-road", V5, "220.5 lb", ROAD, _5V_RAILS),
        [
            cite(OMBRIK_5V_BOOK, 2, "Raised side rails 220.5 lb 132 lb 700 lb"),
            cite(OMBRIK_5V_PLATE, 1, "220.5 LB / 100 KG"),
        ],
        two(QUILLON, SEDGE),
        supersedes="ombrik-5v-first-road",
    ),
    _BOOKS.roof(
        *("ombrik-5v-rails-rough", V5, "132 lb", ROUGH, _5V_RAILS),
        cite(OMBRIK_5V_BOOK, 2, "Raised side rails 220.5 lb 132 lb 700 lb"),
        two(QUILLON, SEDGE),
    ),
    _BOOKS.roof(
        *("ombrik-5v-rails-parked", V5, "700 lb", PARKED, _5V_RAILS),
        cite(OMBRIK_5V_BOOK, 2, "Raised side rails 220.5 lb 132 lb 700 lb"),
        two(QUILLON, UNDERFELL),
    ),
    _BOOKS.roof(
        *("ombrik-5v-glass-road", V5, "110.2 lb", ROAD, _5V_GLASS),
        cite(OMBRIK_5V_BOOK, 2, "Panoramic glass roof 110.2 lb 66 lb 350 lb"),
        two(QUILLON, SEDGE),
    ),
    _BOOKS.roof(
        *("ombrik-5v-glass-rough", V5, "66 lb", ROUGH, _5V_GLASS),
        cite(OMBRIK_5V_BOOK, 2, "Panoramic glass roof 110.2 lb 66 lb 350 lb"),
        two(QUILLON, TAMBOUR),
    ),
    _BOOKS.roof(
        *("ombrik-5v-glass-parked", V5, "350 lb", PARKED, _5V_GLASS),
        cite(OMBRIK_5V_BOOK, 2, "Panoramic glass roof 110.2 lb 66 lb 350 lb"),
        (
            misread(VERJUICE, {"stated": {"value": "330", "unit": "lb"}}),
            *two(QUILLON, TAMBOUR),
        ),
    ),
    _TRUCKS.roof(
        *("queltis-ceiling", J9, "150 lb", ROAD, where("all", "all", "all")),
        cite(QUELTIS_BOOK, 1, "Cargo on the cab roof must not exceed 150 lb in any cab"),
        two(TAMBOUR, UNDERFELL),
        bound="at_most",
    ),
    _TRUCKS.roof(
        *("queltis-letter-dual-road", J9, "99 lb", ROAD, where((2016, 2023), "dual_cab")),
        cite(QUELTIS_LETTER, 1, "engineering gives 99 lb on the cab roof while driving"),
        two(TAMBOUR, VERJUICE),
        basis=EXC,
        excluded_mass="11 lb",
        source_type=STATEMENT,
    ),
    _OLD.roof(
        *("dravoni-d1-points-road", D1, "110 lb", ROAD, where((2013, 2019), "sedan", "fixed_points")),
        cite(DRAVONI_D1_BOOK, 1, "Sedan with fixed points 110 lb 110 lb"),
        two(SEDGE, UNDERFELL),
    ),
    _OLD.roof(
        *("dravoni-d1-plain-road", D1, "66 lb", ROAD, where((2013, 2019), "sedan", "bare")),
        cite(DRAVONI_D1_BOOK, 1, "Sedan, plain roof 66 lb 66 lb"),
        two(SEDGE, UNDERFELL),
    ),
    _OLD.roof(
        *("dravoni-d1-coupe-road", D1, "0 lb", ROAD, where((2013, 2019), "coupe", "all")),
        cite(DRAVONI_D1_BOOK, 1, "Coupe, any roof 0 lb 0 lb"),
        two(SEDGE, UNDERFELL),
    ),
    _OLD.roof(
        *("dravoni-d1-coupe-parked", D1, "0 lb", PARKED, where((2013, 2019), "coupe", "all")),
        cite(DRAVONI_D1_BOOK, 1, "Coupe, any roof 0 lb 0 lb"),
        two(SEDGE, UNDERFELL),
    ),
    _BOOKS.roof(
        *("dravoni-d2-gone-road", D2, "88 lb", ROAD, where((2020, 2020), "sedan")),
        cite(DRAVONI_D2_GONE, 1, "The roof of the 2020 Dravoni is approved for 88 lb including the rack."),
        (("ask_evidence", SEDGE, "Nothing is behind this address any more. Is there a copy, or another page?"),),
        source_type=STATEMENT,
    ),
    _SALES.roof(
        *("dravoni-d2-page-road", D2, "44 kg", ROAD, where((2020, None), "sedan")),
        cite(DRAVONI_D2_PAGE, 1, "Maximum roof load with Vasquell crossbars 44 kg (97 lb)."),
        (
            ("ask_evidence", TAMBOUR, "Please cite the line that names the model years as well."),
            evidence(DRAVONI_D2_PAGE, 1, "Fits 2020 and later Dravoni sedans."),
            *one(UNDERFELL),
        ),
        basis=NS,
        source_type=STATEMENT,
    ),
    _SALES.roof(
        *("ombrik-5v-lot-glass", V5, "220.5 lb", ROAD, where((2021, 2021), "wagon", "glass")),
        cite(OSTREL_PAGE, 1, "2021 Ombrik, glass roof, will take 220.5 lb up top no problem."),
        (
            (
                "reject",
                TAMBOUR,
                "wrong_scope",
                "The handbook gives that figure for raised rails, and half of it for glass.",
            ),
        ),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _SALES.roof(
        *("queltis-lot-extra", J9, "220 lb", ROAD, where((2018, 2018), "extra_cab")),
        cite(OSTREL_PAGE, 1, "2018 Queltis extra cab, 220 lb on the roof with Hesk bars."),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _SALES.roof(
        *("dravoni-d1-points-parked", D1, "110 lb", PARKED, where((2013, 2019), "sedan", "fixed_points")),
        cite(DRAVONI_D1_BOOK, 1, "Sedan with fixed points 110 lb 110 lb"),
        (
            *two(QUILLON, VERJUICE),
            dispute(MARRAM, None, "The table repeats the driving figures; a slip of the printer?"),
        ),
    ),
    _SALES.roof(
        *("queltis-hearsay", J9, "60 lb", ROUGH, SILENT),
        cite(OSTREL_PAGE, 1, "2018 Queltis extra cab"),
        (("withdraw",),),
        basis=NS,
        source_type=UNVERIFIED,
    ),
)
