"""Cobblewyn: vans, high and low, and a small car with a soft top."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.shapes import Caution, Claim, Document, Drawing, Steps
from seed_demo.writing import (
    EXC,
    INC,
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

L3, L4, L5 = "cobblewyn-larkenby-l3-2006", "cobblewyn-larkenby-l4-2014", "cobblewyn-larkenby-l5-2023"
HT, LADRAIL = "cobblewyn-hobthrush-ht-2017", "cobblewyn-ladrail-lr-2014"
FOOTEL = "cobblewyn-footel-ft-2014"

_CARE = Caution("TAKE CARE", "What is on the roof counts against the van's payload. A tall load wants a slow driver.")

LARKENBY_L3_BOOK = Document(
    *("larkenby-l3-book", "cobblewyn", "handbook", "Larkenby driver's handbook, leaf 22", "Issue of 2009"),
    *("2009-01-01", "2023-09-04", "en", "GB"),
    (
        page(
            "Roof carriers",
            "Larkenby vans of 2006 to 2013 have gutters. With feet in the gutters the roof takes 125 kg, carrier "
            "included.",
            "The feet must number six. With four feet, 75 kg, carrier included.",
            Drawing("van", "Gutters along both sides."),
            _CARE,
        ),
    ),
)
LARKENBY_L4_BOOK = Document(
    *("larkenby-l4-book", "cobblewyn", "handbook", "Larkenby driver's handbook, leaf 22", "Issue of 2018"),
    *("2018-06-01", "2023-09-04", "en", None),
    (
        page(
            "Low, middle, high",
            "The figures overleaf are for every height of roof.",
            Drawing("van", "Tracks or fixed points."),
        ),
        page(
            "Roof carriers, 2014 to 2022",
            table(
                "Fixing | Driving | Standing",
                "Tracks | 140 kg | 300 kg",
                "Fixed points | 100 kg | 220 kg",
            ),
            "Carrier included. On site roads and farm tracks halve the driving figures.",
            _CARE,
        ),
    ),
)
LARKENBY_L5_LETTER = Document(
    *("larkenby-l5-letter", "cobblewyn", "letter", "The new Larkenby", "CW/FLEET/2025/19"),
    *("2025-03-17", "2025-03-24", "en", "GB"),
    (
        page(
            "Roof of the Larkenby from 2023",
            "Until the handbook is out: 110 kg on the roof of the van from 2023 on, carrier included, whichever roof "
            "it has.",
            "We would rather you did not take it off the road with a load on top.",
        ),
    ),
)
HOBTHRUSH_BOOK = Document(
    *("hobthrush-book", "cobblewyn", "handbook", "Hobthrush driver's handbook, leaf 14", "Issue of 2021"),
    *("2021-02-01", "2023-09-04", "en", "GB"),
    (
        page(
            "On the roof",
            "The hatch, from 2017 on: 45 kg, bars included, with any roof.",
            "The convertible, from 2017 on: 0 kg. Nothing may be put upon the hood, whether moving or standing.",
            _CARE,
        ),
    ),
)
LADRAIL_SHEET = Document(
    *("ladrail-sheet", "cobblewyn", "instruction_sheet", "Ladrail bars and Footel feet", "Sheet CW-88, issue 2"),
    *("2014-09-01", "2023-09-04", "en", None),
    (
        page(
            "What is in the box",
            "Three Ladrail bars. Six Footel feet.",
            Drawing("bars", "Ladrail on Footel feet."),
            Steps(("Slide the feet into the track.", "Tighten to 18 Nm.")),
        ),
        page(
            "Masses and loads",
            table(
                "Part | Own mass | Load",
                "Ladrail, each bar | 4.2 kg | 45 kg",
                "Footel, each foot | 0.65 kg | 25 kg",
            ),
            "The load of a bar is what lies upon it. The load of a foot is everything above it.",
            "On farm tracks take 0.5 of the feet's load; the bars do not mind.",
            "On the Larkenby with tracks the three bars together take 120 kg, on the road.",
        ),
    ),
)
LARDER_PAGE = Document(
    *("larder-page", "rooftop-larder", "accessory_page", "Van bars and what they hold", "Autumn list"),
    *("2025-09-20", "2025-10-13", "en", "GB"),
    (
        page(
            "Ladrail",
            "Holds 135 kg, says the maker. So your Larkenby's roof will take 135 kg.",
            "For the Hobthrush we do suction bars, 60 kg.",
            "A Ladrail bar weighed on our scales: 4.35 kg.",
        ),
    ),
    address="https://rooftoplarder.example/vans/ladrail",
)

DOCUMENTS: tuple[Document, ...] = (
    *(LARKENBY_L3_BOOK, LARKENBY_L4_BOOK, LARKENBY_L5_LETTER, HOBTHRUSH_BOOK, LADRAIL_SHEET, LARDER_PAGE),
)

_FIRST = Entered(PIPISTREL, "2023-09-18")
_SECOND = Entered(OXBOW, "2024-08-19")
_THIRD = Entered(MARRAM, "2025-04-07")
_LAST = Entered(OXBOW, "2025-10-20")

_3, _4, _5 = (2006, 2013), (2014, 2022), (2023, None)

CLAIMS: tuple[Claim, ...] = (
    _FIRST.roof(
        *("larkenby-l3-six-feet", L3, "125 kg", ROAD, where(_3, "van", "gutter")),
        cite(LARKENBY_L3_BOOK, 1, "With feet in the gutters the roof takes 125 kg, carrier included."),
        (
            *two(QUILLON, SEDGE),
            dispute(MARRAM, LARKENBY_L3_BOOK, "Only with six feet: the next line of the page has 75 kg with four."),
            ("refute", TAMBOUR, "wrong_scope", "The page ties the figure to six feet, which this claim does not."),
            ("refute", UNDERFELL, "wrong_scope", "With four feet the same roof takes 75 kg. As entered it overstates."),
        ),
    ),
    _FIRST.roof(
        *("larkenby-l3-four-feet", L3, "75 kg", ROAD, where(_3, "van", "gutter")),
        cite(LARKENBY_L3_BOOK, 1, "With four feet, 75 kg, carrier included."),
        two(QUILLON, TAMBOUR),
    ),
    _FIRST.roof(
        *("larkenby-l4-track-road", L4, "140 kg", ROAD, where(_4, "van", "track")),
        cite(LARKENBY_L4_BOOK, 2, "Tracks 140 kg 300 kg"),
        two(QUILLON, SEDGE),
    ),
    _FIRST.roof(
        *("larkenby-l4-track-parked", L4, "300 kg", PARKED, where(_4, "van", "track")),
        cite(LARKENBY_L4_BOOK, 2, "Tracks 140 kg 300 kg"),
        two(QUILLON, SEDGE),
    ),
    _FIRST.roof(
        *("larkenby-l4-points-road", L4, "100 kg", ROAD, where(_4, "van", "fixed_points")),
        cite(LARKENBY_L4_BOOK, 2, "Fixed points 100 kg 220 kg"),
        two(QUILLON, UNDERFELL),
    ),
    _FIRST.roof(
        *("larkenby-l4-points-parked", L4, "220 kg", PARKED, where(_4, "van", "fixed_points")),
        cite(LARKENBY_L4_BOOK, 2, "Fixed points 100 kg 220 kg"),
        one(QUILLON),
    ),
    _FIRST.factor(
        *("larkenby-l4-factor", "vehicle", L4, "1/2", "roof_limit"),
        cite(LARKENBY_L4_BOOK, 2, "On site roads and farm tracks halve the driving figures."),
        two(QUILLON, UNDERFELL),
    ),
    _FIRST.roof(
        *("hobthrush-hatch-road", HT, "45 kg", ROAD, where((2017, None), "hatch", "all")),
        cite(HOBTHRUSH_BOOK, 1, "The hatch, from 2017 on: 45 kg, bars included, with any roof."),
        two(TAMBOUR, UNDERFELL),
    ),
    _FIRST.roof(
        *("hobthrush-soft-road", HT, "0 kg", ROAD, where((2017, None), "convertible", "all")),
        cite(HOBTHRUSH_BOOK, 1, "The convertible, from 2017 on: 0 kg."),
        two(TAMBOUR, UNDERFELL),
    ),
    _FIRST.roof(
        *("hobthrush-soft-parked", HT, "0 kg", PARKED, where((2017, None), "convertible", "all")),
        [
            cite(HOBTHRUSH_BOOK, 1, "The convertible, from 2017 on: 0 kg."),
            cite(HOBTHRUSH_BOOK, 1, "Nothing may be put upon the hood, whether moving or standing."),
        ],
        two(TAMBOUR, VERJUICE),
    ),
    _SECOND.mass(
        *("ladrail-mass", "carrier", LADRAIL, "4.2 kg"),
        cite(LADRAIL_SHEET, 2, "Ladrail, each bar 4.2 kg 45 kg"),
        two(QUILLON, UNDERFELL),
        per="bar",
        basis="excludes_fixing",
    ),
    _SECOND.rating(
        *("ladrail-road", "carrier", LADRAIL, "45 kg", ROAD),
        cite(LADRAIL_SHEET, 2, "Ladrail, each bar 4.2 kg 45 kg"),
        two(QUILLON, UNDERFELL),
        per="bar",
    ),
    _SECOND.mass(
        *("footel-mass", "fixing", FOOTEL, "0.65 kg"),
        cite(LADRAIL_SHEET, 2, "Footel, each foot 0.65 kg 25 kg"),
        two(QUILLON, UNDERFELL),
        per="foot",
    ),
    _SECOND.rating(
        *("footel-road", "fixing", FOOTEL, "25 kg", ROAD),
        cite(LADRAIL_SHEET, 2, "Footel, each foot 0.65 kg 25 kg"),
        two(QUILLON, UNDERFELL),
        per="foot",
        basis=INC,
    ),
    _SECOND.factor(
        *("footel-factor", "fixing", FOOTEL, "0.5", "own_rating"),
        cite(LADRAIL_SHEET, 2, "On farm tracks take 0.5 of the feet's load; the bars do not mind."),
        two(QUILLON, SEDGE),
    ),
    _SECOND.rating(
        *("ladrail-on-larkenby-l4-road", "fitment", "ladrail-on-larkenby-l4", "120 kg", ROAD),
        cite(LADRAIL_SHEET, 2, "On the Larkenby with tracks the three bars together take 120 kg, on the road."),
        two(TAMBOUR, UNDERFELL),
        scope=where(None, "van", "track"),
    ),
    _THIRD.roof(
        *("larkenby-l5-letter-road", L5, "110 kg", ROAD, where(_5, "van", "all")),
        cite(
            LARKENBY_L5_LETTER, 1, "110 kg on the roof of the van from 2023 on, carrier included, whichever roof it has"
        ),
        two(SEDGE, VERJUICE),
        source_type=STATEMENT,
    ),
    _THIRD.roof(
        *("larkenby-l5-letter-rough", L5, "0 kg", ROUGH, where(_5, "van", "all")),
        cite(LARKENBY_L5_LETTER, 1, "We would rather you did not take it off the road with a load on top."),
        (
            misread(SEDGE, {"stated": {"value": "110", "unit": "kg"}, "condition": ROAD}),
            ("reject", SEDGE, "misread", "A wish, not a figure: the letter names none for unsealed roads."),
        ),
        source_type=STATEMENT,
    ),
    _LAST.roof(
        *("larkenby-l4-shop-road", L4, "135 kg", ROAD, SILENT),
        cite(LARDER_PAGE, 1, "So your Larkenby's roof will take 135 kg."),
        (("reject", VERJUICE, "carrier_rating_quoted", "Three bars of 45 kg: the rack's rating, called the roof's."),),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _LAST.roof(
        *("hobthrush-shop-road", HT, "60 kg", ROAD, where(None, "hatch convertible")),
        cite(LARDER_PAGE, 1, "For the Hobthrush we do suction bars, 60 kg."),
        basis=EXC,
        source_type=UNVERIFIED,
    ),
    _LAST.mass(
        *("ladrail-shop-mass", "carrier", LADRAIL, "4.35 kg"),
        cite(LARDER_PAGE, 1, "A Ladrail bar weighed on our scales: 4.35 kg."),
        per="bar",
        basis=NS,
        source_type=UNVERIFIED,
    ),
)
