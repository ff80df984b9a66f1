"""The core against a brute-force oracle written apart from it, on random registries and requests."""

import random

import pytest

from tests.core.cases import answer
from tests.oracle.generate import random_case
from tests.oracle.oracle import budget as oracle_budget

BATCHES = 20
CASES_IN_A_BATCH = 150


@pytest.mark.parametrize("batch", range(BATCHES))
def test_budget_equals_the_oracle(batch: int) -> None:
    rng = random.Random(f"batch {batch}")
    for number in range(CASES_IN_A_BATCH):
        case = random_case(rng)
        expected = oracle_budget(case)
        worked = answer(case).budget
        found = {
            "allowed_g": worked.allowed,
            "raw_g": worked.raw,
            "ceiling_g": worked.ceiling,
            "remaining_g": worked.remaining,
            "binding": sorted({str(constraint.name) for constraint in worked.binding}),
            "verdict": str(worked.verdict),
        }
        assert found == {key: expected[key] for key in found}, f"batch {batch}, case {number}: {case}"
