"""Straggmere: baskets and bars in pounds."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.shapes import Caution, Claim, Document, Drawing
from seed_demo.writing import (
    INC,
    NS,
    PARKED,
    ROAD,
    ROUGH,
    STATEMENT,
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

CRADLOW, HESK, HESK4 = "straggmere-cradlow-c1-2015", "straggmere-hesk-h2-2019", "straggmere-hesk-four-h4-2022"
NUBBET = "straggmere-nubbet-n1-2015"

_READ = Caution("READ THIS", "Our figures are for our product. They say nothing about your roof.")

CRADLOW_SHEET = Document(
    *("cradlow-sheet", "straggmere", "instruction_sheet", "Cradlow basket", "Rev. C"),
    *("2017-05-01", "2024-03-22", "en", "US"),
    (
        page(
            "Cradlow",
            table(
                "Item | Figure", "Basket, hardware not included | 41.9 lb", "Hardware bag | 3.2 lb", "Capacity | 150 lb"
            ),
            "Capacity is the cargo in the basket, for paved roads.",
            Drawing("bars", "Cradlow on two bars."),
            _READ,
        ),
    ),
)
HESK_SHEET = Document(
    *("hesk-sheet", "straggmere", "instruction_sheet", "Hesk, Hesk Four and Nubbet feet", "Rev. F"),
    *("2022-08-01", "2024-03-22", "en", "US"),
    (
        page(
            "Parts",
            "Two bars (Hesk) or four (Hesk Four). Feet are sold apart.",
            Drawing("bars", "Hesk with Nubbet feet."),
        ),
        page(
            "Weights and capacities",
            table(
                "Item | Weight | Capacity",
                "Hesk, per pair of bars | 9.7 lb | 165.5 lb",
                "Hesk Four, per pair of bars | 10.6 lb | 187.4 lb",
                "Nubbet, per foot | 1.3 lb | 55.1 lb",
            ),
            "Bar capacity is cargo only. Foot capacity is all that stands on the foot.",
            "Off pavement multiply by 0.7: Hesk Four. Off pavement multiply bars, feet and roof by 0.75: Nubbet.",
            "On the Ombrik 5V with raised rails the Hesk carries 150 lb of cargo, on the Pembrake 140.5 lb.",
            _READ,
        ),
    ),
)
HESK_RECALL = Document(
    *("hesk-recall", "straggmere", "letter", "Hesk Four: lower capacity for the first run", "Letter 23-02"),
    *("2023-02-10", "2025-08-11", "en", "US"),
    (
        page(
            "To owners of a Hesk Four",
            "Bars of the first run have a thinner wall. The capacity per pair of bars is 132.3 lb, not 187.4 lb.",
            "Please put the sticker enclosed over the old figure.",
        ),
    ),
)

DOCUMENTS: tuple[Document, ...] = (CRADLOW_SHEET, HESK_SHEET, HESK_RECALL)

_FIRST = Entered(MARRAM, "2024-03-29")
_SECOND = Entered(OXBOW, "2025-08-18")

CLAIMS: tuple[Claim, ...] = (
    _FIRST.mass(
        *("cradlow-mass", "carrier", CRADLOW, "41.9 lb"),
        cite(CRADLOW_SHEET, 1, "Basket, hardware not included 41.9 lb"),
        two(QUILLON, TAMBOUR),
        basis="excludes_fixing",
    ),
    _FIRST.rating(
        *("cradlow-road", "carrier", CRADLOW, "150 lb", ROAD),
        [
            cite(CRADLOW_SHEET, 1, "Capacity 150 lb"),
            cite(CRADLOW_SHEET, 1, "Capacity is the cargo in the basket, for paved roads."),
        ],
        two(QUILLON, TAMBOUR),
    ),
    _FIRST.mass(
        *("hesk-mass", "carrier", HESK, "9.7 lb"),
        cite(HESK_SHEET, 2, "Hesk, per pair of bars 9.7 lb 165.5 lb"),
        two(TAMBOUR, UNDERFELL),
        per="pair",
        basis="excludes_fixing",
    ),
    _FIRST.rating(
        *("hesk-road", "carrier", HESK, "165.5 lb", ROAD),
        cite(HESK_SHEET, 2, "Hesk, per pair of bars 9.7 lb 165.5 lb"),
        two(TAMBOUR, UNDERFELL),
        per="pair",
    ),
    _FIRST.mass(
        *("hesk-four-mass", "carrier", HESK4, "10.6 lb"),
        cite(HESK_SHEET, 2, "Hesk Four, per pair of bars 10.6 lb 187.4 lb"),
        two(TAMBOUR, UNDERFELL),
        per="pair",
        basis="excludes_fixing",
    ),
    _FIRST.rating(
        *("hesk-four-road", "carrier", HESK4, "187.4 lb", ROAD),
        cite(HESK_SHEET, 2, "Hesk Four, per pair of bars 10.6 lb 187.4 lb"),
        (
            *two(TAMBOUR, UNDERFELL),
            dispute(OXBOW, HESK_RECALL, "The maker's letter 23-02, page 1, lowers this to 132.3 lb for the first run."),
        ),
        per="pair",
    ),
    _FIRST.factor(
        *("hesk-four-factor", "carrier", HESK4, "0.7", None),
        cite(HESK_SHEET, 2, "Off pavement multiply by 0.7: Hesk Four."),
        two(TAMBOUR, VERJUICE),
    ),
    _FIRST.mass(
        *("nubbet-mass", "fixing", NUBBET, "1.3 lb"),
        cite(HESK_SHEET, 2, "Nubbet, per foot 1.3 lb 55.1 lb"),
        two(TAMBOUR, UNDERFELL),
        per="foot",
    ),
    _FIRST.rating(
        *("nubbet-road", "fixing", NUBBET, "55.1 lb", ROAD),
        cite(HESK_SHEET, 2, "Nubbet, per foot 1.3 lb 55.1 lb"),
        two(TAMBOUR, UNDERFELL),
        per="foot",
        basis=INC,
    ),
    _FIRST.factor(
        *("nubbet-factor", "fixing", NUBBET, "0.75", "both"),
        cite(HESK_SHEET, 2, "Off pavement multiply bars, feet and roof by 0.75: Nubbet."),
        two(TAMBOUR, UNDERFELL),
    ),
    _FIRST.rating(
        *("hesk-on-ombrik-5v-road", "fitment", "hesk-on-ombrik-5v", "150 lb", ROAD),
        cite(HESK_SHEET, 2, "On the Ombrik 5V with raised rails the Hesk carries 150 lb of cargo"),
        two(QUILLON, SEDGE),
        scope=where(None, None, "raised_rail"),
    ),
    _FIRST.rating(
        *("hesk-on-pembrake-road", "fitment", "hesk-on-pembrake", "140.5 lb", ROAD),
        cite(HESK_SHEET, 2, "the Hesk carries 150 lb of cargo, on the Pembrake 140.5 lb"),
        two(QUILLON, SEDGE),
    ),
    _SECOND.rating(
        *("hesk-four-first-run", "carrier", HESK4, "132.3 lb", ROAD),
        cite(HESK_RECALL, 1, "The capacity per pair of bars is 132.3 lb, not 187.4 lb."),
        one(SEDGE),
        per="pair",
        basis=NS,
        source_type=STATEMENT,
    ),
    _SECOND.rating(
        *("cradlow-rough", "carrier", CRADLOW, "150 lb", ROUGH),
        cite(CRADLOW_SHEET, 1, "Capacity is the cargo in the basket, for paved roads."),
        (
            misread(VERJUICE, {"condition": ROAD}),
            ("reject", VERJUICE, "wrong_condition", "The sheet says paved roads in so many words."),
        ),
    ),
    _SECOND.rating(
        *("hesk-parked", "carrier", HESK, "496.5 lb", PARKED),
        cite(HESK_SHEET, 2, "Hesk, per pair of bars 9.7 lb 165.5 lb"),
        (("withdraw",),),
        per="pair",
    ),
)
