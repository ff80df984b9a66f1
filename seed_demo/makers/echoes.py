"""Pages that repeat other pages, what rests on them, and what people have said about them so far."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.shapes import Claim, Document, Judgement
from seed_demo.writing import NS, ROAD, STATEMENT, UNVERIFIED, Entered, cite, page, two, where

Z3, T3 = "grelmund-zettlow-z3-2022", "orrin-tarn-t3-2025"

_SEALED = (
    "This is the load for sealed roads. Spread it over all the feet of the carrier, keep what is heavy low and in the "
    "middle, and tie everything to the carrier itself and never to the roof."
)
_HOUR = (
    "Feel every foot after the first hour. A load up there changes how the van brakes, how it corners and how it "
    "stands in the wind."
)
_BOW = "Ladders and pipes that reach over the front are tied down at the bow as well."

ZETTLOW_PAGE = Document(
    *("zettlow-z3-roof", "grelmund-import-overzande", "maker_page", "Zettlow: the roof", "As shown in February 2026"),
    *("2026-01-19", "2026-02-23", "en", "NL"),
    (
        page(
            "Up to the roof",
            "The Zettlow van of 2022 and later carries 150 kg on its roof, whichever roof it has, carrier and feet "
            "counted in.",
            *(_SEALED, _HOUR, _BOW),
        ),
    ),
    address="https://www.overzande.example/zettlow/roof",
)
ZETTLOW_ECHO = Document(
    *("zettlow-z3-echo", "the-strap-cupboard", "accessory_page", "Zettlow: the roof", "List 11"),
    *("2026-02-16", "2026-03-02", "en", None),
    (
        page(
            "Up to the roof",
            "The Zettlow van of 2022 and later carries 150 kg on its roof, whichever roof it has, rack and feet "
            "counted in.",
            *(_SEALED, _HOUR, _BOW),
            "We have the straps for it.",
        ),
    ),
    address="https://strapcupboard.example/zettlow",
    copies="zettlow-z3-roof",
)
TARN_ECHO = Document(
    *("tarn-t3-echo", "gravel-and-gutters", "accessory_page", "Thread: room on top of the new Tarn", "Thread 5120"),
    *("2026-04-11", "2026-04-27", "en", None),
    (
        page(
            "Room on top",
            "The new Tarn takes two roof tracks, set flush into the sheet. With the roof tracks fitted, the dual cab "
            "carries 100 kg on its roof, rack included. On gravel and tracks the figure is 66.5 kg.",
            "Figures are for Tarns of the model years 2025 and 2026 with tracks. What lies on the roof is felt in every "
            "bend, in the brakes and in the wind, so put up there what is light and long, and leave the bed to the rest.",
            "A rack weighs something itself. Take that off before you count what else may go up.",
            "Sleep upstairs. Pitch a tent for two: 300 kg when parked. See the owner's book before you load.",
        ),
    ),
    address="https://gravelandgutters.example/t/5120",
    copies="tarn-t3-page",
)

DOCUMENTS: tuple[Document, ...] = (ZETTLOW_PAGE, ZETTLOW_ECHO, TARN_ECHO)

_SPRING = Entered(OXBOW, "2026-03-09")
_THREAD = Entered(MARRAM, "2026-05-04")

CLAIMS: tuple[Claim, ...] = (
    # Cites the page and its echo. Until somebody said that one is copied, they counted as two that agree.
    _SPRING.roof(
        *("zettlow-z3-roof-road", Z3, "150 kg", ROAD, where((2022, None), "van", "all")),
        [
            cite(ZETTLOW_PAGE, 1, "carries 150 kg on its roof, whichever roof it has, carrier and feet counted in"),
            cite(ZETTLOW_ECHO, 1, "carries 150 kg on its roof, whichever roof it has, rack and feet counted in"),
        ],
        two(SEDGE, VERJUICE),
        source_type=STATEMENT,
    ),
    _THREAD.roof(
        *("tarn-t3-thread-road", T3, "100 kg", ROAD, where(None, "dual_cab", "track")),
        cite(TARN_ECHO, 1, "the dual cab carries 100 kg on its roof, rack included"),
        basis=NS,
        source_type=UNVERIFIED,
    ),
)

# Of the thread nobody has said anything yet.
JUDGEMENTS: tuple[Judgement, ...] = (
    Judgement("zettlow-z3-echo", "zettlow-z3-roof", UNDERFELL, "2026-04-13"),
    Judgement("larder-boats", "oarwick-page", TAMBOUR, "2026-02-09"),
    Judgement("larder-boats", "oarwick-page", OXBOW, "2026-02-16"),
)
