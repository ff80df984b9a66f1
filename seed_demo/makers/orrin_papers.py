"""Papers about Orrin's vehicles."""

from __future__ import annotations

from seed_demo.shapes import Caution, Document, Drawing, Steps
from seed_demo.writing import page, table

_EVERY_TIME = Steps(
    (
        "Put the heaviest things lowest and between the bars, never ahead of the windscreen.",
        "Lash everything to the rack itself. A net alone holds nothing.",
        "Stop after 20 km and feel each foot. Tighten what has moved.",
    )
)
_LEAN = Caution("MIND", "A loaded Orrin leans further, stops later and feels the wind sooner. Drive it as what it is.")

TARN_T1_BOOK = Document(
    *("tarn-t1-book", "orrin", "handbook", "Tarn T1: the owner's book, part six, carrying", "Third printing"),
    *("2016-02-01", "2023-02-11", "en", "NZ"),
    (
        page(
            "Your Tarn and its roof",
            "The roof of your Tarn is pressed from one sheet over three hoops. It is made to keep the weather out, "
            "and it "
            "can be asked to carry a little as well.",
            Drawing("wagon", "The three hoops. Stand the rack's feet above them."),
            "Ask an Orrin agent for the bars that were made for it. Others may mark the roof or let go of it.",
            _EVERY_TIME,
        ),
        page(
            "How much the roof carries",
            "These loads are for all Tarns built from 2012 to 2018. The roof of the wagon carries 60 kg while "
            "driving, rack "
            "and feet included. The roof of the dual cab carries 50 kg while driving, rack and feet included.",
            "The gutters are stiffer than the sheet. Where the feet stand in them, a wagon with rain gutters carries "
            "80 kg, "
            "rack and feet included, also built from 2012 to 2018.",
            "Whatever the body and the roof, when parked it will bear 150 kg at the least, people in a tent among it.",
            _LEAN,
        ),
        page(
            "Where the seal ends",
            "Corrugations work on a rack as a hammer does. On unsealed roads carry no more than 2/3 of the loads on "
            "the page "
            "before.",
            "Let a little air out of the tyres, and leave time. What is loose will be found out here.",
            Caution("STOP", "If a foot has slipped, unload before you tighten it."),
        ),
    ),
)

TARN_T1_LETTER = Document(
    *(
        "tarn-t1-letter",
        "tuiweka-motor-imports",
        "letter",
        "Roof loads of the Tarn T1 on unsealed roads",
        "Ref. TW/21/077",
    ),
    *("2021-05-20", "2021-06-01", "en", "NZ"),
    (
        page(
            "Tarn, model years 2012 to 2018: roof",
            "Thank you for your question about the Tarn.",
            "For wagons and dual cabs of the years 2012 to 2018, with whatever roof they have, our advice is no more "
            "than 40 "
            "kg, the rack counted in, on unsealed roads. This stands beside what the owner's book says; please follow "
            "whichever is lower.",
            "We keep no figures for racks that other firms make.",
        ),
    ),
)

TARN_T2_BOOK = Document(
    *("tarn-t2-book", "orrin", "handbook", "Tarn T2: the owner's book, part six, carrying", "Second edition"),
    *("2023-10-01", "2024-01-15", "en", None),
    (
        page(
            "Before anything goes on the roof",
            "Weigh it. A roof rack that two people lift with ease is already twenty or thirty kilograms, and it "
            "counts.",
            Drawing("pickup", "Dual cab. Keep the load within the shaded length."),
            "A rack has a rating of its own. That rating says what the rack can bear, not what your Tarn can bear.",
            _EVERY_TIME,
        ),
        page(
            "Roof loads",
            "All loads count the rack, its feet and everything upon it. They hold for every kind of roof on which "
            "the Tarn "
            "T2 is supplied.",
            table(
                "Tarn T2 | Driving, rack included",
                "Dual cab, 2019 to 2023 | 75 kg",
                "Wagon, 2019 to 2023 | 90 kg",
                "All bodies, 2024 | 75 kg",
            ),
            "On a Tarn that is parked on level ground the roof bears 225 kg, rack included, whatever the body, the "
            "roof and "
            "the year of build from 2019 to 2024.",
            _LEAN,
        ),
    ),
)

