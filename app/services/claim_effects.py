"""What one claim does to the answers about its subject today: the figures that it gives, and those that it holds down."""

from collections.abc import Iterable, Iterator

import msgspec

from app.core.claim import Condition, Quantity, SubjectKind
from app.core.conditions import Ruling, ruling_for
from app.core.confidence import SETS_AT
from app.core.limits import found_mass
from app.core.mass import Unit, allowed_in, carried_in
from app.core.plate import cars, scopes
from app.core.roof import part_rating
from app.core.scope import UNKNOWN, Car, Cell, Dimension
from app.core.scoring import Dossier
from app.core.selection import Firmness, Line, Side
from app.services.views.plates import CellView


class EffectView(msgspec.Struct, frozen=True):
    """A figure that a claim gives (`gives`), alone or with others, or to which it holds what has no figure (`holds`), in
    one condition; `cells` are the cars for which, each as the values by which claims tell cars apart, where that is not
    all of them. A mass and a factor have no condition."""

    does: str
    condition: str | None
    amount: float
    side: str | None
    bound: str
    cells: list[list[CellView]]


def effects(subject: Dossier, claim: str, unit: Unit) -> list[EffectView]:
    """What a claim does, those figures first that people ask for first."""
    stated = subject.scored[claim].claim.statement
    if stated.quantity is Quantity.OWN_MASS:
        return list(_mass(subject, claim, unit))
    if subject.subject.kind in {SubjectKind.VEHICLE, SubjectKind.FITMENT}:
        return _gathered(_by_cars(subject, claim, unit))
    return [
        EffectView(does, condition, allowed_in(unit, line.grams), line.side, _BOUNDS[line.firmness], [])
        for condition in Condition
        for does, line in _in(part_rating(subject, UNKNOWN, condition, SETS_AT).ruling, claim)
    ]


_BOUNDS = {Firmness.EXACT: "exact", Firmness.FLOOR: "at_least", Firmness.CAP: "at_most"}


def _mass(subject: Dossier, claim: str, unit: Unit) -> Iterator[EffectView]:
    found = found_mass(subject, SETS_AT).mass
    if found is not None and claim in found.claims:
        yield EffectView("gives", None, carried_in(unit, found.grams), None, found.bound, [])


def _by_cars(subject: Dossier, claim: str, unit: Unit) -> Iterator[EffectView]:
    """What it does for each kind of car of a vehicle, or of a fitment's vehicle."""
    is_roof = subject.subject.kind is SubjectKind.VEHICLE
    of = cars(subject.record.range, scopes(subject))
    divided = {dimension for dimension in Dimension if len({_cell(car, dimension) for car in of}) > 1}
    for condition in Condition:
        for car in of:
            cells = [CellView(cell.dimension, cell.values) for cell in car.cells if cell.dimension in divided]
            ruling = ruling_for(subject.figures, car, condition, SETS_AT, is_roof=is_roof)
            for does, line in _in(ruling, claim):
                amount = allowed_in(unit, line.grams)
                yield EffectView(does, condition, amount, line.side, _BOUNDS[line.firmness], [cells] if cells else [])


def _in(ruling: Ruling, claim: str) -> Iterator[tuple[str, Line]]:
    if ruling.figure:
        allowed = [line for side in Side if (line := ruling.allows(side)) is not None]
        yield from (("gives", line) for line in allowed if claim in line.claims)
    else:
        yield from (("holds", line) for line in ruling.caps if claim in line.claims)


def _gathered(each: Iterable[EffectView]) -> list[EffectView]:
    """One for each figure, with all cars for which it is given."""
    found: dict[tuple[str, str | None, float, str | None, str], EffectView] = {}
    for one in each:
        key = (one.does, one.condition, one.amount, one.side, one.bound)
        if key in found:
            found[key].cells.extend(one.cells)
        else:
            found[key] = one
    return list(found.values())


def _cell(car: Car, dimension: Dimension) -> Cell | None:
    return next((cell for cell in car.cells if cell.dimension is dimension), None)
