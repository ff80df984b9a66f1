"""What the forms of submitting say, as the bodies that the services take, and which subject and document they go on with."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

import msgspec
from starlette.datastructures import FormData, QueryParams

from app.core.claim import LIMITS, QUANTITIES, Condition, Quantity, SourceType, Subject, SubjectKind
from app.core.errors import CantrailError, Fault
from app.services.faults import bad_input
from app.services.inputs import NewCitation, NewClaim, NewDerivation, NewDocument
from app.services.stating import WITH_SCOPE
from app.web.bodies import BodyDecoder
from app.web.pages.forms import Sent
from app.web.pages.refusal_words import UNIT_MISSING

CLAIM: Final = BodyDecoder(NewClaim)
CITATION: Final = BodyDecoder(NewCitation)
DERIVATION: Final = BodyDecoder(NewDerivation)
DOCUMENT: Final = BodyDecoder(NewDocument)

DIMENSIONS: Final = ("years", "bodies", "roofs", "markets")
ASKED_ALONG: Final = ("quantity", "condition", "supersedes")
"""What an address may ask for that later steps begin with."""

DRIVING: Final = "driving"
"""Chosen where a page speaks of driving and not of roads."""

MOST_ROWS: Final = 20
ROW: Final = ("accessory", "mass", "load", "rating", "unit", "leaves_out", "document", "page")
FILLED: Final = ("accessory", "mass", "load", "rating")
"""A row in which none of these was filled in is no row."""


def subject_in(fields: QueryParams | Mapping[str, str]) -> Subject | None:
    """The subject that an address or a form goes on with: `vehicle=`, `carrier=` and so on."""
    return next((Subject(kind, fields[kind]) for kind in SubjectKind if fields.get(kind)), None)


def asked(query: QueryParams) -> Sent:
    """An address as a form that was filled in so far."""
    return Sent(FormData([(name, text) for name, text in query.multi_items()]))


def onward(subject: Subject | None, **further: str | None) -> dict[str, str]:
    """The parameters that carry a subject, and whatever else is known, to the next step."""
    carried = {} if subject is None else {str(subject.kind): subject.id}
    return carried | {name: text for name, text in further.items() if text}


def quantity_in(text: str, kind: SubjectKind) -> Quantity:
    """The quantity that was chosen, or the first that a subject of this kind has."""
    possible = QUANTITIES[kind]
    return next((each for each in possible if each == text), possible[0])


def document_body(sent: Sent) -> NewDocument:
    """A document as it was described. Raises bad input."""
    names = ("publisher", "kind", "title", "edition", "published", "obtained", "language", "market", "address")
    said = {name: text for name in names if (text := sent.text(name))}
    said |= {
        name: change(said[name]) for name, change in (("language", str.lower), ("market", str.upper)) if name in said
    }
    return DOCUMENT.decode(msgspec.json.encode(said))


def citation_body(sent: Sent) -> NewCitation:
    """A place in a document as it was given. Raises bad input."""
    return CITATION.decode(msgspec.json.encode(_citation(sent)))


def claim_body(sent: Sent, subject: Subject) -> NewClaim:
    """A claim as it was filled in. Raises bad input with all that is wrong with it."""
    quantity = quantity_in(sent.text("quantity"), subject.kind)
    derived = sent.text("source_type") == SourceType.ACCESSORY_DERIVED
    said: dict[str, Any] = {
        "subject": {"kind": subject.kind, "id": subject.id},
        "quantity": quantity,
        "source_type": sent.text("source_type"),
        "interest": sent.text("interest") or "none",
        "scope": _scope(sent) if subject.kind in WITH_SCOPE else {},
    }
    for name in ("supersedes", "answers_rejection", "answer"):
        if sent.text(name):
            said[name] = sent.text(name)
    if quantity in LIMITS and sent.text("condition"):
        said["condition"] = _condition(sent)
    if derived:
        said["derivation"] = {"method": "accessory_pages", "rows": rows_body(sent)}
    else:
        said |= _figure(sent, quantity)
        said["citations"] = [_citation(sent)] if sent.text("document") else []
    faults = list(_unanswered(sent, subject, quantity, derived=derived))
    try:
        claim = CLAIM.decode(msgspec.json.encode(said))
    except CantrailError as error:
        own = {fault.pointer for fault in faults}
        raise bad_input([*faults, *(each for each in error.faults if each.pointer not in own)]) from error
    if faults:
        raise bad_input(faults)
    return claim


def derivation_body(sent: Sent, subject: Subject, unit: str) -> NewDerivation:
    """The rows as something to be worked back. Raises bad input."""
    if faults := list(_without_unit(sent)):
        raise bad_input(faults)
    said: dict[str, Any] = {"method": "accessory_pages", "rows": rows_body(sent), "vehicle": subject.id, "unit": unit}
    if sent.text("condition"):
        said["condition"] = _condition(sent)
    return DERIVATION.decode(msgspec.json.encode(said))


def _condition(sent: Sent) -> str:
    """A page that does not say on which roads means sealed ones."""
    return Condition.ON_ROAD if sent.text("condition") == DRIVING else sent.text("condition")


# Rows


def rows_in(sent: Sent) -> list[dict[str, str]]:
    """The rows that have anything in them, as they were typed."""
    rows = ({name: sent.text(f"{name}-{place}") for name in ROW} for place in range(MOST_ROWS))
    return [row for row in rows if any(row[name] for name in FILLED)]


def rows_body(sent: Sent) -> list[dict[str, Any]]:
    """The rows as a derivation takes them. A row without a document of its own stands in the one that is submitted."""
    rows = rows_in(sent)
    return [_row(row, unit, sent.text("document")) for row, unit in zip(rows, _units(rows), strict=True)]


def _units(rows: Iterable[Mapping[str, str]]) -> Iterator[str]:
    """The unit of each row: its own, or that of the row above; nothing where none has been chosen yet."""
    unit = ""
    for row in rows:
        unit = row["unit"] or unit
        yield unit


def _without_unit(sent: Sent) -> Iterator[Fault]:
    rows = rows_in(sent)
    if rows and not rows[0]["unit"]:
        yield Fault("/rows/0/unit", "unit_missing", UNIT_MISSING)


def _row(row: Mapping[str, str], unit: str, document: str) -> dict[str, Any]:
    said: dict[str, Any] = {"leaves_out": row["leaves_out"] == "yes"}
    if row["accessory"]:
        said["accessory"] = row["accessory"]
    for name in ("mass", "load", "rating"):
        if row[name]:
            said[name] = {"value": row[name], "unit": unit or "kg"}
    if row["document"] or document:
        said["document"] = (row["document"] or document).upper()
    if row["page"]:
        said["page"] = row["page"]
    return said


# The parts of a claim


def _figure(sent: Sent, quantity: Quantity) -> dict[str, Any]:
    is_factor = quantity is Quantity.OFF_ROAD_FACTOR
    said: dict[str, Any] = {}
    if sent.text("value"):
        said["stated"] = {
            "value": sent.text("value"),
            "unit": "factor" if is_factor else sent.text("unit") or "kg",
        }
    if is_factor:
        return said | ({"applies_to": sent.text("applies_to")} if sent.text("applies_to") else {})
    said |= {"per": sent.text("per") or "total", "bound": sent.text("bound") or "exact"}
    if sent.text("basis"):
        said["basis"] = sent.text("basis")
    if sent.text("excluded_mass"):
        said["excluded_mass"] = {
            "value": sent.text("excluded_mass"),
            "unit": sent.text("unit") or "kg",
        }
    return said


def _citation(sent: Sent) -> dict[str, str]:
    return {name: text for name in ("document", "page", "locator", "quote") if (text := sent.text(name))}


def _scope(sent: Sent) -> dict[str, Any]:
    """What the page speaks on. What was ticked or typed counts, whatever the answer above it was left at."""
    said: dict[str, Any] = {}
    for dimension in DIMENSIONS:
        if sent.text(f"{dimension}_said") == "all":
            said[dimension] = "all"
        elif (values := _values(sent, dimension)) is not None:
            said[dimension] = values
    return said


def _values(sent: Sent, dimension: str) -> Any:
    match dimension:
        case "years":
            first, last = sent.text("years_from"), sent.text("years_to")
            if not first and not last:
                return None
            return {name: _whole(text) for name, text in (("from", first), ("to", last)) if text}
        case "markets":
            return sent.text("markets").upper().replace(",", " ").split() or None
        case _:
            return sent.many(dimension) or None


def _whole(text: str) -> int | str:
    return int(text) if text.isascii() and text.isdigit() and len(text) < len("100000") else text


def _unanswered(sent: Sent, subject: Subject, quantity: Quantity, *, derived: bool) -> Iterator[Fault]:
    """Questions that the form asks and that were left open, where the body would take silence for an answer."""
    if not sent.text("source_type"):
        yield Fault("/source_type", "source_type_missing", "Say what kind of source this is.")
    if quantity in LIMITS and not sent.text("condition"):
        yield Fault("/condition", "condition_missing", "Say when the figure holds: driving, or parked.")
    if not derived and not sent.text("value"):
        yield Fault("/stated", "stated_missing", "Write the figure as the page prints it.")
    if not derived and quantity is not Quantity.OFF_ROAD_FACTOR and not sent.text("unit"):
        yield Fault("/stated/unit", "unit_missing", UNIT_MISSING)
    if quantity in LIMITS and not derived and not sent.text("basis"):
        message = "Say whether the figure counts the rack. “The page does not say” is a fine answer."
        yield Fault("/basis", "basis_missing", message)
    if derived and not rows_in(sent):
        yield Fault("/derivation/rows", "no_rows", "Fill in a row: an accessory, what it weighs, and its load.")
    if derived:
        yield from (msgspec.structs.replace(each, pointer=f"/derivation{each.pointer}") for each in _without_unit(sent))
    if subject.kind not in WITH_SCOPE:
        return
    for dimension in DIMENSIONS:
        said, values = sent.text(f"{dimension}_said"), _values(sent, dimension)
        if said == "some" and values is None:
            yield Fault(f"/scope/{dimension}", "nothing_chosen", "Say which, or that the page does not say.")
        if said == "all" and values is not None:
            yield Fault(f"/scope/{dimension}", "all_and_some", "Either all, or those that the page names: not both.")
