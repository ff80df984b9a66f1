"""Papers about Hanoriku's vehicles."""

from __future__ import annotations

from seed_demo.shapes import Caution, Document, Drawing, Steps
from seed_demo.writing import (
    page,
    table,
)

_PRAY = Caution(
    "PLEASE", "Keep the load low and even. A vehicle that is loaded on top turns over more easily on a slope."
)
_BEFORE = Steps(
    (
        "Clean the gutter or the rail.",
        "Set the feet at the marks.",
        "Tighten crosswise, twice.",
        "Tighten again after 50 km.",
    )
)

NK7_BOOK = Document(
    *("tozanko-nk7-book", "hanoriku", "handbook", "Tozanko NK7 user's manual, loading", "English, fifth issue"),
    *("2005-04-01", "2023-08-14", "en", "AU"),
    (
        page("The gutter", "The gutter carries the roof, and the roof carries you home. Do not bend it.", _BEFORE),
        page(
            "Load on the roof, 1999 to 2009",
            "Wagon with gutter: 100 kg of goods on the Hanoriku carrier, which itself is 22 kg and is not counted.",
            "Single cab with gutter: 50 kg of goods on the Hanoriku cab carrier, which itself is 8.5 kg and is not "
            "counted.",
            "On rough tracks let the goods on the wagon be 65 kg, carrier not counted.",
            _PRAY,
        ),
    ),
)
NK8_BOOK = Document(
    *("tozanko-nk8-book", "hanoriku", "handbook", "Tozanko NK8 user's manual, loading", "English, third issue"),
    *("2016-04-01", "2023-08-14", "en", None),
    (
        page(
            "Gutter or none",
            "From 2010 the wagon keeps its gutter. The dual cab has none.",
            Drawing("wagon", "NK8 wagon."),
            _BEFORE,
        ),
        page(
            "Load on the roof, 2010 to 2020",
            table(
                "Body | Road | Track | Parked",
                "Wagon with gutter | 120 kg | 80 kg | 350 kg",
                "Dual cab, bare roof | 60 kg | 40 kg | 120 kg",
            ),
            "Carrier and goods together.",
            "For South Africa, wagon with gutter, road: 100 kg, carrier and goods together.",
            _PRAY,
        ),
    ),
)
NK8_PLATE = Document(
    *("tozanko-nk8-plate", "hanoriku", "plate_photo", "Plate in the glove box of a Tozanko", "Wagon, 2014"),
    *("2014-04-01", "2023-08-20", "en", "NZ"),
    (page("HANORIKU", "TOZANKO NK8 WAGON", "GUTTER LOAD 120 KG", "CARRIER COUNTED", "ROAD ONLY"),),
)
NK9_BOOK = Document(
    *("tozanko-nk9-book", "hanoriku", "handbook", "Tozanko NK9 user's manual, loading", "English, first issue"),
    *("2021-04-01", "2023-08-14", "en", None),
    (
        page(
            "No gutter any more",
            "The NK9 has rails or four fixed points under caps.",
            Drawing("wagon", "NK9 with rails."),
            _BEFORE,
        ),
        page(
            "Load on the roof, 2021 and on",
            table(
                "Roof | Road | Track",
                "Rails | 100 kg | 70 kg",
                "Fixed points | 80 kg | 53.5 kg",
            ),
            "Carrier and goods together. Parked on level ground, either roof: 300 kg or more.",
            _PRAY,
        ),
    ),
)
Y3_BOOK = Document(
    *("yubokai-y3-book", "hanoriku", "handbook", "Yubokai Y3 user's manual, loading", "English, second issue"),
    *("2014-04-01", "2023-08-14", "en", None),
    (
        page(
            "Load on the roof, 2011 to 2019",
            "Rails: carrier and goods together 75 kg on the road.",
            Drawing("wagon", "Yubokai."),
            _PRAY,
        ),
    ),
)
Y4_BOOK = Document(
    *("yubokai-y4-book", "hanoriku", "handbook", "Yubokai Y4 user's manual, loading", "English, second issue"),
    *("2022-04-01", "2023-08-14", "en", None),
    (
        page(
            "Load on the roof, 2020 and on",
            table("Roof | Road | Parked", "Rails | 80 kg | 240 kg", "Rails and glass roof | 60 kg | 180 kg"),
            "Carrier and goods together. If no roof is named to you by your dealer, take 60 kg.",
            "On tracks use 7/10 of the load for the road.",
            _PRAY,
        ),
    ),
)
MINOHARI_PAGE = Document(
    *("minohari-page", "hanoriku", "maker_page", "Minohari for work", "As shown in 2024"),
    *("2024-01-10", "2024-05-20", "en", None),
    (
        page(
            "Ladders",
            "The Minohari van takes up to 100 kg on three bars. The hatch takes 50 kg on two.",
            "Off road, half the load: the factor is 0.5.",
        ),
    ),
    address="https://www.hanoriku.example/minohari/trades",
)
MIZZENPORT_LETTER = Document(
    *("mizzenport-letter", "mizzenport-hanoriku-agency", "letter", "Tozanko NK8 on unsealed roads", "MHA-3310"),
    *("2022-11-08", "2022-11-21", "en", "AU"),
    (
        page(
            "Tozanko wagon, 2010 to 2020",
            "Our workshop allows no more than 75 kg on gravel, carrier and goods together, for the wagon with gutter.",
            "The figure of 80 kg in the manual is for graded tracks.",
        ),
    ),
)
OFFICE_NOTICE = Document(
    *(
        "office-notice",
        "office-for-loads-on-the-highway",
        "letter",
        "Notice on loads above the cab",
        "Notice 6 of 2024",
    ),
    *("2024-08-01", "2024-09-03", "en", "AU"),
    (
        page(
            "Roof loads seen at the roadside",
            "Of the Tozanko NK8 wagons that we stopped, the heaviest carried 190 kg. Officers will treat more than "
            "120 kg on such a "
            "roof as unsafe.",
            "This notice gives no figure for other vehicles.",
        ),
    ),
)

DOCUMENTS: tuple[Document, ...] = (
    *(NK7_BOOK, NK8_BOOK, NK8_PLATE, NK9_BOOK, Y3_BOOK, Y4_BOOK, MINOHARI_PAGE, MIZZENPORT_LETTER, OFFICE_NOTICE),
)
