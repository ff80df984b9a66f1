"""A plan in its address: every field of the planner as a parameter, in the API's words, and back.

Things in rows are numbered (`gear.1.name`, `gear.2.mass`); the first rack is `carrier`, what stands on it `carrier.2`. A
part of the asker's own is `given`, with its figures beside it (`carrier.own_mass`). What is empty is left out.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any, Final
from urllib.parse import parse_qsl, urlencode

import msgspec

from app.core.errors import CantrailError, Fault, Kind
from app.core.mass import Stated, Unit, allowed_in, carried_in, ceil, floor, parse_mass
from app.services.asked import BudgetIn
from app.web.bodies import BodyDecoder

LONGEST: Final = 16 * 1024
MOST_PARAMETERS: Final = 600
MOST: Final = {"gear": 40, "people": 12, "carrier": 4}
"""How many rows of each a plan has at most."""

GIVEN: Final = "given"
PLAIN: Final = (
    "vehicle",
    "year",
    "body",
    "market",
    "condition",
    "min_confidence",
    "unit",
    "parked_multiple",
    "fixing",
    "typed",
)
TYPED: Final = "typed"
"""The masses of a plan as they were typed, in the other unit: whoever switches back finds what they typed."""
OWN: Final = ("own_mass", "load_rating", "rating_basis", "off_road_factor", "factor_applies_to")
ROOF: Final = ("limit", "basis", "excluded_mass")
ROWS: Final = {
    "gear": ("id", "name", "mass", "tolerance", "quantity", "category"),
    "people": ("name", "mass", "tolerance"),
}
LOOKING: Final = ("q", "find", "shelf", "after")
"""What is being looked for, beside the plan itself."""
BUTTONS: Final = ("add", "leave_out", "change")
STAYS: Final = "stays"

ROUNDED_UP: Final = frozenset({"mass", "tolerance", "own_mass"})
ROUNDED_DOWN: Final = frozenset({"limit", "load_rating", "excluded_mass"})
DEFAULTS: Final = {"min_confidence": "0.8", "condition": "on_road", "basis": "not_stated", "rating_basis": "not_stated"}
"""What need not be said, by a field's name without the part's."""

_ROW: Final = re.compile(r"(gear|people)\.([1-9][0-9]{0,2})\.([a-z_]+)")
_CARRIER: Final = re.compile(r"carrier(?:\.([1-9][0-9]?))?(?:\.([a-z_]+))?")
_MASS: Final = re.compile(r"[0-9]{1,6}(\.[0-9]{1,6})?")
_PLACE: Final = re.compile(r"[1-9][0-9]{0,2}")
_DECODER: Final = BodyDecoder(BudgetIn)


def carrier_at(place: int) -> str:
    """The parameter of the rack at a place, from the roof up."""
    return "carrier" if place == 1 else f"carrier.{place}"


class Plan(msgspec.Struct, frozen=True):
    """What an address says: the fields that are filled in, tidy and in order; what is looked for beside them; and what
    cannot be read of it. `untidy` is whether the address could be shorter."""

    fields: Mapping[str, str]
    looking: Mapping[str, str] = {}
    stays: frozenset[int] = frozenset()
    faults: tuple[Fault, ...] = ()
    untidy: bool = False

    def text(self, name: str) -> str:
        """One field; empty where it is not there."""
        return self.fields.get(name, "")

    @property
    def condition(self) -> str:
        """For when."""
        return self.text("condition") or DEFAULTS["condition"]

    @property
    def roofs(self) -> list[str]:
        """What the roof has."""
        return [each for each in self.text("roofs").split(",") if each]

    @property
    def carriers(self) -> list[str]:
        """The racks from the roof up, each by its id, or `given`."""
        places = range(1, MOST["carrier"] + 1)
        return [self.fields[carrier_at(each)] for each in places if carrier_at(each) in self.fields]

    def rows(self, kind: str) -> list[dict[str, str]]:
        """The rows of gear or of people."""
        found: dict[int, dict[str, str]] = {}
        for name, text in self.fields.items():
            row = _ROW.fullmatch(name)
            if row and row[1] == kind:
                found.setdefault(int(row[2]), {})[row[3]] = text
        return [found[place] for place in sorted(found)]

    def own(self, prefix: str) -> dict[str, str]:
        """The asker's own figures of a part or of the roof, by their names without the part's."""
        return {
            name.removeprefix(f"{prefix}."): text
            for name, text in self.fields.items()
            if name.startswith(f"{prefix}.") and name.removeprefix(f"{prefix}.") in {*OWN, *ROOF}
        }

    @property
    def has_masses(self) -> bool:
        """Whether any figure depends on the unit in which it was typed."""
        return any(name.rpartition(".")[2] in ROUNDED_UP | ROUNDED_DOWN for name in self.fields)

    def changed(self, **fields: str) -> "Plan":
        """The same plan with some fields changed; an empty text takes one away."""
        return tidied({**self.fields, **fields}, stays=self.stays)

    def without_row(self, kind: str, place: int) -> "Plan":
        """The same plan without one row."""
        kept = {name: text for name, text in self.fields.items() if not name.startswith(f"{kind}.{place}.")}
        stays = frozenset(each - (each > place) for each in self.stays if each != place)
        return tidied(kept, stays=stays if kind == "gear" else self.stays)

    def with_row(self, kind: str, **row: str) -> "Plan":
        """The same plan with one row more."""
        place = len(self.rows(kind)) + 1
        return self.changed(**{f"{kind}.{place}.{name}": text for name, text in row.items()})

    def address(self, unit: Unit, **looking: str) -> str:
        """Where this plan is found again, with whatever is looked for beside it."""
        return f"/plan?{self.query(unit, **looking)}"

    def query(self, unit: Unit, **looking: str) -> str:
        """This plan as a query."""
        said = {"unit": str(unit), TYPED: self.text(TYPED)} if self.has_masses else {"unit": "", TYPED: ""}
        fields = {**self.fields, **said}
        pairs = [*tidied(fields).fields.items(), *((STAYS, str(place)) for place in sorted(self.stays))]
        return urlencode([*pairs, *((name, text) for name, text in looking.items() if text)], safe=",/")

    def body(self, unit: Unit, condition: str | None = None) -> dict[str, Any]:
        """This plan as the API takes it, for its own condition or for another one. Nobody rides on a roof: people count
        for parked only."""
        when = condition or self.condition
        said: dict[str, Any] = {
            name: _number(self.fields[name]) if name in {"min_confidence", "parked_multiple"} else self.fields[name]
            for name in ("vehicle", "min_confidence", "parked_multiple")
            if name in self.fields
        }
        context: dict[str, Any] = {name: self.fields[name] for name in ("body", "market") if name in self.fields}
        if "year" in self.fields:
            context["year"] = _number(self.fields["year"])
        if self.roofs:
            context["roofs"] = self.roofs
        roof = self.own("given_roof")
        if roof:
            said["given_roof"] = _typed(roof)
        if "fixing" in self.fields:
            fixing = self.fields["fixing"]
            said["fixing"] = fixing if fixing == "built_in" else self._part("fixing", fixing)
        return {
            **said,
            "condition": when,
            "unit": str(unit),
            "context": context,
            "carriers": [self._part(carrier_at(place), id) for place, id in enumerate(self.carriers, start=1)],
            "gear": [_typed(row) for row in self.rows("gear")],
            "people": [_typed(row) for row in self.rows("people")] if when == "parked" else [],
        }

    def _part(self, prefix: str, id: str) -> dict[str, Any]:
        return {"given": _typed(self.own(prefix))} if id == GIVEN else {"id": id}

    def asked(self, unit: Unit, condition: str | None = None) -> BudgetIn:
        """This plan as a question. Raises bad input with all that is wrong with it."""
        return _DECODER.decode(msgspec.json.encode(self.body(unit, condition)))

    def in_unit(self, unit: Unit) -> "Plan":
        """The same plan with its masses in another unit, on the safe side: what is carried rounded up, what is allowed
        down. Raises bad input for what is no mass."""
        was = Unit(self.text("unit"))
        typed = [each for each in self.text(TYPED).split(",") if _MASS.fullmatch(each)]
        fields, left = dict(self.fields), []
        for name, text in self.fields.items():
            figure = name.rpartition(".")[2]
            if was != unit and figure in ROUNDED_UP | ROUNDED_DOWN:
                known = (each for each in typed if _in_unit(figure, each, unit, was) == text)
                fields[name] = next(known, None) or _in_unit(figure, text, was, unit)
                left.append(text)
        return tidied({**fields, "unit": str(unit), TYPED: ",".join(dict.fromkeys(left))}, stays=self.stays)


# From an address


def plan_of(raw: bytes) -> Plan:
    """What an address says. Raises `query_too_long` and `bad_query`."""
    if len(raw) > LONGEST:
        raise CantrailError(Kind.INVALID, "query_too_long", f"An address of at most {LONGEST} characters is read here.")
    try:
        pairs = parse_qsl(raw.decode("ascii"), keep_blank_values=True, errors="strict", max_num_fields=MOST_PARAMETERS)
    except ValueError as error:
        told = "This address is not percent-encoded UTF-8, or has too many parameters."
        raise CantrailError(Kind.INVALID, "bad_query", told) from error
    fields: dict[str, str] = {}
    looking: dict[str, str] = {}
    stays: set[int] = set()
    faults: list[Fault] = []
    for name, text in ((name, text.strip()) for name, text in pairs):
        if name in LOOKING or name in BUTTONS:
            looking |= {name: text[:200]} if text else {}
        elif name == STAYS and _PLACE.fullmatch(text):
            stays.add(int(text))
        elif name == "roofs":
            fields["roofs"] = ",".join(filter(None, [fields.get("roofs", ""), text]))
        elif not _known(name):
            told = f"This address says `{name[:40]}`, which is nothing that a plan says. Leave it out."
            faults.append(Fault(name, "unknown_member", told))
        elif text and name in fields:
            faults.append(Fault(name, "given_twice", f"`{name}` is given twice. Leave one out."))
        elif text:
            fields[name] = text
    plan = tidied(fields, stays=frozenset(stays))
    return msgspec.structs.replace(
        plan,
        looking=looking,
        faults=(*faults, *_too_many(fields)),
        untidy=not all(text for _, text in pairs) or {*plan.fields, "condition"} != {*fields, "condition"},
    )


def _known(name: str) -> bool:
    if name in PLAIN:
        return True
    row = _ROW.fullmatch(name)
    if row:
        return row[3] in ROWS[row[1]]
    carrier = _CARRIER.fullmatch(name)
    if carrier:
        return carrier[2] is None or carrier[2] in OWN
    part, _, figure = name.partition(".")
    return (part == "fixing" and figure in OWN) or (part == "given_roof" and figure in ROOF)


def _too_many(fields: Mapping[str, str]) -> Iterator[Fault]:
    for kind, most in MOST.items():
        pattern = _CARRIER if kind == "carrier" else _ROW
        group = 1 if kind == "carrier" else 2
        found = {row[group] or "1" for name in fields if name.startswith(kind) and (row := pattern.fullmatch(name))}
        if len(found) > most:
            yield Fault(
                kind, "too_many", f"At most {most} of these are planned with, not {len(found)}. Leave some out."
            )


def tidied(fields: Mapping[str, str], *, stays: frozenset[int] = frozenset()) -> Plan:
    """A plan of some fields: in order, numbered from 1, without what is empty or as good as said already."""
    filled = {name: text for name, text in fields.items() if text and DEFAULTS.get(name.rpartition(".")[2]) != text}
    filled["condition"] = fields.get("condition") or DEFAULTS["condition"]
    if filled.get("fixing") != GIVEN:
        filled = {name: text for name, text in filled.items() if not name.startswith("fixing.")}
    if not any(f"given_roof.{name}" in filled for name in ("limit", "excluded_mass")):
        filled.pop("given_roof.basis", None)
    order = ("vehicle", "year", "body", "roofs", "market", "condition", "min_confidence")
    tidy = {name: filled[name] for name in order if name in filled}
    tidy |= _carriers(filled)
    for part, figures in (("fixing", OWN), ("given_roof", ROOF)):
        names = [part, *(f"{part}.{figure}" for figure in figures)]
        tidy |= {name: filled[name] for name in names if name in filled}
    for kind in ROWS:
        tidy |= _rows(kind, filled)
    tidy |= {name: filled[name] for name in ("parked_multiple", "unit", TYPED) if name in filled}
    tidy = {name: _plain_number(name, text) for name, text in tidy.items()}
    gear = sum(1 for name in {name.rpartition(".")[0] for name in tidy} if name.startswith("gear."))
    return Plan(tidy, stays=frozenset(each for each in stays if each <= gear))


def _carriers(filled: Mapping[str, str]) -> dict[str, str]:
    tidy: dict[str, str] = {}
    place = 0
    for number in range(1, 100):
        id = filled.get(carrier_at(number)) or (filled.get("carrier.1") if number == 1 else None)
        if id is None or place == MOST["carrier"]:
            continue
        place += 1
        tidy[carrier_at(place)] = id
        if id == GIVEN:
            own = {figure: filled.get(f"{carrier_at(number)}.{figure}", "") for figure in OWN}
            tidy |= {f"{carrier_at(place)}.{figure}": text for figure, text in own.items() if text}
    return tidy


def _rows(kind: str, filled: Mapping[str, str]) -> dict[str, str]:
    """Rows numbered anew. How many there are of nothing is nothing."""
    found: dict[int, dict[str, str]] = {}
    for name, text in filled.items():
        row = _ROW.fullmatch(name)
        if row and row[1] == kind and row[3] in ROWS[kind]:
            found.setdefault(int(row[2]), {})[row[3]] = text
    rows = [found[place] for place in sorted(found) if set(found[place]) != {"quantity"}]
    return {
        f"{kind}.{place}.{figure}": row[figure]
        for place, row in enumerate(rows[: MOST[kind]], start=1)
        for figure in ROWS[kind]
        if figure in row and (figure, row[figure]) != ("quantity", "1")
    }


def _plain_number(name: str, text: str) -> str:
    """A mass as people type it, with a decimal comma or an empty end, as a plain number."""
    if name.rpartition(".")[2] not in ROUNDED_UP | ROUNDED_DOWN:
        return text
    comma = re.fullmatch(r"([0-9]+),([0-9]{1,2})", text)
    return f"{comma[1]}.{comma[2]}" if comma else text.removesuffix(".") or text


def _typed(row: Mapping[str, str]) -> dict[str, Any]:
    numbers = {*ROUNDED_UP, *ROUNDED_DOWN, "quantity"}
    return {name: _number(text) if name in numbers else text for name, text in row.items()}


def _number(text: str) -> Any:
    """A number; the text where it is none, to be refused."""
    if re.fullmatch(r"-?[0-9]{1,9}", text):
        return int(text)
    return float(text) if re.fullmatch(r"-?[0-9]{1,9}\.[0-9]{1,9}", text) else text


def _in_unit(figure: str, text: str, was: Unit, unit: Unit) -> str:
    exact = parse_mass(Stated(text, was))
    value = carried_in(unit, ceil(exact)) if figure in ROUNDED_UP else allowed_in(unit, floor(exact))
    return f"{value:.3f}".rstrip("0").rstrip(".")


# From a question


def plan_again(asked: BudgetIn) -> Plan | None:
    """The plan of a question that was asked, or None where it has more in it than a plan has room for."""
    if len(asked.carriers) > MOST["carrier"] or len(asked.gear) > MOST["gear"] or len(asked.people) > MOST["people"]:
        return None
    said = msgspec.to_builtins(asked)
    fields: dict[str, Any] = {
        name: said[name] for name in ("vehicle", "condition", "min_confidence", "parked_multiple")
    }
    fields |= {**said["context"], "unit": said["unit"], "roofs": ",".join(said["context"]["roofs"] or ())}
    parts = [("fixing", said["fixing"]), *((carrier_at(n), each) for n, each in enumerate(said["carriers"], start=1))]
    for name, part in parts:
        if isinstance(part, dict):
            fields |= {name: part["id"] or GIVEN, **_beside(name, part["given"])}
        else:
            fields[name] = part
    fields |= _beside("given_roof", said["given_roof"])
    for kind in ROWS:
        for place, row in enumerate(said[kind], start=1):
            fields |= _beside(f"{kind}.{place}", row)
    return tidied({name: "" if value is None else str(value) for name, value in fields.items()})


def _beside(prefix: str, figures: Mapping[str, Any] | None) -> dict[str, Any]:
    return {f"{prefix}.{name}": value for name, value in (figures or {}).items()}


def field_of(pointer: str) -> str:
    """The field that a place of the API's body is typed in."""
    parts = pointer.strip("/").split("/")
    match parts:
        case ["context", name, *_]:
            return name
        case ["carriers", place, *rest] if place.isdigit():
            return ".".join([carrier_at(int(place) + 1), *(each for each in rest if each not in {"given", "id"})])
        case ["fixing", *rest]:
            return ".".join(["fixing", *(each for each in rest if each not in {"given", "id"})])
        case ["gear" | "people" as kind, place, *rest] if place.isdigit():
            return ".".join([kind, str(int(place) + 1), *rest])
        case _:
            return ".".join(parts)
