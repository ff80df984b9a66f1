"""From what is asked, in the asker's words and unit, to the core's request: which subjects it names, and the rest."""

from decimal import Decimal
from typing import Final, Literal

from app.core.asking import Request
from app.core.budget import Item
from app.core.claim import Basis, Subject, SubjectKind
from app.core.errors import invalid
from app.core.gear import CATEGORIES, heaviest, recorded, usual, weighed
from app.core.given import GivenPart, GivenRoof
from app.core.mass import Stated, Unit, parse_factor
from app.core.scope import Context
from app.core.scoring import Dossier
from app.core.selection import mass_at
from app.services.asked import BudgetIn, ContextIn, GearIn, GivenPartIn, PartIn

MOST_MASS: Final = Decimal(100_000)
DECIMALS: Final = 3


def core_context(given: ContextIn) -> Context:
    """The car as far as the asker knows it."""
    roofs = None if given.roofs is None else tuple(sorted(set(given.roofs)))
    return Context(given.year, given.body, roofs, given.market)


def demand_of(given: Decimal, pointer: str) -> float:
    """A threshold as a number from 0 to 1. Raises bad input for anything else."""
    if not given.is_finite() or not 0 <= given <= 1:
        raise invalid(pointer, "bad_confidence", "A confidence is a number from 0 to 1, like 0.8.")
    return float(given)


def stated(value: Decimal | None, unit: Unit, pointer: str) -> Stated | None:
    """A plain mass in the asker's unit. Raises bad input where it is below 0, too great, or too fine."""
    if value is None:
        return None
    if not value.is_finite() or not 0 <= value <= MOST_MASS:
        raise invalid(pointer, "bad_mass", f"A mass is a number from 0 to {MOST_MASS} in {unit}.")
    text = f"{value:f}"
    if len(text.partition(".")[2].rstrip("0")) > DECIMALS:
        raise invalid(pointer, "too_many_decimals", f"A mass has at most {DECIMALS} decimals.")
    return Stated(text, unit)


def subjects_of(asked: BudgetIn) -> list[Subject]:
    """The subjects that a budget request names, in the order of `budget_request`'s `dossiers`."""
    named = [Subject(SubjectKind.VEHICLE, asked.vehicle)] if asked.vehicle is not None else []
    if isinstance(asked.fixing, PartIn) and asked.fixing.id is not None:
        named.append(Subject(SubjectKind.FIXING, asked.fixing.id))
    named.extend(Subject(SubjectKind.CARRIER, part.id) for part in asked.carriers if part.id is not None)
    named.extend(Subject(SubjectKind.GEAR, item.id) for item in asked.gear if item.id is not None)
    return named


def budget_request(asked: BudgetIn, dossiers: list[Dossier]) -> Request:
    """The core's request, with the dossiers of the subjects that it names. Raises bad input."""
    rest = iter(dossiers)
    unit = Unit(asked.unit)
    demand = demand_of(asked.min_confidence, "/min_confidence")
    vehicle = next(rest) if asked.vehicle is not None else None
    fixing: Dossier | GivenPart | Literal["built_in"] | None
    if isinstance(asked.fixing, PartIn):
        fixing = _part(asked.fixing, unit, "/fixing") or next(rest)
    else:
        fixing = asked.fixing
    carriers = tuple(_part(part, unit, f"/carriers/{place}") or next(rest) for place, part in enumerate(asked.carriers))
    items = tuple(
        _item(item, next(rest) if item.id is not None else None, unit, demand, f"/gear/{place}")
        for place, item in enumerate(asked.gear)
    )
    people = tuple(
        weighed(
            person.name or "person",
            _needed(person.mass, unit, f"/people/{place}/mass"),
            stated(person.tolerance, unit, f"/people/{place}/tolerance"),
            1,
        )
        for place, person in enumerate(asked.people)
    )
    return Request(
        condition=asked.condition,
        demand=demand,
        vehicle=vehicle,
        context=core_context(asked.context),
        fixing=fixing,
        carriers=carriers,
        items=items,
        people=people,
        given_roof=_given_roof(asked, unit),
        parked_multiple=asked.parked_multiple,
    )


def _needed(value: Decimal, unit: Unit, pointer: str) -> Stated:
    found = stated(value, unit, pointer)
    if found is None:
        raise invalid(pointer, "mass_missing", "Give a mass.")
    return found


def _part(part: PartIn, unit: Unit, pointer: str) -> GivenPart | None:
    """The asker's own part, or None where it is one of the registry's."""
    if (part.id is None) == (part.given is None):
        raise invalid(pointer, "id_or_given", "Name a part by `id`, or describe your own in `given`: one of the two.")
    return None if part.given is None else _given_part(part.given, unit, f"{pointer}/given")


def _given_part(given: GivenPartIn, unit: Unit, pointer: str) -> GivenPart:
    if given.off_road_factor is not None:
        parse_factor(given.off_road_factor, f"{pointer}/off_road_factor")
    elif given.factor_applies_to is not None:
        raise invalid(f"{pointer}/factor_applies_to", "no_factor", "Give the off_road_factor that applies to it.")
    return GivenPart(
        own_mass=stated(given.own_mass, unit, f"{pointer}/own_mass"),
        load_rating=stated(given.load_rating, unit, f"{pointer}/load_rating"),
        rating_basis=Basis(given.rating_basis),
        off_road_factor=given.off_road_factor,
        factor_applies_to=given.factor_applies_to,
    )


def _given_roof(asked: BudgetIn, unit: Unit) -> GivenRoof | None:
    given = asked.given_roof
    if given is None:
        return None
    if given.excluded_mass is not None and given.basis != "excludes_carrier":
        raise invalid(
            "/given_roof/excluded_mass",
            "no_excluded_mass_here",
            "Only an excludes_carrier limit leaves out a carrier of some mass. Leave excluded_mass out.",
        )
    return GivenRoof(
        _needed(given.limit, unit, "/given_roof/limit"),
        Basis(given.basis),
        stated(given.excluded_mass, unit, "/given_roof/excluded_mass"),
    )


def _item(item: GearIn, dossier: Dossier | None, unit: Unit, demand: float, pointer: str) -> Item:
    """One thing carried: by its stated mass, else by the registry's, else by what such things usually weigh."""
    if item.category is not None and item.category not in CATEGORIES:
        raise invalid(f"{pointer}/category", "no_such_category", f"Choose one of: {', '.join(CATEGORIES)}.")
    if item.id is None and item.name is None and item.mass is None and item.category is None:
        raise invalid(pointer, "nothing_said", "Say what this is: an id, a mass, a category, or at least a name.")
    mass = stated(item.mass, unit, f"{pointer}/mass")
    tolerance = stated(item.tolerance, unit, f"{pointer}/tolerance")
    name = item.name or item.id or (CATEGORIES[item.category].name if item.category else "thing")
    if mass is not None:
        return weighed(name, mass, tolerance, item.quantity)
    if tolerance is not None:
        raise invalid(f"{pointer}/tolerance", "tolerance_without_mass", "A tolerance is of a mass: give the mass too.")
    known = mass_at(dossier.figures.masses, demand).mass if dossier else None
    if known is not None:
        return recorded(name, known, item.quantity)
    categories = [item.category] if item.category else dossier.record.categories if dossier else []
    approved = [each.mass for each in dossier.figures.masses if each.binds and each.mass is not None] if dossier else []
    return usual(name, heaviest(categories), item.quantity, approved)
