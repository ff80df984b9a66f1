"""What the forms that enter a subject say, as the bodies that the services take: one form for each kind."""

import re
from collections.abc import Callable
from typing import Any, Final, NamedTuple

import msgspec

from app.core.claim import SubjectKind
from app.core.evidence import PublisherKind
from app.services import subjects
from app.services.inputs import NewCarrier, NewFixing, NewGear, NewVehicle
from app.services.work import Work
from app.web.bodies import BodyDecoder
from app.web.pages.forms import Sent

SOMEBODY: Final = "somebody"
"""Stands for the maker while the rest of a form is looked at."""

Made = NewVehicle | NewCarrier | NewFixing | NewGear


class Entering(NamedTuple):
    """A form: of which kind, whose makers are offered, the fields that an address may fill in, and how it is entered."""

    kind: SubjectKind
    plural: str
    title: str
    lead: str
    maker_kind: PublisherKind
    fields: tuple[str, ...]
    said: Callable[[Sent], dict[str, Any]]
    decoder: BodyDecoder[Any]
    add: Callable[[Work, Any], str]


def body(entering: Entering, sent: Sent) -> Made:
    """What a form says, with somebody as the maker. Raises bad input with all that is wrong."""
    said = {"model": sent.text("model"), "series": sent.text("series"), **entering.said(sent)}
    said["distinct_from"] = sent.many("distinct_from") if sent.text("is_distinct") else []
    if sent.text("maker") or sent.text("maker_is"):
        said["maker"] = SOMEBODY
    given = {name: each for name, each in said.items() if each or name == "years"}
    made: Made = entering.decoder.decode(msgspec.json.encode(given))
    return made


def _vehicle(sent: Sent) -> dict[str, Any]:
    return {
        "years": {name: _number(text) for name in ("from", "to") if (text := sent.text(name))},
        "bodies": sent.many("bodies"),
        "roofs": sent.many("roofs"),
        "markets": re.findall(r"[^\s,;]+", sent.text("markets").upper()),
    }


def _carrier(sent: Sent) -> dict[str, Any]:
    return {
        "kind": sent.text("kind"),
        "first_year": _number(sent.text("first_year")),
        "bars": _number(sent.text("bars")),
        "fixing": sent.text("fixing"),
    }


def _fixing(sent: Sent) -> dict[str, Any]:
    return {
        "holds": sent.many("holds"),
        "first_year": _number(sent.text("first_year")),
        "feet": _number(sent.text("feet")),
    }


def _gear(sent: Sent) -> dict[str, Any]:
    return {"category": sent.text("category"), "first_year": _number(sent.text("first_year"))}


def _number(text: str) -> int | str:
    """A small whole number as one; anything else as it was typed, to be refused in its own words."""
    return int(text) if re.fullmatch("[0-9]{1,6}", text) else text


FORMS: Final = (
    Entering(
        SubjectKind.VEHICLE,
        "vehicles",
        "Enter a vehicle",
        "One maker’s model in one generation.",
        PublisherKind.VEHICLE_MAKER,
        ("maker", "model", "series", "from", "to", "markets"),
        _vehicle,
        BodyDecoder(NewVehicle),
        subjects.add_vehicle,
    ),
    Entering(
        SubjectKind.CARRIER,
        "carriers",
        "Enter a rack",
        "What is bolted to a roof to put things on: bars, a platform, a basket, a tray.",
        PublisherKind.CARRIER_MAKER,
        ("maker", "model", "series", "first_year"),
        _carrier,
        BodyDecoder(NewCarrier),
        subjects.add_carrier,
    ),
    Entering(
        SubjectKind.FIXING,
        "fixings",
        "Enter a fixing",
        "What joins a rack to a roof: feet, brackets, a fitting kit.",
        PublisherKind.CARRIER_MAKER,
        ("maker", "model", "series", "first_year"),
        _fixing,
        BodyDecoder(NewFixing),
        subjects.add_fixing,
    ),
    Entering(
        SubjectKind.GEAR,
        "gear",
        "Enter gear",
        "What is carried: a tent, an awning, a box, a spare wheel.",
        PublisherKind.GEAR_MAKER,
        ("maker", "model", "series", "first_year"),
        _gear,
        BodyDecoder(NewGear),
        subjects.add_gear,
    ),
)
