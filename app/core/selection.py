"""One figure for one fully known car: which claims set it, which cap it, which yield, which conflict.

A claim **sets** when its confidence is high enough; it **binds** (lowers) as soon as one reviewer has approved it.
Gross and net are compared apart, so that claims of different basis never compete.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from enum import StrEnum
from fractions import Fraction

import msgspec

from app.core.claim import Bound
from app.core.confidence import SETS_AT
from app.core.mass import SAME_WITHIN_G
from app.core.scope import SILENT, Car, Scope, applies, more_specific


class Side(StrEnum):
    """Which half of a pair: all that may be on the roof or part, or the cargo alone."""

    GROSS = "gross"
    NET = "net"


class Firmness(StrEnum):
    """Whether an allowance is the figure, at least the figure, or a cap where there is no figure."""

    EXACT = "exact"
    FLOOR = "floor"
    CAP = "cap"


class Candidate(msgspec.Struct, frozen=True):
    """A claim as selection sees it. Limits have `gross` and `net`, an own mass `mass`, a factor `factor`.

    `approved_twice`: two reviewers approved it, so that it may set, or has set. `undisputed` and `fresh` are what its
    confidence would be but for a dispute, and but for its age.
    """

    claim: str
    publisher: str | None
    bound: Bound
    confidence: float
    binds: bool
    undecided: bool = False
    dead: bool = False
    approved_twice: bool = False
    scope: Scope = SILENT
    gross: int | None = None
    net: int | None = None
    mass: int | None = None
    factor: Fraction | None = None
    undisputed: float = 0.0
    fresh: float = 0.0
    roots: tuple[str, ...] = ()

    def side(self, side: Side) -> int | None:
        """Its grams on one side; None is unbounded."""
        return self.gross if side is Side.GROSS else self.net


class Standard(msgspec.Struct, frozen=True):
    """How certain a claim must be. At 0.80, the vetted standard, only what reviewers approved binds; below it,
    claims of at least that confidence set and bind. `supposed` names one that is taken to set, whatever it scores."""

    sets_at: float = SETS_AT
    supposed: str | None = None

    def sets(self, candidate: Candidate) -> bool:
        """Whether a claim sets figures."""
        return candidate.confidence >= self.sets_at or candidate.claim == self.supposed

    def waits(self, candidate: Candidate) -> bool:
        """Whether two reviewers approved a claim that could give a figure, and it does not set: a dispute, its age or
        a score stands in its way."""
        return (
            candidate.approved_twice
            and not candidate.dead
            and candidate.bound is not Bound.AT_MOST
            and not self.sets(candidate)
        )

    def binds(self, candidate: Candidate) -> bool:
        """Whether a claim lowers figures."""
        return candidate.binds or self.sets(candidate)


VETTED = Standard()


class Support(msgspec.Struct, frozen=True, order=True):
    """A claim that a figure rests on, and how certain it is."""

    confidence: float
    claim: str


class Line(msgspec.Struct, frozen=True):
    """One allowance, on one side, in grams: what kind it is, the claims that give it, and the claims that most surely
    permit it (a factor's beside a limit's). `given` marks the asker's own."""

    side: Side
    grams: int
    firmness: Firmness
    claims: tuple[str, ...]
    support: tuple[Support, ...] = ()
    given: bool = False

    @property
    def confidence(self) -> float:
        """How surely this much is permitted; 0 where nothing that sets permits it."""
        return 1.0 if self.given else together(self.support)

    @property
    def certainty(self) -> float:
        """The confidence of the limit itself, whatever factor multiplies it."""
        return 1.0 if self.given else self.support[0].confidence if self.support else 0.0


_FIRMEST = tuple(Firmness)


def lowest_line(lines: Iterable[Line], side: Side) -> Line | None:
    """The lowest line on one side; of equals, what is a figure rather than a cap beside it."""
    on_side = (line for line in lines if line.side is side)
    return min(on_side, key=lambda line: (line.grams, _FIRMEST.index(line.firmness)), default=None)


