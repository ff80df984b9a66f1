"""The budget: what may still go up, given the limits, the fixing, the carriers and the cargo.

Parts stand from the roof up: one fixing, then the carriers in order, then the cargo. All masses are whole grams.
Unknown masses count as zero, which only a ceiling may do: a needed figure that is missing leaves nothing allowed to be
named.
"""

from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum

import msgspec

from app.core.claim import Condition
from app.core.conditions import Ruling, times
from app.core.selection import Factor, Firmness, Line, Mass, Side, Support, together


class ConstraintName(StrEnum):
    """What may stop a load."""

    VEHICLE_ROOF = "vehicle_roof"
    VEHICLE_ROOF_REDUCED = "vehicle_roof_reduced"
    CARRIER = "carrier"
    FIXING = "fixing"
    FITMENT = "fitment"
    GIVEN_ROOF = "given_roof"


class Verdict(StrEnum):
    """What a budget comes to."""

    OVER = "over"
    UNKNOWN = "unknown"
    MARGINAL = "marginal"
    WITHIN = "within"


class Item(msgspec.Struct, frozen=True):
    """Something carried, in grams for all of it: its mass, and the range in which it may lie.

    `least` is the mass or the bottom of a usual range, `most` the mass or its top, `worst` the mass plus tolerance or
    the top. All None: nothing is known of how heavy it is.
    """

    name: str
    least: int | None
    most: int | None
    worst: int | None
    mass: Mass | None = None


class Load(msgspec.Struct, frozen=True):
    """All that is carried, summed three ways."""

    least: int
    cargo: int
    worst: int
    missing: tuple[str, ...] = ()
    vetted: bool = True
    support: tuple[Support, ...] = ()


class Part(msgspec.Struct, frozen=True):
    """A fixing or a carrier: its own mass, its rating in the condition asked, the factor it puts on the roof limit
    (and on one that is not vetted), and its rating on-road as its maker's sticker has it."""

    id: str
    mass: Mass | None
    rating: Ruling
    roof_factor: Factor | None = None
    loose_roof_factor: Factor | None = None
    sticker: int | None = None
    given: bool = False


class Fitted(msgspec.Struct, frozen=True):
    """A fitment's rating: this carrier (by its place in the stack) on this vehicle. None is needed; all bind."""

    id: str
    carrier: int
    rating: Ruling


class Setup(msgspec.Struct, frozen=True):
    """What stands on a roof, and all that limits it. `roof` None: no vehicle is named; `given_roof` stands alone."""

    condition: Condition
    vehicle: str | None
    roof: Ruling | None
    given_roof: Ruling | None
    fixing: Part | None
    carriers: tuple[Part, ...]
    fitments: tuple[Fitted, ...]
    fixing_said: bool


class Constraint(msgspec.Struct, frozen=True):
    """One limit on the cargo. `line` is what gives the least, `allowed` how much cargo it leaves in grams, `ceiling`
    the most that it can leave whatever is not known, or None where it is only a floor. `factor_by` is whose factor
    reduced it, `place` the carrier's in the stack."""

    name: ConstraintName
    by: str
    line: Line
    allowed: int
    ceiling: int | None
    factor_by: str | None = None
    place: int = 0


class Missing(msgspec.Struct, frozen=True):
    """A figure that is needed and is not known: which, and whose."""

    figure: str
    subject: str


class Trap(msgspec.Struct, frozen=True):
    """What the top carrier's own rating suggests, and what is really allowed."""

    carrier: str
    carrier_rating: int
    really_allowed: int


class Stack(msgspec.Struct, frozen=True):
    """What a setup allows, whatever is then carried: its constraints, the least of them, and what that rests on."""

    raw: int | None
    ceiling: int | None
    mass: int
    constraints: tuple[Constraint, ...]
    binding: tuple[Constraint, ...]
    missing: tuple[Missing, ...]
    trap: Trap | None
    vetted: bool
    fixing_unsaid: bool
    support: tuple[Support, ...]

    @property
    def allowed(self) -> int | None:
        """The cargo allowed, never below nothing; None where something needed is not known."""
        return None if self.raw is None else max(0, self.raw)


