"""Budgets as they are sent: grams become the asker's unit, on the safe side."""

from collections.abc import Iterable, Sequence

import msgspec

from app.core.asking import BudgetAnswer, StackAnswer
from app.core.budget import Constraint, Item, Stack
from app.core.mass import Unit, allowed_in, carried_in
from app.core.scope import Value
from app.core.selection import Firmness
from app.core.steps import Step, limit_steps, load_steps
from app.core.wording import CAUTIONS, NOTES
from app.services.views.answers import (
    BASIS,
    BOUND,
    BestView,
    ConflictView,
    NoteView,
    Receipt,
    RefusalView,
    UnreviewedView,
    conflict_views,
    down,
    note_views,
    refusal_view,
    unreviewed_views,
)


class BudgetAnswerView(msgspec.Struct, frozen=True):
    """What one value of the dimension would allow."""

    value: Value
    allowed_cargo: float | None


class BudgetQuestionView(msgspec.Struct, frozen=True):
    """A dimension on which the budget depends."""

    dimension: str
    answers: list[BudgetAnswerView]


class ConstraintView(msgspec.Struct, frozen=True):
    """One limit on the cargo: its figure with basis and bound, and how much cargo it leaves."""

    constraint: str
    by: str
    figure: float
    basis: str
    bound: str
    kind: str
    condition: str
    cargo_allowed: float | None
    confidence: float | None
    claims: tuple[str, ...]
    given: bool
    note: str | None


class TrapView(msgspec.Struct, frozen=True):
    """What the top carrier's own rating suggests, what is really allowed, and the difference."""

    carrier: str
    carrier_rating: float
    really_allowed: float
    difference: float


class StepView(msgspec.Struct, frozen=True):
    """One line of the working."""

    text: str
    value: float | None
    claims: tuple[str, ...]


class EstimateView(msgspec.Struct, frozen=True):
    """A guess at a parked limit: common practice, no source. It changes nothing else."""

    multiple: int
    parked_limit: float
    cargo_allowed: float
    sentence: str


class BudgetView(msgspec.Struct, frozen=True, kw_only=True):
    """What may still go up, what stops it, and why."""

    verdict: str
    reasons: tuple[str, ...]
    condition: str
    unit: str
    allowed_cargo: float | None
    ceiling: float | None
    cargo: float
    cargo_least: float
    cargo_worst: float
    remaining: float | None
    remaining_worst: float | None
    carrier_alone_exceeds: bool
    mass_on_roof: float
    binding: list[str]
    constraints: list[ConstraintView]
    trap: TrapView | None
    vetted: bool
    confidence: float | None
    weakest: BestView | None
    questions: list[BudgetQuestionView]
    refusals: list[RefusalView]
    unreviewed_lower: list[UnreviewedView]
    conflicts: list[ConflictView]
    unvetted_estimate: EstimateView | None
    steps: list[StepView]
    notes: list[NoteView]
    cautions: Sequence[str]
    receipt: Receipt


class StackView(msgspec.Struct, frozen=True):
    """What is sent of a stack, whatever it then carries."""

    constraints: list[ConstraintView]
    binding: list[str]
    trap: TrapView | None
    questions: list[BudgetQuestionView]
    refusals: list[RefusalView]
    unreviewed_lower: list[UnreviewedView]
    conflicts: list[ConflictView]
    estimate: EstimateView | None
    steps: list[StepView]
    notes: list[NoteView]


def stack_view(answer: StackAnswer, unit: Unit) -> StackView:
    """A stack as it is sent."""
    stack = answer.stack
    masses_known = not any(missing.figure == "own_mass" for missing in stack.missing)
    return StackView(
        constraints=[
            _constraint(each, answer.setup.condition, unit, masses_known=masses_known) for each in stack.constraints
        ],
        binding=list(dict.fromkeys(constraint.name for constraint in stack.binding)),
        trap=_trap(stack, unit),
        questions=[
            BudgetQuestionView(
                asked.dimension, [BudgetAnswerView(value, down(allowed, unit)) for value, allowed in asked.answers]
            )
            for asked in answer.questions
        ],
        refusals=[refusal_view(each) for each in answer.refusals],
        unreviewed_lower=unreviewed_views(answer.unreviewed_lower, unit),
        conflicts=conflict_views(answer.conflicts, unit),
        estimate=_estimate(answer, unit),
        steps=step_views(limit_steps(answer.setup, stack), unit),
        notes=note_views(answer.notes),
    )


