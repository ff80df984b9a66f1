"""Every code has a sentence, and every answer its cautions (section 2.8)."""

import pytest

from app.core import conditions
from app.core.asking import BudgetAnswer
from app.core.budget import Item
from app.core.conditions import OFF_ROAD_NOT_RECORDED, ON_ROAD_NOT_RECORDED, PARKED_FROM_DRIVING
from app.core.refusal import RefusalKind
from app.core.wording import CAUTIONS, FIGURES, NOTES, REFUSALS
from tests.core.builders import OFF_ROAD, PARKED, budget_for, carrier, fixing, roof_limit, told, vehicle


def test_every_kind_of_refusal_has_a_sentence_and_no_other() -> None:
    assert set(REFUSALS) == set(RefusalKind)


def test_every_note_has_a_sentence() -> None:
    codes = {
        value
        for name, value in vars(conditions).items()
        if name.isupper() and isinstance(value, str) and not name.startswith("_")
    }

    assert codes == {OFF_ROAD_NOT_RECORDED, ON_ROAD_NOT_RECORDED, PARKED_FROM_DRIVING}
    assert set(NOTES) == {*codes, "estimate_is_a_guess"}


@pytest.mark.parametrize(
    ("answer", "code"),
    [
        (budget_for(vehicle(told(roof_limit("75"))), condition=OFF_ROAD), "off_road_not_recorded"),
        (budget_for(vehicle(told(roof_limit("75", OFF_ROAD)))), "on_road_not_recorded"),
        (budget_for(vehicle(told(roof_limit("75"))), condition=PARKED), "parked_from_driving"),
    ],
    ids=["off-road", "on-road", "parked"],
)
def test_a_note_that_an_answer_carries_has_a_sentence(answer: BudgetAnswer, code: str) -> None:
    assert answer.stacked.notes == (code,)
    assert code in NOTES


def test_every_figure_that_may_be_missing_has_a_name() -> None:
    nothing = Item("thing", None, None, None)
    answer = budget_for(vehicle(), carrier(), fixing=fixing(), items=(nothing,))

    assert {missing.figure for missing in answer.budget.missing} == set(FIGURES)
    assert {refused.figure for refused in answer.refusals} == set(FIGURES)


@pytest.mark.parametrize("sentence", [*CAUTIONS, *NOTES.values(), *REFUSALS.values()])
def test_a_sentence_is_one(sentence: str) -> None:
    assert sentence[0].isupper()
    assert sentence.endswith(".")


@pytest.mark.parametrize(
    "said",
    [
        ("handbook comes first", "local law"),
        ("The lowest limit rules", "vehicle, carrier, fixing", "packed in"),
        ("payload", "axle limits"),
        ("low", "spread evenly", "tied down", "first kilometres", "rough roads"),
        ("braking", "cornering", "roll-over"),
        ("drilling", "licensed fitter or engineer"),
        ("reports what sources say", "certifies nothing"),
    ],
)
def test_every_caution_of_the_rules_is_given_once(said: tuple[str, ...]) -> None:
    holding = [caution for caution in CAUTIONS if all(part in caution for part in said)]

    assert len(holding) == 1
    assert len(CAUTIONS) == 7


def test_the_handbook_comes_first_and_the_disclaimer_last() -> None:
    assert CAUTIONS[0].startswith("The vehicle's own handbook comes first")
    assert CAUTIONS[-1].endswith("it certifies nothing.")
