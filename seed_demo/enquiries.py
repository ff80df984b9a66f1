"""Questions that were put to makers and dealers, and what became of them. Some are still open, some came to nothing."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL
from seed_demo.shapes import Enquiry, Subject

_ROOF, _ROAD, _ROUGH, _PARKED = "roof_limit", "on_road", "off_road", "parked"


def _vehicle(key: str) -> Subject:
    return {"kind": "vehicle", "id": key}


ENQUIRIES: tuple[Enquiry, ...] = (
    Enquiry(
        *("tarn-t1-unsealed", PIPISTREL, "tuiweka-motor-imports", _vehicle("orrin-tarn-t1-2012")),
        *(_ROOF, _ROUGH, "2021-05-03", "What may the Tarn T1 carry on unsealed roads?"),
        *("answered", "2021-06-01", "tarn-t1-letter", "A letter, a month later."),
    ),
    Enquiry(
        *("queltis-dual-cab", MARRAM, "vasquell", _vehicle("vasquell-queltis-j9-2016")),
        *(
            _ROOF,
            _ROAD,
            "2022-05-11",
            "Does the cab roof have a figure of its own, beyond the 150 lb that nobody may exceed?",
        ),
        *("answered", "2022-06-20", "queltis-letter", "For the dual cab only."),
    ),
    Enquiry(
        *("ruddlepin-bars", OXBOW, "tuiweka-motor-imports", _vehicle("orrin-ruddlepin-r3-2014")),
        *(_ROOF, _ROAD, "2024-07-01", "Is 75 kg the roof's figure, or that of the bars you fit?"),
        *("answered", "2024-07-25", "ruddlepin-letter", "The letter does not say which of the two it is."),
    ),
    Enquiry(
        *("mossick-roof", OXBOW, "orrin", _vehicle("orrin-mossick-m1-2020")),
        *(_ROOF, _ROAD, "2025-02-10", "The Mossick's book has no page on roof loads. Is there a figure?"),
        *("no_answer", "2025-05-12", None, "Asked three times in three months."),
        ask_again="2026-05-12",
    ),
    Enquiry(
        *("dunwhelk-roof", MARRAM, "brakwater-vehicle-company", _vehicle("thrandle-dunwhelk-dw-2013")),
        *(_ROOF, _ROAD, "2025-03-04", "May the Dunwhelk van carry a ladder rack?"),
        *("declined", "2025-03-20", None, "They give no figures for vans that they no longer sell."),
        channel="email",
    ),
    Enquiry(
        *("larkenby-l5-book", PIPISTREL, "cobblewyn", _vehicle("cobblewyn-larkenby-l5-2023")),
        *(_ROOF, _ROAD, "2025-03-03", "When will the new Larkenby's handbook be out, and what until then?"),
        *("answered", "2025-03-24", "larkenby-l5-letter", "Until then, 110 kg."),
    ),
    Enquiry(
        *("hierzal-hz2-roof", MARRAM, "comercial-quilmanta", _vehicle("ozqueda-hierzal-hz2-2024")),
        *(_ROOF, _ROAD, "2026-08-17", "¿Cuánto admite el techo del Hierzal nuevo?"),
        *(None, None, None, ""),
        language="es",
        answer_by="2027-02-15",
    ),
    Enquiry(
        *("frostrik-parked", OXBOW, "skaveld", _vehicle("skaveld-frostrik-fr-2016")),
        *(_ROOF, _PARKED, "2026-09-21", "The book gives an upper bound for standing. Is there a figure below it?"),
        *(None, None, None, ""),
        answer_by="2027-03-22",
    ),
    Enquiry(
        *("dravoni-bars", MARRAM, "ostrel-lane-vehicles", _vehicle("vasquell-dravoni-d2-2020")),
        *(_ROOF, _ROAD, "2025-10-01", "Where did the 88 lb in the maker's old answer 1183 go?"),
        *("no_answer", "2026-01-05", None, "A dealer; they promised to ring back."),
        channel="telephone",
    ),
)
