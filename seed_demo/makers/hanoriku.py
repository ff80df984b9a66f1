"""Hanoriku: wagons for long dirt roads. Their books leave the maker's own carrier out of the figure."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.makers.hanoriku_papers import (
    MINOHARI_PAGE,
    MIZZENPORT_LETTER,
    NK7_BOOK,
    NK8_BOOK,
    NK8_PLATE,
    NK9_BOOK,
    OFFICE_NOTICE,
    Y3_BOOK,
    Y4_BOOK,
)
from seed_demo.makers.orrin_papers import BRAMFOLD_PAGE
from seed_demo.shapes import Claim
from seed_demo.writing import (
    EXC,
    INC,
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
    two,
    where,
)

NK7, NK8, NK9 = "hanoriku-tozanko-nk7-1999", "hanoriku-tozanko-nk8-2010", "hanoriku-tozanko-nk9-2021"
Y3, Y4, MH = "hanoriku-yubokai-y3-2011", "hanoriku-yubokai-y4-2020", "hanoriku-minohari-mh-2016"

_LETTER = Entered(OXBOW, "2022-12-05")
_FIRST = Entered(OXBOW, "2023-08-28")
_SECOND = Entered(PIPISTREL, "2024-06-03")
_THIRD = Entered(MARRAM, "2026-02-02")

_7, _8, _9 = (1999, 2009), (2010, 2020), (2021, None)

CLAIMS: tuple[Claim, ...] = (
    _LETTER.roof(
        *("tozanko-nk8-letter-rough", NK8, "75 kg", ROUGH, where(_8, "wagon", "gutter")),
        cite(MIZZENPORT_LETTER, 1, "Our workshop allows no more than 75 kg on gravel, carrier and goods together"),
        two(QUILLON, SEDGE),
        source_type=STATEMENT,
    ),
    _FIRST.roof(
        *("tozanko-nk7-wagon-road", NK7, "100 kg", ROAD, where(_7, "wagon", "gutter")),
        cite(NK7_BOOK, 2, "100 kg of goods on the Hanoriku carrier, which itself is 22 kg and is not counted"),
        two(QUILLON, SEDGE),
        basis=EXC,
        excluded_mass="22 kg",
    ),
    _FIRST.roof(
        *("tozanko-nk7-cab-road", NK7, "50 kg", ROAD, where(_7, "single_cab", "gutter")),
        cite(NK7_BOOK, 2, "50 kg of goods on the Hanoriku cab carrier, which itself is 8.5 kg and is not counted"),
        two(QUILLON, SEDGE),
        basis=EXC,
        excluded_mass="8.5 kg",
    ),
    _FIRST.roof(
        *("tozanko-nk7-wagon-rough", NK7, "65 kg", ROUGH, where(_7, "wagon")),
        cite(NK7_BOOK, 2, "On rough tracks let the goods on the wagon be 65 kg, carrier not counted."),
        (
            misread(VERJUICE, {"basis": INC}),
            *two(QUILLON, TAMBOUR),
        ),
        basis=EXC,
    ),
    _FIRST.roof(
        *("tozanko-nk8-wagon-road", NK8, "120 kg", ROAD, where(_8, "wagon", "gutter")),
        [cite(NK8_BOOK, 2, "Wagon with gutter 120 kg 80 kg 350 kg"), cite(NK8_PLATE, 1, "GUTTER LOAD 120 KG")],
        two(TAMBOUR, UNDERFELL),
    ),
    _FIRST.roof(
        *("tozanko-nk8-wagon-rough", NK8, "80 kg", ROUGH, where(_8, "wagon", "gutter")),
        cite(NK8_BOOK, 2, "Wagon with gutter 120 kg 80 kg 350 kg"),
        two(TAMBOUR, UNDERFELL),
    ),
    _FIRST.roof(
        *("tozanko-nk8-wagon-parked", NK8, "350 kg", PARKED, where(_8, "wagon", "gutter")),
        cite(NK8_BOOK, 2, "Wagon with gutter 120 kg 80 kg 350 kg"),
        two(TAMBOUR, UNDERFELL),
    ),
    _FIRST.roof(
        *("tozanko-nk8-za-road", NK8, "100 kg", ROAD, where(_8, "wagon", "gutter", "ZA")),
        cite(NK8_BOOK, 2, "For South Africa, wagon with gutter, road: 100 kg, carrier and goods together."),
        two(TAMBOUR, UNDERFELL),
    ),
    _FIRST.roof(
        *("tozanko-nk8-dual-road", NK8, "60 kg", ROAD, where(_8, "dual_cab", "bare")),
        cite(NK8_BOOK, 2, "Dual cab, bare roof 60 kg 40 kg 120 kg"),
        two(TAMBOUR, SEDGE),
    ),
    _FIRST.roof(
        *("tozanko-nk8-dual-rough", NK8, "40 kg", ROUGH, where(_8, "dual_cab", "bare")),
        cite(NK8_BOOK, 2, "Dual cab, bare roof 60 kg 40 kg 120 kg"),
        two(TAMBOUR, SEDGE),
    ),
    _FIRST.roof(
        *("tozanko-nk8-dual-parked", NK8, "120 kg", PARKED, where(_8, "dual_cab", "bare")),
        cite(NK8_BOOK, 2, "Dual cab, bare roof 60 kg 40 kg 120 kg"),
        one(TAMBOUR),
    ),
    _SECOND.roof(
        *("tozanko-nk9-rails-road", NK9, "100 kg", ROAD, where(_9, None, "raised_rail")),
        cite(NK9_BOOK, 2, "Rails 100 kg 70 kg"),
        two(QUILLON, UNDERFELL),
    ),
    _SECOND.roof(
        *("tozanko-nk9-rails-rough", NK9, "70 kg", ROUGH, where(_9, None, "raised_rail")),
        cite(NK9_BOOK, 2, "Rails 100 kg 70 kg"),
        two(QUILLON, UNDERFELL),
    ),
    _SECOND.roof(
        *("tozanko-nk9-points-road", NK9, "80 kg", ROAD, where(_9, None, "fixed_points")),
        cite(NK9_BOOK, 2, "Fixed points 80 kg 53.5 kg"),
        two(QUILLON, UNDERFELL),
    ),
    _SECOND.roof(
        *("tozanko-nk9-points-rough", NK9, "53.5 kg", ROUGH, where(_9, None, "fixed_points")),
        cite(NK9_BOOK, 2, "Fixed points 80 kg 53.5 kg"),
        two(QUILLON, VERJUICE),
    ),
    _SECOND.roof(
        *("tozanko-nk9-parked", NK9, "300 kg", PARKED, where(_9, None, "all")),
        cite(NK9_BOOK, 2, "Parked on level ground, either roof: 300 kg or more."),
        two(QUILLON, VERJUICE),
        bound="at_least",
    ),
    _SECOND.roof(
        *("yubokai-y3-road", Y3, "75 kg", ROAD, where((2011, 2019), None, "raised_rail")),
        cite(Y3_BOOK, 1, "Rails: carrier and goods together 75 kg on the road."),
        two(SEDGE, VERJUICE),
    ),
    _SECOND.roof(
        *("yubokai-y4-rails-road", Y4, "80 kg", ROAD, where((2020, None), "wagon", "raised_rail")),
        cite(Y4_BOOK, 1, "Rails 80 kg 240 kg"),
        two(SEDGE, TAMBOUR),
    ),
    _SECOND.roof(
        *("yubokai-y4-silent-road", Y4, "60 kg", ROAD, where((2020, None), "wagon")),
        cite(Y4_BOOK, 1, "If no roof is named to you by your dealer, take 60 kg."),
        two(SEDGE, TAMBOUR),
    ),
    _SECOND.roof(
        *("yubokai-y4-glass-road", Y4, "60 kg", ROAD, where((2020, None), "wagon", "glass")),
        cite(Y4_BOOK, 1, "Rails and glass roof 60 kg 180 kg"),
        two(SEDGE, TAMBOUR),
    ),
    _SECOND.roof(
        *("yubokai-y4-rails-parked", Y4, "240 kg", PARKED, where((2020, None), "wagon", "raised_rail")),
        cite(Y4_BOOK, 1, "Rails 80 kg 240 kg"),
        two(SEDGE, UNDERFELL),
    ),
    _SECOND.roof(
        *("yubokai-y4-glass-parked", Y4, "180 kg", PARKED, where((2020, None), "wagon", "glass")),
        cite(Y4_BOOK, 1, "Rails and glass roof 60 kg 180 kg"),
        two(SEDGE, UNDERFELL),
    ),
    _SECOND.factor(
        *("yubokai-y4-factor", "vehicle", Y4, "7/10", "roof_limit"),
        cite(Y4_BOOK, 1, "On tracks use 7/10 of the load for the road."),
        two(SEDGE, TAMBOUR),
    ),
    _SECOND.roof(
        *("minohari-van-road", MH, "100 kg", ROAD, where(None, "van")),
        cite(MINOHARI_PAGE, 1, "The Minohari van takes up to 100 kg on three bars."),
        two(QUILLON, VERJUICE),
        basis=NS,
        source_type=STATEMENT,
    ),
    _SECOND.roof(
        *("minohari-hatch-road", MH, "50 kg", ROAD, where(None, "hatch")),
        cite(MINOHARI_PAGE, 1, "The hatch takes 50 kg on two."),
        one(QUILLON),
        basis=NS,
        source_type=STATEMENT,
    ),
    _SECOND.factor(
        *("minohari-factor", "vehicle", MH, "0.5", "roof_limit"),
        cite(MINOHARI_PAGE, 1, "Off road, half the load: the factor is 0.5."),
        two(UNDERFELL, VERJUICE),
        source_type=STATEMENT,
    ),
    _THIRD.roof(
        *("tozanko-nk8-dealer-road", NK8, "150 kg", ROAD, where(None, None, "gutter")),
        cite(BRAMFOLD_PAGE, 1, "Tozanko with Marrig tray: 150 kg roof capacity"),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _THIRD.roof(
        *("tozanko-nk8-office-road", NK8, "120 kg", ROAD, where(None, "wagon")),
        cite(OFFICE_NOTICE, 1, "Officers will treat more than 120 kg on such a roof as unsafe."),
        basis=NS,
        bound="at_most",
        source_type=UNVERIFIED,
    ),
    _THIRD.roof(
        *("yubokai-y3-parked", Y3, "225 kg", PARKED, where((2011, 2019), None, "raised_rail")),
        cite(Y3_BOOK, 1, "Rails: carrier and goods together 75 kg on the road."),
        (
            misread(QUILLON, {"stated": {"value": "75", "unit": "kg"}, "condition": ROAD}),
            (
                "reject",
                QUILLON,
                "no_evidence",
                "The page has no parked figure; 225 is three times the one for the road.",
            ),
        ),
    ),
    _THIRD.roof(
        *("tozanko-nk9-parked-exact", NK9, "300 kg", PARKED, where(_9, None, "fixed_points")),
        cite(NK9_BOOK, 2, "Parked on level ground, either roof: 300 kg or more."),
        (
            *two(SEDGE, TAMBOUR),
            dispute(
                OXBOW, NK9_BOOK, "The page says 300 kg or more, which is not an exact figure. Page 2, last paragraph."
            ),
            ("uphold", UNDERFELL, None, "Taking the least that the page gives as exact allows nobody more."),
        ),
    ),
)
