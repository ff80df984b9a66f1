"""What fits what: this carrier on this vehicle, with this fixing, on these roofs. Keys are local to the scenario."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.shapes import Confirmation, FitmentBody, Record
from seed_demo.writing import cells, confirmed, listed


def _fits(by: str, record: str, confirmations: tuple[Confirmation, ...] = ()) -> Record[FitmentBody]:
    """A line of the record: key, carrier, vehicle, fixing, roofs. A hyphen is not recorded."""
    key, carrier, vehicle, fixing, roofs = cells(record)
    body: FitmentBody = {
        "vehicle": vehicle,
        "carrier": carrier,
        "fixing": None if fixing == "-" else fixing,
        "roofs": listed(roofs),
    }
    return Record(key, by, body, confirmations)


_P, _O, _M = PIPISTREL, OXBOW, MARRAM
_BY_LIST = confirmed("pellwick-fit-list", QUILLON, SEDGE)
_BY_ZIMMEL = confirmed("zimmelholt-fit-list", VERJUICE, TAMBOUR)
_BY_MARRIG = confirmed("marrig-sheet", SEDGE, UNDERFELL)

FITMENTS: tuple[Record[FitmentBody], ...] = (
    _fits(_P, "slatten-on-tarn-t2 | pellwick-slatten-p1-2018 | orrin-tarn-t2-2019 | - | -", _BY_LIST),
    _fits(_P, "rough-on-tarn-t2 | pellwick-slatten-rough-p2-2021 | orrin-tarn-t2-2019 | - | -", _BY_LIST),
    _fits(_P, "sparlet-on-tarn-t2 | pellwick-sparlet-b5-2017 | orrin-tarn-t2-2019 | - | -", _BY_LIST),
    _fits(_P, "sparlet-on-ruddlepin | pellwick-sparlet-b5-2017 | orrin-ruddlepin-r3-2014 | - | -", _BY_LIST),
    _fits(_P, "slatten-on-ghyllet-g2 | pellwick-slatten-p1-2018 | orrin-ghyllet-g2-2017 | - | raised_rail", _BY_LIST),
    _fits(
        _P,
        "three-on-ghyllet-g2 | pellwick-sparlet-three-b7-2020 | orrin-ghyllet-g2-2017 | pellwick-clampet-f1-2017 "
        "| raised_rail",
        _BY_LIST,
    ),
    _fits(
        _P,
        "three-on-larkenby-l4 | pellwick-sparlet-three-b7-2020 | cobblewyn-larkenby-l4-2014 "
        "| pellwick-clampet-f2-2019 | fixed_points track",
        _BY_LIST,
    ),
    _fits(_P, "lintock-on-tarn-t2 | orrin-lintock-ol1-2019 | orrin-tarn-t2-2019 | - | bare"),
    _fits(_P, "lintock-on-tarn-t3 | orrin-lintock-ol1-2019 | orrin-tarn-t3-2025 | - | -"),
    _fits(
        _M,
        "cradlow-on-ombrik-4v | straggmere-cradlow-c1-2015 | vasquell-ombrik-4v-2010 | straggmere-nubbet-n1-2015 "
        "| raised_rail",
    ),
    _fits(
        _M,
        "hesk-on-ombrik-5v | straggmere-hesk-h2-2019 | vasquell-ombrik-5v-2018 | straggmere-nubbet-n1-2015 "
        "| raised_rail",
        confirmed("hesk-sheet", TAMBOUR, UNDERFELL),
    ),
    _fits(
        _M,
        "hesk-on-pembrake | straggmere-hesk-h2-2019 | thrandle-pembrake-pb-2018 | straggmere-nubbet-n1-2015 "
        "| raised_rail flush_rail",
    ),
    _fits(_M, "hesk-four-on-gristow | straggmere-hesk-four-h4-2022 | thrandle-gristow-21f-2021 | - | -"),
    _fits(_M, "hesk-on-queltis | straggmere-hesk-h2-2019 | vasquell-queltis-j9-2016 | - | -"),
    _fits(
        _O,
        "tragnitz-on-halmwig-h40 | zimmelholt-tragnitz-tn1-2014 | grelmund-halmwig-h40-2011 | - | raised_rail",
        _BY_ZIMMEL,
    ),
    _fits(
        _O, "tragnitz-on-uvenn-u2 | zimmelholt-tragnitz-tn1-2014 | skaveld-uvenn-u2-2020 | - | raised_rail", _BY_ZIMMEL
    ),
    _fits(
        _O,
        "plattnik-on-zettlow-z2 | zimmelholt-plattnik-pn2-2019 | grelmund-zettlow-z2-2015 "
        "| zimmelholt-fusselring-fs2-2019 | fixed_points",
        _BY_ZIMMEL,
    ),
    _fits(
        _O,
        "plattnik-on-frostrik | zimmelholt-plattnik-pn2-2019 | skaveld-frostrik-fr-2016 "
        "| zimmelholt-fusselring-fs1-2014 | -",
    ),
    _fits(_O, "korbnitz-on-halmwig-h50 | zimmelholt-korbnitz-kn-2016 | grelmund-halmwig-h50-2019 | - | -"),
    _fits(
        _P,
        "marrig-one-on-nk7 | trevanka-marrig-m1-2013 | hanoriku-tozanko-nk7-1999 | trevanka-strutlet-lg-2013 | gutter",
        _BY_MARRIG,
    ),
    _fits(
        _P,
        "marrig-two-on-nk8 | trevanka-marrig-m2-2021 | hanoriku-tozanko-nk8-2010 | trevanka-strutlet-lg-2013 | gutter",
        _BY_MARRIG,
    ),
    _fits(
        _P, "marrig-two-on-tarn-t1 | trevanka-marrig-m2-2021 | orrin-tarn-t1-2012 | trevanka-strutlet-lg-2013 | gutter"
    ),
    _fits(_P, "dunlath-on-nk9 | trevanka-dunlath-d3-2017 | hanoriku-tozanko-nk9-2021 | - | raised_rail"),
    _fits(_P, "dunlath-on-tarn-t3 | trevanka-dunlath-d3-2017 | orrin-tarn-t3-2025 | trevanka-boltan-bt-2020 | bare"),
    _fits(
        _O,
        "kajidai-on-nk8 | hanoriku-kajidai-kd1-2010 | hanoriku-tozanko-nk8-2010 | - | gutter",
        confirmed("kajidai-sheet", SEDGE, TAMBOUR),
    ),
    _fits(
        _M,
        "galeriane-on-toquart | ondurel-galeriane-g1-2012 | oulvier-toquart-tq-2016 | ondurel-patinelle-pt1-2012 "
        "| gutter",
    ),
    _fits(
        _M,
        "barquelle-on-mirelange-ml2 | ondurel-barquelle-bq-2018 | oulvier-mirelange-ml2-2015 "
        "| ondurel-patinelle-pt2-2018 | -",
    ),
    _fits(_M, "barquelle-on-lomazil-l2 | ondurel-barquelle-bq-2018 | ozqueda-lomazil-l2-2017 | - | -"),
    _fits(
        _P,
        "ladrail-on-larkenby-l4 | cobblewyn-ladrail-lr-2014 | cobblewyn-larkenby-l4-2014 | cobblewyn-footel-ft-2014 "
        "| track",
    ),
    _fits(_O, "bjelkon-on-uvenn-u2 | skaveld-bjelkon-bj-2020 | skaveld-uvenn-u2-2020 | - | flush_rail"),
)
