"""What was read beside what is claimed, line by line, in the source's own figures."""

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from typing import Any, Final

import msgspec

from app.core.claim import LIMITS, Basis, Quantity, Statement
from app.core.derived import Derivation
from app.core.mass import Per, Stated, Unit, allowed_in, carried_in, ceil, floor, parse_mass
from app.core.scope import ALL, Dimension, Scope, Years
from app.services.views.claims import ClaimView
from app.services.views.records import RecordView
from app.web.pages.writing import allowed, carried, said, value

SILENT: Final = "does not say"

BASES: Final = {
    "includes_carrier": "the rack is in the figure",
    "excludes_carrier": "the rack is not in the figure",
    "includes_fixing": "the fittings are in the figure",
    "excludes_fixing": "the fittings are not in the figure",
    "not_stated": SILENT,
}
PERS: Final = {"total": "in all", "bar": "for each bar", "pair": "for each pair of bars", "foot": "for each foot"}
BOUNDS: Final = {"exact": "exactly this", "at_least": "this or more", "at_most": "this or less"}
APPLIES: Final = {"own_rating": "the rack's own rating", "roof_limit": "the roof's limit", "both": "both"}
_FACTS: Final = {
    "maker": "Maker",
    "model": "Model",
    "series": "Series",
    "years": "Years",
    "first_year": "From",
    "carrier_kind": "What it is",
    "bars": "Bars",
    "fixing": "Fixing",
    "feet": "Feet",
    "holds": "Holds on",
    "bodies": "Bodies",
    "roofs": "Roofs",
    "markets": "Markets",
    "category": "Category",
    "vehicle": "Vehicle",
    "carrier": "Rack",
}
_NAMES: Final = frozenset({"maker", "model", "series", "vehicle", "carrier"})


class Row(msgspec.Struct, frozen=True):
    """One thing that a statement says."""

    code: str
    label: str
    said: str


class Compared(msgspec.Struct, frozen=True):
    """One thing that was read and that is claimed, and whether the claim goes beyond the reading in it."""

    label: str
    read: str
    claimed: str
    beyond: bool


def rows(statement: Statement, *, scoped: bool = True) -> list[Row]:
    """What a statement says, line by line."""
    return list(_rows(statement, scoped=scoped))


def compared(read: Statement, claimed: Statement, differences: Collection[str], *, scoped: bool) -> list[Compared]:
    """A reading beside a claim."""
    mine = {row.code: row for row in rows(read, scoped=scoped)}
    theirs = {row.code: row for row in rows(claimed, scoped=scoped)}
    codes = [code for code in _ORDER if code in mine or code in theirs]
    return [
        Compared(
            label=(mine.get(code) or theirs[code]).label,
            read=mine[code].said if code in mine else "not keyed",
            claimed=theirs[code].said + (_as_read(read, claimed) if code == "figure" else "")
            if code in theirs
            else "not said",
            beyond=code in differences,
        )
        for code in codes
    ]


def _as_read(read: Statement, claimed: Statement) -> str:
    """What is claimed in the unit that was read, where it is claimed in another."""
    mine, theirs = read.stated, claimed.stated
    if mine is None or theirs is None or mine.unit is theirs.unit or Unit.FACTOR in {mine.unit, theirs.unit}:
        return ""
    exact = parse_mass(theirs)
    if claimed.quantity is Quantity.OWN_MASS:
        return f", which is {carried(carried_in(mine.unit, ceil(exact)))} {mine.unit}"
    return f", which is {allowed(allowed_in(mine.unit, floor(exact)))} {mine.unit}"


class RowBeside(msgspec.Struct, frozen=True):
    """What pages say of one accessory, by whoever looks, by the claim and by others who read them; empty where one has
    no such row."""

    accessory: str
    read: str
    claimed: str
    others: list[str]

    @property
    def differs(self) -> bool:
        """Whether the claim says something else of it than was read."""
        return self.read != self.claimed


def rows_beside(
    mine: Derivation | None, claimed: Derivation | None, others: Sequence[Derivation | None]
) -> list[RowBeside]:
    """The rows of a derivation as they were read and as they are claimed, accessory by accessory."""
    told = [_by_accessory(each) for each in (mine, claimed, *others)]
    names = dict.fromkeys(key for each in (told[1], told[0], *told[2:]) for key in each)
    found = []
    for key in names:
        name = next(each[key][0] for each in told if key in each)
        read, stands, *further = (each[key][1] if key in each else "" for each in told)
        found.append(RowBeside(name, read, stands, further))
    return found


