"""Grelmund: German wagons and vans, and an open car on which nothing may be carried."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.makers.grelmund_papers import (
    HALMWIG_H40_BOOK,
    HALMWIG_H50_BOOK,
    HALMWIG_H50_FIRST,
    HALMWIG_H50_PLATE,
    HALMWIG_LETTER,
    NEBELGRUND_LIST,
    PFUNDT_BOOK,
    ZETTLOW_Z2_BOOK,
    ZETTLOW_Z3_PAGE,
)
from seed_demo.makers.orrin_papers import GUTTERS_POST
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
    one,
    two,
    where,
)

H40, H50, PC = "grelmund-halmwig-h40-2011", "grelmund-halmwig-h50-2019", "grelmund-pfundt-pc-2018"
Z2, Z3 = "grelmund-zettlow-z2-2015", "grelmund-zettlow-z3-2022"

_FIRST = Entered(OXBOW, "2023-04-24")
_SECOND = Entered(OXBOW, "2024-03-18")
_THIRD = Entered(MARRAM, "2025-03-03")
_LISTS = Entered(OXBOW, "2026-02-16")

_40, _50 = (2011, 2018), (2019, None)

CLAIMS: tuple[Claim, ...] = (
    _FIRST.roof(
        *("halmwig-h40-rails-road", H40, "100 kg", ROAD, where(_40, "wagon", "raised_rail")),
        cite(HALMWIG_H40_BOOK, 2, "Kombi mit Dachreling 100 kg"),
        two(VERJUICE, TAMBOUR),
    ),
    _FIRST.roof(
        *("halmwig-h40-wagon-road", H40, "75 kg", ROAD, where(_40, "wagon", "bare flush_rail fixed_points")),
        cite(HALMWIG_H40_BOOK, 2, "Kombi ohne Dachreling 75 kg"),
        two(VERJUICE, TAMBOUR),
    ),
    _FIRST.roof(
        *("halmwig-h40-sedan-road", H40, "75 kg", ROAD, where(_40, "sedan", "fixed_points")),
        cite(HALMWIG_H40_BOOK, 2, "Limousine mit Fixpunkten 75 kg"),
        two(VERJUICE, TAMBOUR),
    ),
    _FIRST.roof(
        *("halmwig-h40-hatch-road", H40, "50 kg", ROAD, where(_40, "hatch", "all")),
        cite(HALMWIG_H40_BOOK, 2, "Schrägheck, alle Dächer 50 kg"),
        two(VERJUICE, TAMBOUR),
    ),
    _FIRST.roof(
        *("halmwig-h40-rough", H40, "50 kg", ROUGH, where(_40, "all", "all")),
        cite(HALMWIG_H40_BOOK, 2, "Abseits befestigter Straßen: höchstens 50 kg, bei jedem Aufbau und jedem Dach."),
        two(VERJUICE, SEDGE),
    ),
    _FIRST.roof(
        *("halmwig-h50-first-road", H50, "90 kg", ROAD, where((2019, 2020), "wagon", "flush_rail")),
        cite(HALMWIG_H50_FIRST, 1, "Kombi, Modelljahr 2019 und 2020, anliegende Reling: 90 kg samt Träger."),
        (
            *two(QUILLON, VERJUICE),
            dispute(MARRAM, HALMWIG_H50_BOOK, "The edition of 2022, page 2, has 80 kg from 2019 on."),
        ),
    ),
    _SECOND.roof(
        *("halmwig-h50-flush-road", H50, "80 kg", ROAD, where(_50, "wagon", "flush_rail")),
        [
            cite(HALMWIG_H50_BOOK, 2, "Kombi, anliegende Reling 80 kg 240 kg"),
            cite(HALMWIG_H50_PLATE, 1, "DACHLAST 80 KG"),
        ],
        two(VERJUICE, UNDERFELL),
        supersedes="halmwig-h50-first-road",
    ),
    _SECOND.roof(
        *("halmwig-h50-flush-parked", H50, "240 kg", PARKED, where(_50, "wagon", "flush_rail")),
        cite(HALMWIG_H50_BOOK, 2, "Kombi, anliegende Reling 80 kg 240 kg"),
        two(VERJUICE, UNDERFELL),
    ),
    _SECOND.roof(
        *("halmwig-h50-glass-road", H50, "60 kg", ROAD, where(_50, "wagon", "glass")),
        cite(HALMWIG_H50_BOOK, 2, "Kombi, Panoramadach 60 kg 180 kg"),
        two(VERJUICE, UNDERFELL),
    ),
    _SECOND.roof(
        *("halmwig-h50-glass-parked", H50, "180 kg", PARKED, where(_50, "wagon", "glass")),
        cite(HALMWIG_H50_BOOK, 2, "Kombi, Panoramadach 60 kg 180 kg"),
        two(VERJUICE, SEDGE),
    ),
    _SECOND.roof(
        *("halmwig-h50-sedan-road", H50, "75.5 kg", ROAD, where(_50, "sedan", "bare")),
        cite(HALMWIG_H50_BOOK, 2, "Limousine, glattes Dach 75.5 kg 150 kg"),
        two(QUILLON, SEDGE),
    ),
    _SECOND.roof(
        *("halmwig-h50-sedan-parked", H50, "150 kg", PARKED, where(_50, "sedan", "bare")),
        cite(HALMWIG_H50_BOOK, 2, "Limousine, glattes Dach 75.5 kg 150 kg"),
        one(QUILLON),
    ),
    _SECOND.factor(
        *("halmwig-h50-factor", "vehicle", H50, "0.75", "roof_limit"),
        cite(HALMWIG_H50_BOOK, 2, "Auf unbefestigten Wegen gelten 0.75 der Werte in Fahrt."),
        two(QUILLON, SEDGE),
    ),
    _THIRD.roof(
        *("halmwig-h40-letter-road", H40, "100 kg", ROAD, where(_40, "wagon", "raised_rail")),
        cite(HALMWIG_LETTER, 1, "the works gave us 100 kg including the carrier, on made roads"),
        two(QUILLON, UNDERFELL),
        source_type=STATEMENT,
    ),
    _FIRST.roof(
        *("zettlow-z2-points-road", Z2, "150 kg", ROAD, where((2015, 2021), "van", "fixed_points")),
        cite(ZETTLOW_Z2_BOOK, 2, "Mit Fixpunkten: 150 kg, gleichmäßig auf alle sechs verteilt, Träger eingerechnet."),
        two(QUILLON, TAMBOUR),
    ),
    _FIRST.roof(
        *("zettlow-z2-track-road", Z2, "120 kg", ROAD, where((2015, 2021), "van", "track")),
        cite(ZETTLOW_Z2_BOOK, 2, "Mit Schienen: 120 kg, Träger eingerechnet."),
        two(QUILLON, TAMBOUR),
    ),
    _FIRST.roof(
        *("zettlow-z2-rough", Z2, "90 kg", ROUGH, where((2015, 2021), "van", "all")),
        cite(ZETTLOW_Z2_BOOK, 2, "Auf unbefestigten Wegen, bei jedem Dach: 90 kg, Träger eingerechnet."),
        two(QUILLON, VERJUICE),
    ),
    _FIRST.roof(
        *("zettlow-z2-parked", Z2, "250 kg", PARKED, where((2015, 2021), "van", "all")),
        cite(ZETTLOW_Z2_BOOK, 2, "Im Stand, bei jedem Dach: mindestens 250 kg."),
        two(QUILLON, VERJUICE),
        basis=NS,
        bound="at_least",
    ),
    _THIRD.roof(
        *("zettlow-z3-catalogue-road", Z3, "150 kg", ROAD, SILENT),
        cite(ZETTLOW_Z3_PAGE, 1, "Dachlast, Kastenwagen 150 kg"),
        one(TAMBOUR),
        basis=NS,
        source_type=STATEMENT,
    ),
    _FIRST.roof(
        *("pfundt-road", PC, "0 kg", ROAD, where("all", "convertible", "all")),
        cite(PFUNDT_BOOK, 1, "gleich welchen Baujahrs, etwas befördert werden: Dachlast 0 kg"),
        two(TAMBOUR, UNDERFELL),
    ),
    _FIRST.roof(
        *("pfundt-parked", PC, "0 kg", PARKED, where("all", "convertible", "all")),
        [cite(PFUNDT_BOOK, 1, "Dachlast 0 kg"), cite(PFUNDT_BOOK, 1, "Das gilt in Fahrt wie im Stand.")],
        two(TAMBOUR, UNDERFELL),
    ),
    _LISTS.roof(
        *("halmwig-h50-list-sedan", H50, "100 kg", ROAD, where(None, "sedan")),
        cite(NEBELGRUND_LIST, 1, "Halmwig H50 Limousine 100 kg"),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _LISTS.roof(
        *("halmwig-h40-list-hatch", H40, "75 kg", ROAD, where(None, "hatch")),
        cite(NEBELGRUND_LIST, 1, "Halmwig H40 Schrägheck 75 kg"),
        (("reject", SEDGE, "wrong_vehicle", "The handbook has 75 kg for the sedan and 50 kg for the hatch."),),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _LISTS.roof(
        *("zettlow-z3-forum-road", Z3, "180 kg", ROAD, SILENT),
        cite(GUTTERS_POST, 2, "The shop's list has the new Zettlow van at 180 kg."),
        (("ask_evidence", QUILLON, "Whose list? The catalogue says less."),),
        basis=NS,
        source_type=UNVERIFIED,
    ),
)