def together(support: Collection[Support]) -> float:
    """At least this likely that none of some claims overstates: 1 less all that is missing from certainty."""
    if not support:
        return 0.0
    if len(support) == 1:
        return next(iter(support)).confidence
    missing = sum(1000 - round(1000 * each.confidence) for each in set(support))
    return max(0, 1000 - missing) / 1000


class Conflict(msgspec.Struct, frozen=True):
    """Claims that cannot all be the figure; the lowest stands."""

    claims: tuple[str, ...]
    low_grams: int
    high_grams: int


class CarLimit(msgspec.Struct, frozen=True):
    """A limit for one car in one condition: its figure (empty where there is none) and its caps."""

    figure: tuple[Line, ...] = ()
    caps: tuple[Line, ...] = ()
    conflicts: tuple[Conflict, ...] = ()


def limits_for(car: Car | None, candidates: Sequence[Candidate], standard: Standard = VETTED) -> list[CarLimit]:
    """The limit for one car, from the claims on one subject, quantity and condition, as it stands; then each other one that
    there would be if a claim that waits did set. `car` None: scope plays no part, and nothing yields.

    A claim yields only to what sets at 0.80, whatever the standard: yielding may raise an answer.
    """
    speaking = [c for c in candidates if not c.dead and (car is None or applies(c.scope, car))]
    standing = speaking if car is None else _standing(speaking, [c for c in speaking if VETTED.sets(c)])
    found = [_limit(standing, standard)]
    for waiting in speaking:
        if standard.waits(waiting):
            left = standing if car is None else _standing(standing, [waiting])
            supposed = _limit(left, msgspec.structs.replace(standard, supposed=waiting.claim))
            if all(_amounts(supposed) != _amounts(each) for each in found):
                found.append(supposed)
    return found


def _amounts(limit: CarLimit) -> tuple[tuple[Side, int, Firmness], ...]:
    return tuple((line.side, line.grams, line.firmness) for line in (*limit.figure, *limit.caps))


def _standing(candidates: list[Candidate], setting: list[Candidate]) -> list[Candidate]:
    """Those of some claims that do not yield to any that set."""
    exact = [to for to in setting if to.bound is Bound.EXACT and to.publisher is not None]
    return [c for c in candidates if not any(_yields(c, to) for to in exact)]


def _yields(candidate: Candidate, to: Candidate) -> bool:
    return (
        to.claim != candidate.claim and to.publisher == candidate.publisher and more_specific(to.scope, candidate.scope)
    )


def _limit(standing: list[Candidate], standard: Standard) -> CarLimit:
    setting = [c for c in standing if standard.sets(c)]
    capping = [c for c in standing if c.bound is not Bound.AT_LEAST and standard.binds(c)]
    caps = tuple(line for side in Side if (line := _lowest_cap(side, capping, setting)) is not None)
    return CarLimit(_figure(setting, caps), caps, _conflicts(setting, capping))


def _figure(setting: list[Candidate], caps: tuple[Line, ...]) -> tuple[Line, ...]:
    """The lowest exact claims that set; else the highest `at_least`; lowered to the caps, and if lowered, exact."""
    if any(c.bound is Bound.EXACT for c in setting):
        lines = [msgspec.structs.replace(cap, firmness=Firmness.EXACT) for cap in caps]
    else:
        floors = [c for c in setting if c.bound is Bound.AT_LEAST]
        if not floors:
            return ()
        lines = list(_floor_lines(floors, caps))
    support = _surest([c for c in setting if c.bound is not Bound.AT_MOST and _permits_all(c, lines)])
    return tuple(msgspec.structs.replace(line, support=support) for line in lines)


