"""What is asked for, counted: how often which figure, and how often in vain. It orders the desk and `coverage`.

The answering path adds one in memory and waits for nothing. A thread of the server writes the counts down now and then.
Nobody's address or account is counted, only figures. Counts that were not yet written are lost with the process.
"""

from functools import lru_cache
from threading import Event, Thread
from typing import Final

from app.core.claim import LIMITS, Condition, Quantity, Subject, SubjectKind
from app.core.errors import CantrailError
from app.persistence import desk_stores as stores
from app.persistence.session import Database, WriteSession
from app.services import desk_order
from app.services.asked import BudgetIn, LimitIn
from app.services.questions import subjects_of
from app.services.views.answers import FactorsView, LimitView, MassView
from app.services.views.budgets import BudgetView

MOST_A_MINUTE: Final = 10
"""A figure counts as asked for at most so often between two times of writing down, however often one caller asks."""

MOST_FIGURES: Final = 20_000
"""No more figures than this are counted at a time: memory is bounded whatever is asked."""

EVERY_S: Final = 60.0
AT_ONCE: Final = 200
"""Between two transactions of so many figures other writers have their turn."""

_BAR: Final = "|"

Keys = tuple[str, ...]


def key(subject: Subject, quantity: Quantity, condition: Condition | None, *, unmet: bool) -> str:
    """How a figure that is asked for is counted; of one without conditions, the condition is left empty."""
    of = condition if quantity in LIMITS and condition is not None else ""
    return _BAR.join((subject.kind, subject.id, quantity, of, "1" if unmet else "0"))


def figure_keys(subject: Subject, asked: LimitIn, answer: LimitView | MassView | FactorsView) -> Keys:
    """What an answer about one figure counts as: in vain where no figure is named, or an undecided claim would move it."""
    match answer:
        case LimitView():
            unmet = answer.refusal is not None or bool(answer.unreviewed_lower)
        case MassView():
            unmet = answer.refusal is not None or bool(answer.unreviewed_higher)
        case FactorsView():
            unmet = bool(answer.unreviewed_lower)
    return (key(subject, Quantity(answer.quantity), asked.condition, unmet=unmet),)


def budget_keys(asked: BudgetIn, answer: BudgetView) -> Keys:
    """What a budget counts as: its vehicle's roof limit, and what else was asked for in vain."""
    if not answer.refusals:
        return () if asked.vehicle is None else _roof(asked.vehicle, asked.condition, unmet=False)
    missing = sorted({(each.figure, each.subject) for each in answer.refusals})
    keys: list[str] = []
    if asked.vehicle is not None:
        keys += _roof(asked.vehicle, asked.condition, unmet=(Quantity.ROOF_LIMIT, asked.vehicle) in missing)
    for subject in subjects_of(asked):
        if subject.kind is not SubjectKind.VEHICLE:
            named = [figure for figure, id in missing if id == subject.id]
            keys += [key(subject, _quantity(figure), asked.condition, unmet=True) for figure in named]
    return tuple(keys)


@lru_cache(maxsize=4096)
def _roof(vehicle: str, condition: Condition, *, unmet: bool) -> Keys:
    """Most budgets are about few vehicles."""
    return (key(Subject(SubjectKind.VEHICLE, vehicle), Quantity.ROOF_LIMIT, condition, unmet=unmet),)


def _quantity(figure: str) -> Quantity:
    """A thing on the roof has a mass, which is its own."""
    return Quantity.OWN_MASS if figure == "mass" else Quantity(figure)


class Demand:
    """Counts in memory. Adding is safe from any thread: at worst a count is lost."""

    def __init__(self) -> None:
        self._counts: dict[str, int] = {}

    def note(self, keys: Keys) -> None:
        """Some figures were asked for."""
        counts = self._counts
        for each in keys:
            number = counts.get(each, 0)
            if number < MOST_A_MINUTE and (number or len(counts) < MOST_FIGURES):
                counts[each] = number + 1

    def taken(self) -> dict[str, int]:
        """The counts since the last time, which begin anew."""
        taken, self._counts = self._counts, {}
        return taken


def write_down(session: WriteSession, counts: dict[str, int]) -> None:
    """Add counts to the table, and put the work about these figures in its order."""
    sums: dict[tuple[Subject, Quantity, str], tuple[int, int]] = {}
    for each, number in counts.items():
        kind, id, quantity, condition, unmet = each.split(_BAR)
        figure = (Subject(SubjectKind(kind), id), Quantity(quantity), condition)
        asked, in_vain = sums.get(figure, (0, 0))
        sums[figure] = (asked + number, in_vain + (number if unmet == "1" else 0))
    for (subject, quantity, condition), (asked, in_vain) in sorted(sums.items()):
        stores.count_asked(session, subject=subject, quantity=quantity, condition=condition, asked=asked, unmet=in_vain)
    for subject in sorted({subject for (subject, _, _), (_, in_vain) in sums.items() if in_vain}):
        desk_order.asked_for(session, subject)


class Bookkeeper:
    """The thread that writes counts down. It never keeps an answer waiting, and it does not matter when it is killed."""

    def __init__(self, demand: Demand, database: Database, every_s: float = EVERY_S) -> None:
        self._demand = demand
        self._database = database
        self._every_s = every_s
        self._stop = Event()
        self._thread: Thread | None = None

    def start(self) -> None:
        """Begin, unless it runs already."""
        if self._thread is not None:
            return
        self._stop.clear()
        self._thread = Thread(target=self._run, name="demand", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Write down what there is, and end."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join()
            self._thread = None

    def _run(self) -> None:
        while not self._stop.wait(self._every_s):
            self.write()
        self.write()

    def write(self) -> None:
        """Write the counts down now, as far as storage lets: it is no answer that fails."""
        counts = list(self._demand.taken().items())
        for start in range(0, len(counts), AT_ONCE):
            some = dict(counts[start : start + AT_ONCE])
            try:
                self._database.run(lambda session, some=some: write_down(session, some))  # type: ignore[misc]
            except CantrailError:
                return
