"""From what is asked to the core's request: what a thing weighs of which the registry has claims."""

import msgspec
import pytest

from app.core.budget import Item
from app.core.claim import Subject, SubjectKind
from app.core.dossier import Record
from app.core.scoring import Dossier, figures
from app.core.subject_entries import GearAdded
from app.services.asked import BudgetIn
from app.services.questions import budget_request
from tests.core.builders import TWO, Told, disputed, figures_of, mass_said, once, overdue, told, undecided


def weighed(*claims: Told, demand: float = 0.80) -> Item:
    """What one awning of the registry's weighs; usually, 8 to 30 kg."""
    awning = GearAdded("awning", "maker", "Awning", None, None, "awning", ())
    record = Record(Subject(SubjectKind.GEAR, "awning"), 1, "author", awning, TWO)
    dossier = Dossier(record, figures(figures_of(claims, SubjectKind.GEAR)))
    asked = {"condition": "on_road", "min_confidence": demand, "gear": [{"id": "awning", "name": "awning"}]}
    return budget_request(msgspec.convert(asked, BudgetIn, strict=False), [dossier]).items[0]


def test_a_recorded_mass_counts() -> None:
    assert weighed(told(mass_said("45"))).most == 45_000
    assert weighed(told(mass_said("6"))).most == 6_000


def test_without_one_the_usual_range_counts() -> None:
    assert weighed() == weighed(undecided(mass_said("45"))) == Item("awning", 8_000, 30_000, 30_000)


@pytest.mark.parametrize(
    "claim", [disputed(told(mass_said("45"))), overdue(told(mass_said("45"))), once(mass_said("45"))]
)
def test_a_mass_that_is_too_weak_makes_nothing_lighter(claim: Told) -> None:
    assert weighed(claim) == Item("awning", 8_000, 45_000, 45_000)


def test_a_higher_demand_makes_nothing_lighter() -> None:
    assert weighed(told(mass_said("45"), 0.85), demand=0.95).most == 45_000
