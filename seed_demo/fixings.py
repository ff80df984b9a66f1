"""The fixings: what joins a carrier to a roof, on how many feet, and where it takes hold."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.shapes import Confirmation, FixingBody, Record
from seed_demo.writing import cells, confirmed, slug


def _fixing(by: str, record: str, confirmations: tuple[Confirmation, ...] = ()) -> Record[FixingBody]:
    """A line of the record: maker, model, series, first year, feet, where it holds. A hyphen is not recorded."""
    maker, model, series, first_year, feet, holds = cells(record)
    body: FixingBody = {
        "maker": maker,
        "model": model,
        "series": series,
        "first_year": int(first_year),
        "feet": None if feet == "-" else int(feet),
        "holds": holds.split(),
    }
    return Record(slug(f"{maker} {model} {series} {first_year}"), by, body, confirmations)


_P, _O, _M = PIPISTREL, OXBOW, MARRAM

FIXINGS: tuple[Record[FixingBody], ...] = (
    _fixing(_P, "pellwick | Clampet | F1 | 2017 | 4 | raised_rail", confirmed("clampet-sheet", QUILLON, SEDGE)),
    _fixing(_P, "pellwick | Clampet | F2 | 2019 | 6 | fixed_points track", confirmed("clampet-sheet", QUILLON, SEDGE)),
    _fixing(
        _M, "straggmere | Nubbet | N1 | 2015 | 4 | flush_rail raised_rail", confirmed("hesk-sheet", TAMBOUR, UNDERFELL)
    ),
    _fixing(_O, "zimmelholt | Fusselring | FS1 | 2014 | 4 | gutter", confirmed("tragnitz-sheet", VERJUICE, TAMBOUR)),
    _fixing(
        _O, "zimmelholt | Fusselring | FS2 | 2019 | 4 | fixed_points", confirmed("tragnitz-sheet", VERJUICE, TAMBOUR)
    ),
    _fixing(_P, "trevanka | Strutlet | LG | 2013 | 6 | gutter", confirmed("marrig-sheet", SEDGE, UNDERFELL)),
    _fixing(_P, "trevanka | Boltan | BT | 2020 | 8 | drilled", (Confirmation(SEDGE, "marrig-sheet"),)),
    _fixing(_M, "ondurel | Patinelle | PT1 | 2012 | 4 | gutter", confirmed("galeriane-sheet", QUILLON, VERJUICE)),
    _fixing(_M, "ondurel | Patinelle | PT2 | 2018 | - | flush_rail"),
    _fixing(
        _P, "cobblewyn | Footel | FT | 2014 | 6 | track fixed_points", confirmed("ladrail-sheet", QUILLON, UNDERFELL)
    ),
)
