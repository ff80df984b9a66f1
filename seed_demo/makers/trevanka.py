"""Trevanka: trays and platforms for far away; and the carriers that vehicle makers sell themselves."""

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
    Entered,
    cite,
    dispute,
    one,
    page,
    table,
    two,
    where,
)

MARRIG1, MARRIG2 = "trevanka-marrig-m1-2013", "trevanka-marrig-m2-2021"
DUNLATH, STRUTLET, BOLTAN = "trevanka-dunlath-d3-2017", "trevanka-strutlet-lg-2013", "trevanka-boltan-bt-2020"
LINTOCK, KAJIDAI = "orrin-lintock-ol1-2019", "hanoriku-kajidai-kd1-2010"

_DUST = Caution("RIGHT", "If your roof's own figure is lower, ours means nothing.")

MARRIG_SHEET = Document(
    *("marrig-sheet", "trevanka", "instruction_sheet", "Marrig trays, Strutlet and Boltan mounts", "Sheet T4, 2022"),
    *("2022-01-01", "2023-12-18", "en", "AU"),
    (
        page(
            "The kit",
            "A tray, its mounts, and a key that you will lose.",
            Drawing("bars", "Marrig on Strutlets."),
            Steps(("Mounts first.", "Then the tray.", "Then a drive round the block, and the key again.")),
        ),
        page(
            "Numbers",
            table(
                "Part | Own mass | Sealed | Unsealed",
                "Marrig M1, bare tray | 34 kg | 150 kg | 100 kg",
                "Marrig M2, bare tray | 27.5 kg | 150 kg | 110 kg",
                "Strutlet, each leg | 1.6 kg | 33 kg | 22 kg",
                "Boltan, each mount | 1.2 kg | 40 kg | 40 kg",
            ),
            "Sealed and unsealed: tray figures count the tray in; leg and mount figures are for all above them.",
            "Standing with a tent up, either tray takes 400 kg or better.",
            "With Strutlets on a gutter, keep the roof itself to 0.8 of its maker's figure off the bitumen.",
            "Marrig M1 on the Tozanko NK7: 120 kg with the tray. Marrig M2 on the Tozanko NK8: 130 kg with the tray, "
            "90 kg unsealed.",
            _DUST,
        ),
    ),
)
DUNLATH_SHEET = Document(
    *("dunlath-sheet", "trevanka", "instruction_sheet", "Dunlath platform", "Sheet T7, 2019"),
    *("2019-01-01", "2023-12-18", "en", "AU"),
    (
        page(
            "Numbers",
            "The platform without mounts is 22.4 kg. On it you may put 115 kg on the bitumen.",
            "Off it, three quarters: multiply the platform's figure by 3/4.",
            "The roof is another matter; ask whoever made it.",
            _DUST,
        ),
    ),
)
MARRIG_STICKER = Document(
    *("marrig-sticker", "trevanka", "plate_photo", "Sticker on the edge of a Marrig M1", "Tray of 2014"),
    *("2014-02-01", "2025-05-12", "en", "AU"),
    (page("TREVANKA", "MARRIG M1", "OWN MASS 36.2 KG", "MAX 150 KG ALL UP"),),
)
LINTOCK_SHEET = Document(
    *("lintock-sheet", "orrin", "instruction_sheet", "Lintock bars", "Leaflet 6b"),
    *("2021-05-01", "2024-01-15", "en", None),
    (
        page(
            "Lintock bars for the Tarn T2",
            "The set is 6.5 kg with its feet, and carries 80 kg on top of itself.",
            "Off the seal it carries 60 kg.",
            Drawing("bars", "Lintock."),
            Steps(("Feet above the hoops.", "Bars across.", "Caps on.")),
        ),
    ),
)
KAJIDAI_SHEET = Document(
    *("kajidai-sheet", "hanoriku", "instruction_sheet", "Kajidai carrier, fitting", "English"),
    *("2010-04-01", "2023-12-18", "en", None),
    (
        page(
            "Kajidai carrier for Tozanko wagon with gutter",
            "Carrier with legs: 22.05 kg. Goods upon it: 110 kg on the road, 70 kg on the track.",
            "Parked: 300 kg of goods and people.",
            Drawing("bars", "Kajidai."),
        ),
    ),
)

