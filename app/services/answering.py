"""Answer: a limit, another figure, or a budget, as of now or of any entry.

The answers come from dossiers in memory. What is `ready` is answered without waiting; None means that something must
first be read from the database, and the method without `ready` then does that.
"""

from collections.abc import Callable
from functools import partial
from hashlib import sha256
from typing import Any, Final

import msgspec

from app.core.asking import Request, StackAnswer, ask
from app.core.claim import LIMITS, ON_OWN_RATING, ON_ROOF, QUANTITIES, Condition, Quantity, Subject, SubjectKind
from app.core.confidence import SETS_AT
from app.core.entries import FitmentAdded
from app.core.errors import CantrailError, Fault, Kind, invalid
from app.core.limits import Figure, limit, own_mass
from app.core.mass import Unit
from app.core.roof import remembered
from app.core.scoring import Dossier, joined
from app.core.selection import Factor, factor_for
from app.persistence import ledger
from app.persistence.session import Database, ReadSession
from app.services.asked import BudgetIn, BudgetsIn, LimitIn
from app.services.demand import Demand, Keys, budget_keys, figure_keys
from app.services.dossiers import Dossiers, Further
from app.services.facts import Around
from app.services.questions import budget_request, core_context, demand_of, subjects_of
from app.services.receipts import (
    budget_numbers,
    limit_numbers,
    receipt,
    refusal_numbers,
    stack_numbers,
    thousandths,
    unreviewed_numbers,
)
from app.services.times import ledger_time
from app.services.views.answers import (
    FactorsView,
    LimitView,
    MassView,
    Receipt,
    factors_view,
    limit_view,
    mass_view,
)
from app.services.views.budgets import BudgetView, StackView, budget_view, stack_view

_JSON: Final = msgspec.json.Encoder()

AT_ONCE: Final = 8
"""So many dossiers are read at a time where many follow from what is asked."""


class Answered(msgspec.Struct, frozen=True):
    """An answer as it is sent: JSON, and a tag that changes only when something it depends on does. `figures` are those
    that were asked for, to be counted."""

    body: bytes
    etag: str
    figures: Keys = ()


class Budgets(msgspec.Struct, frozen=True):
    """Many budgets, in the order they were asked for."""

    budgets: list[BudgetView]


class Answers:
    """All that other tools ask of a registry."""

    def __init__(self, database: Database, capacity: int) -> None:
        self._database = database
        self._dossiers = Dossiers(database, capacity)
        self.demand = Demand()

    def ready_limit(self, subject: Subject, asked: LimitIn) -> Answered | None:
        """A figure, if it needs no reading; else None."""
        if asked.as_of is not None:
            return None
        found = self._dossiers.at_hand([subject])
        carriers = [] if found is None else _carrier_of(found[0])
        if found is None or not carriers:
            return None if found is None else self._counted(_figure(found[0], asked))
        found = self._dossiers.at_hand([subject, *carriers])
        return None if found is None else self._counted(_figure(joined(found[0], found[1]), asked))

    def limit(self, subject: Subject, asked: LimitIn) -> Answered:
        """A roof limit, load rating, own mass or off-road factor. Raises not_found and bad input."""
        answer = self.glance(subject, asked)
        return answer if asked.as_of is not None else self._counted(answer)

    def glance(self, subject: Subject, asked: LimitIn) -> Answered:
        """The same, for a list of many subjects: nobody asked for just this figure, so it is not counted."""
        (dossier,) = found = self._dossiers_for([subject], asked.as_of)
        for carrier in _carrier_of(dossier):
            found = self._dossiers_for([subject, carrier], asked.as_of)
            dossier = joined(found[0], found[1])
        return _figure(dossier, asked)

    def dossier(self, subject: Subject) -> Dossier:
        """What the answers about a subject come from, as of now. Raises not_found."""
        return self._dossiers_for([subject], None)[0]

    def around(self, session: ReadSession) -> Around:
        """The dossiers of subjects with the facts around them, as a session sees them."""
        return partial(self._dossiers.around, session)

    def ready_budget(self, asked: BudgetIn) -> Answered | None:
        """A budget, if it needs no reading; else None."""
        if asked.as_of is not None:
            return None
        found = self._dossiers.at_hand(subjects_of(asked))
        return None if found is None else self._counted(_answered_budget(asked, _budget(asked, found)))

    def budget(self, asked: BudgetIn) -> Answered:
        """A budget. Raises bad input, also where it names what is not in the registry."""
        answer = _answered_budget(asked, self._budget(asked))
        return answer if asked.as_of is not None else self._counted(answer)

    def budgets(self, asked: BudgetsIn) -> Answered:
        """Many budgets. What is wrong in one is said with its place, and none is answered."""
        found = []
        for place, each in enumerate(asked.budgets):
            try:
                found.append(self._budget(each))
                self.demand.note(budget_keys(each, found[-1]))
            except CantrailError as error:
                raise placed(error, f"/budgets/{place}") from error
        body = _JSON.encode(Budgets(found))
        return Answered(body, f'"{sha256(body).hexdigest()[:32]}"')

    def _counted(self, answer: Answered) -> Answered:
        self.demand.note(answer.figures)
        return answer

    def _budget(self, asked: BudgetIn) -> BudgetView:
        subjects = subjects_of(asked)
        try:
            dossiers = self._dossiers_for(subjects, asked.as_of)
        except CantrailError as error:
            raise _named_wrongly(error, asked) from error
        return _budget(asked, dossiers)

    def gathered(self, asked: BudgetIn, further: Further) -> list[Dossier]:
        """The dossiers that a budget names, then those that follow from them, all as of one entry. Raises as `budget`
        does."""
        subjects = subjects_of(asked)
        try:
            if asked.as_of is None:
                # Read a few at a time first, so that nobody who asks meanwhile waits for all of them.
                following = further(self._dossiers.get(subjects))
                if self._dossiers.at_hand(following) is None:
                    for start in range(0, len(following), AT_ONCE):
                        self._dossiers.get(following[start : start + AT_ONCE])
            return self._dossiers_for(subjects, asked.as_of, further)
        except CantrailError as error:
            raise _named_wrongly(error, asked) from error

    def _dossiers_for(
        self, subjects: list[Subject], as_of: int | str | None, further: Further | None = None
    ) -> list[Dossier]:
        """The dossiers of some subjects, now or as of an entry."""
        if as_of is None:
            at_hand = None if further is not None else self._dossiers.at_hand(subjects)
            return self._dossiers.get(subjects, further) if at_hand is None else at_hand
        return self._dossiers.as_of(subjects, self._entry(as_of), further)

    def _entry(self, as_of: int | str) -> int:
        """The number of an entry from a number, or from a time: the last entry at or before it."""
        with self._database.read() as session:
            head = ledger.head(session)
            if isinstance(as_of, str) and not as_of.isdigit():
                return ledger.seq_at(session, at=ledger_time(as_of, "/as_of"))
            if int(as_of) > head:
                raise invalid("/as_of", "not_yet", f"The last entry is {head}: nothing is known as of {as_of} yet.")
            return int(as_of)


