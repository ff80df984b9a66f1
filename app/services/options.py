"""What else could be done with a load: other racks that fit, other roads, and what to leave behind."""

from typing import Any, Final

import msgspec

from app.core.alternatives import Fit, Worked, alternatives, as_worked, fits, in_conditions, rack_of, work_out
from app.core.asking import Request, ask
from app.core.budget import load_of
from app.core.claim import Subject, SubjectKind
from app.core.leaving import Choice, Left, Thing, leave_behind
from app.core.mass import Unit
from app.core.scoring import Dossier
from app.services.answering import Answered, Answers
from app.services.asked import BudgetIn, GearIn, OptionsIn, StayingGearIn
from app.services.questions import budget_request, core_context, subjects_of
from app.services.receipts import budget_numbers, receipt, stack_numbers, thousandths, unreviewed_numbers
from app.services.views.options import Found, OptionsView, options_view

MOST_COMPARED: Final = 60
"""So many fitments are compared: those that are confirmed first, then the oldest. It is part of the method: an answer's
digest depends on it."""


_JSON: Final = msgspec.json.Encoder()


def answered_options(answers: Answers, asked: OptionsIn) -> Answered:
    """The same as it is sent. It counts as no question: whoever wants to know what else there is has asked for the budget."""
    found = options(answers, asked)
    return Answered(_JSON.encode(found), f'"{found.receipt.digest[7:39]}"')


def of_budget(asked: BudgetIn) -> OptionsIn:
    """The same question of a budget in which nothing is marked as staying."""
    said = {name: getattr(asked, name) for name in BudgetIn.__struct_fields__}
    gear = [StayingGearIn(**{name: getattr(each, name) for name in GearIn.__struct_fields__}) for each in asked.gear]
    return OptionsIn(**{**said, "gear": gear})


def options(answers: Answers, asked: OptionsIn) -> OptionsView:
    """What else could be done with a load. Raises as a budget does."""
    named = subjects_of(asked)
    dossiers = answers.gathered(asked, lambda found: _of_racks(_racks(asked, found)[:MOST_COMPARED]))
    held = dict(zip(named, dossiers, strict=False))
    request = budget_request(asked, dossiers[: len(named)])
    answer = ask(request)
    racks = _racks(asked, dossiers)
    following = dict(zip(_of_racks(racks[:MOST_COMPARED]), dossiers[len(named) :], strict=True))
    things = _things(asked, dossiers, request)
    left = leave_behind(answer.stacked.stack, answer.budget.load, things, request.people)
    found = Found(
        request=request,
        rack=rack_of(request),
        asked=as_worked(request, answer),
        alternatives=alternatives(request, [_with_dossiers(fit, following) for fit in racks[:MOST_COMPARED]]),
        not_compared=max(0, len(racks) - MOST_COMPARED),
        conditions=in_conditions(request),
        left=left,
        then=_without(asked, held, left.choices[0]) if left.choices else None,
        things=things,
    )
    plain = msgspec.structs.replace(asked, as_of=None)
    as_of = max((dossier.as_of for dossier in dossiers), default=0)
    method = dossiers[0].method if dossiers else ""
    numbers = [budget_numbers(answer, stack_numbers(answer.stacked)), *_numbers(found)]
    return options_view(found, Unit(asked.unit), receipt(plain, numbers, as_of, method))


def _racks(asked: OptionsIn, dossiers: list[Dossier]) -> tuple[Fit, ...]:
    return () if asked.vehicle is None else fits(dossiers[0], core_context(asked.context))


def _of_racks(racks: tuple[Fit, ...]) -> list[Subject]:
    """The carriers and fixings of some racks."""
    carriers = [Subject(SubjectKind.CARRIER, fit.carrier) for fit in racks]
    fixings = [Subject(SubjectKind.FIXING, fit.fixing) for fit in racks if fit.fixing is not None]
    return list(dict.fromkeys([*carriers, *fixings]))


def _with_dossiers(fit: Fit, dossiers: dict[Subject, Dossier]) -> tuple[Fit, Dossier, Dossier | None]:
    fixing = None if fit.fixing is None else dossiers[Subject(SubjectKind.FIXING, fit.fixing)]
    return fit, dossiers[Subject(SubjectKind.CARRIER, fit.carrier)], fixing


def _things(asked: OptionsIn, dossiers: list[Dossier], request: Request) -> list[Thing]:
    """What is carried, with what one piece of each thing weighs."""
    singly = [msgspec.structs.replace(each, quantity=1) for each in asked.gear]
    named = len(subjects_of(asked))
    ones = budget_request(msgspec.structs.replace(asked, gear=singly), dossiers[:named]).items
    return [
        Thing(place, each.quantity, all_, one, each.stays)
        for place, (each, all_, one) in enumerate(zip(asked.gear, request.items, ones, strict=True))
    ]


def _without(asked: OptionsIn, held: dict[Subject, Dossier], choice: Choice) -> Worked:
    """The budget without what is left behind."""
    left = dict(choice)
    kept = [
        msgspec.structs.replace(each, quantity=each.quantity - left.get(place, 0))
        for place, each in enumerate(asked.gear)
        if each.quantity > left.get(place, 0)
    ]
    rest = msgspec.structs.replace(asked, gear=kept)
    request = budget_request(rest, [held[subject] for subject in subjects_of(rest)])
    return work_out(request, load_of((*request.items, *request.people)))


# The receipt


def _numbers(found: Found) -> list[Any]:
    """The numbers, ids and codes of all but what was asked."""
    return [
        [
            [each.fit.fitment, each.fit.carrier, each.fixing, each.fit.roofs, each.fit.confirmed, _worked(each.worked)]
            for each in found.alternatives
        ],
        found.not_compared,
        [[each.condition, each.without_people, _worked(each.worked)] for each in found.conditions],
        _left(found.left),
        None if found.then is None else _worked(found.then),
    ]


def _worked(worked: Worked) -> list[Any]:
    budget = worked.budget
    return [
        worked.notes,
        budget.verdict,
        budget.reasons,
        [budget.stack.raw, budget.ceiling, budget.stack.mass],
        [budget.raw, budget.load.least, budget.load.cargo, budget.load.worst],
        list(dict.fromkeys(each.name for each in budget.binding)),
        budget.vetted,
        thousandths(budget.confidence),
        None if budget.weakest is None else budget.weakest.claim,
        unreviewed_numbers(worked.unreviewed_lower),
        worked.off_road_unsaid,
    ]


def _left(left: Left) -> list[Any]:
    return [left.outcome, left.pieces, left.grams, left.choices, left.more, left.lightest]
