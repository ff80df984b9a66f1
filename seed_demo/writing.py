"""Short ways of writing the scenario down: papers, places in them, claims and what becomes of the claims."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from seed_demo.shapes import (
    Block,
    Citation,
    Claim,
    ClaimBody,
    Confirmation,
    Derivation,
    Document,
    Page,
    Reading,
    Row,
    Scope,
    Stated,
    Step,
    Story,
    Table,
    Years,
)

ROAD, ROUGH, PARKED = "on_road", "off_road", "parked"
INC, EXC, NS = "includes_carrier", "excludes_carrier", "not_stated"
MANUAL, STATEMENT, UNVERIFIED = "manual_page", "maker_statement", "unverified"
DERIVED = "accessory_derived"


def slug(text: str) -> str:
    """Letters and digits in lower case, everything else a hyphen."""
    words = "".join(c if c.isascii() and c.isalnum() else " " for c in text.lower()).split()
    return "-".join(words)


def years(first: int, last: int | None) -> Years:
    return {"from": first, "to": last}


def cells(line: str) -> tuple[str, ...]:
    """The cells of a line, parted by bars."""
    return tuple(cell.strip() for cell in line.split("|"))


def listed(words: str) -> list[str] | None:
    """Words parted by blanks; a hyphen is not recorded."""
    return None if words == "-" else words.split()


def confirmed(document: str, first: str, second: str) -> tuple[Confirmation, ...]:
    """Two reviewers have checked the record against the document."""
    return (Confirmation(first, document), Confirmation(second, document))


def page(title: str, *blocks: Block) -> Page:
    return Page(title, blocks)


def table(head: str, *rows: str) -> Table:
    """Cells are parted by bars: `table("Body | Driving", "wagon | 75 kg")`."""
    return Table(cells(head), tuple(cells(row) for row in rows))


def cite(document: Document, number: int, quote: str) -> Citation:
    return {"document": document.key, "page": str(number), "quote": quote}


def rows(
    document: Document, number: int, *lines: str, leaves_out: bool, known: dict[str, str] | None = None
) -> list[Row]:
    """The lines of a page's table: accessory, own mass, load here, rating or a hyphen. `known` gives the id of those
    accessories that the registry knows, gear ids after a `gear:`."""
    return [_row(document, number, line, known or {}, leaves_out=leaves_out) for line in lines]


def _row(document: Document, number: int, line: str, known: dict[str, str], *, leaves_out: bool) -> Row:
    accessory, mass, load, rating = cells(line)
    kind, _, id = known.get(accessory, "").rpartition(":")
    return {
        "accessory": accessory,
        "mass": stated(mass),
        "load": stated(load),
        "leaves_out": leaves_out,
        "rating": None if rating == "-" else stated(rating),
        "subject": {"kind": kind or "carrier", "id": id} if id else None,
        "document": document.key,
        "page": str(number),
    }


def pages_of(*tables: list[Row]) -> Derivation:
    """Worked back from tables of accessories."""
    return {
        "method": "accessory_pages",
        "rows": [row for each in tables for row in each],
        "takes": [],
        "multiple": None,
    }


def taking(method: str, *claims: str, multiple: int | None = None) -> Derivation:
    """Worked back from claims (their keys), in the order in which the method names them."""
    return {"method": method, "rows": [], "takes": list(claims), "multiple": multiple}


def stated(figure: str) -> Stated:
    """`"75 kg"`, `"165.5 lb"`, or a factor on its own: `"2/3"`."""
    value, _, unit = figure.partition(" ")
    return {"value": value, "unit": unit or "factor"}


def where(
    span: tuple[int, int | None] | Literal["all"] | None = None,
    bodies: str | None = None,
    roofs: str | None = None,
    markets: str | None = None,
) -> Scope:
    """A scope; values are words parted by blanks, "all" is said to hold for all, and what is left out is silent."""
    scope: Scope = {}
    if span is not None:
        scope["years"] = "all" if span == "all" else years(span[0], span[1])
    if bodies is not None:
        scope["bodies"] = "all" if bodies == "all" else bodies.split()
    if roofs is not None:
        scope["roofs"] = "all" if roofs == "all" else roofs.split()
    if markets is not None:
        scope["markets"] = "all" if markets == "all" else markets.split()
    return scope


SILENT: Scope = {}


def one(reviewer: str) -> Story:
    return (("read_and_approve", reviewer),)


def two(first: str, second: str) -> Story:
    return (("read_and_approve", first), ("read_and_approve", second))


@dataclass(frozen=True)
class Entered:
    """A sitting at the desk: who enters claims, and on which day. Each method gives one claim."""

    by: str
    on: str

    def roof(
        self,
        key: str,
        vehicle: str,
        figure: str,
        condition: str,
        scope: Scope,
        sources: Citation | list[Citation],
        story: Story = (),
        *,
        basis: str = INC,
        bound: str = "exact",
        excluded_mass: str | None = None,
        source_type: str = MANUAL,
        supersedes: str | None = None,
    ) -> Claim:
        """What a vehicle's roof may carry."""
        body = _body("vehicle", vehicle, "roof_limit", figure, sources, source_type)
        body["condition"], body["per"], body["basis"], body["bound"] = condition, "total", basis, bound
        body["excluded_mass"] = None if excluded_mass is None else stated(excluded_mass)
        body["scope"], body["supersedes"] = scope, supersedes
        return Claim(key, self.by, self.on, body, story)

    def worked_back(
        self,
        key: str,
        vehicle: str,
        condition: str,
        scope: Scope,
        derivation: Derivation,
        sources: Citation | list[Citation],
        story: Story = (),
    ) -> Claim:
        """What a vehicle's roof may carry, worked back: nobody states it. The pages of rows need not be cited again."""
        body = _body("vehicle", vehicle, "roof_limit", None, sources, DERIVED)
        body["condition"], body["scope"], body["derivation"] = condition, scope, derivation
        return Claim(key, self.by, self.on, body, story)

    def rating(
        self,
        key: str,
        kind: str,
        part: str,
        figure: str,
        condition: str,
        sources: Citation | list[Citation],
        story: Story = (),
        *,
        per: str = "total",
        basis: str = EXC,
        bound: str = "exact",
        scope: Scope = SILENT,
        source_type: str = MANUAL,
        supersedes: str | None = None,
    ) -> Claim:
        """What a carrier, a fixing or a fitment may carry."""
        body = _body(kind, part, "load_rating", figure, sources, source_type)
        body["condition"], body["per"], body["basis"], body["bound"] = condition, per, basis, bound
        body["scope"], body["supersedes"] = scope, supersedes
        return Claim(key, self.by, self.on, body, story)

    def mass(
        self,
        key: str,
        kind: str,
        part: str,
        figure: str,
        sources: Citation | list[Citation],
        story: Story = (),
        *,
        per: str = "total",
        basis: str | None = None,
        bound: str = "exact",
        source_type: str = MANUAL,
        supersedes: str | None = None,
    ) -> Claim:
        """What a carrier, a fixing or a gear item weighs. Only a carrier's mass has a basis."""
        body = _body(kind, part, "own_mass", figure, sources, source_type)
        body["per"], body["basis"], body["bound"], body["supersedes"] = per, basis, bound, supersedes
        return Claim(key, self.by, self.on, body, story)

    def factor(
        self,
        key: str,
        kind: str,
        part: str,
        figure: str,
        applies_to: str | None,
        sources: Citation | list[Citation],
        story: Story = (),
        *,
        source_type: str = MANUAL,
    ) -> Claim:
        """What unsealed roads leave of a figure."""
        body = _body(kind, part, "off_road_factor", figure, sources, source_type)
        body["applies_to"] = applies_to
        return Claim(key, self.by, self.on, body, story)


def _body(
    kind: str, part: str, quantity: str, figure: str | None, sources: Citation | list[Citation], source_type: str
) -> ClaimBody:
    return {
        "subject": {"kind": kind, "id": part},
        "quantity": quantity,
        "condition": None,
        "stated": None if figure is None else stated(figure),
        "derivation": None,
        "per": None,
        "basis": None,
        "excluded_mass": None,
        "bound": "exact",
        "applies_to": None,
        "scope": {},
        "source_type": source_type,
        "citations": sources if isinstance(sources, list) else [sources],
        "interest": "none",
        "supersedes": None,
    }


def misread(reviewer: str, reading: Reading) -> Step:
    """The reviewer reads these fields otherwise than the claim has them."""
    return ("misread", reviewer, reading)


def dispute(account: str, document: Document | None, reason: str) -> Step:
    return ("dispute", account, None if document is None else document.key, reason)


def evidence(document: Document, number: int, quote: str) -> Step:
    return ("add_evidence", document.key, str(number), quote)