DOCUMENTS: tuple[Document, ...] = (MARRIG_SHEET, DUNLATH_SHEET, MARRIG_STICKER, LINTOCK_SHEET, KAJIDAI_SHEET)

_FIRST = Entered(PIPISTREL, "2023-12-27")
_OWN = Entered(OXBOW, "2024-02-07")
_LAST = Entered(MARRAM, "2025-05-19")

_M1_ROW = cite(MARRIG_SHEET, 2, "Marrig M1, bare tray 34 kg 150 kg 100 kg")
_M2_ROW = cite(MARRIG_SHEET, 2, "Marrig M2, bare tray 27.5 kg 150 kg 110 kg")
_LEG_ROW = cite(MARRIG_SHEET, 2, "Strutlet, each leg 1.6 kg 33 kg 22 kg")
_BOLT_ROW = cite(MARRIG_SHEET, 2, "Boltan, each mount 1.2 kg 40 kg 40 kg")
_TENT = cite(MARRIG_SHEET, 2, "Standing with a tent up, either tray takes 400 kg or better.")

CLAIMS: tuple[Claim, ...] = (
    _FIRST.mass(
        "marrig-one-mass", "carrier", MARRIG1, "34 kg", _M1_ROW, two(SEDGE, UNDERFELL), basis="excludes_fixing"
    ),
    _FIRST.rating("marrig-one-road", "carrier", MARRIG1, "150 kg", ROAD, _M1_ROW, two(SEDGE, UNDERFELL), basis=INC),
    _FIRST.rating("marrig-one-rough", "carrier", MARRIG1, "100 kg", ROUGH, _M1_ROW, two(SEDGE, UNDERFELL), basis=INC),
    _FIRST.rating(
        "marrig-one-parked",
        "carrier",
        MARRIG1,
        "400 kg",
        PARKED,
        _TENT,
        two(SEDGE, QUILLON),
        basis=NS,
        bound="at_least",
    ),
    _FIRST.mass(
        "marrig-two-mass", "carrier", MARRIG2, "27.5 kg", _M2_ROW, two(SEDGE, UNDERFELL), basis="excludes_fixing"
    ),
    _FIRST.rating("marrig-two-road", "carrier", MARRIG2, "150 kg", ROAD, _M2_ROW, two(SEDGE, UNDERFELL), basis=INC),
    _FIRST.rating("marrig-two-rough", "carrier", MARRIG2, "110 kg", ROUGH, _M2_ROW, two(SEDGE, UNDERFELL), basis=INC),
    _FIRST.rating(
        "marrig-two-parked", "carrier", MARRIG2, "400 kg", PARKED, _TENT, one(SEDGE), basis=NS, bound="at_least"
    ),
    _FIRST.mass("strutlet-mass", "fixing", STRUTLET, "1.6 kg", _LEG_ROW, two(SEDGE, UNDERFELL), per="foot"),
    _FIRST.rating(
        "strutlet-road", "fixing", STRUTLET, "33 kg", ROAD, _LEG_ROW, two(SEDGE, UNDERFELL), per="foot", basis=INC
    ),
    _FIRST.rating(
        "strutlet-rough", "fixing", STRUTLET, "22 kg", ROUGH, _LEG_ROW, two(SEDGE, UNDERFELL), per="foot", basis=INC
    ),
    _FIRST.factor(
        *("strutlet-factor", "fixing", STRUTLET, "0.8", "roof_limit"),
        cite(MARRIG_SHEET, 2, "keep the roof itself to 0.8 of its maker's figure off the bitumen"),
        two(SEDGE, UNDERFELL),
    ),
    _FIRST.mass("boltan-mass", "fixing", BOLTAN, "1.2 kg", _BOLT_ROW, two(SEDGE, VERJUICE), per="foot"),
    _FIRST.rating("boltan-road", "fixing", BOLTAN, "40 kg", ROAD, _BOLT_ROW, one(SEDGE), per="foot", basis=INC),
    _FIRST.rating(
        *("marrig-one-on-nk7-road", "fitment", "marrig-one-on-nk7", "120 kg", ROAD),
        cite(MARRIG_SHEET, 2, "Marrig M1 on the Tozanko NK7: 120 kg with the tray."),
        two(SEDGE, TAMBOUR),
        basis=INC,
        scope=where(None, None, "gutter"),
    ),
    _FIRST.rating(
        *("marrig-two-on-nk8-road", "fitment", "marrig-two-on-nk8", "130 kg", ROAD),
        cite(MARRIG_SHEET, 2, "Marrig M2 on the Tozanko NK8: 130 kg with the tray, 90 kg unsealed."),
        two(SEDGE, TAMBOUR),
        basis=INC,
        scope=where(None, None, "gutter"),
    ),
    _FIRST.rating(
        *("marrig-two-on-nk8-rough", "fitment", "marrig-two-on-nk8", "90 kg", ROUGH),
        cite(MARRIG_SHEET, 2, "Marrig M2 on the Tozanko NK8: 130 kg with the tray, 90 kg unsealed."),
        two(SEDGE, TAMBOUR),
        basis=INC,
        scope=where(None, None, "gutter"),
    ),
    _FIRST.mass(
        *("dunlath-mass", "carrier", DUNLATH, "22.4 kg"),
        cite(DUNLATH_SHEET, 1, "The platform without mounts is 22.4 kg."),
        two(SEDGE, VERJUICE),
        basis="excludes_fixing",
    ),
    _FIRST.rating(
        *("dunlath-road", "carrier", DUNLATH, "115 kg", ROAD),
        cite(DUNLATH_SHEET, 1, "On it you may put 115 kg on the bitumen."),
        two(SEDGE, VERJUICE),
    ),
    _FIRST.factor(
        *("dunlath-factor", "carrier", DUNLATH, "3/4", "own_rating"),
        cite(DUNLATH_SHEET, 1, "multiply the platform's figure by 3/4"),
        two(SEDGE, VERJUICE),
    ),
    _OWN.mass(
        *("lintock-mass", "carrier", LINTOCK, "6.5 kg"),
        cite(LINTOCK_SHEET, 1, "The set is 6.5 kg with its feet, and carries 80 kg on top of itself."),
        two(QUILLON, TAMBOUR),
        basis="includes_fixing",
    ),
    _OWN.rating(
        *("lintock-road", "carrier", LINTOCK, "80 kg", ROAD),
        cite(LINTOCK_SHEET, 1, "The set is 6.5 kg with its feet, and carries 80 kg on top of itself."),
        two(QUILLON, TAMBOUR),
    ),
    _OWN.rating(
        *("lintock-rough", "carrier", LINTOCK, "60 kg", ROUGH),
        cite(LINTOCK_SHEET, 1, "Off the seal it carries 60 kg."),
        one(QUILLON),
    ),
    _OWN.mass(
        *("kajidai-mass", "carrier", KAJIDAI, "22.05 kg"),
        cite(KAJIDAI_SHEET, 1, "Carrier with legs: 22.05 kg."),
        two(SEDGE, TAMBOUR),
        basis="includes_fixing",
    ),
    _OWN.rating(
        *("kajidai-road", "carrier", KAJIDAI, "110 kg", ROAD),
        cite(KAJIDAI_SHEET, 1, "Goods upon it: 110 kg on the road, 70 kg on the track."),
        two(SEDGE, TAMBOUR),
    ),
    _OWN.rating(
        *("kajidai-rough", "carrier", KAJIDAI, "70 kg", ROUGH),
        cite(KAJIDAI_SHEET, 1, "Goods upon it: 110 kg on the road, 70 kg on the track."),
        two(SEDGE, TAMBOUR),
    ),
    _OWN.rating(
        *("kajidai-parked", "carrier", KAJIDAI, "300 kg", PARKED),
        cite(KAJIDAI_SHEET, 1, "Parked: 300 kg of goods and people."),
        two(SEDGE, UNDERFELL),
    ),
    _LAST.mass(
        *("marrig-one-sticker-mass", "carrier", MARRIG1, "36.2 kg"),
        cite(MARRIG_STICKER, 1, "OWN MASS 36.2 KG"),
        one(VERJUICE),
        basis=NS,
    ),
    _LAST.rating(
        *("marrig-one-sticker-net", "carrier", MARRIG1, "150 kg", ROAD),
        cite(MARRIG_STICKER, 1, "MAX 150 KG ALL UP"),
        (
            *two(QUILLON, TAMBOUR),
            dispute(
                OXBOW, MARRIG_SHEET, "All up counts the tray in, as the sheet says on page 2; this claim leaves it out."
            ),
        ),
        basis=EXC,
    ),
)
