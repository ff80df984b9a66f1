"""Why there is no figure, and which undecided claims would lower one."""

from collections.abc import Iterable, Sequence
from enum import StrEnum

import msgspec

from app.core.claim import Bound, Condition
from app.core.conditions import ON_ROAD_NOT_RECORDED, PARKED_FROM_DRIVING, Figures, Ruling
from app.core.confidence import SETS_AT
from app.core.enquiry import Asked
from app.core.scope import Context, Range, Scope, applies, completions
from app.core.selection import Candidate, Line, Mass, Side, Support, factor_for


class RefusalKind(StrEnum):
    """Why no figure is named; of several, the first that fits."""

    SCOPE_UNPROVEN = "scope_unproven"
    DISPUTED = "disputed"
    STALE = "stale"
    BELOW_CONFIDENCE = "below_confidence"
    WITHDRAWN = "withdrawn"
    ASKED_NO_ANSWER = "asked_no_answer"
    NO_CLAIM = "no_claim"


class Refusal(msgspec.Struct, frozen=True):
    """A figure that cannot be named: which, whose, why, and the best claim there is, marked as not good enough; where
    there is none, the enquiries that came to nothing."""

    figure: str
    subject: str
    kind: RefusalKind
    best: Support | None
    enquiries: tuple[Asked, ...] = ()


def refusal(
    figure: str,
    subject: str,
    concerning: Sequence[Candidate],
    stated: Sequence[Candidate],
    demand: float,
    below: Iterable[Line] | Mass | None,
    in_vain: tuple[Asked, ...] = (),
) -> Refusal:
    """The first kind that fits. `concerning` are the live claims that could have given the figure, stand-ins included;
    `stated` those of the figure itself, dead ones too; `below` what a higher demand turned down; `in_vain` the
    enquiries about the figure that came to nothing."""
    live = [candidate for candidate in concerning if not candidate.dead]
    asserting = [candidate for candidate in live if candidate.bound is not _denies(figure)]
    best = max((Support(c.confidence, c.claim) for c in asserting), default=None)
    # Only cars differ in scope: what a thing weighs is the same on all of them.
    if figure != "own_mass" and not below and any(candidate.confidence >= demand for candidate in asserting):
        kind = RefusalKind.SCOPE_UNPROVEN
    elif any(candidate.undisputed >= SETS_AT > candidate.confidence for candidate in asserting):
        kind = RefusalKind.DISPUTED
    elif any(candidate.fresh >= SETS_AT > candidate.confidence for candidate in asserting):
        kind = RefusalKind.STALE
    elif live:
        kind = RefusalKind.BELOW_CONFIDENCE
    elif stated:
        kind = RefusalKind.WITHDRAWN
    elif in_vain:
        return Refusal(figure, subject, RefusalKind.ASKED_NO_ANSWER, None, in_vain)
    else:
        kind = RefusalKind.NO_CLAIM
    return Refusal(figure, subject, kind, best)


def _denies(figure: str) -> Bound:
    """The bound that only says what the figure is not: a mass of at least, a limit of at most."""
    return Bound.AT_LEAST if figure == "own_mass" else Bound.AT_MOST


class Unreviewed(msgspec.Struct, frozen=True):
    """An undecided claim that would make the answer lower. It changes nothing until a reviewer approves it."""

    claim: str
    figure: str
    grams: int | None
    confidence: float


def unreviewed_limits(
    figures: Figures,
    context: Context,
    allowed: Range,
    condition: Condition,
    ruling: Ruling,
    *,
    is_roof: bool,
) -> tuple[Unreviewed, ...]:
    """The undecided claims that would lower a limit for some car that this could be; off-road, factors too."""
    name = "roof_limit" if is_roof else "load_rating"
    limits = tuple(
        Unreviewed(candidate.claim, name, _lowest_side(candidate), candidate.confidence)
        for of in _counting(condition, ruling)
        for candidate in figures.of(of)
        if candidate.undecided
        and candidate.bound is not Bound.AT_LEAST
        and any(_lower(candidate, side, ruling) for side in Side)
        and _may_apply(candidate.scope, context, allowed)
    )
    if condition is not Condition.OFF_ROAD:
        return limits
    in_force = ruling.factor if is_roof else factor_for(candidate for _, candidate in figures.factors)
    factors = tuple(
        Unreviewed(candidate.claim, "off_road_factor", None, candidate.confidence)
        for _, candidate in figures.factors
        if candidate.undecided
        and candidate.factor is not None
        and (in_force is None or candidate.factor < in_force.value)
        and _may_apply(candidate.scope, context, allowed)
    )
    return (*limits, *factors)


def _counting(condition: Condition, ruling: Ruling) -> tuple[Condition, ...]:
    """The conditions whose claims play a part in a ruling: its own, and those whose figures stand in."""
    driving = (Condition.ON_ROAD, Condition.OFF_ROAD)
    match condition:
        case Condition.OFF_ROAD:
            return driving
        case Condition.ON_ROAD:
            stands_in = not ruling.figure or ON_ROAD_NOT_RECORDED in ruling.notes
            return driving if stands_in else (condition,)
        case Condition.PARKED:
            stands_in = not ruling.figure or PARKED_FROM_DRIVING in ruling.notes
            return (condition, *driving) if stands_in else (condition,)


def _lowest_side(candidate: Candidate) -> int | None:
    return min((grams for grams in (candidate.gross, candidate.net) if grams is not None), default=None)


def _lower(candidate: Candidate, side: Side, ruling: Ruling) -> bool:
    grams = candidate.side(side)
    lowest = min((line.grams for line in ruling.lines if line.side is side), default=None)
    return grams is not None and (lowest is None or grams < lowest)


def _may_apply(scope: Scope, context: Context, allowed: Range) -> bool:
    return any(applies(scope, car) for car in completions(context, allowed, [scope]))


def unreviewed_masses(masses: Sequence[Candidate], mass: Mass | None) -> tuple[Unreviewed, ...]:
    """The undecided claims that would make a thing heavier."""
    return tuple(
        Unreviewed(candidate.claim, "own_mass", candidate.mass, candidate.confidence)
        for candidate in masses
        if candidate.undecided
        and candidate.bound is not Bound.AT_MOST
        and candidate.mass is not None
        and (mass is None or candidate.mass > mass.grams)
    )
