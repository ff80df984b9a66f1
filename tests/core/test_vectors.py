"""The worked cases of the budget, as handed down with the rules."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.core.cases import answer

CASES: list[dict[str, Any]] = json.loads(
    (Path(__file__).parent.parent / "vectors" / "budget.json").read_text(encoding="utf-8")
)["cases"]


@pytest.mark.parametrize("case", CASES, ids=[str(case["id"]) for case in CASES])
def test_budget_holds(case: dict[str, Any]) -> None:
    budget = answer(case).budget

    assert {
        "allowed_g": budget.allowed,
        "raw_g": budget.raw,
        "ceiling_g": budget.ceiling,
        "remaining_g": budget.remaining,
        "binding": sorted({str(constraint.name) for constraint in budget.binding}),
        "verdict": str(budget.verdict),
    } == case["expect"]
