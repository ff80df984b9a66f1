"""What the planner's form offers: racks and fixings that fit the vehicle, things of the registry by category, and what was
found by words."""

from collections.abc import Iterable, Mapping
from typing import Final

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError, Fault, Kind
from app.core.gear import CATEGORIES, Category
from app.core.mass import Unit, allowed_in, carried_in
from app.core.scope import Body, Roof, Years
from app.persistence.session import ReadSession
from app.services import looking, sheets
from app.services.calling import called
from app.services.finding import Finder, Found
from app.services.views.records import RecordView, record_view
from app.web.pages.plan_address import GIVEN, MOST, ROWS, Plan, carrier_at, field_of
from app.web.pages.writing import allowed, carried

FITS: Final = 60
FOUND: Final = 8
SHELF: Final = 12
SUGGESTED: Final = 3
MOST_SUGGESTED: Final = 6


class Choice(msgspec.Struct, frozen=True):
    """Something to choose: its value, and what it is called."""

    value: str
    label: str


class Usual(msgspec.Struct, frozen=True):
    """A category of gear with its usual range."""

    id: str
    name: str
    range: str


class Guess(msgspec.Struct, frozen=True):
    """A thing whose mass is not known, and what it may be: things of the registry, or a category's usual mass."""

    place: int
    name: str
    things: tuple[Choice, ...]
    usual: tuple[Usual, ...]


class Form(msgspec.Struct, frozen=True):
    """All that the form shows beside what is filled in. `holds_itself` is whether the record of the rack on the roof says
    that what holds it is part of it."""

    vehicle: RecordView | None
    vehicle_name: str
    names: Mapping[str, str]
    racks: tuple[Choice, ...]
    fixings: tuple[Choice, ...]
    holding: Mapping[str, tuple[Choice, ...]]
    found: tuple[Choice, ...]
    found_racks: tuple[Choice, ...]
    holds_itself: bool
    bodies: tuple[str, ...]
    roofs: tuple[str, ...]
    shelf: tuple[Choice, ...]
    shelf_next: str
    guesses: tuple[Guess, ...]

    @property
    def years(self) -> str:
        """When the vehicle was made."""
        years = None if self.vehicle is None else self.vehicle.years
        if not isinstance(years, Years):
            return ""
        return f"{years.first} to {years.last}" if years.last else f"{years.first} and later"


def form_of(session: ReadSession, finder: Finder, plan: Plan, unit: Unit) -> Form:
    """What the form of a plan offers."""
    vehicle = _record(session, SubjectKind.VEHICLE, plan.text("vehicle"))
    rack = _record(session, SubjectKind.CARRIER, plan.carriers[0] if plan.carriers else "")
    fits = [] if vehicle is None else sheets.fits(session, after=0, limit=FITS, vehicle=vehicle.id).items
    names = _names(session, plan)
    racks = {fit.carrier: fit.carrier_name for fit in fits}
    fixings = {fit.fixing: fit.fixing_name or fit.fixing for fit in fits if fit.fixing}
    holding: dict[str, dict[str, str]] = {}
    for fit in fits:
        if fit.fixing:
            holding.setdefault(fit.carrier, {})[fit.fixing] = fit.fixing_name or fit.fixing
    for id in plan.carriers:
        if id != GIVEN:
            racks.setdefault(id, f"{names.get(id, id)} (not recorded as fitting)")
    fixing = plan.text("fixing")
    if fixing not in {"", GIVEN, "built_in"}:
        fixings.setdefault(fixing, names.get(fixing, fixing))
    shelf, following = _shelf(session, plan)
    return Form(
        vehicle=vehicle,
        vehicle_name="" if vehicle is None else names.get(vehicle.id, vehicle.id),
        names=names,
        racks=_choices(racks),
        fixings=_choices(fixings),
        holding={carrier: _choices(found) for carrier, found in holding.items()},
        found=_found(session, SubjectKind.VEHICLE, finder, plan.looking.get("q", "")),
        found_racks=_found(session, SubjectKind.CARRIER, finder, plan.looking.get("find", "")),
        holds_itself=rack is not None and rack.confirmed and rack.fixing == "built_in",
        bodies=_possible(vehicle and vehicle.bodies, Body),
        roofs=_possible(vehicle and vehicle.roofs, Roof),
        shelf=shelf,
        shelf_next=following,
        guesses=tuple(_guesses(session, finder, plan, unit)),
    )


def usual(category: Category, unit: Unit) -> Usual:
    """A category with its usual range in words."""
    low, high = allowed_in(unit, category.low), carried_in(unit, category.high)
    return Usual(category.id, category.name, f"{allowed(low)} to {carried(high)} {unit}")


def usuals(unit: Unit) -> list[Usual]:
    """Every category with its usual range."""
    return [usual(each, unit) for each in CATEGORIES.values()]


def placed(faults: Iterable[Fault]) -> dict[str, str]:
    """What is wrong, by the field that it is typed in."""
    found: dict[str, str] = {}
    for fault in faults:
        name = field_of(fault.pointer)
        found[name] = " ".join(filter(None, [found.get(name), fault.message]))
    return found


