"""The core against a brute-force oracle written apart from it, on random registries and requests."""

import random
from collections.abc import Callable
from typing import Any

import pytest

from app.core.claim import Condition
from app.core.limits import limit
from app.core.selection import Firmness, Side
from tests.core.cases import Case, answer, context_of, vehicle_of
from tests.night import tonight
from tests.oracle.generate import random_case, weakened_case
from tests.oracle.oracle import budget as oracle_budget

BATCHES = tonight(4, 20)
BOUNDS = {Firmness.EXACT: "exact", Firmness.FLOOR: "at_least"}


def worked_out(case: Case) -> dict[str, Any]:
    worked = answer(case).budget
    return {
        "allowed_g": worked.allowed,
        "raw_g": worked.raw,
        "ceiling_g": worked.ceiling,
        "remaining_g": worked.remaining,
        "binding": sorted({str(constraint.name) for constraint in worked.binding}),
        "verdict": str(worked.verdict),
    }


def roof_by_itself(case: Case) -> dict[str, Any] | None:
    if case["vehicle"] is None:
        return None
    ruling = limit(
        vehicle_of(case, ()), context_of(case["context"]), Condition(case["condition"]), case["min_confidence"]
    ).ruling
    gross, net = ruling.line(Side.GROSS), ruling.line(Side.NET)
    return {
        "gross_g": gross and gross.grams,
        "net_g": net and net.grams,
        "bound_gross": gross and BOUNDS[gross.firmness],
        "bound_net": net and BOUNDS[net.firmness],
        "refused": not ruling.figure,
    }


@pytest.mark.parametrize("batch", range(BATCHES))
@pytest.mark.parametrize(("make", "cases"), [(random_case, 150), (weakened_case, 50)])
def test_budget_equals_the_oracle(make: Callable[[random.Random], Case], cases: int, batch: int) -> None:
    rng = random.Random(f"batch {batch}")
    for number in range(cases):
        case = make(rng)
        expected = oracle_budget(case)
        found = worked_out(case)
        assert found == {key: expected[key] for key in found}, f"batch {batch}, case {number}: {case}"
        roof, its = roof_by_itself(case), expected["roof_figure"]
        assert roof == (its and {key: its[key] for key in roof or {}}), f"batch {batch}, case {number}: {case}"
