"""What else could be done with a load, as the planner shows it: the three conditions beside each other, every rack that
fits by what it leaves, and what to leave behind."""

from collections.abc import Iterator
from typing import Final

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.mass import Unit
from app.persistence.session import ReadSession
from app.services.answering import Answers
from app.services.asked import OptionsIn
from app.services.calling import called
from app.services.options import options
from app.services.views.answers import UnreviewedView
from app.services.views.options import LeftView, OptionsView, OptionView, WayView
from app.web.pages.plan_address import GIVEN, Plan, carrier_at
from app.web.pages.plan_answer import stamped
from app.web.pages.writing import allowed, carried, said

SHOWN: Final = 12
"""So many racks stand in the table; the rest is a link further."""


MOST_PIECES: Final = 4
MOST_TIES: Final = 3


class Row(msgspec.Struct, frozen=True):
    """The load on one rack, or in one condition: what it comes to, the plan that has it, and the undecided claims that
    would lower this and not what was asked."""

    label: str
    beside: str
    href: str
    is_asked: bool
    view: OptionView
    word: str
    more: str = ""
    lower: tuple[UnreviewedView, ...] = ()


class Way(msgspec.Struct, frozen=True):
    """One way to have the load within: what to do, and what that leaves."""

    text: str
    left: str
    href: str


class Options(msgspec.Struct, frozen=True):
    """What else could be done."""

    conditions: tuple[Row, ...]
    racks: tuple[Row, ...]
    has_unsaid: bool
    more_racks: int
    ways: tuple[Way, ...]
    leave: str
    things: tuple[str, ...]
    without: str
    ties: tuple[str, ...]


def options_for(answers: Answers, plan: Plan, unit: Unit) -> OptionsView:
    """What the API says of it. Raises as a budget does."""
    body = plan.body(unit)
    gear = [{**item, "stays": place in plan.stays} for place, item in enumerate(body["gear"], start=1)]
    return options(answers, msgspec.convert(msgspec.to_builtins({**body, "gear": gear}), OptionsIn))


def options_shown(session: ReadSession, view: OptionsView, plan: Plan, unit: Unit) -> Options:
    """The same as it is shown."""
    names = _names(session, view)
    left = view.leave_behind
    return Options(
        conditions=tuple(_conditions(view, plan, unit)),
        racks=tuple(_racks(view, plan, unit, names))[:SHOWN],
        has_unsaid=any(each.off_road_unsaid for each in view.alternatives[:SHOWN]),
        more_racks=max(0, len(view.alternatives) - SHOWN) + view.not_compared,
        ways=tuple(_ways(view, plan, unit, names)),
        leave="" if left.outcome in {"nothing", "leave"} else left.sentence,
        things=tuple(_piece(each, unit) for each in left.things),
        without=_without(plan, left.things).address(unit) if left.things else "",
        ties=tuple(_pieces(tie, unit) for tie in left.ties[:MOST_TIES] if len(tie) <= MOST_PIECES),
    )


def _names(session: ReadSession, view: OptionsView) -> dict[str, str]:
    racks: list[OptionView | WayView] = [*view.alternatives, *view.ways]
    subjects = [
        Subject(kind, id)
        for each in racks
        for kind, id in ((SubjectKind.FIXING, each.fixing), *((SubjectKind.CARRIER, id) for id in each.carriers))
        if id is not None
    ]
    return {subject.id: name for subject, name in called(session, subjects).items()}


def _conditions(view: OptionsView, plan: Plan, unit: Unit) -> Iterator[Row]:
    for each in view.conditions:
        href = plan.changed(condition=each.condition).address(unit)
        beside = "people left out" if each.without_people else ""
        is_asked = each.condition == view.condition
        yield Row(said(each.condition, "condition"), beside, href, is_asked, each, stamped(each.verdict, each.reasons))


def _racks(view: OptionsView, plan: Plan, unit: Unit, names: dict[str, str]) -> Iterator[Row]:
    for each in view.alternatives:
        beside = [
            "" if each.fixing in {None, "built_in"} else f"with {_called(each.fixing, names)}",
            f"on {' or '.join(said(roof, 'roof') for roof in each.roofs)}" if each.roofs else "",
            "" if each.confirmed else "not checked yet that it fits",
            "off-road factor not known" if each.off_road_unsaid else "",
        ]
        known = {lower.claim for lower in view.asked.unreviewed_lower}
        lower = tuple(each_lower for each_lower in each.unreviewed_lower if each_lower.claim not in known)
        more = ""
        if each.difference is not None and not each.is_asked and view.asked.carriers:
            more = f"{allowed(each.difference, sign=True)} {unit}" if each.difference else "the same"
        href = _on(plan, each.carriers, each.fixing).address(unit)
        label = " and ".join(_called(id, names) for id in each.carriers)
        word = stamped(each.verdict, each.reasons)
        yield Row(label, ", ".join(filter(None, beside)), href, each.is_asked, each, word, more, lower)


def _ways(view: OptionsView, plan: Plan, unit: Unit, names: dict[str, str]) -> Iterator[Way]:
    for way in view.ways:
        left = f"{allowed(way.remaining)} {unit}"
        yield Way(_way_text(way, view, names, unit), left, _way_plan(way, view, plan).address(unit))


def _way_text(way: WayView, view: OptionsView, names: dict[str, str], unit: Unit) -> str:
    match way.kind:
        case "leave_behind":
            return f"Leave behind: {_pieces(view.leave_behind.things, unit)}"
        case "other_carrier":
            return f"{' and '.join(_called(id, names) for id in way.carriers)} instead"
        case "on_road":
            return "Sealed roads only"
        case _:
            return "Parked only"


def _way_plan(way: WayView, view: OptionsView, plan: Plan) -> Plan:
    match way.kind:
        case "leave_behind":
            return _without(plan, view.leave_behind.things)
        case "other_carrier":
            return _on(plan, way.carriers, way.fixing)
        case _:
            return plan.changed(condition=way.kind)


def _on(plan: Plan, carriers: tuple[str, ...], fixing: str | None) -> Plan:
    """The same load on another rack."""
    if GIVEN in carriers:
        return plan
    taken = {name: "" for name in plan.fields if name == "fixing" or name.startswith(("carrier", "fixing."))}
    chosen = {carrier_at(place): id for place, id in enumerate(carriers, start=1)}
    return plan.changed(**{**taken, **chosen, "fixing": fixing or ""})


def _without(plan: Plan, left: list[LeftView]) -> Plan:
    """The same plan without what is left behind."""
    for each in sorted(left, key=lambda each: -each.gear):
        place = each.gear + 1
        if each.pieces >= each.quantity:
            plan = plan.without_row("gear", place)
        else:
            plan = plan.changed(**{f"gear.{place}.quantity": str(each.quantity - each.pieces)})
    return plan


def _pieces(left: list[LeftView], unit: Unit) -> str:
    """What is left behind; of many things the first, and how many more."""
    more = len(left) - MOST_PIECES
    named = ", ".join(_piece(each, unit) for each in left[:MOST_PIECES])
    return f"{named} and {more} more" if more > 0 else named


def _piece(left: LeftView, unit: Unit) -> str:
    many = f"{left.pieces} of {left.quantity} \N{MULTIPLICATION SIGN} " if left.quantity > 1 else ""
    mass = "" if left.mass is None else f" ({carried(left.mass)} {unit})"
    return f"{many}{left.name}{mass}"


def _called(id: str | None, names: dict[str, str]) -> str:
    return "your own rack" if id == GIVEN else names.get(id or "", id or "")