def _record(session: ReadSession, kind: SubjectKind, id: str) -> RecordView | None:
    """A subject's record; None where none is named, or where there is no such one."""
    if id in {"", GIVEN}:
        return None
    try:
        return record_view(session, Subject(kind, id))
    except CantrailError as error:
        if error.kind is not Kind.NOT_FOUND:
            raise
        return None


def _names(session: ReadSession, plan: Plan) -> dict[str, str]:
    gear = [row["id"] for row in plan.rows("gear") if "id" in row]
    subjects = [
        Subject(SubjectKind.VEHICLE, plan.text("vehicle")),
        Subject(SubjectKind.FIXING, plan.text("fixing")),
        *(Subject(SubjectKind.CARRIER, id) for id in plan.carriers),
        *(Subject(SubjectKind.GEAR, id) for id in gear),
    ]
    named = called(session, [each for each in subjects if each.id])
    return {subject.id: name for subject, name in named.items() if name != subject.id}


def _choices(names: Mapping[str, str]) -> tuple[Choice, ...]:
    return tuple(Choice(id, name) for id, name in names.items())


def _possible(recorded: object, every: type[Body] | type[Roof]) -> tuple[str, ...]:
    """What is recorded, or else everything there is."""
    return recorded if isinstance(recorded, tuple) and recorded else tuple(str(each) for each in every)


def _found(session: ReadSession, kind: SubjectKind, finder: Finder, words: str) -> tuple[Choice, ...]:
    if not words:
        return ()
    return _called(session, kind, finder.find(kind, words, limit=FOUND))


def _called(session: ReadSession, kind: SubjectKind, found: Iterable[Found]) -> tuple[Choice, ...]:
    known = list(found)
    names = called(session, [Subject(kind, each.id) for each in known])
    return tuple(
        Choice(each.id, names[Subject(kind, each.id)] + (f", from {each.first_year}" if each.first_year else ""))
        for each in known
    )


def _shelf(session: ReadSession, plan: Plan) -> tuple[tuple[Choice, ...], str]:
    category = plan.looking.get("shelf", "")
    if category not in CATEGORIES:
        return (), ""
    page = looking.records(session, SubjectKind.GEAR, cursor=plan.looking.get("after"), limit=SHELF, category=category)
    names = called(session, [Subject(SubjectKind.GEAR, each.id) for each in page.items])
    return tuple(Choice(each.id, names[Subject(SubjectKind.GEAR, each.id)]) for each in page.items), page.next or ""


def _guesses(session: ReadSession, finder: Finder, plan: Plan, unit: Unit) -> Iterable[Guess]:
    """What each thing without a mass may be."""
    unknown = [
        (place, row["name"])
        for place, row in enumerate(plan.rows("gear"), start=1)
        if row.keys().isdisjoint({"id", "mass", "category"}) and "name" in row
    ]
    for place, name in unknown[:MOST_SUGGESTED]:
        found = finder.find(SubjectKind.GEAR, name[:80], limit=SUGGESTED)
        near = [each for each in CATEGORIES.values() if _alike(name, each)]
        things = _called(session, SubjectKind.GEAR, found)
        yield Guess(place, name, things, tuple(usual(each, unit) for each in near[:SUGGESTED]))


def _alike(words: str, category: Category) -> bool:
    """Whether a thing may be of a category, by any word of more than two letters that both have."""
    heard = {word.strip(",.").rstrip("s") for word in words.lower().split()}
    named = {
        word.strip(",.").rstrip("s") for word in f"{category.name} {category.id.replace('_', ' ')}".lower().split()
    }
    return any(
        len(word) > 2 and any(other.startswith(word) or word.startswith(other) for other in named if len(other) > 2)
        for word in heard
    )


def rack_fields(plan: Plan) -> list[tuple[str, str]]:
    """The field of each rack with what is chosen, and one more that is empty while there is room."""
    chosen = plan.carriers
    rows = [(carrier_at(place), id) for place, id in enumerate(chosen, start=1)]
    return rows if len(rows) == MOST["carrier"] else [*rows, (carrier_at(len(rows) + 1), "")]


def rows_shown(plan: Plan, kind: str) -> list[dict[str, str | bool]]:
    """The rows with all their fields, and one more that is empty while there is room."""
    rows: list[dict[str, str]] = [*plan.rows(kind), {}]
    return [{**{name: row.get(name, "") for name in ROWS[kind]}, "filled": bool(row)} for row in rows[: MOST[kind]]]


def has_field(plan: Plan, form: Form, name: str) -> bool:
    """Whether what is wrong with a field stands beside it."""
    if name in {"vehicle", "year", "body", "market", "roofs"}:
        return (name == "vehicle") == (form.vehicle is None)
    kind, _, rest = name.partition(".")
    place = rest.partition(".")[0]
    if kind in ROWS and place.isdigit():
        return int(place) <= len(plan.rows(kind))
    racks = [field for field, _ in rack_fields(plan)]
    return (
        name in {"condition", "min_confidence", "parked_multiple", "fixing", "gear", "people"}
        or kind in {"given_roof", "fixing"}
        or any(name == rack or name.startswith(f"{rack}.") for rack in racks)
    )
