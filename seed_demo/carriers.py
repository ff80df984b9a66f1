"""The carriers: bars, platforms, baskets and trays, and how each is held."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.shapes import CarrierBody, Confirmation, Record
from seed_demo.writing import cells, confirmed, slug


def _carrier(by: str, record: str, confirmations: tuple[Confirmation, ...] = ()) -> Record[CarrierBody]:
    """A line of the record: maker, model, series, first year, kind, bars, fixing. A hyphen is not recorded."""
    maker, model, series, first_year, kind, bars, fixing = cells(record)
    body: CarrierBody = {
        "maker": maker,
        "model": model,
        "series": series,
        "first_year": int(first_year),
        "kind": kind,
        "bars": None if bars == "-" else int(bars),
        "fixing": None if fixing == "-" else fixing,
    }
    return Record(slug(f"{maker} {model} {series} {first_year}"), by, body, confirmations)


_P, _O, _M = PIPISTREL, OXBOW, MARRAM

CARRIERS: tuple[Record[CarrierBody], ...] = (
    _carrier(
        _P, "pellwick | Slatten | P1 | 2018 | platform | - | built_in", confirmed("slatten-sheet", QUILLON, SEDGE)
    ),
    _carrier(
        _P, "pellwick | Slatten Rough | P2 | 2021 | platform | - | built_in", confirmed("slatten-sheet", QUILLON, SEDGE)
    ),
    _carrier(
        _P, "pellwick | Sparlet | B5 | 2017 | crossbars | 2 | built_in", confirmed("sparlet-sheet", QUILLON, SEDGE)
    ),
    _carrier(
        _P,
        "pellwick | Sparlet Three | B7 | 2020 | crossbars | 3 | separate",
        confirmed("sparlet-sheet", QUILLON, SEDGE),
    ),
    _carrier(_M, "straggmere | Cradlow | C1 | 2015 | basket | - | separate", (Confirmation(QUILLON, "cradlow-sheet"),)),
    _carrier(
        _M, "straggmere | Hesk | H2 | 2019 | crossbars | 2 | separate", confirmed("hesk-sheet", TAMBOUR, UNDERFELL)
    ),
    _carrier(
        _M, "straggmere | Hesk Four | H4 | 2022 | crossbars | 4 | separate", confirmed("hesk-sheet", TAMBOUR, UNDERFELL)
    ),
    _carrier(
        _O,
        "zimmelholt | Tragnitz | TN1 | 2014 | crossbars | 2 | built_in",
        confirmed("tragnitz-sheet", VERJUICE, TAMBOUR),
    ),
    _carrier(
        _O,
        "zimmelholt | Plattnik | PN2 | 2019 | platform | - | separate",
        confirmed("tragnitz-sheet", VERJUICE, TAMBOUR),
    ),
    _carrier(_O, "zimmelholt | Korbnitz | KN | 2016 | basket | - | -"),
    _carrier(_P, "trevanka | Marrig | M1 | 2013 | tray | - | separate", confirmed("marrig-sheet", SEDGE, UNDERFELL)),
    _carrier(_P, "trevanka | Marrig | M2 | 2021 | tray | - | separate", confirmed("marrig-sheet", SEDGE, UNDERFELL)),
    _carrier(
        _P, "trevanka | Dunlath | D3 | 2017 | platform | - | separate", confirmed("dunlath-sheet", SEDGE, VERJUICE)
    ),
    _carrier(
        _M, "ondurel | Galeriane | G1 | 2012 | basket | - | separate", confirmed("galeriane-sheet", QUILLON, VERJUICE)
    ),
    _carrier(_M, "ondurel | Barquelle | BQ | 2018 | crossbars | - | separate"),
    _carrier(
        _P, "orrin | Lintock | OL1 | 2019 | crossbars | 2 | built_in", confirmed("lintock-sheet", QUILLON, TAMBOUR)
    ),
    _carrier(_O, "hanoriku | Kajidai | KD1 | 2010 | tray | - | built_in", confirmed("kajidai-sheet", SEDGE, TAMBOUR)),
    _carrier(
        _P, "cobblewyn | Ladrail | LR | 2014 | crossbars | 3 | separate", confirmed("ladrail-sheet", QUILLON, UNDERFELL)
    ),
    _carrier(_O, "skaveld | Bjelkon | BJ | 2020 | crossbars | 2 | -"),
)