def _floor_lines(floors: list[Candidate], caps: tuple[Line, ...]) -> Iterator[Line]:
    highest = max(floors, key=_by_gross_then_net)
    for side in Side:
        grams = highest.side(side)
        cap = next((line for line in caps if line.side is side), None)
        if cap is not None and (grams is None or cap.grams < grams):
            yield msgspec.structs.replace(cap, firmness=Firmness.EXACT)
        elif grams is not None:
            yield Line(side, grams, Firmness.FLOOR, tuple(c.claim for c in floors if c.side(side) == grams))


def _by_gross_then_net(candidate: Candidate) -> tuple[float, float]:
    return (
        float("inf") if candidate.gross is None else candidate.gross,
        float("inf") if candidate.net is None else candidate.net,
    )


def _lowest_cap(side: Side, capping: list[Candidate], setting: list[Candidate]) -> Line | None:
    values = [grams for c in capping if (grams := c.side(side)) is not None]
    if not values:
        return None
    lowest = min(values)
    claims = tuple(c.claim for c in capping if c.side(side) == lowest)
    permitting = [c for c in setting if c.bound is not Bound.AT_MOST and _permits(c.side(side), lowest)]
    # A cap that nothing permits rests on whoever states it.
    support = _surest(permitting or [c for c in capping if c.claim in claims])
    return Line(side, lowest, Firmness.CAP, claims, support)


def _surest(permitting: list[Candidate]) -> tuple[Support, ...]:
    surest = max(permitting, key=lambda c: c.confidence)
    return (Support(surest.confidence, surest.claim),)


def _permits_all(candidate: Candidate, lines: list[Line]) -> bool:
    """Whether a claim sets a figure or more, on both sides: a side that the figure leaves open, it leaves open too."""
    limited = {line.side: line.grams for line in lines}
    return all(
        _permits(candidate.side(side), limited[side]) if side in limited else candidate.side(side) is None
        for side in Side
    )


def _permits(stated: int | None, grams: int) -> bool:
    return stated is None or stated >= grams


def _conflicts(setting: list[Candidate], capping: list[Candidate]) -> tuple[Conflict, ...]:
    exact = [c for c in capping if c.bound is Bound.EXACT]
    floors = [c for c in setting if c.bound is Bound.AT_LEAST]
    found = []
    for measure in (_gross_only, _net_only):
        measured = [(value, c.claim) for c in exact if (value := measure(c)) is not None]
        if not measured:
            continue
        low = min(measured)[0]
        above = [(value, c.claim) for c in floors if (value := measure(c)) is not None]
        against = [(value, claim) for value, claim in [*measured, *above] if value - low > SAME_WITHIN_G]
        if against:
            lows = [claim for value, claim in measured if value - low <= SAME_WITHIN_G]
            claims = tuple(dict.fromkeys([*lows, *(claim for _, claim in against)]))
            found.append(Conflict(claims, low, max(value for value, _ in against)))
    return tuple(found)


def _gross_only(candidate: Candidate) -> int | None:
    return candidate.gross


def _net_only(candidate: Candidate) -> int | None:
    return candidate.net if candidate.gross is None else None


# Own masses and factors


class Mass(msgspec.Struct, frozen=True):
    """What a thing itself weighs, in grams. The mirror of a limit: the highest stands, `at_most` is its floor."""

    grams: int
    bound: Bound
    claims: tuple[str, ...]
    support: tuple[Support, ...] = ()
    given: bool = False
    vetted: bool = True

    @property
    def confidence(self) -> float:
        """How surely the thing weighs no more than this."""
        return 1.0 if self.given else together(self.support)


class MassAnswer(msgspec.Struct, frozen=True):
    """An own mass, or None, with the conflicts among its claims; `below` is what a higher demand refused."""

    mass: Mass | None
    conflicts: tuple[Conflict, ...] = ()
    below: Mass | None = None