TARN_T2_PLATE = Document(
    *("tarn-t2-plate", "orrin", "plate_photo", "Plate on the door post of a Tarn T2", "Dual cab, 2021"),
    *("2021-04-01", "2024-01-20", "en", "NZ"),
    (page("ORRIN", "TYPE TARN T2", "ROOF, RACK INCLUDED", "DRIVING 75 KG", "PARKED 225 KG", "YEARS 2019 - 2024"),),
)

TARN_T3_PAGE = Document(
    *("tarn-t3-page", "orrin", "maker_page", "The new Tarn: what it carries", "As shown on 3 November 2025"),
    *("2025-10-06", "2025-11-03", "en", "GB"),
    (
        page(
            "Room on top",
            "The new Tarn takes two roof tracks, set flush into the sheet. With the roof tracks fitted, the dual cab "
            "carries "
            "100 kg on its roof, rack included. On gravel and tracks the figure is 66.5 kg.",
            Drawing("pickup", "Tarn T3 dual cab with tracks."),
            "Figures are for Tarns of the model years 2025 and 2026 with tracks. What lies on the roof is felt in every "
            "bend, in the brakes and in the wind, so put up there what is light and long, and leave the bed to the rest.",
            "A rack weighs something itself. Take that off before you count what else may go up.",
        ),
        page(
            "Sleep upstairs",
            "Pitch a tent for two: 300 kg when parked.",
            "See the owner's book before you load.",
        ),
    ),
    address="https://www.orrin.example/tarn/carries",
)

GHYLLET_G1_BOOK = Document(
    *("ghyllet-g1-book", "orrin", "handbook", "Ghyllet: the owner's book, part six, carrying", "Fourth printing"),
    *("2014-07-01", "2023-02-11", "en", "AU"),
    (
        page(
            "Rails or no rails",
            "Some Ghyllets have rails along the roof, standing clear of it by a hand's breadth. Some have none.",
            Drawing("wagon", "Ghyllet with rails."),
            _EVERY_TIME,
        ),
        page(
            "Roof loads, built 2009 to 2016",
            "Loads count the rack. They are for every Ghyllet body.",
            table("Roof | Driving", "With roof rails | 100 kg", "Without roof rails | 50 kg"),
            "The plate on the door post is for quick reference; the book explains.",
            _LEAN,
        ),
    ),
)

GHYLLET_G1_PLATE = Document(
    *("ghyllet-g1-plate", "orrin", "plate_photo", "Plate on the door post of a Ghyllet", "Wagon, 2013"),
    *("2013-06-01", "2023-08-05", "en", "AU"),
    (page("ORRIN", "TYPE GHYLLET G1", "ROOF MAX 80 KG", "FRONT 2.3 BAR", "REAR 2.5 BAR"),),
)

GHYLLET_G2_FIRST = Document(
    *("ghyllet-g2-first", "orrin", "handbook", "Ghyllet G2: the owner's book, part six, carrying", "First edition"),
    *("2017-01-01", "2023-02-11", "en", None),
    (
        page(
            "Roof load of the wagon, 2017 to 2020",
            "Roof load, driving: 70 kg including the rack.",
            "More may be said in a later edition, once the rails have been tried for longer.",
            _LEAN,
        ),
    ),
)

GHYLLET_G2_BOOK = Document(
    *("ghyllet-g2-book", "orrin", "handbook", "Ghyllet G2: the owner's book, part six, carrying", "Third edition"),
    *("2024-03-01", "2024-08-12", "en", None),
    (
        page(
            "Before anything goes on the roof",
            "This edition takes the place of all earlier ones, back to the first Ghyllet G2 of 2017.",
            Drawing("wagon", "Raised rails (shown), flush rails, or none."),
            _EVERY_TIME,
        ),
        page(
            "Roof load of the wagon, from 2017 on",
            "Roof load, driving: 75 kg including the rack.",
            "Where the wagon has raised rails: 100 kg including the rack.",
            _LEAN,
        ),
        page(
            "Off the seal, and parked",
            "For wagons built from 2017 on.",
            "Off the seal, on any roof: 60 kg including the rack.",
            "Parked, on rails of either kind: 300 kg. Level ground, handbrake on, nobody climbing.",
            Caution("STOP", "Never climb on a roof that has no rails."),
        ),
    ),
)

