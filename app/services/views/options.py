"""What else could be done with a load, as it is sent: other racks, other roads, and what to leave behind."""

from collections.abc import Iterator, Sequence
from typing import Any, Final

import msgspec

from app.core.alternatives import Alternative, InCondition, Worked, difference, fits_surely, milder
from app.core.asking import Request
from app.core.leaving import Left, Outcome, Thing
from app.core.mass import Unit, allowed_in, carried_in
from app.core.wording import CAUTIONS
from app.services.views.answers import BestView, NoteView, Receipt, UnreviewedView, down, note_views, unreviewed_views


class OptionView(msgspec.Struct, frozen=True, kw_only=True):
    """The load on one rack in one condition: the main numbers of the budget that it would have.

    `carriers` are from the roof up, each by its id or "given" where it is the asker's own; `fixing` is an id, "given",
    "built_in", or null where none is said. `off_road_unsaid`: it is for unsealed roads, and nobody knows what a rack of it
    bears there. `difference` is how much more cargo this allows than what was asked, less where it is below 0; null where
    either is not known, or `off_road_unsaid` is of one of them only. `notes` are codes, of which the whole answer has the
    sentences; `unreviewed_lower` are undecided claims that would lower this one.
    """

    condition: str
    carriers: tuple[str, ...]
    fixing: str | None
    verdict: str
    reasons: tuple[str, ...]
    allowed_cargo: float | None
    ceiling: float | None
    remaining: float | None
    remaining_worst: float | None
    carrier_alone_exceeds: bool
    mass_on_roof: float
    binding: tuple[str, ...]
    vetted: bool
    confidence: float | None
    weakest: BestView | None
    difference: float | None
    notes: tuple[str, ...]
    unreviewed_lower: list[UnreviewedView]
    off_road_unsaid: bool


class AlternativeView(OptionView, frozen=True, kw_only=True):
    """A rack that is recorded as fitting the vehicle, with the fixing that the record of it names.

    `fitment` is that record, `confirmed` whether two reviewers have checked it, `roofs` those that it is said for (null:
    not said). `is_asked`: this is what was asked about.
    """

    fitment: str
    confirmed: bool
    roofs: tuple[str, ...] | None
    is_asked: bool


class ConditionView(OptionView, frozen=True, kw_only=True):
    """The same rack and load in another condition. Nobody rides on a roof: `without_people` where people were left out."""

    without_people: bool


class LeftView(msgspec.Struct, frozen=True):
    """So many pieces (of `quantity`) of one thing left behind: its place in the request's `gear`, its name, and what
    those pieces weigh at most, or null where that is not known."""

    gear: int
    name: str
    pieces: int
    quantity: int
    mass: float | None


class LeaveView(msgspec.Struct, frozen=True, kw_only=True):
    """The fewest pieces to leave behind, of those the lightest, so that the rest is within even if all of it is as heavy
    as it may be.

    `outcome`: `nothing` has to be left; `leave` what `things` names; or nothing helps, for `rack_alone_exceeds`,
    `what_stays_exceeds`, `what_stays_unknown` (the mass of a thing that stays) or `limit_unknown`. `mass` is what the
    pieces of known mass weigh at most. `ties` are other choices just as good, the first few; `more_ties` says that there
    are further ones, or may be. `lightest` is false where it is certain that no fewer pieces will do, but so many choices
    had to be weighed that a lighter one of as many pieces may exist. `then` is the budget without what is left behind.
    """

    outcome: str
    sentence: str
    pieces: int
    mass: float
    things: list[LeftView]
    ties: list[list[LeftView]]
    more_ties: bool
    lightest: bool
    then: OptionView | None


class WayView(msgspec.Struct, frozen=True, kw_only=True):
    """One way to have the load within, even if all of it is as heavy as it may be. `kind`: `leave_behind`,
    `other_carrier`, `on_road` (sealed roads only) or `parked`."""

    kind: str
    carriers: tuple[str, ...]
    fixing: str | None
    pieces: int
    verdict: str
    remaining: float
    remaining_worst: float


