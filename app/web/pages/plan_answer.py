"""A budget's answer as it is shown: the verdict in one sentence, the beam, the limits by name, and the pencil steps."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.gear import CATEGORIES
from app.persistence.session import AnySession
from app.services.asked import BudgetIn, GearIn, PartIn
from app.services.calling import called
from app.services.views.budgets import BudgetView, ConstraintView, StepView
from app.web.pages.beam import drawing
from app.web.pages.beam_flags import apart
from app.web.pages.beam_shapes import Drawing, Kind, Load, Mark, Thing
from app.web.pages.plan_words import STICKER, Names, in_plain_words, named, step_text
from app.web.pages.writing import allowed, carried, decimals, number, said, tenths

ROOFS: Final = frozenset({"vehicle_roof", "vehicle_roof_reduced", "given_roof"})
WHO: Final = {
    "vehicle_roof": "the roof",
    "vehicle_roof_reduced": "the roof as reduced off road",
    "given_roof": "the roof as you gave it",
    "carrier": "the rack",
    "fixing": "the fixing",
    "fitment": "this rack on this vehicle",
}
"""What may stop a load, as the trade says it."""

BRIEF: Final = {"vehicle_roof_reduced": "off road", "given_roof": "yours", "fitment": "rack"}
"""The shortest that a limit is called, where a drawing has no room for more."""

SHORT: Final = {
    "vehicle_roof": "roof",
    "vehicle_roof_reduced": "roof off road",
    "given_roof": "your figure",
    "carrier": "rack",
    "fixing": "fixing",
    "fitment": "rack on this car",
}
BOUNDS: Final = {"at_least": "at least ", "at_most": "at most "}
PATHS: Final = {"carrier": "carriers", "fixing": "fixings", "fitment": "fitments"}
ROUNDED: Final = 0.0025
"""Sums of figures that were rounded each for itself may lie so far off."""

MISSING: Final = {
    "roof_limit_not_known": "the roof’s limit",
    "own_mass_not_known": "what the rack or its fixing weighs",
    "load_rating_not_known": "what the rack or its fixing is rated for",
    "mass_not_known": "what everything on it weighs",
}


class Verdict(msgspec.Struct, frozen=True):
    """The verdict in one sentence: how much, who stops it, and what is to be said of that."""

    code: str
    amount: str
    who: str = ""
    does: str = ""
    word: str = ""

    @property
    def stamp(self) -> str:
        """What is stamped."""
        return self.word or said(self.code, "verdict")

    @property
    def text(self) -> str:
        """The sentence, whole."""
        return " ".join(filter(None, [self.amount, f"{self.who}{self.does}"]))


class Limit(msgspec.Struct, frozen=True):
    """One limit in the list below the beam."""

    name: str
    by: str
    path: str
    binds: bool
    view: ConstraintView


class Step(msgspec.Struct, frozen=True):
    """One line of the worksheet, and how it is set: a line above it, or in the colour of what is too much."""

    text: str
    value: float | None
    claims: Sequence[str]
    style: str
    shown: str


class Answer(msgspec.Struct, frozen=True):
    """A budget with all that a page shows of it. `exact` is whether the working has more digits than what stands above
    it."""

    view: BudgetView
    names: Names
    verdict: Verdict
    limits: tuple[Limit, ...]
    steps: tuple[Step, ...]
    drawings: tuple[Drawing, ...]
    trap: str
    things: tuple[str, ...]
    has_rack: bool
    exact: bool

    def plain(self, sentence: str) -> str:
        """A sentence with names for ids, in the words of the counter."""
        return in_plain_words(named(sentence, self.names))


def names_in(session: AnySession, asked: BudgetIn) -> dict[str, str]:
    """What everything in a question is called."""
    fixing = asked.fixing
    subjects = [
        *([Subject(SubjectKind.VEHICLE, asked.vehicle)] if asked.vehicle else []),
        *([Subject(SubjectKind.FIXING, fixing.id)] if isinstance(fixing, PartIn) and fixing.id else []),
        *(Subject(SubjectKind.CARRIER, part.id) for part in asked.carriers if part.id),
        *(Subject(SubjectKind.GEAR, item.id) for item in asked.gear if item.id),
    ]
    return {subject.id: name for subject, name in called(session, subjects).items()}


def answered(view: BudgetView, asked: BudgetIn, names: Names) -> Answer:
    """An answer as it is shown."""
    things = tuple(_things(asked, names))
    load = _load(view, asked, names, things)
    return Answer(
        view=view,
        names=names,
        verdict=verdict_of(view, asked),
        limits=tuple(_limits(view, names)),
        steps=tuple(_steps(view, names)),
        drawings=(drawing(load, narrow=False), drawing(load, narrow=True)),
        trap=_trap(view, names),
        things=things,
        has_rack=bool(asked.carriers),
        exact=any(step.value is not None and decimals(step.value) > 1 for step in view.steps),
    )


# The verdict


def verdict_of(view: BudgetView, asked: BudgetIn) -> Verdict:
    """The verdict in one sentence."""
    match view.verdict:
        case "over":
            return _over(view)
        case "within":
            return _within(view, asked)
        case "marginal":
            return _marginal(view)
        case _:
            return _unknown(view)


def stamped(verdict: str, reasons: Sequence[str]) -> str:
    """What is stamped on an answer: a load may be near its limit, or nobody may know what holds the rack."""
    near = any(code.startswith("worst_over_") for code in reasons)
    return "NOT SURE" if verdict == "marginal" and not near else said(verdict, "verdict")


def _over(view: BudgetView) -> Verdict:
    who, does = _who(view.binding), _stops(view, view.binding)
    if view.remaining is None:
        exceeded = _least([code.removeprefix("over_") for code in view.reasons])
        excess = (
            f"{_carried(view, view.cargo_least - (view.ceiling or 0.0))} too much, whatever the rest turns out to be."
        )
        return Verdict("over", excess, _who(exceeded), _stops(view, exceeded))
    most = -view.remaining
    least = most - (view.cargo - view.cargo_least)
    much = _carried(view, most) if _same(least, most) else f"{carried(least)} to {_carried(view, most)}"
    if view.carrier_alone_exceeds:
        return Verdict("over", f"{much} too much, and the rack alone is too heavy.", who, does)
    return Verdict("over", f"{much} too much.", who, does)


def _least(exceeded: Sequence[str]) -> list[str]:
    """Of the limits that are exceeded, those that matter: a reduced roof allows less than the roof."""
    return [code for code in exceeded if code != "vehicle_roof" or "vehicle_roof_reduced" not in exceeded]


def _within(view: BudgetView, asked: BudgetIn) -> Verdict:
    room = "left" if view.cargo else "may go up" if asked.carriers else "may go up with no rack on it"
    return Verdict("within", f"{_left(view)} {room}.", _who(view.binding), _sets(view))


def _marginal(view: BudgetView) -> Verdict:
    who, does = _who(view.binding), _sets(view)
    if any(code.startswith("worst_over_") for code in view.reasons):
        worst = -(view.remaining_worst or 0.0)
        amount = f"{_left(view)} left, but {_carried(view, worst)} too much if all is as heavy as it may be."
        return Verdict("marginal", amount, who, does)
    amount = f"{_left(view)} left by what is known, but nothing says what holds the rack, and that has a limit too."
    return Verdict("marginal", amount, who, does, stamped(view.verdict, view.reasons))


def _unknown(view: BudgetView) -> Verdict:
    missing = [MISSING[code] for code in view.reasons if code in MISSING]
    most = "" if view.ceiling is None else f" No more than {_allowed(view, view.ceiling)} may go up in any case."
    if missing:
        return Verdict("unknown", f"It is not known {_either(list(_asked(missing)))}.{most}")
    who = _who([code.removeprefix("perhaps_over_") for code in view.reasons])
    much = "" if view.remaining is None else f"Perhaps {_carried(view, -view.remaining)} too much: "
    return Verdict("unknown", f"{much}nobody knows that it holds so much.".capitalize() + most, who, " may stop you.")


def _asked(missing: Iterable[str]) -> Iterator[str]:
    for each in missing:
        yield f"what {each} is" if each.startswith("the ") else each


def _either(things: Sequence[str]) -> str:
    return " or ".join(filter(None, [", ".join(things[:-1]), *things[-1:]]))


def _left(view: BudgetView) -> str:
    floor = any(
        each.kind == "floor" for each in view.constraints if each.constraint in view.binding and _binds(view, each)
    )
    return f"{'At least ' if floor else ''}{_allowed(view, view.remaining or 0.0)}"


def _who(codes: Iterable[str]) -> str:
    found = list(dict.fromkeys(WHO[code] for code in codes if code in WHO))
    text = " and ".join(filter(None, [", ".join(found[:-1]), *found[-1:]]))
    return text[:1].upper() + text[1:]


def _stops(view: BudgetView, stopping: Sequence[str]) -> str:
    return f" {'stop' if len(set(stopping)) > 1 else 'stops'} you{_not_the_rack(view)}."


def _sets(view: BudgetView) -> str:
    return f" {'set' if len(set(view.binding)) > 1 else 'sets'} the limit{_not_the_rack(view)}."


def _not_the_rack(view: BudgetView) -> str:
    """What people believe of the rack, put right where it is not the rack."""
    only_the_roof = bool(view.binding) and ROOFS.issuperset(view.binding)
    return ", not the rack" if only_the_roof and view.trap is not None and view.trap.difference > 0 else ""


def _trap(view: BudgetView, names: Names) -> str:
    trap = view.trap
    if trap is None or trap.difference <= 0:
        return ""
    less = tenths(trap.carrier_rating) - tenths(trap.really_allowed)
    rack = "your rack" if trap.carrier.startswith("given ") else named(trap.carrier, names)
    return (
        f"The sticker on {rack} says {_allowed(view, trap.carrier_rating)}. "
        f"Here it may carry {_allowed(view, trap.really_allowed)}: {_allowed(view, less)} less."
    )


def _allowed(view: BudgetView, amount: float) -> str:
    return f"{allowed(amount)} {view.unit}"


def _carried(view: BudgetView, amount: float) -> str:
    return f"{carried(amount)} {view.unit}"


def _same(one: float, other: float) -> bool:
    return round(one - other, 3) == 0


# The beam


def _load(view: BudgetView, asked: BudgetIn, names: Names, things: Sequence[str]) -> Load:
    rack = round(view.mass_on_roof - view.cargo, 3)
    masses = _masses(view, len(things))
    return Load(
        unit=view.unit,
        rack=rack,
        things=tuple(Thing(name, mass) for name, mass in zip(things, masses, strict=True) if mass),
        worst=round(rack + view.cargo_worst, 3),
        marks=apart(_marks(view, rack, names, several=len(asked.carriers) > 1)),
        known=view.allowed_cargo is not None or view.verdict == "over",
    )


def _marks(view: BudgetView, rack: float, names: Names, *, several: bool) -> Iterator[Mark]:
    for each in view.constraints:
        if each.cargo_allowed is None:
            continue
        at = _stands_at(each, rack)
        called = names.get(each.by, "rack") if several and each.constraint == "carrier" else SHORT[each.constraint]
        short = f"{called} {BOUNDS.get(each.bound, '')}{allowed(at)}"
        brief = f"{BRIEF.get(each.constraint, called)} {allowed(at)}" if each.bound == "exact" else short
        if _binds(view, each):
            does = "stops you at" if view.verdict == "over" else "sets the limit at"
            long = short if each.bound != "exact" else f"{called} {does} {allowed(at)}"
            yield Mark(at, long, short, Kind.BINDING, brief)
        else:
            yield Mark(at, short, short, brief=brief)
    if view.trap is not None:
        rating = allowed(view.trap.carrier_rating)
        at = next((at for at in _own_rating(view, rack)), round(rack + view.trap.carrier_rating, 3))
        yield Mark(at, f"the rack’s own sticker: {rating} on it", f"sticker: {rating}", Kind.STICKER)


def _stands_at(found: ConstraintView, rack: float) -> float:
    """Where a limit stands on the scale: at its own figure, where that only differs from the sum by how each is rounded."""
    at = round(rack + (found.cargo_allowed or 0.0), 3)
    return found.figure if abs(found.figure - at) < ROUNDED else at


def _own_rating(view: BudgetView, rack: float) -> Iterator[float]:
    """Where the top rack's own rating really stands, if it is one of the limits."""
    for each in view.constraints:
        trap = view.trap
        if trap is not None and each.constraint == "carrier" and each.by == trap.carrier:
            if each.figure == trap.carrier_rating and each.cargo_allowed is not None:
                yield round(rack + each.cargo_allowed, 3)