def _by_accessory(derivation: Derivation | None) -> dict[tuple[str, int], tuple[str, str]]:
    """Each row by its accessory's name and how often that stood before, with what it says."""
    found: dict[tuple[str, int], tuple[str, str]] = {}
    before = Counter[str]()
    for row in () if derivation is None else derivation.rows:
        name = " ".join(row.accessory.casefold().split())
        rating = "" if row.rating is None else f"; rated {figure(row.rating)}"
        left = ", itself left out" if row.leaves_out else ""
        found[name, before[name]] = (
            row.accessory,
            f"weighs {figure(row.mass)}; may take {figure(row.load)}{left}{rating}",
        )
        before[name] += 1
    return found


def stated(claim: ClaimView) -> Statement:
    """What a claim states."""
    return Statement(
        quantity=Quantity(claim.quantity),
        stated=claim.stated,
        condition=claim.condition,
        per=claim.per,
        basis=claim.basis,
        excluded_mass=claim.excluded_mass,
        bound=claim.bound,
        applies_to=claim.applies_to,
        scope=claim.scope,
    )


def line(statement: Statement) -> str:
    """A statement in one line, without its scope."""
    parts = [figure(statement.stated)]
    if statement.bound != "exact":
        parts.insert(0, said(statement.bound, "bound"))
    if statement.per not in {None, Per.TOTAL}:
        parts.append(PERS[str(statement.per)])
    if statement.condition is not None:
        parts.append(said(statement.condition, "condition_in"))
    text = " ".join(parts)
    match statement.basis:
        case None:
            return text
        case Basis.NOT_STATED:
            return f"{text}, without saying whether the rack counts"
        case basis:
            return f"{text}, {said(basis, 'basis')}"


def figure(stated: Stated | None) -> str:
    """A figure as its source prints it, with its unit."""
    if stated is None:
        return ""
    return stated.value if stated.unit is Unit.FACTOR else f"{stated.value} {stated.unit}"


def facts(record: RecordView, maker: str | None) -> list[tuple[str, str]]:
    """What a record says, line by line; its maker by name."""
    told = record if maker is None else msgspec.structs.replace(record, maker=maker)
    said_there = ((name, label, getattr(told, name)) for name, label in _FACTS.items())
    return [(label, _fact(name, told)) for name, label, told in said_there if told is not msgspec.UNSET]


def _fact(name: str, told: Any) -> str:
    match told:
        case None:
            return "not said"
        case Years():
            return spoken(told, "years")
        case tuple() if name in {"bodies", "roofs"}:
            return ", ".join(value(each, name) for each in told)
        case tuple():
            return ", ".join(str(each).replace("_", " ") for each in told)
        case _:
            return str(told) if name in _NAMES else str(told).replace("_", " ")


def cars(scope: Scope) -> list[tuple[str, str]]:
    """Of which cars a source speaks, dimension by dimension."""
    return [(dimension, spoken(scope.spoken(dimension), dimension)) for dimension in Dimension]


def spoken(given: Any, dimension: str) -> str:
    """What is said on one dimension, in words."""
    match given:
        case None:
            return SILENT
        case Years():
            return f"{given.first} on" if given.last is None else f"{given.first} to {given.last}"
        case str() if given == ALL:
            return "all"
        case _:
            return ", ".join(value(each, dimension) for each in given)


_ORDER: Final = ("figure", "per", "bound", "condition", "basis", "excluded_mass", "applies_to", *Dimension)


def _rows(statement: Statement, *, scoped: bool) -> Iterator[Row]:
    factor = statement.stated.unit is Unit.FACTOR
    yield Row("figure", "Figure", figure(statement.stated))
    if not factor:
        yield Row("per", "For", PERS[str(statement.per or Per.TOTAL)])
        yield Row("bound", "Bound", BOUNDS[str(statement.bound)])
    if statement.condition is not None:
        yield Row("condition", "When", said(statement.condition, "condition_in"))
    if statement.basis is not None or statement.quantity in LIMITS:
        yield Row("basis", "What it counts", BASES[str(statement.basis or "not_stated")])
    if statement.excluded_mass is not None:
        yield Row("excluded_mass", "Rack left out", figure(statement.excluded_mass))
    if factor:
        target = SILENT if statement.applies_to is None else APPLIES[str(statement.applies_to)]
        yield Row("applies_to", "Multiplies", target)
    if scoped:
        for dimension, told in cars(statement.scope):
            yield Row(dimension, dimension.capitalize(), told)
