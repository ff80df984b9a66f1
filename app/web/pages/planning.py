"""The load planner: a vehicle, what stands on its roof, and what may still go up. The whole plan stands in the address."""

from typing import Final
from urllib.parse import quote, urlencode

import msgspec
from fastapi import APIRouter
from starlette.responses import Response

from app.core.errors import CantrailError, Fault, Kind
from app.core.gear import CATEGORIES
from app.core.mass import Unit
from app.core.scope import NONE_OF_THESE, Value, Years
from app.services.asked import BudgetIn
from app.services.faults import bad_input
from app.services.views.budgets import BudgetQuestionView, BudgetView
from app.web.pages.plan_address import GIVEN, MOST, PLAIN, Plan, plan_of
from app.web.pages.plan_answer import Answer, answered, names_in
from app.web.pages.plan_form import Form, form_of, has_field, placed, rack_fields, rows_shown, usuals
from app.web.pages.plan_options import options_for, options_shown
from app.web.pages.plan_words import Names
from app.web.pages.visiting import PageRoute, Visit, Visiting
from app.web.pages.writing import allowed, value

router = APIRouter(route_class=PageRoute, include_in_schema=False)

BUDGET: Final = msgspec.json.Decoder(BudgetView)
FIXED: Final = (("built_in", "part of the rack"),)
OWN_FIGURES: Final = frozenset({"min_confidence", "parked_multiple"})
MOST_YEARS: Final = 16
CONTEXT: Final = {"years": "year", "bodies": "body", "roofs": "roofs", "markets": "market"}


class Pill(msgspec.Struct, frozen=True):
    """An answer that can be given to a question: where that leads, or nowhere where no address can say it."""

    label: str
    figure: str
    href: str


class Question(msgspec.Struct, frozen=True):
    """What would narrow the answer."""

    text: str
    pills: tuple[Pill, ...]


@router.get("/plan")
def planner(visit: Visiting) -> Response:
    """The planner, with its answer."""
    plan = plan_of(visit.request.scope["query_string"])
    pressed = _pressed(plan)
    if pressed is not None:
        return visit.go(pressed)
    unit, plan = _unit_of(visit, plan)
    if plan.untidy and not plan.faults:
        return visit.go(plan.address(unit, **plan.looking))
    if unit != visit.unit and plan.has_masses and not plan.faults:
        turned = _turned(plan, visit.unit)
        if turned is not None:
            return visit.go(turned.address(visit.unit, **plan.looking))
    visit.unit = unit if plan.has_masses else visit.unit
    return shown(visit, plan)


def shown(visit: Visit, plan: Plan) -> Response:
    """A plan and its answer, or what keeps it from being answered."""
    unit = visit.unit
    answer, other, faults = None, None, list(plan.faults)
    if plan.text("vehicle") or "given_roof.limit" in plan.fields or plan.carriers or plan.rows("gear"):
        try:
            answer = _answer(visit, plan.asked(unit))
            other = options_for(visit.registry.answers, plan, unit)
        except CantrailError as error:
            if error.kind is not Kind.INVALID:
                raise
            faults += error.faults or (Fault("", error.code, error.message),)
    if faults:
        answer = other = None
    form = visit.read(lambda session: form_of(session, visit.registry.finder, plan, unit))
    at = placed(faults)
    # Somebody who has only begun is asked for the vehicle, and not told that it is missing.
    begun = bool(at) and not (set(at) == {"vehicle"} and not plan.text("vehicle"))
    told = at if begun else {}
    return visit.page(
        "plan.html",
        422 if begun else 200,
        plan=plan,
        form=form,
        answer=answer,
        options=None if other is None else visit.read(lambda session: options_shown(session, other, plan, unit)),
        faults=told,
        is_wrong={
            "car": bool(told.keys() & {"year", "body", "market", "roofs"}),
            "own": any(name in OWN_FIGURES or name.startswith("given_roof") for name in told),
        },
        its_page=_its_page(plan),
        car_said=_car_said(plan),
        unplaced=[text for name, text in told.items() if not has_field(plan, form, name)],
        questions=[] if answer is None else _questions(plan, form, answer, unit),
        query=plan.query(unit),
        unit=unit,
        rack_fields=rack_fields(plan),
        racks=[*((each.value, each.label) for each in form.racks), (GIVEN, "figures of my own")],
        fixings=[*FIXED, *((each.value, each.label) for each in form.fixings), (GIVEN, "figures of my own")],
        bodies=[(each, value(each, "bodies")) for each in form.bodies],
        rows=rows_shown(plan, "gear"),
        people=rows_shown(plan, "people"),
        usual_of={each.id: each for each in usuals(unit)},
        most=MOST,
        categories=CATEGORIES,
    )


def _its_page(plan: Plan) -> str:
    """The vehicle's page, for the car as the plan says it."""
    said = [("year", plan.text("year")), ("body", plan.text("body")), *(("roofs", roof) for roof in plan.roofs)]
    said += [("market", plan.text("market")), ("min_confidence", plan.text("min_confidence"))]
    query = urlencode([(name, text) for name, text in said if text])
    return f"/vehicles/{quote(plan.text('vehicle'))}" + (f"?{query}" if query else "")