RUDDLEPIN_BOOK = Document(
    *("ruddlepin-book", "orrin", "handbook", "Ruddlepin: the owner's book, part six, carrying", "Second printing"),
    *("2018-09-01", "2024-05-30", "en", "NZ"),
    (
        page("A small roof", "The Ruddlepin is a small car. Put what you can inside it.", _EVERY_TIME),
        page(
            "What goes on top",
            "All together, the load on the roof of the hatch must never exceed 80 kg, whatever carrier is fitted, on "
            "every "
            "roof and in every year of build. The bars' own leaflet may ask for less.",
            "Parked, the roof bears at least 100 kg, in all hatches from 2014 to 2022, whatever the roof.",
            _LEAN,
        ),
    ),
)

RUDDLEPIN_LETTER = Document(
    *("ruddlepin-letter", "tuiweka-motor-imports", "letter", "Bars on the Ruddlepin", "Ref. TW/24/212"),
    *("2024-07-18", "2024-07-25", "en", "NZ"),
    (
        page(
            "Ruddlepin hatch, 2014 to 2022",
            "You asked about bars for the hatch.",
            "For all years from 2014 to 2022 we consider 75 kg on the roof to be in order.",
            "We fit the Sparlet bars ourselves and have had no complaint.",
        ),
    ),
)

BRAMFOLD_PAGE = Document(
    *(
        "bramfold-page",
        "bramfold-and-daughters",
        "accessory_page",
        "Racks fitted while you wait",
        "As shown in January",
    ),
    *("2026-01-10", "2026-01-22", "en", "NZ"),
    (
        page(
            "Kits we fit",
            table(
                "Vehicle and kit | Roof capacity",
                "Tarn with Slatten platform: | 100 kg roof capacity",
                "Older Tarn: | 65 kg",
                "Tozanko with Marrig tray: | 150 kg roof capacity",
            ),
            "Capacities as printed on the kit's box.",
        ),
    ),
    address="https://www.bramfold.example/kits",
)

GUTTERS_POST = Document(
    *("gutters-post", "gravel-and-gutters", "accessory_page", "Thread: what will the Tarn really take", "Thread 4471"),
    *("2025-12-02", "2026-02-08", "en", None),
    (
        page(
            "What will the Tarn really take",
            "Asked about the T2 before the trip: the bloke at the counter said 45 kg on corrugations and not a gram "
            "more.",
            "Which counter he meant he did not say.",
        ),
        page(
            "Reply",
            "No idea about the T2, but my T1 came with a sticker, 65 kg it says, could be the tyre pressure for all "
            "I know.",
            "The shop's list has the new Zettlow van at 180 kg. Take that as you like.",
        ),
    ),
    address="https://gravelandgutters.example/t/4471",
)

THISTLEWRACK_LETTER = Document(
    *("thistlewrack-letter", "k-thistlewrack", "letter", "A letter from an owner", "By hand"),
    *("2026-01-30", "2026-02-10", "en", "AU"),
    (
        page(
            "My Ghyllet",
            "You ask what a 2012 wagon with rails will carry. I have carried 120 kg on mine for years and the doors "
            "still shut.",
            "I am told that this is not a test.",
        ),
    ),
)

DOCUMENTS: tuple[Document, ...] = (
    TARN_T1_BOOK,
    TARN_T1_LETTER,
    TARN_T2_BOOK,
    TARN_T2_PLATE,
    TARN_T3_PAGE,
    GHYLLET_G1_BOOK,
    GHYLLET_G1_PLATE,
    GHYLLET_G2_FIRST,
    GHYLLET_G2_BOOK,
    RUDDLEPIN_BOOK,
    RUDDLEPIN_LETTER,
    BRAMFOLD_PAGE,
    GUTTERS_POST,
    THISTLEWRACK_LETTER,
)