def _answered(answer: LimitView | MassView | FactorsView | BudgetView, figures: Keys) -> Answered:
    """An answer's tag is its receipt's digest: over all that was asked and all that is answered but sentences."""
    return Answered(_JSON.encode(answer), f'"{answer.receipt.digest[7:39]}"', figures)


def _answered_budget(asked: BudgetIn, answer: BudgetView) -> Answered:
    return _answered(answer, budget_keys(asked, answer))


# As whoever holds the dossiers has them

Held = Callable[[Subject], Dossier]
"""The dossier of a subject. Raises not_found."""


def limit_from(held: Held, subject: Subject, asked: LimitIn) -> LimitView | MassView | FactorsView:
    """A figure, from dossiers that somebody holds. Raises as `Answers.limit` does."""
    dossier = held(subject)
    for carrier in _carrier_of(dossier):
        dossier = joined(dossier, held(carrier))
    return _figure_view(dossier, asked)


def budget_from(held: Held, asked: BudgetIn) -> BudgetView:
    """A budget, from dossiers that somebody holds. Raises as `Answers.budget` does."""
    try:
        dossiers = [held(subject) for subject in subjects_of(asked)]
    except CantrailError as error:
        raise _named_wrongly(error, asked) from error
    return _budget(asked, dossiers)


# Figures by themselves


def _carrier_of(dossier: Dossier) -> list[Subject]:
    """The carrier of a fitment, whose own factor is the fitment's too."""
    payload = dossier.record.payload
    return [Subject(SubjectKind.CARRIER, payload.carrier)] if isinstance(payload, FitmentAdded) else []


def _figure(dossier: Dossier, asked: LimitIn) -> Answered:
    # By its very words: the digest is over them too, and 1.0 is another word than 1.
    key = ("answered", _JSON.encode(asked))

    def answer() -> Answered:
        view = _figure_view(dossier, asked)
        return _answered(view, figure_keys(dossier.subject, asked, view))

    return remembered(dossier, key, answer)


def _figure_view(dossier: Dossier, asked: LimitIn) -> LimitView | MassView | FactorsView:
    quantity = _quantity(dossier.subject.kind, asked)
    demand = demand_of(asked.min_confidence, "/min_confidence")
    # However the roofs were listed, it is the same question.
    roofs = None if asked.context.roofs is None else sorted(set(asked.context.roofs))
    context = msgspec.structs.replace(asked.context, roofs=roofs)
    plain = msgspec.structs.replace(asked, as_of=None, quantity=quantity, context=context)

    def receipt_for(numbers: list[Any]) -> Receipt:
        return receipt([dossier.asked_as, plain], numbers, dossier.as_of, dossier.method)

    unit = Unit(asked.unit)
    if quantity is Quantity.OWN_MASS:
        weighed = own_mass(dossier, demand)
        mass = weighed.found.mass
        numbers = [
            None if mass is None else [mass.grams, mass.bound, mass.claims, thousandths(mass.confidence)],
            None if weighed.refusal is None else refusal_numbers(weighed.refusal),
            unreviewed_numbers(weighed.unreviewed_higher),
        ]
        return mass_view(
            dossier,
            mass,
            weighed.found.conflicts,
            weighed.refusal,
            weighed.unreviewed_higher,
            unit,
            receipt_for(numbers),
        )
    if quantity is Quantity.OFF_ROAD_FACTOR:
        return _factors(dossier, asked, receipt_for)
    found = limit(dossier, core_context(asked.context), _condition(asked), demand)
    return limit_view(found, dossier, quantity, unit, receipt_for(limit_numbers(found)))