class OptionsView(msgspec.Struct, frozen=True, kw_only=True):
    """A budget's main numbers, and what else could be done with the load.

    `alternatives` are the racks recorded as fitting, what they leave from most to least: those that are sure, then
    those in doubt (nobody knows what it bears off-road; below them, nobody confirmed that it fits, or said what holds it),
    then those of which a figure is not known. `not_compared` counts the fitments beyond those.
    `conditions` are the load on sealed roads, on unsealed ones and parked. `ways` is empty where the load is within.
    """

    unit: str
    condition: str
    asked: OptionView
    alternatives: list[AlternativeView]
    not_compared: int
    conditions: list[ConditionView]
    leave_behind: LeaveView
    ways: list[WayView]
    notes: list[NoteView]
    cautions: Sequence[str]
    receipt: Receipt


class Found(msgspec.Struct, frozen=True, kw_only=True):
    """What was found for a load, before it is put into anybody's unit: `rack` is what was asked about."""

    request: Request
    rack: tuple[tuple[str, ...], str | None]
    asked: Worked
    alternatives: list[Alternative]
    not_compared: int
    conditions: list[InCondition]
    left: Left
    then: Worked | None
    things: list[Thing]


MOST_RACKS: Final = 3
"""Of racks on which the load is within, so many are named among the ways."""


def options_view(found: Found, unit: Unit, receipt: Receipt) -> OptionsView:
    """What else could be done, as it is sent."""
    return OptionsView(
        unit=unit,
        condition=found.request.condition,
        asked=OptionView(**_numbers(found, found.asked, unit)),
        alternatives=[_alternative(found, each, unit) for each in found.alternatives],
        not_compared=found.not_compared,
        conditions=[
            ConditionView(
                **{**_numbers(found, each.worked, unit), "condition": each.condition},
                without_people=each.without_people,
            )
            for each in found.conditions
        ],
        leave_behind=_leave(found, unit),
        ways=list(_ways(found, unit)),
        notes=note_views(_notes(found)),
        cautions=CAUTIONS,
        receipt=receipt,
    )


def _numbers(found: Found, worked: Worked, unit: Unit) -> dict[str, Any]:
    """The main numbers of a budget on the rack that was asked about, in the condition asked."""
    budget = worked.budget
    weakest = budget.weakest
    return {
        "condition": found.request.condition,
        "carriers": found.rack[0],
        "fixing": found.rack[1],
        "verdict": budget.verdict,
        "reasons": budget.reasons,
        "allowed_cargo": down(budget.allowed, unit),
        "ceiling": down(budget.ceiling, unit),
        "remaining": down(budget.remaining, unit),
        "remaining_worst": down(budget.remaining_worst, unit),
        "carrier_alone_exceeds": budget.raw is not None and budget.raw < 0,
        "mass_on_roof": carried_in(unit, budget.stack.mass + budget.load.cargo),
        "binding": tuple(dict.fromkeys(each.name for each in budget.binding)),
        "vetted": budget.vetted,
        "confidence": budget.confidence,
        "weakest": None if weakest is None else BestView(weakest.claim, weakest.confidence),
        "difference": down(difference(worked, found.asked), unit),
        "notes": worked.notes,
        "unreviewed_lower": unreviewed_views(worked.unreviewed_lower, unit),
        "off_road_unsaid": worked.off_road_unsaid,
    }


def _notes(found: Found) -> dict[str, None]:
    """Every note of what is shown, once."""
    racks = [each.worked for each in found.alternatives]
    shown = [found.asked, *racks, *(each.worked for each in found.conditions)]
    return dict.fromkeys(note for worked in shown for note in worked.notes)