def mass_at(candidates: Sequence[Candidate], demand: float) -> MassAnswer:
    """The own mass worked out at 0.80. A higher demand refuses what is less certain; a lower one matters only where
    there is none."""
    vetted = mass_for(candidates)
    if vetted.mass is not None and vetted.mass.confidence < demand:
        return MassAnswer(None, vetted.conflicts, vetted.mass)
    if vetted.mass is not None or demand >= SETS_AT:
        return vetted
    loose = mass_for(candidates, Standard(demand))
    if loose.mass is None:
        return vetted
    return msgspec.structs.replace(loose, mass=msgspec.structs.replace(loose.mass, vetted=False))


def mass_for(candidates: Sequence[Candidate], standard: Standard = VETTED) -> MassAnswer:
    """The own mass from the claims on one subject: the highest exact that sets, else the lowest `at_most`; raised
    to whatever is surely no less. A mass for each of an unknown number of bars leaves it unknown."""
    if any(c.mass is None and not c.dead and c.bound is not Bound.AT_MOST and standard.binds(c) for c in candidates):
        return MassAnswer(None)
    weighed = [(c.mass, c) for c in candidates if not c.dead and c.mass is not None]
    setting = [(grams, c) for grams, c in weighed if standard.sets(c)]
    raising = [(grams, c) for grams, c in weighed if c.bound is not Bound.AT_MOST and standard.binds(c)]
    exact = [grams for grams, c in setting if c.bound is Bound.EXACT]
    ceilings = [grams for grams, c in setting if c.bound is Bound.AT_MOST]
    least = max((grams for grams, _ in raising), default=-1)
    conflicts = _mass_conflicts(raising, [(grams, c) for grams, c in setting if c.bound is Bound.AT_MOST])
    if exact:
        mass = max(*exact, least)
        bound = Bound.EXACT
    elif ceilings:
        mass = max(min(ceilings), least)
        bound = Bound.EXACT if mass > min(ceilings) else Bound.AT_MOST
    else:
        return MassAnswer(None, conflicts)
    claims = tuple(c.claim for grams, c in weighed if grams == mass and standard.binds(c))
    permitting = [c for grams, c in setting if c.bound is not Bound.AT_LEAST and grams <= mass]
    return MassAnswer(Mass(mass, bound, claims, _surest(permitting)), conflicts)


def _mass_conflicts(
    raising: list[tuple[int, Candidate]], ceilings: list[tuple[int, Candidate]]
) -> tuple[Conflict, ...]:
    exact = [(grams, c.claim) for grams, c in raising if c.bound is Bound.EXACT]
    if not exact:
        return ()
    high = max(exact)[0]
    below = [(grams, claim) for grams, claim in [*exact, *((g, c.claim) for g, c in ceilings)]]
    against = [(grams, claim) for grams, claim in below if high - grams > SAME_WITHIN_G]
    if not against:
        return ()
    highs = [claim for grams, claim in exact if high - grams <= SAME_WITHIN_G]
    return (Conflict(tuple(dict.fromkeys([*highs, *(c for _, c in against)])), min(against)[0], high),)


class Factor(msgspec.Struct, frozen=True):
    """An off-road factor and the claims that give it."""

    value: Fraction
    claims: tuple[str, ...]
    support: tuple[Support, ...] = ()
    given: bool = False


def factor_for(
    candidates: Iterable[Candidate],
    car: Car | None = None,
    standard: Standard = VETTED,
) -> Factor | None:
    """The lowest off-road factor that binds or sets; None where none does."""
    in_force = [
        (c.factor, c)
        for c in candidates
        if c.factor is not None and not c.dead and standard.binds(c) and (car is None or applies(c.scope, car))
    ]
    if not in_force:
        return None
    lowest = min(value for value, _ in in_force)
    in_order = sorted(in_force, key=lambda each: each[0])
    giving = tuple(c.claim for value, c in in_order if value == lowest)
    return Factor(lowest, giving, _surest([c for _, c in in_order]))