def _factors(dossier: Dossier, asked: LimitIn, receipt_for: Callable[[list[Any]], Receipt]) -> FactorsView:
    """The factors on the roof and on the part's own rating; a vehicle has only the first, for the car asked about."""
    found: list[tuple[str, Factor | None]]
    if dossier.subject.kind is SubjectKind.VEHICLE:
        found = [("roof_limit", _off_road(dossier, asked).ruling.factor)]
    else:
        targets = (("roof_limit", ON_ROOF), ("own_rating", ON_OWN_RATING))
        found = [(target, factor_for(dossier.figures.factors_on(on))) for target, on in targets]
    lower = [each for each in _off_road(dossier, asked).unreviewed_lower if each.figure == "off_road_factor"]
    numbers = [
        [[target, factor and [str(factor.value), factor.claims]] for target, factor in found],
        unreviewed_numbers(lower),
    ]
    return factors_view(dossier, found, lower, receipt_for(numbers))


def _off_road(dossier: Dossier, asked: LimitIn) -> Figure:
    return limit(dossier, core_context(asked.context), Condition.OFF_ROAD, SETS_AT)


def _quantity(kind: SubjectKind, asked: LimitIn) -> Quantity:
    possible = QUANTITIES[kind]
    if asked.quantity is None:
        return possible[0]
    if asked.quantity not in possible:
        raise invalid(
            "/quantity", "wrong_quantity", f"A {kind} has no {asked.quantity}. Ask for: {', '.join(possible)}."
        )
    if asked.quantity not in LIMITS and asked.condition is not None:
        raise invalid("/condition", "no_condition_here", f"An {asked.quantity} has no condition: leave it out.")
    return asked.quantity


def _condition(asked: LimitIn) -> Condition:
    if asked.condition is None:
        raise invalid("/condition", "condition_missing", "Say for when: on_road, off_road or parked.")
    return asked.condition


# Budgets


def _budget(asked: BudgetIn, dossiers: list[Dossier]) -> BudgetView:
    request = budget_request(asked, dossiers)
    answer = ask(request)
    unit = Unit(asked.unit)
    rendered, numbers = _rendered(request, answer.stacked, unit)
    plain = asked if asked.as_of is None else msgspec.structs.replace(asked, as_of=None)
    as_of = max((dossier.as_of for dossier in dossiers), default=0)
    method = dossiers[0].method if dossiers else ""
    signed = receipt(plain, budget_numbers(answer, numbers), as_of, method)
    return budget_view(answer, rendered, (*request.items, *request.people), unit, signed)


def _rendered(request: Request, stacked: StackAnswer, unit: Unit) -> tuple[StackView, msgspec.Raw]:
    """What is sent of a stack and what of it is digested: made once, for as long as its dossiers hold."""

    def render() -> tuple[StackView, msgspec.Raw]:
        return stack_view(stacked, unit), stack_numbers(stacked)

    if stacked.key is None or request.vehicle is None:
        return render()
    return remembered(request.vehicle, ("rendered", stacked.key, unit), render)


def placed(error: CantrailError, place: str) -> CantrailError:
    """The same refusal, of a question that stands at a place in a body."""
    faults = [Fault(f"{place}{fault.pointer}", fault.code, fault.message) for fault in error.faults]
    return CantrailError(error.kind, error.code, error.message, faults=faults, details=error.details)


def _named_wrongly(error: CantrailError, asked: BudgetIn) -> CantrailError:
    """What a body names and is not there is bad input, at the member that names it."""
    if error.kind is not Kind.NOT_FOUND:
        return error
    members = [
        ("/vehicle", SubjectKind.VEHICLE, asked.vehicle),
        ("/fixing/id", SubjectKind.FIXING, getattr(asked.fixing, "id", None)),
        *((f"/carriers/{place}/id", SubjectKind.CARRIER, part.id) for place, part in enumerate(asked.carriers)),
        *((f"/gear/{place}/id", SubjectKind.GEAR, item.id) for place, item in enumerate(asked.gear)),
    ]
    faults = [
        Fault(pointer, error.code, error.message)
        for pointer, kind, id in members
        if id is not None and error.details == {"kind": kind, "id": id}
    ]
    return CantrailError(Kind.INVALID, error.code, error.message, faults=faults, details=error.details)