def _binds(view: BudgetView, found: ConstraintView) -> bool:
    """Whether a limit is the one that stops the load: the least that is allowed, or else the least ceiling."""
    if found.cargo_allowed is None:
        return False
    firm = [each for each in view.constraints if each.cargo_allowed is not None]
    if view.allowed_cargo is None:
        firm = [each for each in firm if each.kind != "floor"]
        return found in firm and found.cargo_allowed == min(each.cargo_allowed or 0.0 for each in firm)
    return found.cargo_allowed == min(each.cargo_allowed or 0.0 for each in firm)


def _things(asked: BudgetIn, names: Names) -> Iterator[str]:
    for item in asked.gear:
        yield thing_name(item, names) + (f" \N{MULTIPLICATION SIGN}{item.quantity}" if item.quantity > 1 else "")
    for person in asked.people:
        yield person.name or "person"


def thing_name(item: GearIn, names: Names) -> str:
    """What a thing is called."""
    usual = CATEGORIES.get(item.category or "")
    return item.name or (names.get(item.id, item.id) if item.id else "") or (usual.name if usual else "thing")


def _masses(view: BudgetView, count: int) -> list[float | None]:
    """How heavy each thing is at most: the steps name them in order, before what is left and what the sticker says."""
    behind = (view.remaining is not None) + (view.trap is not None)
    steps = view.steps[len(view.steps) - behind - count : len(view.steps) - behind]
    return [None if step.value is None else -step.value for step in steps]