def _car_said(plan: Plan) -> str:
    """What a plan says of the car, in words."""
    body, market = plan.text("body"), plan.text("market")
    told = [plan.text("year"), value(body, "bodies") if body else "", value(plan.roofs, "roofs") if plan.roofs else ""]
    return " · ".join(filter(None, [*told, f"sold in {market}" if market else ""]))


def budget(visit: Visit, asked: BudgetIn) -> BudgetView:
    """A budget, exactly as the API answers it."""
    return BUDGET.decode(visit.registry.answers.budget(asked).body)


def _answer(visit: Visit, asked: BudgetIn) -> Answer:
    view = budget(visit, asked)
    names: Names = visit.read(lambda session: names_in(session, asked))
    return answered(view, asked, names)


def _pressed(plan: Plan) -> str | None:
    """Where a button leads: the same plan with something added, left out or changed."""
    unit = Unit.LB if plan.text("unit") == "lb" else Unit.KG
    looking = {name: text for name, text in plan.looking.items() if name in {"shelf", "after"}}
    if "leave_out" in plan.looking:
        kind, _, place = plan.looking["leave_out"].partition(".")
        if kind not in {"gear", "people"} or not place.isdigit():
            raise _bad_button("leave_out")
        return f"{plan.without_row(kind, int(place[:3])).address(unit)}#load"
    if "add" in plan.looking:
        name, _, text = plan.looking["add"].partition(":")
        if name == "row":
            return f"{plan.address(unit)}#load"
        if name not in {"id", "category"}:
            raise _bad_button("add")
        return f"{plan.with_row('gear', **{name: text}).address(unit, **looking)}#load"
    if "change" in plan.looking:
        name, _, text = plan.looking["change"].partition(":")
        if name not in PLAIN and name.partition(".")[0] not in {"carrier", "gear"}:
            raise _bad_button("change")
        return plan.changed(**{name: text}).address(unit)
    return None


def _bad_button(name: str) -> CantrailError:
    return bad_input([Fault(f"/{name}", "bad_button", f"This `{name}` is none that a button of the planner sends.")])


def _unit_of(visit: Visit, plan: Plan) -> tuple[Unit, Plan]:
    """The unit in which a plan's figures were typed."""
    text = plan.text("unit")
    if text in {"", "kg", "lb"}:
        return (Unit(text) if text and plan.has_masses else visit.unit), plan
    fault = Fault("/unit", "not_one_of", "The unit of a plan is kg or lb.")
    return visit.unit, msgspec.structs.replace(plan, faults=(*plan.faults, fault))


def _turned(plan: Plan, unit: Unit) -> Plan | None:
    """A plan in the visitor's own unit; None where a figure of it is no mass."""
    try:
        return plan.in_unit(unit)
    except CantrailError:
        return None


# What would narrow the answer


def _questions(plan: Plan, form: Form, answer: Answer, unit: Unit) -> list[Question]:
    asked = [_question(each, plan, form, unit) for each in answer.view.questions]
    if "fixing_not_said" in answer.view.reasons and plan.carriers:
        known = form.holding.get(plan.carriers[0], ())
        pills = [Pill(each.label, "", plan.changed(fixing=each.value).address(unit)) for each in known]
        built_in = Pill("it is part of the rack", "", plan.changed(fixing="built_in").address(unit))
        asked.insert(0, Question("What holds the rack to the roof?", (*pills, built_in)))
    return asked


def _question(asked: BudgetQuestionView, plan: Plan, form: Form, unit: Unit) -> Question:
    words = {
        "years": "Which model year is it?",
        "bodies": "Which body has it?",
        "roofs": "What does its roof have from the factory?",
        "markets": "In which country was it sold new?",
    }
    pills = []
    for each in asked.answers:
        figure = "not known" if each.allowed_cargo is None else f"{allowed(each.allowed_cargo)} {unit}"
        for label, text in _said(each.value, asked.dimension, form):
            href = plan.changed(**{CONTEXT[asked.dimension]: text}).address(unit) if text else ""
            pills.append(Pill(label, figure, href))
    return Question(words[asked.dimension], tuple(pills))


def _said(given: Value, dimension: str, form: Form) -> list[tuple[str, str]]:
    """A value in words, and as an address says it; empty where no one value can be said."""
    if isinstance(given, Years):
        years = _years(given, form)
        return years or [(f"{given.first} to {given.last or 'now'}", "")]
    if given == NONE_OF_THESE:
        return [("anything else", "")]
    return [(value(given, dimension), str(given))]


def _years(given: Years, form: Form) -> list[tuple[str, str]]:
    """Each year of a span, where the vehicle was not made for too long to tell them all."""
    made = form.vehicle.years if form.vehicle is not None and isinstance(form.vehicle.years, Years) else given
    first, last = max(given.first, made.first), min(given.end, made.end)
    return [] if last - first >= MOST_YEARS else [(str(year), str(year)) for year in range(first, last + 1)]