def budget_view(
    answer: BudgetAnswer, stacked: StackView, items: Iterable[Item], unit: Unit, receipt: Receipt
) -> BudgetView:
    """A budget as it is sent."""
    worked, load = answer.budget, answer.budget.load
    refusals = stacked.refusals
    if load.missing:
        refusals = [refusal_view(each) for each in answer.refusals]
    return BudgetView(
        verdict=worked.verdict,
        reasons=worked.reasons,
        condition=answer.stacked.setup.condition,
        unit=unit,
        allowed_cargo=down(worked.allowed, unit),
        ceiling=down(worked.ceiling, unit),
        cargo=carried_in(unit, load.cargo),
        cargo_least=carried_in(unit, load.least),
        cargo_worst=carried_in(unit, load.worst),
        remaining=down(worked.remaining, unit),
        remaining_worst=down(worked.remaining_worst, unit),
        carrier_alone_exceeds=worked.raw is not None and worked.raw < 0,
        mass_on_roof=carried_in(unit, worked.stack.mass + load.cargo),
        binding=stacked.binding if worked.binding else [],
        constraints=stacked.constraints,
        trap=stacked.trap if worked.trap else None,
        vetted=worked.vetted,
        confidence=worked.confidence,
        weakest=None if worked.weakest is None else BestView(worked.weakest.claim, worked.weakest.confidence),
        questions=stacked.questions,
        refusals=refusals,
        unreviewed_lower=stacked.unreviewed_lower,
        conflicts=stacked.conflicts,
        unvetted_estimate=stacked.estimate,
        steps=[*stacked.steps, *step_views(load_steps(worked, items), unit)],
        notes=stacked.notes,
        cautions=CAUTIONS,
        receipt=receipt,
    )


def _constraint(found: Constraint, condition: str, unit: Unit, *, masses_known: bool) -> ConstraintView:
    """A constraint; "at least" nothing is said of what a floor leaves while a mass is not known."""
    line = found.line
    floor_unknown = not masses_known and line.firmness is Firmness.FLOOR
    return ConstraintView(
        found.name,
        found.by,
        allowed_in(unit, line.grams),
        BASIS[line.side],
        BOUND[line.firmness],
        line.firmness,
        condition,
        None if floor_unknown else allowed_in(unit, found.allowed),
        None if line.given else line.confidence,
        line.claims,
        line.given,
        None if found.factor_by is None else f"reduced by the off-road factor of {found.factor_by}",
    )


def _trap(stack: Stack, unit: Unit) -> TrapView | None:
    trap = stack.trap
    if trap is None:
        return None
    return TrapView(
        trap.carrier,
        allowed_in(unit, trap.carrier_rating),
        allowed_in(unit, trap.really_allowed),
        allowed_in(unit, trap.carrier_rating - trap.really_allowed),
    )


def step_views(steps: Iterable[Step], unit: Unit) -> list[StepView]:
    """Steps as they are sent."""
    return [_step(each, unit) for each in steps]


def _step(step: Step, unit: Unit) -> StepView:
    if step.grams is None:
        return StepView(step.text, None, step.claims)
    value = (
        -carried_in(unit, -step.grams)
        if step.grams < 0 and step.carried
        else (carried_in(unit, step.grams) if step.carried else allowed_in(unit, step.grams))
    )
    return StepView(step.text, value, step.claims)


def _estimate(answer: StackAnswer, unit: Unit) -> EstimateView | None:
    found = answer.estimate
    if found is None:
        return None
    return EstimateView(
        found.multiple,
        allowed_in(unit, found.parked_limit),
        allowed_in(unit, found.cargo_allowed),
        NOTES["estimate_is_a_guess"],
    )
