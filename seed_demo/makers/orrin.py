"""Orrin: a maker of wagons and utilities. The Tarn T2 is the worked example of the method."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.makers.orrin_papers import (
    BRAMFOLD_PAGE,
    GHYLLET_G1_BOOK,
    GHYLLET_G1_PLATE,
    GHYLLET_G2_BOOK,
    GHYLLET_G2_FIRST,
    GUTTERS_POST,
    RUDDLEPIN_BOOK,
    RUDDLEPIN_LETTER,
    TARN_T1_BOOK,
    TARN_T1_LETTER,
    TARN_T2_BOOK,
    TARN_T2_PLATE,
    TARN_T3_PAGE,
    THISTLEWRACK_LETTER,
)
from seed_demo.shapes import Claim
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
    evidence,
    one,
    two,
    where,
)

T1, T2, T3 = "orrin-tarn-t1-2012", "orrin-tarn-t2-2019", "orrin-tarn-t3-2025"
G1, G2, R3 = "orrin-ghyllet-g1-2009", "orrin-ghyllet-g2-2017", "orrin-ruddlepin-r3-2014"

_EARLY = Entered(PIPISTREL, "2021-06-14")
_BOOKS = Entered(PIPISTREL, "2024-02-05")
_GHYLLET = Entered(OXBOW, "2024-02-19")
_SHELF = Entered(PIPISTREL, "2024-09-02")
_NEW = Entered(MARRAM, "2025-11-10")
_HEARSAY = Entered(OXBOW, "2026-03-02")

_T2_DUAL = where((2019, 2023), "dual_cab", "all")
_T2_WAGON = where((2019, 2023), "wagon", "all")
_T2_LAST = where((2024, 2024), "dual_cab wagon", "all")
_T1_YEARS = (2012, 2018)

CLAIMS: tuple[Claim, ...] = (
    # A letter of long ago: past its date for review by now.
    _EARLY.roof(
        *("tarn-t1-letter-off-road", T1, "40 kg", ROUGH, where(_T1_YEARS, "wagon dual_cab", "all")),
        cite(TARN_T1_LETTER, 1, "no more than 40 kg, the rack counted in, on unsealed roads"),
        two(QUILLON, TAMBOUR),
        source_type=STATEMENT,
    ),
    # The worked example.
    _BOOKS.roof(
        *("tarn-t2-dual-road", T2, "75 kg", ROAD, _T2_DUAL),
        cite(TARN_T2_BOOK, 2, "Dual cab, 2019 to 2023 75 kg"),
        two(QUILLON, SEDGE),
    ),
    _BOOKS.roof(
        *("tarn-t2-wagon-road", T2, "90 kg", ROAD, _T2_WAGON),
        cite(TARN_T2_BOOK, 2, "Wagon, 2019 to 2023 90 kg"),
        two(QUILLON, SEDGE),
    ),
    _BOOKS.roof(
        *("tarn-t2-last-road", T2, "75 kg", ROAD, _T2_LAST),
        cite(TARN_T2_BOOK, 2, "All bodies, 2024 75 kg"),
        two(QUILLON, VERJUICE),
    ),
    _BOOKS.roof(
        *("tarn-t2-parked", T2, "225 kg", PARKED, where((2019, 2024), "dual_cab wagon", "all")),
        [
            cite(TARN_T2_BOOK, 2, "On a Tarn that is parked on level ground the roof bears 225 kg"),
            cite(TARN_T2_PLATE, 1, "PARKED 225 KG"),
        ],
        two(QUILLON, SEDGE),
    ),
    # The Tarn before it.
    _BOOKS.roof(
        *("tarn-t1-wagon-road", T1, "60 kg", ROAD, where(_T1_YEARS, "wagon")),
        cite(TARN_T1_BOOK, 2, "The roof of the wagon carries 60 kg while driving, rack and feet included."),
        two(SEDGE, TAMBOUR),
    ),
    _BOOKS.roof(
        *("tarn-t1-dual-road", T1, "50 kg", ROAD, where(_T1_YEARS, "dual_cab")),
        cite(TARN_T1_BOOK, 2, "The roof of the dual cab carries 50 kg while driving, rack and feet included."),
        two(SEDGE, TAMBOUR),
    ),
    _BOOKS.roof(
        *("tarn-t1-wagon-gutter", T1, "80 kg", ROAD, where(_T1_YEARS, "wagon", "gutter")),
        cite(TARN_T1_BOOK, 2, "a wagon with rain gutters carries 80 kg, rack and feet included"),
        two(SEDGE, UNDERFELL),
    ),
    _BOOKS.roof(
        *("tarn-t1-parked", T1, "150 kg", PARKED, where(_T1_YEARS, "all", "all")),
        cite(TARN_T1_BOOK, 2, "Whatever the body and the roof, when parked it will bear 150 kg at the least"),
        two(QUILLON, VERJUICE),
        bound="at_least",
    ),
    _BOOKS.factor(
        *("tarn-t1-factor", "vehicle", T1, "2/3", "roof_limit"),
        cite(TARN_T1_BOOK, 3, "On unsealed roads carry no more than 2/3 of the loads on the page before."),
        two(QUILLON, SEDGE),
    ),
    # The Ghyllet's handbook and its data plate do not agree.
    _GHYLLET.roof(
        *("ghyllet-g1-book-road", G1, "100 kg", ROAD, where((2009, 2016), "all", "raised_rail")),
        cite(GHYLLET_G1_BOOK, 2, "With roof rails 100 kg"),
        two(QUILLON, SEDGE),
    ),
    _GHYLLET.roof(
        *("ghyllet-g1-plate-road", G1, "80 kg", ROAD, SILENT),
        cite(GHYLLET_G1_PLATE, 1, "ROOF MAX 80 KG"),
        two(TAMBOUR, UNDERFELL),
        basis=NS,
    ),
    _GHYLLET.roof(
        *("ghyllet-g1-bare-road", G1, "50 kg", ROAD, where((2009, 2016), "all", "bare")),
        cite(GHYLLET_G1_BOOK, 2, "Without roof rails 50 kg"),
        two(QUILLON, SEDGE),
    ),
    # The Ghyllet's first edition gives way to the second, whose line for raised rails beats its plain one.
    _GHYLLET.roof(
        *("ghyllet-g2-first-road", G2, "70 kg", ROAD, where((2017, 2020), "wagon")),
        cite(GHYLLET_G2_FIRST, 1, "Roof load, driving: 70 kg including the rack."),
        two(QUILLON, SEDGE),
    ),
    _SHELF.roof(
        *("ghyllet-g2-plain-road", G2, "75 kg", ROAD, where((2017, None), "wagon")),
        cite(GHYLLET_G2_BOOK, 2, "Roof load, driving: 75 kg including the rack."),
        two(TAMBOUR, UNDERFELL),
        supersedes="ghyllet-g2-first-road",
    ),
    _SHELF.roof(
        *("ghyllet-g2-raised-road", G2, "100 kg", ROAD, where((2017, None), "wagon", "raised_rail")),
        cite(GHYLLET_G2_BOOK, 2, "Where the wagon has raised rails: 100 kg including the rack."),
        two(TAMBOUR, UNDERFELL),
    ),
    _SHELF.roof(
        *("ghyllet-g2-rough", G2, "60 kg", ROUGH, where((2017, None), "wagon", "all")),
        cite(GHYLLET_G2_BOOK, 3, "Off the seal, on any roof: 60 kg including the rack."),
        two(TAMBOUR, VERJUICE),
    ),
    _SHELF.roof(
        *("ghyllet-g2-parked", G2, "300 kg", PARKED, where((2017, None), "wagon", "raised_rail flush_rail")),
        cite(GHYLLET_G2_BOOK, 3, "Parked, on rails of either kind: 300 kg."),
        (*two(TAMBOUR, UNDERFELL), dispute(OXBOW, None, "A fitter told me that the rails bend well before that.")),
    ),
    # The Ruddlepin: an importer's letter gives what happens to be the rating of the bars that fit.
    _SHELF.roof(
        *("ruddlepin-letter-road", R3, "75 kg", ROAD, where((2014, 2022), "hatch")),
        cite(RUDDLEPIN_LETTER, 1, "we consider 75 kg on the roof to be in order"),
        two(QUILLON, SEDGE),
        basis=NS,
        source_type=STATEMENT,
    ),
    _SHELF.roof(
        *("ruddlepin-book-parked", R3, "100 kg", PARKED, where((2014, 2022), "hatch", "all")),
        cite(RUDDLEPIN_BOOK, 2, "Parked, the roof bears at least 100 kg"),
        one(TAMBOUR),
        bound="at_least",
    ),
    _SHELF.roof(
        *("ruddlepin-book-ceiling", R3, "80 kg", ROAD, where("all", "hatch", "all")),
        cite(RUDDLEPIN_BOOK, 2, "must never exceed 80 kg, whatever carrier is fitted"),
        two(TAMBOUR, VERJUICE),
        bound="at_most",
    ),
    # The newest Tarn has no handbook on the shelf yet.
    _NEW.roof(
        *("tarn-t3-page-road", T3, "100 kg", ROAD, where((2025, 2026), "dual_cab", "track")),
        cite(TARN_T3_PAGE, 1, "With the roof tracks fitted, the dual cab carries 100 kg on its roof, rack included."),
        one(VERJUICE),
        source_type=STATEMENT,
    ),
    _NEW.roof(
        *("tarn-t3-page-rough", T3, "66.5 kg", ROUGH, where((2025, 2026), "dual_cab", "track")),
        cite(TARN_T3_PAGE, 1, "On gravel and tracks the figure is 66.5 kg."),
        source_type=STATEMENT,
        basis=NS,
    ),
    _NEW.roof(
        *("tarn-t3-page-parked", T3, "300 kg", PARKED, where((2025, 2026))),
        cite(TARN_T3_PAGE, 2, "Pitch a tent for two: 300 kg when parked."),
        (("ask_evidence", QUILLON, "The page shows a tent and no handbook. Is there a line in the book?"),),
        source_type=STATEMENT,
        basis=NS,
    ),
    # What people say.
    _HEARSAY.roof(
        *("tarn-t2-dealer-road", T2, "100 kg", ROAD, where((2019, 2023))),
        cite(BRAMFOLD_PAGE, 1, "Tarn with Slatten platform: 100 kg roof capacity"),
        (
            (
                "reject",
                UNDERFELL,
                "carrier_rating_quoted",
                "100 kg is what the Slatten is rated for, not the Tarn's roof.",
            ),
        ),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _HEARSAY.roof(
        *("tarn-t2-forum-rough", T2, "45 kg", ROUGH, SILENT),
        cite(GUTTERS_POST, 1, "the bloke at the counter said 45 kg on corrugations and not a gram more"),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _HEARSAY.roof(
        *("ghyllet-g1-owner-road", G1, "120 kg", ROAD, where((2012, 2012), "wagon", "raised_rail")),
        cite(THISTLEWRACK_LETTER, 1, "I have carried 120 kg on mine for years"),
        (("reject", SEDGE, "no_evidence", "What one owner has got away with says nothing about the limit."),),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _HEARSAY.roof(
        *("tarn-t1-plate-guess", T1, "65 kg", ROAD, where(_T1_YEARS)),
        cite(BRAMFOLD_PAGE, 1, "Older Tarn: 65 kg"),
        (
            ("ask_evidence", VERJUICE, "A dealer's list. Which page of the handbook is this from?"),
            evidence(GUTTERS_POST, 2, "my T1 came with a sticker, 65 kg it says"),
            ("withdraw",),
        ),
        basis=NS,
        source_type=UNVERIFIED,
    ),
)