class Budget(msgspec.Struct, frozen=True):
    """What may still go up, in grams."""

    stack: Stack
    load: Load
    verdict: Verdict
    reasons: tuple[str, ...]
    raw: int | None
    binding: tuple[Constraint, ...]
    missing: tuple[Missing, ...]
    trap: Trap | None
    vetted: bool
    confidence: float | None
    weakest: Support | None

    @property
    def ceiling(self) -> int | None:
        """No more than this, whatever the rest turns out to be."""
        return self.stack.ceiling

    @property
    def constraints(self) -> tuple[Constraint, ...]:
        """Every constraint on the cargo."""
        return self.stack.constraints

    @property
    def allowed(self) -> int | None:
        """The cargo allowed, never below nothing."""
        return None if self.raw is None else max(0, self.raw)

    @property
    def remaining(self) -> int | None:
        """What may still go up; below nothing where there is too much already."""
        return None if self.raw is None else self.raw - self.load.cargo

    @property
    def remaining_worst(self) -> int | None:
        """What may still go up if everything is as heavy as it may be."""
        return None if self.raw is None else self.raw - self.load.worst


def load_of(items: Iterable[Item]) -> Load:
    """Sum what is carried. A thing of which no mass is known counts as nothing and is named as missing."""
    least = cargo = worst = 0
    missing: list[str] = []
    support: list[Support] = []
    vetted = True
    for item in items:
        if item.least is None or item.most is None or item.worst is None:
            missing.append(item.name)
            continue
        least += item.least
        cargo += item.most
        worst += item.worst
        if item.mass is not None:
            support.extend(item.mass.support)
            vetted = vetted and item.mass.vetted
    return Load(least, cargo, worst, tuple(missing), vetted, tuple(support))


def stack_up(setup: Setup) -> Stack:
    """What a setup allows."""
    missing = tuple(_missing(setup))
    masses_known = all(part.mass is not None for part in parts(setup))
    constraints = tuple(_constraint(rule, masses_known=masses_known) for rule in _rules(setup) if rule[2])
    raw = None if missing or not constraints else min(c.allowed for c in constraints)
    binding = tuple(c for c in constraints if c.allowed == raw) if raw is not None else ()
    return Stack(
        raw=raw,
        ceiling=min((c.ceiling for c in constraints if c.ceiling is not None), default=None),
        mass=sum(part.mass.grams for part in parts(setup) if part.mass is not None),
        constraints=constraints,
        binding=binding,
        missing=missing,
        trap=_trap(setup, raw),
        vetted=not missing and _vetted(setup),
        fixing_unsaid=bool(setup.carriers) and not setup.fixing_said,
        support=_support(setup, binding),
    )


def load_up(stack: Stack, load: Load) -> Budget:
    """The budget of a stack that carries a load. A thing of unknown mass leaves nothing allowed to be named."""
    missing = (*stack.missing, *(Missing("mass", name) for name in load.missing))
    known = stack.raw is not None and not missing
    support = tuple(dict.fromkeys((*stack.support, *load.support)))
    verdict, reasons = _verdict(stack, load, missing)
    return Budget(
        stack=stack,
        load=load,
        verdict=verdict,
        reasons=reasons,
        raw=stack.raw if known else None,
        binding=stack.binding if known else (),
        missing=missing,
        trap=stack.trap if known else None,
        vetted=known and stack.vetted and load.vetted,
        confidence=together(support) if known and support else None,
        weakest=min(support, default=None) if known else None,
    )


def work_out(setup: Setup, load: Load) -> Budget:
    """The budget for one setup that carries a load."""
    return load_up(stack_up(setup), load)


def parts(setup: Setup) -> tuple[Part, ...]:
    """The fixing, if one is named, and the carriers, from the roof up."""
    return setup.carriers if setup.fixing is None else (setup.fixing, *setup.carriers)


def _missing(setup: Setup) -> Iterator[Missing]:
    """A part that is named needs its mass and its rating, and the vehicle its roof limit."""
    if setup.roof is not None and not setup.roof.figure:
        yield Missing("roof_limit", setup.vehicle or "")
    for part in parts(setup):
        if part.mass is None:
            yield Missing("own_mass", part.id)
        if not part.rating.figure:
            yield Missing("load_rating", part.id)


# The constraints


Rule = tuple[ConstraintName, str, Sequence[Line], int, int, str | None, int]
"""What a constraint is worked out from: its name, whose it is, its lines, what comes off a gross line and off a net
one before any cargo, whose factor reduced it, and the carrier's place."""


