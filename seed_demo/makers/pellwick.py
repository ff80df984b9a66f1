"""Pellwick: platforms and bars. With the Tarn T2 they make the worked example of the method."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.shapes import Caution, Claim, Document, Drawing, Steps
from seed_demo.writing import (
    INC,
    NS,
    PARKED,
    ROAD,
    ROUGH,
    SILENT,
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

SLATTEN, ROUGH_SLATTEN = "pellwick-slatten-p1-2018", "pellwick-slatten-rough-p2-2021"
SPARLET, THREE = "pellwick-sparlet-b5-2017", "pellwick-sparlet-three-b7-2020"
CLAMPET1, CLAMPET2 = "pellwick-clampet-f1-2017", "pellwick-clampet-f2-2019"

_LOWER = Caution(
    "LOWER RULES", "Your vehicle has a roof load of its own. Whichever figure is lower is the one to keep to."
)

SLATTEN_SHEET = Document(
    *("slatten-sheet", "pellwick", "instruction_sheet", "Slatten and Slatten Rough: fitting", "Sheet PW-25, issue 4"),
    *("2022-04-01", "2023-11-06", "en", None),
    (
        page(
            "What you have",
            "One platform of nine slats. The feet are welded on; there is nothing else to buy.",
            Drawing("bars", "Slatten, seen from the side."),
            Steps(("Two people lift.", "Set the feet at the marks.", "Turn each key until it clicks twice.")),
        ),
        page(
            "Masses and ratings",
            table(
                "Platform | Own mass, feet included | Rated for",
                "Slatten | 25 kg | 100 kg",
                "Slatten Rough | 25 kg | 100 kg",
            ),
            "Rated for means what you put on top; the platform itself is not in it. On the road.",
            "With the Slatten Rough off the road, load the vehicle's roof to 2/3 of what its maker allows on the road.",
            "Parked, either platform bears 300 kg on top.",
            _LOWER,
        ),
    ),
)
SPARLET_SHEET = Document(
    *("sparlet-sheet", "pellwick", "instruction_sheet", "Sparlet and Sparlet Three: fitting", "Sheet PW-05, issue 7"),
    *("2021-03-01", "2023-11-06", "en", None),
    (
        page(
            "What you have",
            "Sparlet: two bars with feet that are part of them. Sparlet Three: three bars, and feet of your choice.",
            Drawing("bars", "Sparlet."),
            Steps(("Open the ends.", "Set the bars 70 cm apart, or as far as the roof allows.", "Close the ends.")),
        ),
        page(
            "Masses and ratings",
            "The set of Sparlet bars with their feet is 5 kg. On top of the set, 75 kg on the road.",
            "Each bar of a Sparlet Three is 2.75 kg without feet. Each bar of a Sparlet Three takes 30.5 kg on the "
            "road.",
            "Off the road each bar of a Sparlet Three takes 20 kg.",
            _LOWER,
        ),
    ),
)
CLAMPET_SHEET = Document(
    *("clampet-sheet", "pellwick", "instruction_sheet", "Clampet feet", "Sheet PW-11, issue 2"),
    *("2019-09-01", "2023-11-06", "en", None),
    (
        page(
            "Masses and ratings",
            table(
                "Clampet | Each foot, own mass | Each foot, load",
                "F1 for raised rails | 0.8 kg | 30 kg",
                "F2 for points and tracks | 1.15 kg | 35 kg",
            ),
            "The load is everything above the foot, bars included.",
            "On gravel, 0.8 of the F1's load; the F2 keeps all of it.",
            _LOWER,
        ),
    ),
)
FIT_LIST = Document(
    *("pellwick-fit-list", "pellwick", "catalogue", "Pellwick: what fits what", "List for 2024"),
    *("2024-01-01", "2024-01-30", "en", None),
    (
        page(
            "What fits what",
            table(
                "Carrier | Vehicle | Load on this vehicle",
                "Slatten, Slatten Rough | Orrin Tarn T2 | see vehicle",
                "Sparlet | Orrin Tarn T2 | see vehicle",
                "Sparlet | Orrin Ruddlepin | 75 kg",
                "Slatten, raised rails | Orrin Ghyllet G2 | 70 kg",
                "Sparlet Three, raised rails | Orrin Ghyllet G2 | 85 kg",
                "Sparlet Three | Cobblewyn Larkenby L4 | 91.5 kg",
            ),
            "Loads are for the road and leave the carrier out.",
            "Our guess at roofs we do not make: Orrin Tarn T3, 120 kg.",
        ),
    ),
)

DOCUMENTS: tuple[Document, ...] = (SLATTEN_SHEET, SPARLET_SHEET, CLAMPET_SHEET, FIT_LIST)

_FIRST = Entered(PIPISTREL, "2023-11-13")
_FITS = Entered(OXBOW, "2024-02-26")
_LAST = Entered(MARRAM, "2025-11-17")

CLAIMS: tuple[Claim, ...] = (
    _FIRST.mass(
        *("slatten-mass", "carrier", SLATTEN, "25 kg"),
        cite(SLATTEN_SHEET, 2, "Slatten 25 kg 100 kg"),
        two(QUILLON, SEDGE),
        basis="includes_fixing",
    ),
    _FIRST.rating(
        *("slatten-road", "carrier", SLATTEN, "100 kg", ROAD),
        cite(SLATTEN_SHEET, 2, "Slatten 25 kg 100 kg"),
        two(QUILLON, SEDGE),
    ),
    _FIRST.rating(
        *("slatten-parked", "carrier", SLATTEN, "300 kg", PARKED),
        cite(SLATTEN_SHEET, 2, "Parked, either platform bears 300 kg on top."),
        two(QUILLON, SEDGE),
    ),
    _FIRST.mass(
        *("slatten-rough-mass", "carrier", ROUGH_SLATTEN, "25 kg"),
        cite(SLATTEN_SHEET, 2, "Slatten Rough 25 kg 100 kg"),
        two(QUILLON, SEDGE),
        basis="includes_fixing",
    ),
    _FIRST.rating(
        *("slatten-rough-road", "carrier", ROUGH_SLATTEN, "100 kg", ROAD),
        cite(SLATTEN_SHEET, 2, "Slatten Rough 25 kg 100 kg"),
        two(QUILLON, SEDGE),
    ),
    _FIRST.factor(
        *("slatten-rough-factor", "carrier", ROUGH_SLATTEN, "2/3", "roof_limit"),
        cite(SLATTEN_SHEET, 2, "load the vehicle's roof to 2/3 of what its maker allows on the road"),
        two(QUILLON, SEDGE),
    ),
    _FIRST.rating(
        *("slatten-rough-parked", "carrier", ROUGH_SLATTEN, "300 kg", PARKED),
        cite(SLATTEN_SHEET, 2, "Parked, either platform bears 300 kg on top."),
        two(QUILLON, TAMBOUR),
    ),
    _FIRST.mass(
        *("sparlet-mass", "carrier", SPARLET, "5 kg"),
        cite(SPARLET_SHEET, 2, "The set of Sparlet bars with their feet is 5 kg."),
        two(QUILLON, SEDGE),
        basis="includes_fixing",
    ),
    _FIRST.rating(
        *("sparlet-road", "carrier", SPARLET, "75 kg", ROAD),
        cite(SPARLET_SHEET, 2, "On top of the set, 75 kg on the road."),
        two(QUILLON, SEDGE),
    ),
    _FIRST.mass(
        *("three-mass", "carrier", THREE, "2.75 kg"),
        cite(SPARLET_SHEET, 2, "Each bar of a Sparlet Three is 2.75 kg without feet."),
        two(SEDGE, UNDERFELL),
        per="bar",
        basis="excludes_fixing",
    ),
    _FIRST.rating(
        *("three-road", "carrier", THREE, "30.5 kg", ROAD),
        cite(SPARLET_SHEET, 2, "Each bar of a Sparlet Three takes 30.5 kg on the road."),
        (
            misread(TAMBOUR, {"per": "pair"}),
            *two(SEDGE, UNDERFELL),
        ),
        per="bar",
    ),
    _FIRST.rating(
        *("three-rough", "carrier", THREE, "20 kg", ROUGH),
        cite(SPARLET_SHEET, 2, "Off the road each bar of a Sparlet Three takes 20 kg."),
        two(SEDGE, UNDERFELL),
        per="bar",
    ),
    _FIRST.mass(
        *("clampet-f1-mass", "fixing", CLAMPET1, "0.8 kg"),
        cite(CLAMPET_SHEET, 1, "F1 for raised rails 0.8 kg 30 kg"),
        two(QUILLON, VERJUICE),
        per="foot",
    ),
    _FIRST.rating(
        *("clampet-f1-road", "fixing", CLAMPET1, "30 kg", ROAD),
        cite(CLAMPET_SHEET, 1, "F1 for raised rails 0.8 kg 30 kg"),
        two(QUILLON, VERJUICE),
        per="foot",
        basis=INC,
    ),
    _FIRST.factor(
        *("clampet-f1-factor", "fixing", CLAMPET1, "0.8", "own_rating"),
        cite(CLAMPET_SHEET, 1, "On gravel, 0.8 of the F1's load; the F2 keeps all of it."),
        two(QUILLON, VERJUICE),
    ),
    _FIRST.mass(
        *("clampet-f2-mass", "fixing", CLAMPET2, "1.15 kg"),
        cite(CLAMPET_SHEET, 1, "F2 for points and tracks 1.15 kg 35 kg"),
        two(QUILLON, TAMBOUR),
        per="foot",
    ),
    _FIRST.rating(
        *("clampet-f2-road", "fixing", CLAMPET2, "35 kg", ROAD),
        cite(CLAMPET_SHEET, 1, "F2 for points and tracks 1.15 kg 35 kg"),
        two(QUILLON, TAMBOUR),
        per="foot",
        basis=INC,
    ),
    _FITS.rating(
        *("sparlet-on-ruddlepin-road", "fitment", "sparlet-on-ruddlepin", "75 kg", ROAD),
        cite(FIT_LIST, 1, "Sparlet Orrin Ruddlepin 75 kg"),
        two(SEDGE, UNDERFELL),
        scope=where("all"),
        source_type="maker_statement",
    ),
    _FITS.rating(
        *("slatten-on-ghyllet-g2-road", "fitment", "slatten-on-ghyllet-g2", "70 kg", ROAD),
        cite(FIT_LIST, 1, "Slatten, raised rails Orrin Ghyllet G2 70 kg"),
        two(SEDGE, UNDERFELL),
        scope=where(None, None, "raised_rail"),
        source_type="maker_statement",
    ),
    _FITS.rating(
        *("three-on-ghyllet-g2-road", "fitment", "three-on-ghyllet-g2", "85 kg", ROAD),
        cite(FIT_LIST, 1, "Sparlet Three, raised rails Orrin Ghyllet G2 85 kg"),
        (*two(SEDGE, UNDERFELL), dispute(OXBOW, None, "Mine creaks with half of that.")),
        scope=where(None, None, "raised_rail"),
        source_type="maker_statement",
    ),
    _FITS.rating(
        *("three-on-larkenby-road", "fitment", "three-on-larkenby-l4", "91.5 kg", ROAD),
        cite(FIT_LIST, 1, "Sparlet Three Cobblewyn Larkenby L4 91.5 kg"),
        one(VERJUICE),
        source_type="maker_statement",
    ),
    _LAST.roof(
        *("tarn-t3-rack-maker-road", "orrin-tarn-t3-2025", "120 kg", ROAD, SILENT),
        cite(FIT_LIST, 1, "Our guess at roofs we do not make: Orrin Tarn T3, 120 kg."),
        basis=NS,
        source_type=UNVERIFIED,
    ),
)
