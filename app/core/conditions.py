"""From claims to a limit in one condition: what stands in for what on-road, off-road and parked, and which factor
reduces what; for one car, and for a car not fully known, which is allowed the lowest of what it could be."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

import msgspec

from app.core.claim import ON_OWN_RATING, AppliesTo, Condition
from app.core.confidence import SETS_AT
from app.core.mass import floor
from app.core.scope import Car
from app.core.selection import (
    VETTED,
    Candidate,
    CarLimit,
    Conflict,
    Factor,
    Firmness,
    Line,
    Side,
    Standard,
    factor_for,
    limits_for,
    lowest_line,
)

OFF_ROAD_NOT_RECORDED = "off_road_not_recorded"
ON_ROAD_NOT_RECORDED = "on_road_not_recorded"
PARKED_FROM_DRIVING = "parked_from_driving"

ANYTHING = frozenset({None, *AppliesTo})


class Figures(msgspec.Struct, frozen=True):
    """The live and dead claims on one subject, as candidates, sorted by what they state.

    `limits` by condition; `factors` with what each applies to, in the order of the claims.
    """

    limits: Mapping[Condition, tuple[Candidate, ...]] = {}
    masses: tuple[Candidate, ...] = ()
    factors: tuple[tuple[AppliesTo | None, Candidate], ...] = ()

    def of(self, condition: Condition) -> tuple[Candidate, ...]:
        """The claims on the limit in one condition."""
        return self.limits.get(condition, ())

    def factors_on(self, targets: frozenset[AppliesTo | None]) -> list[Candidate]:
        """The claims on a factor that applies to one of these."""
        return [candidate for applies_to, candidate in self.factors if applies_to in targets]


class Ruling(msgspec.Struct, frozen=True):
    """A limit in one condition: its figure (empty: none), its caps, and its on-road part as recorded, which factors
    multiply. `factor` is the vehicle's own on the roof, `reduced` its on-road part multiplied by that."""

    figure: tuple[Line, ...] = ()
    caps: tuple[Line, ...] = ()
    recorded: tuple[Line, ...] = ()
    reduced: tuple[Line, ...] = ()
    factor: Factor | None = None
    notes: tuple[str, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    vetted: bool = True
    below: tuple[Line, ...] = ()

    def line(self, side: Side) -> Line | None:
        """The lowest line of the figure on one side."""
        return lowest_line(self.figure, side)

    def allows(self, side: Side) -> Line | None:
        """The lowest of the figure and of what the vehicle's own factor leaves of its on-road part; None where there is
        no figure."""
        return lowest_line((*self.figure, *self.reduced), side) if self.figure else None

    @property
    def lines(self) -> tuple[Line, ...]:
        """All that limits: the figure's lines and the caps."""
        return (*self.figure, *self.caps)


def times(lines: Iterable[Line], factor: Factor) -> tuple[Line, ...]:
    """Lines multiplied by a factor, each rounded down once, resting on the factor's claims too."""
    return tuple(
        msgspec.structs.replace(
            line,
            grams=floor(factor.value, line.grams),
            claims=(*line.claims, *factor.claims),
            support=(*line.support, *factor.support),
            given=line.given or factor.given,
        )
        for line in lines
    )


# One fully known car


def ruling_for(
    figures: Figures, car: Car | None, condition: Condition, demand: float | None, *, is_roof: bool
) -> Ruling:
    """The limit of one subject in one condition, worked out at 0.80. A higher demand refuses what is less certain;
    a lower one matters only where there is no figure. `demand` None: no figure is needed, and what there is binds."""
    vetted = _at(figures, car, condition, VETTED, is_roof=is_roof, needed=demand is not None)
    if demand is None:
        return vetted
    if vetted.figure:
        return _demanding(vetted, demand)
    if demand >= SETS_AT:
        return vetted
    loose = _at(figures, car, condition, Standard(demand), is_roof=is_roof, needed=True)
    return msgspec.structs.replace(loose, vetted=False) if loose.figure else vetted


def _demanding(ruling: Ruling, demand: float) -> Ruling:
    """A figure that is less certain than is asked becomes none; what limits still limits."""
    if all(line.certainty >= demand for line in ruling.figure):
        return ruling
    return msgspec.structs.replace(without_figure(ruling), below=ruling.figure)


def without_figure(ruling: Ruling) -> Ruling:
    """What is left where the figure does not hold: no floor, and whatever was exact is no more than a cap."""
    return msgspec.structs.replace(
        ruling,
        figure=(),
        caps=_as_caps((*ruling.figure, *ruling.caps)),
        recorded=_as_caps(ruling.recorded),
        reduced=_as_caps(ruling.reduced),
    )


def _as_caps(lines: Iterable[Line]) -> tuple[Line, ...]:
    return tuple(
        msgspec.structs.replace(line, firmness=Firmness.CAP) for line in lines if line.firmness is not Firmness.FLOOR
    )


def _at(
    figures: Figures, car: Car | None, condition: Condition, standard: Standard, *, is_roof: bool, needed: bool
) -> Ruling:
    """The limit as it stands, and no more than with each claim that waits."""

    def limits(of: Condition) -> list[CarLimit]:
        return limits_for(car, figures.of(of), standard)

    driving = [(on, off) for on in limits(Condition.ON_ROAD) for off in limits(Condition.OFF_ROAD)]
    match condition:
        case Condition.ON_ROAD:
            found = [_on_road(on, off) for on, off in driving]
        case Condition.OFF_ROAD:
            factor = factor_for(figures.factors_on(ANYTHING if is_roof else ON_OWN_RATING), car, standard)
            found = [_off_road(on, off, factor, is_roof=is_roof) for on, off in driving]
        case Condition.PARKED:
            stands_in = [_on_road(on, off) for on, off in driving]
            found = [_parked(parked, each) for parked in limits(Condition.PARKED) for each in stands_in]
    as_it_stands, *others = found
    if not others or (needed and not as_it_stands.figure):
        return as_it_stands
    return _held_to(as_it_stands, others)


def _on_road(on_road: CarLimit, off_road: CarLimit) -> Ruling:
    """The on-road figure, else the off-road one, a safe stand-in; the on-road caps hold either way."""
    recorded = (*on_road.figure, *on_road.caps)
    if on_road.figure:
        return Ruling(on_road.figure, on_road.caps, recorded, conflicts=on_road.conflicts)
    conflicts = (*on_road.conflicts, *off_road.conflicts)
    if not off_road.figure:
        return Ruling((), on_road.caps, recorded, conflicts=on_road.conflicts)
    figure = lowered(off_road.figure, on_road.caps)
    return Ruling(figure, on_road.caps, recorded, notes=(ON_ROAD_NOT_RECORDED,), conflicts=conflicts)


def _off_road(on_road: CarLimit, off_road: CarLimit, factor: Factor | None, *, is_roof: bool) -> Ruling:
    """The off-road and the on-road figure both bind. A part's own factor multiplies its on-road rating; the factors
    on a roof make constraints of their own."""
    recorded = (*on_road.figure, *on_road.caps)
    on_road_figure, on_road_caps = on_road.figure, on_road.caps
    if factor is not None and not is_roof:
        on_road_figure, on_road_caps = times(on_road_figure, factor), times(on_road_caps, factor)
    roof_factor = factor if is_roof else None
    reduced = times(recorded, roof_factor) if roof_factor else ()
    caps = (*off_road.caps, *on_road_caps)
    notes = () if off_road.figure or not on_road.figure else (OFF_ROAD_NOT_RECORDED,)
    conflicts = (*off_road.conflicts, *on_road.conflicts)
    figure = lowered((*off_road.figure, *on_road_figure), caps)
    return Ruling(figure, caps, recorded, reduced, roof_factor, notes, conflicts)


def _parked(parked: CarLimit, driving: Ruling) -> Ruling:
    """The parked figure if exact; else a floor: the higher of its `at_least` and what may be carried on-road."""
    if parked.figure and all(line.firmness is Firmness.EXACT for line in parked.figure):
        return Ruling(parked.figure, parked.caps, conflicts=parked.conflicts)
    standing_in = tuple(msgspec.structs.replace(line, firmness=Firmness.FLOOR) for line in driving.figure)
    figure = max(parked.figure, standing_in, key=_by_gross_then_net)
    notes = (PARKED_FROM_DRIVING,) if figure and figure is standing_in else ()
    conflicts = (*parked.conflicts, *(driving.conflicts if figure is standing_in else ()))
    return Ruling(lowered(figure, parked.caps), parked.caps, notes=notes, conflicts=conflicts)


def _by_gross_then_net(figure: tuple[Line, ...]) -> tuple[float, float]:
    if not figure:
        return (-1.0, -1.0)
    lowest = {side: min((ln.grams for ln in figure if ln.side is side), default=float("inf")) for side in Side}
    return (lowest[Side.GROSS], lowest[Side.NET])


def _held_to(ruling: Ruling, others: Sequence[Ruling]) -> Ruling:
    """A limit, and no more than others that claims which wait would have given: those limit as floors."""
    return msgspec.structs.replace(
        ruling,
        figure=(*ruling.figure, *_lower(ruling.figure, [line for other in others for line in other.figure])),
        recorded=(*ruling.recorded, *_lower(ruling.recorded, [line for other in others for line in other.recorded])),
        reduced=(*ruling.reduced, *_lower(ruling.reduced, [line for other in others for line in other.reduced])),
    )


def _lower(lines: Sequence[Line], others: Sequence[Line]) -> Iterator[Line]:
    """The lowest of other lines on each side on which that is lower than all of these."""
    surest = max(lines, key=lambda line: line.confidence, default=None)
    for side in Side:
        least = min((line.grams for line in lines if line.side is side), default=None)
        lower = min((line for line in others if line.side is side), key=lambda line: line.grams, default=None)
        if lower is not None and (least is None or lower.grams < least):
            # Whoever sets the figure permits this less too.
            support = lower.support if surest is None else surest.support
            yield msgspec.structs.replace(lower, firmness=Firmness.FLOOR, support=support)


def lowered(figure: tuple[Line, ...], caps: tuple[Line, ...]) -> tuple[Line, ...]:
    """A figure lowered to the lowest caps; what is lowered is exact. An empty figure stays empty."""
    if not figure:
        return ()
    lines = list(figure)
    for side in Side:
        cap = min((line for line in caps if line.side is side), key=lambda line: line.grams, default=None)
        lowest = min((line.grams for line in figure if line.side is side), default=None)
        if cap is not None and (lowest is None or cap.grams < lowest):
            lines = [line for line in lines if line.side is not side]
            # Whoever sets the figure permits this less too.
            surest = max(figure, key=lambda line: line.confidence)
            lines.append(msgspec.structs.replace(cap, firmness=Firmness.EXACT, support=surest.support))
    return tuple(lines)


# A car not fully known


def concerned(figures: Figures, condition: Condition) -> list[Candidate]:
    """The claims that can play a part in one condition."""
    conditions = [Condition.ON_ROAD, Condition.OFF_ROAD, *([condition] if condition is Condition.PARKED else [])]
    limits = [candidate for each in conditions for candidate in figures.of(each) if not candidate.dead]
    factors = [candidate for _, candidate in figures.factors if not candidate.dead]
    return [*limits, *(factors if condition is Condition.OFF_ROAD else [])]


def lowest(found: Sequence[Ruling], *, needed: bool = True) -> Ruling:
    """The lowest over all the ways in which the car could be. Where a figure is needed and one of them has none, there
    is none, but the lowest caps are kept."""
    if len(found) == 1:
        return found[0]
    if needed and not all(ruling.figure for ruling in found):
        found = [without_figure(ruling) for ruling in found]
    return Ruling(
        figure=_least(line for ruling in found for line in ruling.figure),
        caps=_least(line for ruling in found for line in ruling.caps),
        recorded=_least(line for ruling in found for line in ruling.recorded),
        reduced=_least(line for ruling in found for line in ruling.reduced),
        factor=min((r.factor for r in found if r.factor), key=lambda factor: factor.value, default=None),
        notes=tuple(dict.fromkeys(note for ruling in found for note in ruling.notes)),
        conflicts=tuple(dict.fromkeys(conflict for ruling in found for conflict in ruling.conflicts)),
        vetted=all(ruling.vetted for ruling in found),
        below=tuple(dict.fromkeys(line for ruling in found for line in ruling.below)),
    )


def _least(lines: Iterable[Line]) -> tuple[Line, ...]:
    """On each side the lowest line of each firmness; of equals, the least certain."""
    best: dict[tuple[Side, Firmness], Line] = {}
    for line in lines:
        key = (line.side, line.firmness)
        if key not in best or (line.grams, line.confidence) < (best[key].grams, best[key].confidence):
            best[key] = line
    return tuple(best[key] for key in sorted(best))