# The limits by name, and the worksheet


def _limits(view: BudgetView, names: Names) -> Iterator[Limit]:
    order = sorted(view.constraints, key=lambda each: (each.cargo_allowed is None, each.cargo_allowed or 0.0))
    for each in order:
        path = (
            "" if each.given or each.by.startswith("given") else f"/{PATHS.get(each.constraint, 'vehicles')}/{each.by}"
        )
        by = "" if each.by.startswith("given") else names.get(each.by, each.by)
        who = WHO[each.constraint]
        yield Limit(who[0].upper() + who[1:], by, path, _binds(view, each), each)


def _steps(view: BudgetView, names: Names) -> Iterator[Step]:
    # Figures stand under each other as whoever adds them up would write them.
    places = max((decimals(step.value) for step in view.steps if step.value is not None), default=0)
    for place, step in enumerate(view.steps):
        last = place >= len(view.steps) - 1 - (view.trap is not None)
        shown = "not known" if step.value is None else number(step.value, places=places)
        yield Step(step_text(step, names), step.value, step.claims, _style(step, last=last), shown)


def _style(step: StepView, *, last: bool) -> str:
    if step.text == "may be carried" or (last and step.text == "left"):
        return "sum"
    if last and step.text == "over by":
        return "sum bad"
    return "aside" if step.text == STICKER else ""
