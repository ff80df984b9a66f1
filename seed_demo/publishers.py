"""Everybody who publishes in the scenario, by slug. All invented."""

from __future__ import annotations

from seed_demo.shapes import PublisherBody
from seed_demo.writing import slug

_VEHICLE_MAKERS = (
    "Orrin",
    "Vasquell",
    "Grelmund",
    "Oulvier",
    "Ozqueda",
    "Hanoriku",
    "Thrandle",
    "Cobblewyn",
    "Skaveld",
)
_CARRIER_MAKERS = ("Pellwick", "Straggmere", "Zimmelholt", "Trevanka", "Ondurel")
_GEAR_MAKERS = ("Bivvenholt", "Aldwether", "Quoddle", "Packlorn", "Oarwick")
_IMPORTERS = {
    "Tuiweka Motor Imports": "orrin",
    "Mizzenport Hanoriku Agency": "hanoriku",
    "Comercial Quilmanta": "ozqueda",
    "Brakwater Vehicle Company": "thrandle",
    "Grelmund Import Overzande": "grelmund",
}
_DEALERS = ("Bramfold and Daughters", "Ostrel Lane Vehicles", "Autohaus Nebelgrund", "Garage du Pont Vrillon")
_SHOPS = ("Rooftop Larder", "The Strap Cupboard", "Dachkrambude", "Galerie et Compagnie")
_PUBLIC_BODIES = ("Office for Loads on the Highway",)
_PERSONS = ("K. Thistlewrack",)
_FORUMS = ("Gravel and Gutters",)


def _all(kind: str, names: tuple[str, ...]) -> dict[str, PublisherBody]:
    return {slug(name): {"name": name, "kind": kind, "importer_of": []} for name in names}


PUBLISHERS: dict[str, PublisherBody] = {
    **_all("vehicle_maker", _VEHICLE_MAKERS),
    **_all("carrier_maker", _CARRIER_MAKERS),
    **_all("gear_maker", _GEAR_MAKERS),
    **{slug(name): {"name": name, "kind": "importer", "importer_of": [of]} for name, of in _IMPORTERS.items()},
    **_all("dealer", _DEALERS),
    **_all("shop", _SHOPS),
    **_all("public_body", _PUBLIC_BODIES),
    **_all("person", _PERSONS),
    **_all("forum", _FORUMS),
}
