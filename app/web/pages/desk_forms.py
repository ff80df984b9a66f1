"""The desk's forms: which fields a blind reading has for one kind of figure, and what was keyed as the services take it."""

from collections.abc import Mapping, Sequence
from typing import Any, Final, TypeVar

import msgspec

from app.core.claim import LIMITS, Quantity, SubjectKind
from app.core.derived import Method
from app.core.errors import CantrailError, Fault
from app.services.inputs import Input, NewReading
from app.services.stating import WITH_SCOPE
from app.web.bodies import BodyDecoder
from app.web.pages.forms import Sent
from app.web.pages.refusal_words import UNIT_MISSING

Wanted = TypeVar("Wanted", bound=Input)

DIMENSIONS: Final = ("years", "bodies", "roofs", "markets")
ROWS_AT_FIRST: Final = 3
MOST_ROWS: Final = 40

PLAINLY: Final[Mapping[str, str]] = {
    "stated_missing": "Key the figure as the page prints it, digits only.",
    "bad_mass": "Key digits only, with a point for decimals: 75 or 165.5.",
    "bad_factor": "Key a factor above 0 and at most 1: 2/3 or 0.8.",
    "condition_missing": (
        "No limit is keyed without its condition. If the page does not say when its figure holds, it does not carry a "
        "limit: ask for better evidence, below."
    ),
    "no_excluded_mass_here": "A rack's mass is keyed only where the page leaves the rack out.",
    "years_backwards": "The last year comes before the first.",
    "derivation_missing": "Key what the pages say; the figure follows from that.",
}
"""Faults in words for somebody at a form, where the services speak to programs."""


class Shape(msgspec.Struct, frozen=True):
    """Which fields the reading of a figure has: of a limit, a mass or a factor; of what is worked back, by which
    method."""

    kind: SubjectKind
    quantity: Quantity
    method: Method | None = None

    @property
    def limit(self) -> bool:
        """Whether it holds in a condition."""
        return self.quantity in LIMITS

    @property
    def factor(self) -> bool:
        """Whether it is a factor."""
        return self.quantity is Quantity.OFF_ROAD_FACTOR

    @property
    def figure(self) -> bool:
        """Whether a page prints the figure itself."""
        return self.method is None

    @property
    def bases(self) -> tuple[str, ...]:
        """What it may count."""
        if self.method is not None:
            return ()
        if self.limit:
            return ("includes_carrier", "excludes_carrier", "not_stated")
        if self.quantity is Quantity.OWN_MASS and self.kind is SubjectKind.CARRIER:
            return ("includes_fixing", "excludes_fixing", "not_stated")
        return ()

    @property
    def excluded(self) -> bool:
        """Whether it may leave out a rack of some mass."""
        return self.method is None and self.limit and self.kind is SubjectKind.VEHICLE

    @property
    def per(self) -> bool:
        """Whether it may be for each bar or foot."""
        return self.figure and not self.factor and self.kind is not SubjectKind.GEAR

    @property
    def applies(self) -> tuple[str, ...]:
        """What a factor may multiply."""
        if not self.factor:
            return ()
        return ("roof_limit",) if self.kind is SubjectKind.VEHICLE else ("own_rating", "roof_limit", "both")

    @property
    def scoped(self) -> bool:
        """Whether a source may speak of some cars only."""
        return self.kind in WITH_SCOPE

    @property
    def rows(self) -> bool:
        """Whether rows of accessory pages are keyed."""
        return self.method is Method.ACCESSORY_PAGES

    @property
    def takes(self) -> int:
        """How many claims it is worked back from."""
        match self.method:
            case None | Method.ACCESSORY_PAGES:
                return 0
            case Method.NET_TO_GROSS | Method.FACTOR:
                return 2
            case _:
                return 1


def reading(sent: Sent, shape: Shape) -> NewReading:
    """A blind reading as it was keyed. Raises bad input with every fault."""
    body = {**_stated(sent, shape), **_said(sent, shape)}
    if shape.method is not None:
        body["derivation"] = _derivation(sent, shape.method)
    return made(NewReading, body)


def made(wanted: type[Wanted], body: Mapping[str, Any]) -> Wanted:
    """What a service takes. Raises bad input with every fault."""
    given = {name: value for name, value in body.items() if value is not None}
    return BodyDecoder(wanted).decode(msgspec.json.encode(given))