def _rules(setup: Setup) -> Iterator[Rule]:
    own = [part.mass.grams if part.mass else 0 for part in setup.carriers]
    fixing = setup.fixing.mass.grams if setup.fixing and setup.fixing.mass else 0
    everything = fixing + sum(own)

    roofs = [
        (ConstraintName.VEHICLE_ROOF, setup.vehicle or "", setup.roof),
        (ConstraintName.GIVEN_ROOF, "given", setup.given_roof),
    ]
    for name, by, roof in roofs:
        if roof is not None:
            yield name, by, roof.lines, everything, 0, None, 0
            for whose, reduced in _reduced(setup, roof):
                yield ConstraintName.VEHICLE_ROOF_REDUCED, by, reduced, everything, 0, whose, 0
    if setup.fixing is not None:
        lines = setup.fixing.rating.lines
        yield ConstraintName.FIXING, setup.fixing.id, lines, everything, sum(own), None, 0
    for place, carrier in enumerate(setup.carriers):
        above = sum(own[place + 1 :])
        itself = own[place] + fixing + above
        yield ConstraintName.CARRIER, carrier.id, carrier.rating.lines, itself, above, None, place
        for fitted in setup.fitments:
            if fitted.carrier == place:
                yield ConstraintName.FITMENT, fitted.id, fitted.rating.lines, itself, above, None, place


def _reduced(setup: Setup, roof: Ruling) -> Iterator[tuple[str, tuple[Line, ...]]]:
    """Off-road, each factor on the roof makes a constraint of its own from the recorded on-road figure and caps."""
    if setup.condition is not Condition.OFF_ROAD:
        return
    if setup.roof is not None and setup.roof.factor is not None:
        own = setup.roof.reduced if roof is setup.roof else times(roof.recorded, setup.roof.factor)
        yield setup.vehicle or "", own
    for part in parts(setup):
        factor = part.roof_factor if roof.vetted else part.loose_roof_factor
        if factor is not None:
            yield part.id, times(roof.recorded, factor)


def _constraint(rule: Rule, *, masses_known: bool) -> Constraint:
    """The least of what each line leaves. With a mass unknown, a line leaves no more than this, which is a cap."""
    name, by, lines, gross_less, net_less, factor_by, place = rule
    best, allowed, ceiling = lines[0], None, None
    for line in lines:
        left = line.grams - (gross_less if line.side is Side.GROSS else net_less)
        if allowed is None or (left, _FIRMEST[line.firmness]) < (allowed, _FIRMEST[best.firmness]):
            best, allowed = line, left
        if line.firmness is not Firmness.FLOOR and (ceiling is None or left < ceiling):
            ceiling = left
    if not masses_known and best.firmness is Firmness.EXACT:
        best = msgspec.structs.replace(best, firmness=Firmness.CAP)
    return Constraint(name, by, best, allowed or 0, ceiling, factor_by, place)


_FIRMEST = {Firmness.EXACT: 0, Firmness.CAP: 1, Firmness.FLOOR: 2}


# The verdict


def _verdict(stack: Stack, load: Load, missing: tuple[Missing, ...]) -> tuple[Verdict, tuple[str, ...]]:
    """The first that fits, with its reasons as codes."""
    constraints = stack.constraints
    if stack.ceiling is not None and load.least > stack.ceiling:
        return Verdict.OVER, _exceeded("over", (c for c in constraints if _below(c.ceiling, load.least)))
    unknown = [f"{each.figure}_not_known" for each in missing]
    unknown.extend(_exceeded("perhaps_over", (c for c in constraints if c.allowed < load.cargo)))
    if unknown:
        return Verdict.UNKNOWN, tuple(dict.fromkeys(unknown))
    marginal = list(_exceeded("worst_over", (c for c in constraints if c.allowed < load.worst)))
    if stack.fixing_unsaid:
        marginal.append("fixing_not_said")
    if marginal:
        return Verdict.MARGINAL, tuple(marginal)
    return Verdict.WITHIN, ()


def _below(grams: int | None, load: int) -> bool:
    return grams is not None and grams < load


def _exceeded(how: str, constraints: Iterable[Constraint]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(f"{how}_{constraint.name}" for constraint in constraints))


def _vetted(setup: Setup) -> bool:
    """Every needed figure is vetted, none is the asker's, and the fixing is said."""
    if setup.given_roof is not None or (setup.carriers and not setup.fixing_said):
        return False
    return (setup.roof is None or setup.roof.vetted) and all(
        part.rating.vetted and not part.given and part.mass is not None and part.mass.vetted for part in parts(setup)
    )


def _trap(setup: Setup, raw: int | None) -> Trap | None:
    if not setup.carriers or raw is None:
        return None
    top = setup.carriers[-1]
    return None if top.sticker is None else Trap(top.id, top.sticker, max(0, raw))


def _support(setup: Setup, binding: tuple[Constraint, ...]) -> tuple[Support, ...]:
    """The distinct claims that the binding allowances and the masses rest on."""
    rests_on = [support for constraint in binding for support in constraint.line.support]
    for part in parts(setup):
        if part.mass is not None:
            rests_on.extend(part.mass.support)
    return tuple(dict.fromkeys(rests_on))
