"""Papers about Vasquell's vehicles."""

from __future__ import annotations

from seed_demo.shapes import Caution, Document, Drawing, Steps
from seed_demo.writing import (
    page,
    table,
)

_NOTICE = Caution(
    "NOTICE",
    "Exceeding a roof load may damage the roof or cause loss of control. The roof load is part of the vehicle's "
    "total load.",
)
_HOW = Steps(("Center the cargo between the crossbars.", "Use at least four tie-downs.", "Recheck after 10 miles."))

OMBRIK_4V_BOOK = Document(
    *("ombrik-4v-book", "vasquell", "handbook", "Ombrik Owner's Guide, chapter 9", "2014 edition"),
    *("2013-08-01", "2023-03-02", "en", "US"),
    (
        page(
            "Roof rack system",
            "Side rails are standard on the Trail and optional on the Town.",
            Drawing("wagon", "Side rails."),
            _HOW,
        ),
        page(
            "Roof load, 2010-2017 Ombrik wagon",
            table(
                "Roof | Driving | Parked",
                "Side rails, crossbars included | 165.3 lb | 661 lb",
                "No side rails | 0 lb | 100 lb",
            ),
            "Do not place a load of any kind on a roof without side rails while driving.",
            "On unpaved roads, cut the driving load to 0.6 of the figure shown.",
            _NOTICE,
        ),
    ),
)
OMBRIK_5V_FIRST = Document(
    *("ombrik-5v-first", "vasquell", "handbook", "Ombrik Owner's Guide, chapter 9", "2018 edition"),
    *("2017-09-01", "2023-03-02", "en", "US"),
    (
        page(
            "Roof load, 2018-2019 Ombrik wagon", "Raised side rails: 176 lb with crossbars included, driving.", _NOTICE
        ),
    ),
)
OMBRIK_5V_BOOK = Document(
    *("ombrik-5v-book", "vasquell", "handbook", "Ombrik Owner's Guide, chapter 9", "2023 edition"),
    *("2022-09-15", "2023-10-10", "en", "US"),
    (
        page(
            "Roof rack system",
            "The panoramic roof changes what the roof can carry.",
            Drawing("wagon", "Panoramic roof."),
            _HOW,
        ),
        page(
            "Roof load, 2018 and later Ombrik wagon",
            table(
                "Roof | Paved | Unpaved | Parked",
                "Raised side rails | 220.5 lb | 132 lb | 700 lb",
                "Panoramic glass roof | 110.2 lb | 66 lb | 350 lb",
            ),
            "Every figure includes the crossbars.",
            _NOTICE,
        ),
    ),
)
OMBRIK_5V_PLATE = Document(
    *("ombrik-5v-plate", "vasquell", "plate_photo", "Label under the tailgate of an Ombrik", "2020 wagon"),
    *("2020-03-01", "2024-04-04", "en", "US"),
    (page("VASQUELL", "OMBRIK 5V", "MAX ROOF LOAD", "INCL. CROSSBARS", "220.5 LB / 100 KG"),),
)
QUELTIS_BOOK = Document(
    *("queltis-j9-book", "vasquell", "handbook", "Queltis Owner's Guide, chapter 9", "2019 edition"),
    *("2018-10-01", "2024-04-04", "en", "US"),
    (
        page(
            "Cab roof",
            "Your Queltis truck carries its load in the bed. Cargo on the cab roof must not exceed 150 lb in any "
            "cab, any year, on any "
            "roof, crossbars included.",
            Drawing("pickup", "Load the bed first."),
            "Your dealer can tell you whether crossbars were approved for your cab.",
            _NOTICE,
        ),
    ),
)
QUELTIS_LETTER = Document(
    *("queltis-letter", "vasquell", "letter", "Queltis cab roof, dual cab", "Case 88-2041-Q"),
    *("2022-06-09", "2022-06-20", "en", "US"),
    (
        page(
            "Your question about the dual cab",
            "For the dual cab, model years 2016 through 2023, engineering gives 99 lb on the cab roof while driving. "
            "This is the weight "
            "of the cargo, in addition to crossbars of 11 lb.",
            "For the extra cab no figure was ever set.",
        ),
    ),
)
DRAVONI_D1_BOOK = Document(
    *("dravoni-d1-book", "vasquell", "handbook", "Dravoni Owner's Guide, chapter 7", "2016 edition"),
    *("2015-09-01", "2023-03-02", "en", "US"),
    (
        page(
            "Carrying on the roof, 2013-2019 Dravoni",
            table(
                "Body | Driving | Parked",
                "Sedan with fixed points | 110 lb | 110 lb",
                "Sedan, plain roof | 66 lb | 66 lb",
                "Coupe, any roof | 0 lb | 0 lb",
            ),
            "Figures include the crossbars. The coupe's roof is not designed for a load at any time.",
            _NOTICE,
        ),
    ),
)
DRAVONI_D2_PAGE = Document(
    *("dravoni-d2-page", "vasquell", "maker_page", "Dravoni: accessories", "As shown in May 2024"),
    *("2024-05-02", "2024-05-19", "en", "US"),
    (
        page(
            "Crossbars",
            "Fits 2020 and later Dravoni sedans. Maximum roof load with Vasquell crossbars 44 kg (97 lb).",
            _HOW,
        ),
    ),
    address="https://www.vasquell.example/dravoni/accessories",
)
DRAVONI_D2_GONE = Document(
    *("dravoni-d2-gone", "vasquell", "maker_page", "Dravoni: help and answers", "Known by its address only"),
    *("2021-01-15", "2023-09-09", "en", "US"),
    (page("Answer 1183", "The roof of the 2020 Dravoni is approved for 88 lb including the rack."),),
    address="https://www.vasquell.example/help/1183",
    held=False,
)
OSTREL_PAGE = Document(
    *("ostrel-page", "ostrel-lane-vehicles", "accessory_page", "Lot list with remarks", "Spring"),
    *("2025-04-01", "2025-04-09", "en", "US"),
    (
        page(
            "On the lot",
            "2021 Ombrik, glass roof, will take 220.5 lb up top no problem.",
            "2018 Queltis extra cab, 220 lb on the roof with Hesk bars.",
            "2016 Gristow extra cab, roof good for 200 lb we are told.",
        ),
    ),
)

DOCUMENTS: tuple[Document, ...] = (
    *(OMBRIK_4V_BOOK, OMBRIK_5V_FIRST, OMBRIK_5V_BOOK, OMBRIK_5V_PLATE, QUELTIS_BOOK, QUELTIS_LETTER),
    *(DRAVONI_D1_BOOK, DRAVONI_D2_PAGE, DRAVONI_D2_GONE, OSTREL_PAGE),
)
