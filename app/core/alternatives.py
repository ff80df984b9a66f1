"""The same load on other racks and on other roads: what each leaves, beside what was asked."""

from collections.abc import Iterable, Sequence
from typing import Final, Literal

import msgspec

from app.core.asking import BudgetAnswer, Request, built_in, compatible, notes, set_up, unreviewed
from app.core.budget import Budget, Load, Part, Setup, load_of, load_up, stack_up
from app.core.claim import Condition
from app.core.conditions import OFF_ROAD_NOT_RECORDED
from app.core.confidence import SETS_AT
from app.core.entries import FitmentAdded
from app.core.given import GivenPart
from app.core.refusal import Unreviewed
from app.core.roof import roof
from app.core.scope import Context
from app.core.scoring import Dossier, FitmentFigures


class Fit(msgspec.Struct, frozen=True):
    """A rack that is recorded as fitting a vehicle: the record, the carrier, the fixing and the roofs that it names (None:
    not said), and whether two reviewers have checked it."""

    fitment: str
    carrier: str
    fixing: str | None
    roofs: tuple[str, ...] | None
    confirmed: bool


class Worked(msgspec.Struct, frozen=True):
    """A budget, and what is to be said of the figures that it is from: the undecided claims that would lower it, and
    whether it is for unsealed roads with a rack of which nobody knows what it bears there."""

    budget: Budget
    notes: tuple[str, ...]
    unreviewed_lower: tuple[Unreviewed, ...]
    off_road_unsaid: bool


class Alternative(msgspec.Struct, frozen=True):
    """The same load on a rack that fits, with the fixing that was counted. `is_asked`: it is what was asked about."""

    fit: Fit
    fixing: str | None
    worked: Worked
    is_asked: bool


class InCondition(msgspec.Struct, frozen=True):
    """The same rack and load in a condition. `without_people`: they were left out, for nobody rides on a roof."""

    condition: Condition
    worked: Worked
    without_people: bool


def fits(vehicle: Dossier, context: Context) -> tuple[Fit, ...]:
    """The racks recorded as fitting a vehicle and not ruled out by its roof, each carrier and fixing once: those of which
    the record is confirmed first, then the oldest. What an unconfirmed record says rules out, and never in."""
    found: dict[tuple[str, str | None], Fit] = {}
    for fit in sorted(map(_fit, vehicle.fitments), key=lambda fit: not fit.confirmed):
        if fit.roofs is not None and context.roofs is not None and not set(fit.roofs) & set(context.roofs):
            continue
        known = found.setdefault((fit.carrier, fit.fixing), fit)
        if known is not fit and known.confirmed == fit.confirmed:
            found[fit.carrier, fit.fixing] = msgspec.structs.replace(known, roofs=_either(known.roofs, fit.roofs))
    return tuple(found.values())


def _fit(fitment: FitmentFigures) -> Fit:
    if fitment.record is None or not isinstance(fitment.record.payload, FitmentAdded):
        return Fit(fitment.id, fitment.carrier, fitment.fixing, fitment.roofs, confirmed=False)
    said = fitment.record.payload
    return Fit(fitment.id, said.carrier, said.fixing, said.roofs, fitment.record.confirmed)


def _either(one: tuple[str, ...] | None, other: tuple[str, ...] | None) -> tuple[str, ...] | None:
    return None if one is None or other is None else tuple(dict.fromkeys((*one, *other)))


def work_out(request: Request, load: Load) -> Worked:
    """The budget of a request for a load that is summed already, with nothing beside it. A fitment of which nothing is
    claimed limits nothing, and is not gone through: most racks then share what is worked out for the roof."""
    found = None
    if request.vehicle is not None:
        claimed = tuple(each for each in compatible(request.vehicle, request) if each[1].figures.limits)
        found = roof(request.vehicle, request.context, request.condition, request.demand, claimed)
    setup = set_up(request, found)
    return Worked(
        load_up(stack_up(setup), load),
        notes(setup),
        tuple(dict.fromkeys(unreviewed(request, setup))),
        _off_road_unsaid(request, setup),
    )


def as_worked(request: Request, answer: BudgetAnswer) -> Worked:
    """The same of a request that was answered already."""
    stacked = answer.stacked
    return Worked(answer.budget, stacked.notes, stacked.unreviewed_lower, _off_road_unsaid(request, stacked.setup))


