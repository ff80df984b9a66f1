"""The working of a budget, in lines that a person can check with a pencil."""

from collections.abc import Iterable, Iterator

import msgspec

from app.core.budget import Budget, Constraint, ConstraintName, Item, Part, Setup, Stack, parts
from app.core.selection import Side


class Step(msgspec.Struct, frozen=True):
    """One line: a text, an amount in grams (None: not known), whether it is what is carried (which rounds up) or
    what is allowed (which rounds down), and the claims it rests on."""

    text: str
    grams: int | None
    carried: bool = False
    claims: tuple[str, ...] = ()


def steps(setup: Setup, budget: Budget, items: Iterable[Item]) -> tuple[Step, ...]:
    """From the limit that stops the load, down to what is left."""
    return (*limit_steps(setup, budget.stack), *load_steps(budget, items))


def limit_steps(setup: Setup, stack: Stack) -> tuple[Step, ...]:
    """From the limit that stops whatever is carried, less the stack itself, to what may be carried."""
    if stack.binding:
        allowed = Step("may be carried", stack.allowed)
        return (*_from_limit(setup, stack.binding[0]), allowed)
    unknown = tuple(Step(f"{each.figure} of {each.subject}: not known", None) for each in stack.missing)
    if stack.ceiling is None:
        return unknown
    return (*unknown, Step("no more than this may be carried, whatever the rest turns out to be", stack.ceiling))


def load_steps(budget: Budget, items: Iterable[Item]) -> tuple[Step, ...]:
    """From each thing carried to what is left, or is too much."""
    found = [
        Step(_item_text(item), None if item.most is None else -item.most, True, _mass_claims(item)) for item in items
    ]
    remaining = budget.remaining
    if remaining is not None:
        found.append(Step("left", remaining) if remaining >= 0 else Step("over by", -remaining, True))
    if budget.trap is not None:
        found.append(Step("the carrier's own rating would have said", budget.trap.carrier_rating))
    return tuple(found)


def _from_limit(setup: Setup, constraint: Constraint) -> Iterator[Step]:
    """The binding limit, less whatever of the stack it counts."""
    line = constraint.line
    yield Step(_limit_text(constraint), line.grams, claims=line.claims)
    counted = _counted(setup, constraint)
    for part in counted:
        if part.mass is not None:
            yield Step(f"{part.id}, its own mass", -part.mass.grams, True, part.mass.claims)


def _limit_text(constraint: Constraint) -> str:
    counted = "carrier counted" if constraint.line.side is Side.GROSS else "cargo alone"
    match constraint.name:
        case ConstraintName.VEHICLE_ROOF:
            return f"roof limit of {constraint.by}, {counted}"
        case ConstraintName.VEHICLE_ROOF_REDUCED:
            return f"roof limit of {constraint.by}, reduced off-road by the factor of {constraint.factor_by}, {counted}"
        case ConstraintName.GIVEN_ROOF:
            return f"roof limit as you gave it, {counted}"
        case ConstraintName.CARRIER | ConstraintName.FIXING | ConstraintName.FITMENT:
            itself = "itself counted" if constraint.line.side is Side.GROSS else "itself not counted"
            return f"rating of {constraint.by}, {itself}"


def _counted(setup: Setup, constraint: Constraint) -> tuple[Part, ...]:
    """The parts of the stack whose masses come off a limit before any cargo does."""
    gross = constraint.line.side is Side.GROSS
    match constraint.name:
        case ConstraintName.VEHICLE_ROOF | ConstraintName.VEHICLE_ROOF_REDUCED | ConstraintName.GIVEN_ROOF:
            return parts(setup) if gross else ()
        case ConstraintName.FIXING:
            return parts(setup) if gross else setup.carriers
        case ConstraintName.CARRIER | ConstraintName.FITMENT:
            place = constraint.place
            above = setup.carriers[place + 1 :]
            itself = (*((setup.fixing,) if setup.fixing else ()), setup.carriers[place])
            return (*itself, *above) if gross else above


def _item_text(item: Item) -> str:
    if item.most is None:
        return f"{item.name}, of unknown mass"
    return item.name if item.least == item.most else f"{item.name}, at the top of its usual range"


def _mass_claims(item: Item) -> tuple[str, ...]:
    return item.mass.claims if item.mass else ()
