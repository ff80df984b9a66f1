"""The working of a budget, in lines that a person can check with a pencil."""

from collections.abc import Iterator, Sequence

import msgspec

from app.core.budget import Budget, Constraint, ConstraintName, Item, Part, Setup, parts
from app.core.selection import Side


class Step(msgspec.Struct, frozen=True):
    """One line: a text, an amount in grams (None: not known), whether it is what is carried (which rounds up) or
    what is allowed (which rounds down), and the claims it rests on."""

    text: str
    grams: int | None
    carried: bool = False
    claims: tuple[str, ...] = ()


def steps(setup: Setup, budget: Budget, items: Sequence[Item]) -> tuple[Step, ...]:
    """From the limit that stops the load, down to what is left."""
    return tuple(_steps(setup, budget, items))


def _steps(setup: Setup, budget: Budget, items: Sequence[Item]) -> Iterator[Step]:
    if budget.binding:
        yield from _from_limit(setup, budget.binding[0])
        yield Step("may be carried", max(0, budget.binding[0].allowed), claims=())
    else:
        for missing in budget.missing:
            yield Step(f"{missing.figure} of {missing.subject}: not known", None)
        if budget.ceiling is not None:
            yield Step("no more than this may be carried, whatever the rest turns out to be", budget.ceiling)
    for item in items:
        yield Step(item.name, None if item.most is None else -item.most, True, _mass_claims(item))
    if budget.raw is not None:
        remaining = budget.raw - budget.load.cargo
        yield Step("left", remaining) if remaining >= 0 else Step("over by", -remaining, True)
    if budget.trap is not None:
        yield Step("the carrier's own rating would have said", budget.trap.carrier_rating)


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


def _mass_claims(item: Item) -> tuple[str, ...]:
    return item.mass.claims if item.mass else ()