def _off_road_unsaid(request: Request, setup: Setup) -> bool:
    if request.condition is not Condition.OFF_ROAD:
        return False
    sets_at = min(request.demand, SETS_AT)
    return any(_is_silent(*each, sets_at) for each in zip(request.carriers, setup.carriers, strict=True))


def _is_silent(carrier: Dossier | GivenPart, stacked: Part, sets_at: float) -> bool:
    """Whether an on-road rating stands in for a rack, and no factor that sets tells what becomes of it off-road. Its
    makers may not have looked: it is not better than a rack whose makers did, and took something off."""
    figures = carrier.figures if isinstance(carrier, Dossier) else carrier.figures()
    known = any(not factor.dead and factor.confidence >= sets_at for _, factor in figures.factors)
    return OFF_ROAD_NOT_RECORDED in stacked.rating.notes and not known


def alternatives(request: Request, racks: Iterable[tuple[Fit, Dossier, Dossier | None]]) -> list[Alternative]:
    """The load of a request on each of some racks: a fit, its carrier and the fixing that it names.

    First what is sure, by what it leaves, the most first; then where nobody knows what the rack bears off-road; then
    where it is not confirmed that it fits, or the fixing is not said; then where a figure is not known.
    """
    load = load_of((*request.items, *request.people))
    found: dict[tuple[str, str | None], Alternative] = {}
    for rack in racks:
        one = _alternative(request, load, *rack)
        found.setdefault((one.fit.carrier, one.fixing), one)
    return sorted(found.values(), key=_worst_last)


def _alternative(request: Request, load: Load, fit: Fit, carrier: Dossier, fixing: Dossier | None) -> Alternative:
    on_it = msgspec.structs.replace(request, carriers=(carrier,), fixing=fixing or _held_by(request, carrier))
    rack = rack_of(on_it)
    return Alternative(fit, rack[1], work_out(on_it, load), rack == rack_of(request))


def _held_by(request: Request, carrier: Dossier) -> "Dossier | GivenPart | Literal['built_in'] | None":
    """What holds a carrier where its fitment names no fixing: whoever asks about this very carrier may have said."""
    if rack_of(request)[0] == (carrier.subject.id,) and request.fixing is not None:
        return request.fixing
    return "built_in" if carrier.record.fixing_built_in else None


def rack_of(request: Request) -> tuple[tuple[str, ...], str | None]:
    """The carriers of a request and what holds them, by their ids: "given" for the asker's own, "built_in" also where the
    carrier's record says so, None where nothing is said."""
    carriers = tuple(each.subject.id if isinstance(each, Dossier) else "given" for each in request.carriers)
    if isinstance(request.fixing, Dossier):
        return carriers, request.fixing.subject.id
    if isinstance(request.fixing, GivenPart):
        return carriers, "given"
    return carriers, "built_in" if request.fixing == "built_in" or built_in(request) else None


LAST: Final = 4
"""More than all doubts together."""


def _worst_last(each: Alternative) -> tuple[int, int, bool, int, str, str]:
    stack = each.worked.budget.stack
    unsure = not each.fit.confirmed or stack.fixing_unsaid
    doubt = LAST if stack.raw is None else 2 * unsure + each.worked.off_road_unsaid
    return doubt, -(stack.raw or 0), not stack.vetted, stack.mass, each.fit.carrier, each.fixing or ""


def in_conditions(request: Request) -> list[InCondition]:
    """The rack and the load of a request on sealed roads, on unsealed ones and parked."""
    found = []
    for condition in Condition:
        left_out = bool(request.people) and condition is not Condition.PARKED
        people = () if left_out else request.people
        there = msgspec.structs.replace(request, condition=condition, people=people)
        found.append(InCondition(condition, work_out(there, load_of((*there.items, *people))), left_out))
    return found


def difference(one: Worked, other: Worked) -> int | None:
    """How much more cargo the first allows than the second, whatever is then carried; None where either is not known, or
    what the rack bears off-road is of one of them only."""
    more, less = one.budget.stack.raw, other.budget.stack.raw
    if more is None or less is None or one.off_road_unsaid != other.off_road_unsaid:
        return None
    return more - less


def fits_surely(budget: Budget) -> bool:
    """Whether the load is within every limit even if all of it is as heavy as it may be."""
    return budget.raw is not None and budget.load.worst <= budget.raw


def milder(condition: Condition) -> Sequence[Condition]:
    """The conditions that ask less of a roof than this one, the nearest first."""
    order = (Condition.OFF_ROAD, Condition.ON_ROAD, Condition.PARKED)
    return order[order.index(condition) + 1 :]