def plainly(error: CantrailError) -> CantrailError:
    """A refusal with its faults in a person's words."""
    faults = [_plain(each) for each in error.faults]
    message = error.message if len(faults) != 1 else faults[0].message
    return CantrailError(error.kind, error.code, message, faults=faults, details=error.details)


def _plain(fault: Fault) -> Fault:
    if fault.code == "missing" and fault.pointer.endswith("/unit"):
        return msgspec.structs.replace(fault, message=UNIT_MISSING)
    if fault.code == "missing" and fault.pointer.endswith("/value"):
        return msgspec.structs.replace(fault, message=PLAINLY["stated_missing"])
    if fault.code == "missing" and fault.message.startswith("`"):
        return msgspec.structs.replace(fault, message="This is missing.")
    if fault.code == "too_short":
        return msgspec.structs.replace(fault, message="Write something here.")
    return msgspec.structs.replace(fault, message=PLAINLY.get(fault.code, fault.message))


def rows_shown(sent: Sent) -> int:
    """How many rows of accessories the form has: as many as it had, and two more where they were asked for."""
    had = sent.text("rows")
    shown = int(had) if had.isascii() and had.isdigit() and len(had) < len("100") else ROWS_AT_FIRST
    return min(max(shown + (2 if sent.text("more_rows") else 0), ROWS_AT_FIRST), MOST_ROWS)


def mass(sent: Sent, name: str, *units: str) -> dict[str, str] | None:
    """A mass with its unit, or nothing where no figure was keyed. The unit is its own, or that of the first of other
    fields which names one."""
    value = sent.text(name)
    unit = next((text for each in (f"{name}_unit", *units) if (text := sent.text(each))), "")
    if not value:
        return None
    return {"value": value, "unit": unit} if unit else {"value": value}


def _stated(sent: Sent, shape: Shape) -> dict[str, Any]:
    if not shape.figure:
        return {}
    if shape.factor:
        value = sent.text("value")
        return {"stated": {"value": value, "unit": "factor"} if value else None}
    return {"stated": mass(sent, "value"), "excluded_mass": mass(sent, "excluded_mass") if shape.excluded else None}


def _said(sent: Sent, shape: Shape) -> dict[str, Any]:
    body: dict[str, Any] = {"bound": sent.text("bound") or "exact"}
    if shape.limit:
        body["condition"] = sent.or_none("condition")
    if shape.bases:
        body["basis"] = sent.or_none("basis")
    if shape.per:
        body["per"] = sent.or_none("per")
    if shape.applies:
        body["applies_to"] = sent.or_none("applies_to")
    if shape.scoped:
        body["scope"] = {name: spoken for name in DIMENSIONS if (spoken := _spoken(sent, name)) is not None}
    return body


def _spoken(sent: Sent, dimension: str) -> Any:
    """What the page says on one dimension: nothing, "all", or these."""
    match sent.text(dimension):
        case "all":
            return "all"
        case "these" if dimension == "years":
            first, last = sent.text("years_from"), sent.text("years_to")
            return {"from": _number(first), **({"to": _number(last)} if last else {})}
        case "these" if dimension == "markets":
            return sent.text("markets_these").upper().replace(",", " ").split()
        case "these":
            return sent.many(f"{dimension}_these")
        case _:
            return None


def _number(text: str) -> int | str:
    return int(text) if text.isascii() and text.isdigit() and len(text) < len("100000") else text


def _derivation(sent: Sent, method: Method) -> dict[str, Any]:
    multiple = sent.text("multiple")
    rows: Sequence[dict[str, Any]] = []
    if method is Method.ACCESSORY_PAGES:
        rows = [row for at in range(rows_shown(sent)) if (row := _row(sent, f"row{at}")) is not None]
    return {
        "method": str(method),
        "rows": rows,
        "takes": [each.upper() for each in sent.many("takes")],
        **({"multiple": _number(multiple)} if multiple else {}),
    }


def _row(sent: Sent, at: str) -> dict[str, Any] | None:
    """One row of an accessory page, or nothing where none of it was filled in."""
    units = (f"{at}_unit", "rows_unit")
    row = {
        "accessory": sent.or_none(f"{at}_accessory"),
        "mass": mass(sent, f"{at}_mass", *units),
        "load": mass(sent, f"{at}_load", *units),
        "rating": mass(sent, f"{at}_rating", *units),
    }
    said = {name: value for name, value in row.items() if value is not None}
    return {**said, "leaves_out": bool(sent.text(f"{at}_leaves_out"))} if said else None
