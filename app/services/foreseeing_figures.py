"""What entries would do to plates and other figures if they were entered now: nothing is."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

import msgspec

from app.core.claim import QUANTITIES, Condition, Quantity, Subject, SubjectKind
from app.core.dossier import Facts
from app.core.entries import Entry
from app.core.mass import Unit
from app.core.plate import changes
from app.core.scoring import Dossier, dossier_of
from app.persistence.session import AnySession
from app.services.answering import limit_from
from app.services.asked import LimitIn
from app.services.facts import facts_about, not_found
from app.services.reach import Reach
from app.services.views.answers import FactorsView, LimitView, MassView, SideView
from app.services.views.plates import ChangedView, changed_view

MOST_REACHED: Final = 12
"""How many vehicles are looked at besides those that are named."""

Key = tuple[Subject, Quantity, Condition | None, str | None]
"""A figure: of what, of which quantity, in which condition, and what a factor is on."""


class Amount(msgspec.Struct, frozen=True):
    """A figure: a limit with the rack in it or without, or what a thing weighs, in the unit asked for; or a factor."""

    gross: float | None = None
    net: float | None = None
    weighs: float | None = None
    factor: str | None = None


class FigureChanged(msgspec.Struct, frozen=True):
    """A figure of what is no vehicle, before and after; None where there is none."""

    subject: Subject
    quantity: Quantity
    condition: Condition | None
    applies_to: str | None
    before: Amount | None
    after: Amount | None


class WouldChange(msgspec.Struct, frozen=True):
    """The fields of plates and the other figures that would change, and how many more vehicles and other things are
    reached that were not looked at."""

    plates: list[ChangedView]
    figures: list[FigureChanged]
    more: int


class Foresight:
    """The facts about some subjects and whatever entries about them reach, and what became of them. `beyond`: so many more
    are reached that are not looked at."""

    def __init__(
        self, session: AnySession, about: Sequence[Subject], made: Iterable[Entry], unit: Unit, *, beyond: int = 0
    ) -> None:
        reach = Reach(session)
        slugs = dict.fromkeys(slug for entry in made for slug in reach.vehicles(entry))
        beside = [each for each in (Subject(SubjectKind.VEHICLE, slug) for slug in slugs) if each not in about]
        looked_at = [*about, *beside[:MOST_REACHED]]
        self._more = len(beside[MOST_REACHED:]) + beyond
        self._unit = unit
        self._vehicles = [each for each in looked_at if each.kind is SubjectKind.VEHICLE]
        self._things = [each for each in looked_at if each.kind is not SubjectKind.VEHICLE]
        self.facts = Facts()
        if looked_at:
            self.facts, _ = facts_about(session, looked_at[0], beside=looked_at[1:])
        self._before = self._now()

    def would_change(self) -> WouldChange:
        """What differs by now from how it began."""
        (plated, figures), (plated_now, figures_now) = self._before, self._now()
        return WouldChange(
            plates=[
                changed_view(each.id, changed, self._unit)
                for each, now in plated_now.items()
                if now is not None
                for changed in changes(plated[each], now)
            ],
            figures=[
                FigureChanged(*key, was, now)
                for key in dict.fromkeys([*figures, *figures_now])
                if (was := figures.get(key)) != (now := figures_now.get(key))
            ],
            more=self._more,
        )

    def _now(self) -> tuple[dict[Subject, Dossier | None], dict[Key, Amount | None]]:
        """Vehicles, and all figures of the other things."""
        return {each: dossier_of(self.facts, each) for each in self._vehicles}, {
            key: amount
            for each in self._things
            for quantity in QUANTITIES[each.kind]
            for condition in (tuple(Condition) if quantity is Quantity.LOAD_RATING else (None,))
            for key, amount in self._answered(each, quantity, condition)
        }

    def _answered(
        self, subject: Subject, quantity: Quantity, condition: Condition | None
    ) -> Iterator[tuple[Key, Amount | None]]:
        asked = LimitIn(quantity=quantity, condition=condition, unit="lb" if self._unit is Unit.LB else "kg")
        match limit_from(self._held, subject, asked):
            case LimitView() as limit:
                found = limit.reduced or limit.figure
                sides = None if found is None else Amount(_value(found.gross), _value(found.net))
                yield (subject, quantity, condition, None), sides
            case MassView() as mass:
                yield (subject, quantity, None, None), None if mass.value is None else Amount(weighs=mass.value)
            case FactorsView() as factors:
                for each in factors.factors:
                    factor = None if each.value is None else Amount(factor=each.value)
                    yield (subject, quantity, None, each.applies_to), factor

    def _held(self, subject: Subject) -> Dossier:
        dossier = dossier_of(self.facts, subject)
        if dossier is None:
            raise not_found(subject)
        return dossier


def _value(side: SideView | None) -> float | None:
    return None if side is None else side.value
