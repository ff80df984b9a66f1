"""The working of a budget, line by line."""

import pytest

from app.core.asking import BudgetAnswer
from app.core.budget import Item
from app.core.claim import AppliesTo
from app.core.gear import CATEGORIES, recorded, usual
from app.core.given import GivenPart, GivenRoof
from app.core.selection import Mass, Support
from app.core.steps import Step, steps
from tests.core.builders import (
    EXCLUDES,
    INCLUDES,
    OFF_ROAD,
    bars,
    budget_for,
    cargo,
    carrier,
    factor,
    fitment,
    fixing,
    kg,
    load_rating,
    mass_said,
    platform,
    roof_limit,
    told,
    vehicle,
)

ROOF = told(roof_limit("75"), id="C-roof")


def lines(answer: BudgetAnswer, *items: Item) -> list[tuple[str, int | None]]:
    return [(step.text, step.grams) for step in steps(answer.stacked.setup, answer.budget, items)]


def test_a_budget_is_checked_with_a_pencil() -> None:
    items = (cargo(40),)
    answer = budget_for(vehicle(ROOF), platform(), items=items)

    assert steps(answer.stacked.setup, answer.budget, items) == (
        Step("roof limit of tarn, carrier counted", 75_000, claims=("C-roof",)),
        Step("deck, its own mass", -25_000, carried=True, claims=("C-mass",)),
        Step("may be carried", 50_000),
        Step("cargo", -40_000, carried=True),
        Step("left", 10_000),
        Step("the carrier's own rating would have said", 100_000),
    )


def test_what_is_too_much_is_said() -> None:
    answer = budget_for(vehicle(ROOF), items=(cargo(80),))

    assert lines(answer, cargo(80))[-1] == ("over by", 5_000)


def test_what_is_not_known_is_said() -> None:
    answer = budget_for(vehicle(ROOF), carrier(told(mass_said("25"))))

    assert lines(answer) == [
        ("load_rating of deck: not known", None),
        ("no more than this may be carried, whatever the rest turns out to be", 50_000),
    ]
    assert lines(budget_for(vehicle(), carrier(told(mass_said("25"))))) == [
        ("roof_limit of tarn: not known", None),
        ("load_rating of deck: not known", None),
    ]


def test_things_of_known_usual_and_unknown_mass() -> None:
    box = recorded("box", Mass(12_000, ROOF[0].bound, ("C9",), (Support(0.9, "C9"),)), 1)
    tent, thing = usual("tent", CATEGORIES["rooftop_tent"], 1), usual("thing", None, 1)
    answer = budget_for(vehicle(ROOF), items=(box, tent, thing))

    found = steps(answer.stacked.setup, answer.budget, (box, tent, thing))

    assert [(step.text, step.grams, step.claims) for step in found if step.carried] == [
        ("box", -12_000, ("C9",)),
        ("tent, at the top of its usual range", -100_000, ()),
        ("thing, of unknown mass", None, ()),
    ]


@pytest.mark.parametrize(
    ("answer", "expected"),
    [
        (
            budget_for(vehicle(told(roof_limit("20", basis=EXCLUDES, excluded="90"), id="C1")), platform()),
            [("roof limit of tarn, cargo alone", 20_000), ("may be carried", 20_000)],
        ),
        (
            budget_for(vehicle(ROOF), platform(told(factor("2/3", AppliesTo.ROOF_LIMIT), id="C2")), condition=OFF_ROAD),
            [
                ("roof limit of tarn, reduced off-road by the factor of deck, carrier counted", 50_000),
                ("deck, its own mass", -25_000),
                ("may be carried", 25_000),
            ],
        ),
        (
            budget_for(vehicle(ROOF), platform(), given_roof=GivenRoof(kg("60"))),
            [
                ("roof limit as you gave it, carrier counted", 60_000),
                ("deck, its own mass", -25_000),
                ("may be carried", 35_000),
            ],
        ),
        (
            budget_for(vehicle(told(roof_limit("300"))), bars("75"), platform()),
            [
                ("rating of bars, itself not counted", 75_000),
                ("deck, its own mass", -25_000),
                ("may be carried", 50_000),
            ],
        ),
        (
            budget_for(
                vehicle(told(roof_limit("300"))),
                carrier(
                    told(mass_said("5")), told(load_rating("60", basis=INCLUDES), id="C2"), id="rails", built_in=False
                ),
                platform(),
                fixing=fixing(told(mass_said("4"), id="C3"), told(load_rating("99"), id="C4")),
            ),
            [
                ("rating of rails, itself counted", 60_000),
                ("feet, its own mass", -4_000),
                ("rails, its own mass", -5_000),
                ("deck, its own mass", -25_000),
                ("may be carried", 26_000),
            ],
        ),
        (
            budget_for(
                vehicle(told(roof_limit("300"))),
                platform(),
                fixing=fixing(told(mass_said("4"), id="C3"), told(load_rating("60"), id="C4")),
            ),
            [
                ("rating of feet, itself not counted", 60_000),
                ("deck, its own mass", -25_000),
                ("may be carried", 35_000),
            ],
        ),
        (
            budget_for(
                vehicle(told(roof_limit("300"))),
                platform(),
                fixing=fixing(told(mass_said("4"), id="C3"), told(load_rating("60", basis=INCLUDES), id="C4")),
            ),
            [
                ("rating of feet, itself counted", 60_000),
                ("feet, its own mass", -4_000),
                ("deck, its own mass", -25_000),
                ("may be carried", 31_000),
            ],
        ),
        (
            budget_for(
                vehicle(ROOF, fitments=(fitment(told(load_rating("60", basis=INCLUDES), id="C5")),)), platform()
            ),
            [
                ("rating of F9, itself counted", 60_000),
                ("deck, its own mass", -25_000),
                ("may be carried", 35_000),
            ],
        ),
        (
            budget_for(vehicle(ROOF), GivenPart(kg("25"), kg("100"))),
            [
                ("roof limit of tarn, carrier counted", 75_000),
                ("given carrier 1, its own mass", -25_000),
                ("may be carried", 50_000),
            ],
        ),
    ],
    ids=["net", "reduced", "given", "bars", "gross carrier", "net fixing", "gross fixing", "fitment", "given part"],
)
def test_the_limit_that_binds_less_what_it_counts(answer: BudgetAnswer, expected: list[tuple[str, int]]) -> None:
    found = lines(answer)[: len(expected)]

    assert found == expected
    amounts = [grams for _, grams in expected]
    assert sum(amounts[:-1]) == amounts[-1] == answer.budget.allowed
