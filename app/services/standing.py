"""Whether an answer still stands: what it comes to now beside what it came to then, and by which entries.

An answer is lowered, raised, emptied or filled by its figures, as they were sent. Between then and now it may have gone
down and up again, so that the entries are walked through in order, some at a time.
"""

from collections.abc import Callable, Iterable
from enum import StrEnum
from fractions import Fraction
from typing import Final

import msgspec

from app.core.budget import Verdict
from app.core.claim import Subject
from app.core.entries import Entry
from app.core.errors import CantrailError
from app.core.review import claim_named_by
from app.core.scoring import Dossier
from app.persistence.session import AnySession
from app.services.answering import Held
from app.services.facts import not_found
from app.services.views.answers import CapView, FactorsView, FigureView, LimitView, MassView, ReducedView, SideView
from app.services.views.budgets import BudgetView
from app.services.walking import Walk

Answer = LimitView | MassView | FactorsView | BudgetView
Work = Callable[[Held], Answer]
"""Works an answer out from dossiers that somebody holds."""

MOST_WORK: Final = 2000
"""What one page of a walk may take, in claims scored: some tenths of a second."""

_BOUNDS: Final = ("at_most", "exact", "at_least")
_UNBOUNDED: Final = (len(_BOUNDS), "")
_VERDICTS: Final = {Verdict.OVER: 0, Verdict.UNKNOWN: 0, Verdict.MARGINAL: 1, Verdict.WITHIN: 2}


class Effect(StrEnum):
    """What became of an answer. Where one figure went up and another down, it was lowered."""

    STANDS = "stands"
    LOWERED = "lowered"
    RAISED = "raised"
    EMPTIED = "emptied"
    FILLED = "filled"


class Outcome(msgspec.Struct, frozen=True):
    """What is compared of an answer: whether it names a figure, its figures (None: not known), its caps (None: no
    bound), and what is better or worse of it without being an amount, as a code with its rank. More is more that may be
    carried."""

    named: bool
    figures: tuple[float | None, ...] = ()
    caps: tuple[float | None, ...] = ()
    ranks: tuple[tuple[int, str], ...] = ()


NO_ANSWER: Final = Outcome(False)


def outcome_of(answer: Answer) -> Outcome:
    """What is compared of an answer."""
    match answer:
        case LimitView():
            return _of_limit(answer)
        case MassView():
            # A thing that is heavier leaves less for the rest.
            room = None if answer.value is None else -answer.value
            return Outcome(answer.value is not None, (room,), ranks=(_vetted(vetted=answer.vetted),))
        case FactorsView():
            values = tuple(None if each.value is None else float(Fraction(each.value)) for each in answer.factors)
            return Outcome(any(each is not None for each in values), values)
        case BudgetView():
            figures = (answer.allowed_cargo, answer.remaining, answer.remaining_worst)
            verdict = Verdict(answer.verdict)
            ranks = (_vetted(vetted=answer.vetted), (_VERDICTS[verdict], str(verdict)))
            return Outcome(answer.allowed_cargo is not None, figures, (answer.ceiling,), ranks)


def _of_limit(answer: LimitView) -> Outcome:
    figures = (*_sides(answer.figure), *_sides(answer.reduced))
    caps = _sides(answer.cap)
    ranks = tuple(_UNBOUNDED if side is None else (_BOUNDS.index(side.bound), side.bound) for side in (*figures, *caps))
    vetted = _vetted(vetted=answer.vetted)
    return Outcome(answer.figure is not None, _values(figures), _values(caps), (vetted, *ranks))


def _values(sides: Iterable[SideView | None]) -> tuple[float | None, ...]:
    return tuple(None if side is None else side.value for side in sides)


def _sides(part: FigureView | CapView | ReducedView | None) -> tuple[SideView | None, SideView | None]:
    return (None, None) if part is None else (part.gross, part.net)


def _vetted(*, vetted: bool) -> tuple[int, str]:
    return (1, "vetted") if vetted else (0, "")


def effect_of(was: Outcome, now: Outcome) -> Effect:
    """What became of an answer between two outcomes."""
    if was == now:
        return Effect.STANDS
    if was.named != now.named:
        return Effect.FILLED if now.named else Effect.EMPTIED
    if NO_ANSWER in (was, now):
        return Effect.STANDS
    lost = any(new is None and old is not None for new, old in zip(now.figures, was.figures, strict=True))
    pairs = zip((*now.figures, *now.caps), (*was.figures, *was.caps), strict=True)
    less = any(_less(new, old) for new, old in pairs)
    worse = any(_worse(new, old) for new, old in zip(now.ranks, was.ranks, strict=True))
    return Effect.LOWERED if lost or less or worse else Effect.RAISED


def _less(new: float | None, old: float | None) -> bool:
    return new is not None and (old is None or new < old)


def _worse(new: tuple[int, str], old: tuple[int, str]) -> bool:
    """Of lower rank; or another thing of the same rank, of which neither is better."""
    return new != old and new[0] <= old[0]


class ChangedBy(msgspec.Struct, frozen=True):
    """An entry after which the answer was another than before it."""

    seq: int
    at: str
    type: str
    claim: str | None
    effect: Effect


class Walked(msgspec.Struct, frozen=True):
    """The entries that changed an answer, among some; `next` is the last that was looked at, where there are more."""

    changes: list[ChangedBy]
    next: int | None


def walk(session: AnySession, work: Work, *, after: int, head: int) -> Walked:
    """The entries after one that changed an answer, up to the head or as far as one page goes."""
    steps = _Steps(session, work, head)
    was = steps.outcome(after)
    found: list[ChangedBy] = []
    seq, begun = after, steps.spent
    while (entry := steps.following(seq)) is not None:
        if steps.spent - begun >= MOST_WORK:
            return Walked(found, seq)
        now = steps.outcome(entry.seq)
        effect = effect_of(was, now)
        if effect is not Effect.STANDS:
            claim = claim_named_by(entry.payload)
            found.append(ChangedBy(entry.seq, entry.at, entry.payload.type, claim, effect))
        seq, was = entry.seq, now
    return Walked(found, None)


class _Steps:
    """An answer as of later and later entries."""

    def __init__(self, session: AnySession, work: Work, head: int) -> None:
        self._session = session
        self._work = work
        self._head = head
        self._walks: dict[Subject, Walk] = {}
        self._seq = 0

    @property
    def spent(self) -> int:
        """The work that it was so far, in claims scored."""
        return sum(each.spent for each in self._walks.values())

    def following(self, seq: int) -> Entry | None:
        """The next entry on which the answer depends."""
        found = [entry for each in self._walks.values() if (entry := each.following(seq)) is not None]
        return min(found, key=lambda entry: entry.seq, default=None)

    def outcome(self, seq: int) -> Outcome:
        self._seq = seq
        return outcome_or_none(self._work, self._held)[0]

    def _held(self, subject: Subject) -> Dossier:
        if subject not in self._walks:
            self._walks[subject] = Walk(self._session, subject, up_to=self._head)
        dossier = self._walks[subject].to(self._seq)
        if dossier is None:
            raise not_found(subject)
        return dossier


def outcome_or_none(work: Work, held: Held) -> tuple[Outcome, Answer | CantrailError]:
    """What an answer comes to, with the answer; what is refused comes to none: a record may have come to say that there
    is no such car."""
    try:
        answer = work(held)
    except CantrailError as error:
        return NO_ANSWER, error
    return outcome_of(answer), answer