def _alternative(found: Found, each: Alternative, unit: Unit) -> AlternativeView:
    rack = {"carriers": (each.fit.carrier,), "fixing": each.fixing}
    return AlternativeView(
        **{**_numbers(found, each.worked, unit), **rack},
        fitment=each.fit.fitment,
        confirmed=each.fit.confirmed,
        roofs=each.fit.roofs,
        is_asked=each.is_asked,
    )


# What to leave behind


def _leave(found: Found, unit: Unit) -> LeaveView:
    left = found.left
    chosen = [[_left(found.things[place], pieces, unit) for place, pieces in choice] for choice in left.choices]
    return LeaveView(
        outcome=left.outcome,
        sentence=_sentence(left, unit),
        pieces=left.pieces,
        mass=carried_in(unit, left.grams),
        things=chosen[0] if chosen else [],
        ties=chosen[1:],
        more_ties=left.more,
        lightest=left.lightest,
        then=None if found.then is None else OptionView(**_numbers(found, found.then, unit)),
    )


def _left(thing: Thing, pieces: int, unit: Unit) -> LeftView:
    worst = thing.one.worst
    mass = None if worst is None else carried_in(unit, pieces * worst)
    return LeftView(thing.place, thing.one.name, pieces, thing.quantity, mass)


_SENTENCES: Final = {
    Outcome.NOTHING: "Nothing has to be left behind.",
    Outcome.RACK_ALONE_EXCEEDS: "Leaving things behind does not help: the rack alone is more than may stand there.",
    Outcome.WHAT_STAYS_EXCEEDS: "Leaving the rest behind does not help: what stays is too much by itself.",
    Outcome.WHAT_STAYS_UNKNOWN: "It cannot be said what to leave behind: what a thing that stays weighs is not known.",
    Outcome.LIMIT_UNKNOWN: "It cannot be said what to leave behind: how much may be carried is not known.",
}


def _sentence(left: Left, unit: Unit) -> str:
    if left.outcome is not Outcome.LEAVE:
        return _SENTENCES[left.outcome]
    pieces = "1 thing" if left.pieces == 1 else f"{left.pieces} things"
    weigh = f", {carried_in(unit, left.grams):.3f}".rstrip("0").rstrip(".") + f" {unit}" if left.grams else ""
    return f"Leave {pieces} behind{weigh}: the rest is allowed even if all of it is as heavy as it may be."


# The ways


def _ways(found: Found, unit: Unit) -> Iterator[WayView]:
    """What to leave behind, then racks, then milder conditions: whatever has the load surely within."""
    if fits_surely(found.asked.budget):
        return
    if found.then is not None:
        yield _way("leave_behind", found.rack, found.then, unit, found.left.pieces)
    racks = [each for each in found.alternatives if each.fit.confirmed and _is_better(found, each)]
    for each in racks[:MOST_RACKS]:
        yield _way("other_carrier", ((each.fit.carrier,), each.fixing), each.worked, unit)
    for condition in milder(found.request.condition):
        for there in found.conditions:
            if there.condition is condition and not there.without_people and fits_surely(there.worked.budget):
                yield _way(condition, found.rack, there.worked, unit)


def _is_better(found: Found, each: Alternative) -> bool:
    """Whether the load is surely within on a rack of which off-road no less is known than of the one asked about."""
    known_as_well = found.asked.off_road_unsaid or not each.worked.off_road_unsaid
    return known_as_well and fits_surely(each.worked.budget)


def _way(kind: str, rack: tuple[tuple[str, ...], str | None], worked: Worked, unit: Unit, pieces: int = 0) -> WayView:
    budget = worked.budget
    remaining, worst = budget.remaining or 0, budget.remaining_worst or 0
    return WayView(
        kind=kind,
        carriers=rack[0],
        fixing=rack[1],
        pieces=pieces,
        verdict=budget.verdict,
        remaining=allowed_in(unit, remaining),
        remaining_worst=allowed_in(unit, worst),
    )
