"""The vehicles: one maker's model in one generation each, with what its record says and who has checked it."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.shapes import Confirmation, Record, VehicleBody
from seed_demo.writing import cells, confirmed, listed, slug, years


def _vehicle(by: str, record: str, confirmations: tuple[Confirmation, ...] = ()) -> Record[VehicleBody]:
    """A line of the record: maker, model, series, years, bodies, roofs, markets. A hyphen is not recorded."""
    maker, model, series, made, bodies, roofs, markets = cells(record)
    first, _, last = made.partition("-")
    body: VehicleBody = {
        "maker": maker,
        "model": model,
        "series": series,
        "years": years(int(first), int(last) if last else None),
        "bodies": listed(bodies),
        "roofs": listed(roofs),
        "markets": listed(markets),
    }
    return Record(slug(f"{maker} {model} {series} {first}"), by, body, confirmations)


_P, _O, _M = PIPISTREL, OXBOW, MARRAM

VEHICLES: tuple[Record[VehicleBody], ...] = (
    _vehicle(
        _P,
        "orrin | Tarn | T1 | 2012-2018 | wagon dual_cab | gutter bare | NZ AU",
        confirmed("tarn-t1-book", QUILLON, SEDGE),
    ),
    _vehicle(_P, "orrin | Tarn | T2 | 2019-2024 | wagon dual_cab | - | -", confirmed("tarn-t2-book", QUILLON, SEDGE)),
    _vehicle(_P, "orrin | Tarn | T3 | 2025- | dual_cab extra_cab | bare track | -"),
    _vehicle(
        _P,
        "orrin | Ghyllet | G1 | 2009-2016 | wagon | raised_rail bare | -",
        confirmed("ghyllet-g1-book", QUILLON, SEDGE),
    ),
    _vehicle(
        _P,
        "orrin | Ghyllet | G2 | 2017- | wagon | raised_rail flush_rail bare | NZ AU GB",
        confirmed("ghyllet-g2-book", TAMBOUR, UNDERFELL),
    ),
    _vehicle(_O, "orrin | Ruddlepin | R3 | 2014-2022 | hatch | - | -", (Confirmation(QUILLON, "ruddlepin-book"),)),
    _vehicle(_O, "orrin | Mossick | M1 | 2020- | van | fixed_points bare | -"),
    _vehicle(
        _M,
        "vasquell | Ombrik | 4V | 2010-2017 | wagon | raised_rail bare | US CA",
        confirmed("ombrik-4v-book", QUILLON, SEDGE),
    ),
    _vehicle(
        _M,
        "vasquell | Ombrik | 5V | 2018- | wagon | raised_rail glass | US CA",
        confirmed("ombrik-5v-book", QUILLON, SEDGE),
    ),
    _vehicle(_M, "vasquell | Queltis | J9 | 2016-2023 | dual_cab extra_cab | - | US"),
    _vehicle(_M, "vasquell | Queltis | K2 | 2024- | dual_cab | - | -"),
    _vehicle(
        _M,
        "vasquell | Dravoni | D1 | 2013-2019 | sedan coupe | bare fixed_points | US",
        confirmed("dravoni-d1-book", QUILLON, SEDGE),
    ),
    _vehicle(_M, "vasquell | Dravoni | D2 | 2020- | sedan | - | -"),
    _vehicle(
        _O,
        "grelmund | Halmwig | H40 | 2011-2018 | wagon sedan hatch | raised_rail flush_rail bare fixed_points "
        "| DE AT CH",
        confirmed("halmwig-h40-book", VERJUICE, TAMBOUR),
    ),
    _vehicle(
        _O,
        "grelmund | Halmwig | H50 | 2019- | wagon sedan | flush_rail bare glass | -",
        confirmed("halmwig-h50-book", VERJUICE, TAMBOUR),
    ),
    _vehicle(
        _O,
        "grelmund | Zettlow | Z2 | 2015-2021 | van | track fixed_points | DE FR NL",
        confirmed("zettlow-z2-book", QUILLON, SEDGE),
    ),
    _vehicle(_O, "grelmund | Zettlow | Z3 | 2022- | van | - | -"),
    _vehicle(
        _O, "grelmund | Pfundt | PC | 2018- | convertible | bare | -", confirmed("pfundt-book", TAMBOUR, UNDERFELL)
    ),
    _vehicle(_O, "grelmund | Ulmarett | UM | 2020- | wagon | flush_rail raised_rail glass | DE"),
    _vehicle(_P, "oulvier | Mirelange | ML1 | 2008-2014 | wagon hatch | - | -"),
    _vehicle(
        _P,
        "oulvier | Mirelange | ML2 | 2015-2021 | wagon hatch | raised_rail bare glass | FR BE",
        confirmed("mirelange-ml2-book", UNDERFELL, VERJUICE),
    ),
    _vehicle(_P, "oulvier | Mirelange | ML3 | 2022- | wagon | - | FR"),
    _vehicle(
        _P,
        "oulvier | Toquart | TQ | 2016- | van other | fixed_points gutter | -",
        confirmed("toquart-book", QUILLON, SEDGE),
    ),
    _vehicle(_P, "oulvier | Bruyssac | B4 | 2012-2019 | hatch | - | -"),
    _vehicle(_M, "ozqueda | Lomazil | L1 | 2010-2016 | hatch sedan | - | -"),
    _vehicle(
        _M,
        "ozqueda | Lomazil | L2 | 2017- | hatch wagon | fixed_points raised_rail | ES PT",
        confirmed("lomazil-l2-book", SEDGE, VERJUICE),
    ),
    _vehicle(
        _M,
        "ozqueda | Terquino | TQN | 2014- | dual_cab single_cab | gutter bare | ES MX CL",
        confirmed("terquino-book", QUILLON, SEDGE),
    ),
    _vehicle(
        _M,
        "ozqueda | Hierzal | HZ1 | 2019-2023 | wagon | raised_rail glass | -",
        confirmed("hierzal-book", QUILLON, SEDGE),
    ),
    _vehicle(_M, "ozqueda | Hierzal | HZ2 | 2024- | wagon | raised_rail | -"),
    _vehicle(
        _O,
        "hanoriku | Tozanko | NK7 | 1999-2009 | wagon single_cab | gutter | AU NZ ZA",
        confirmed("tozanko-nk7-book", QUILLON, SEDGE),
    ),
    _vehicle(
        _O,
        "hanoriku | Tozanko | NK8 | 2010-2020 | wagon dual_cab | gutter bare | AU NZ ZA",
        confirmed("tozanko-nk8-book", TAMBOUR, UNDERFELL),
    ),
    _vehicle(
        _O,
        "hanoriku | Tozanko | NK9 | 2021- | wagon | raised_rail fixed_points | -",
        confirmed("tozanko-nk9-book", TAMBOUR, UNDERFELL),
    ),
    _vehicle(
        _O, "hanoriku | Yubokai | Y3 | 2011-2019 | wagon | raised_rail | -", (Confirmation(SEDGE, "yubokai-y3-book"),)
    ),
    _vehicle(
        _O,
        "hanoriku | Yubokai | Y4 | 2020- | wagon | raised_rail glass | -",
        confirmed("yubokai-y4-book", QUILLON, SEDGE),
    ),
    _vehicle(_O, "hanoriku | Minohari | MH | 2016- | van hatch | - | -"),
    _vehicle(_M, "thrandle | Gristow | 11F | 2009-2014 | dual_cab extra_cab single_cab | - | -"),
    _vehicle(_M, "thrandle | Gristow | 15F | 2015-2020 | dual_cab extra_cab | - | US CA"),
    _vehicle(
        _M,
        "thrandle | Gristow | 21F | 2021- | dual_cab extra_cab | - | US CA",
        confirmed("gristow-21f-book", QUILLON, SEDGE),
    ),
    _vehicle(
        _M,
        "thrandle | Pembrake | PB | 2018- | wagon | raised_rail flush_rail bare | US CA AU",
        confirmed("pembrake-book", SEDGE, UNDERFELL),
    ),
    _vehicle(_M, "thrandle | Dunwhelk | DW | 2013-2019 | van | - | -"),
    _vehicle(
        _P,
        "cobblewyn | Larkenby | L3 | 2006-2013 | van | gutter | GB IE",
        confirmed("larkenby-l3-book", QUILLON, SEDGE),
    ),
    _vehicle(
        _P,
        "cobblewyn | Larkenby | L4 | 2014-2022 | van | fixed_points track | GB IE",
        confirmed("larkenby-l4-book", QUILLON, SEDGE),
    ),
    _vehicle(_P, "cobblewyn | Larkenby | L5 | 2023- | van | - | -"),
    _vehicle(
        _P,
        "cobblewyn | Hobthrush | HT | 2017- | hatch convertible | - | GB",
        confirmed("hobthrush-book", QUILLON, SEDGE),
    ),
    _vehicle(_P, "cobblewyn | Vanmoot | VM | 2019- | van | - | -"),
    _vehicle(_O, "skaveld | Uvenn | U1 | 2013-2019 | wagon sedan | - | -"),
    _vehicle(
        _O,
        "skaveld | Uvenn | U2 | 2020- | wagon | flush_rail raised_rail glass | -",
        confirmed("uvenn-u2-book", UNDERFELL, VERJUICE),
    ),
    _vehicle(
        _O,
        "skaveld | Frostrik | FR | 2016- | wagon dual_cab | - | NO SE FI",
        confirmed("frostrik-book", QUILLON, SEDGE),
    ),
    _vehicle(_O, "skaveld | Hjarnet | HJ | 2021- | hatch | - | -", confirmed("hjarnet-list", QUILLON, VERJUICE)),
)
