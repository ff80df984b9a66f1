"""The oracle itself holds against the worked cases and the worked examples."""

import copy
import json
import random
from pathlib import Path
from typing import Any

import pytest

from tests.night import tonight

from .generate import random_case
from .oracle import budget, limit

VECTORS = Path(__file__).resolve().parent.parent / "vectors" / "budget.json"
CASES: list[dict[str, Any]] = json.loads(VECTORS.read_text(encoding="utf-8"))["cases"]


@pytest.mark.parametrize("case", CASES, ids=[str(case["id"]) for case in CASES])
def test_worked_case(case: dict[str, Any]) -> None:
    got = budget(case)
    assert {key: got[key] for key in case["expect"]} == case["expect"]
    # The worked cases do not tell the two readings of the ceiling apart.
    assert got["plain_ceiling_g"] == got["ceiling_g"]
    assert got["plain_verdict"] == got["verdict"]


def claim(quantity: str, value: str, **more: Any) -> dict[str, Any]:
    out: dict[str, Any] = {
        "quantity": quantity,
        "stated": {"value": value, "unit": "factor" if quantity == "off_road_factor" else "kg"},
        "bound": "exact",
        "basis": "includes_carrier",
        "publisher": "maker",
        "state": "approved",
        "approvals": 2,
        "confidence": 0.95,
    }
    if quantity in ("roof_limit", "load_rating"):
        out["condition"] = "on_road"
    return {**out, **more}


PLATFORM = [claim("own_mass", "25"), claim("load_rating", "100", basis="excludes_carrier")]
BARS = [claim("own_mass", "5"), claim("load_rating", "75", basis="excludes_carrier")]
ROOF = claim("roof_limit", "75")


def ask(roof: dict[str, Any], carriers: list[Any], condition: str = "on_road", **more: Any) -> dict[str, Any]:
    record = {"confirmed": True, "years": None, "bodies": None, "roofs": None, "markets": None}
    case: dict[str, Any] = {
        "vehicle": {"record": record, "claims": [roof]},
        "context": {},
        "condition": condition,
        "min_confidence": 0.8,
        "carriers": carriers,
        "fixing": None,
        "fixing_said": True,
        "gear": [],
    }
    return {**case, **more}


def test_worked_examples() -> None:
    assert budget(ask(ROOF, [PLATFORM]))["allowed_g"] == 50000
    factor = claim("off_road_factor", "2/3", applies_to="roof_limit")
    reduced = budget(ask(ROOF, [[*PLATFORM, factor]], "off_road"))
    assert (reduced["allowed_g"], reduced["binding"]) == (25000, ["vehicle_roof_reduced"])
    assert budget(ask(ROOF, [PLATFORM], "off_road"))["allowed_g"] == 50000
    assert budget(ask(ROOF, [BARS]))["allowed_g"] == 70000
    stacked = budget(ask(ROOF, [BARS, PLATFORM]))
    assert stacked["allowed_g"] == 45000
    assert [row["allowed_g"] for row in stacked["constraints"]] == [45000, 50000, 100000]
    excluding = claim("roof_limit", "75", basis="excludes_carrier", excluded_mass={"value": "5", "unit": "kg"})
    assert budget(ask(excluding, [PLATFORM]))["allowed_g"] == 55000


def test_counts() -> None:
    record = {"bars": 3, "fixing": "built_in", "confirmed": True}
    claims = [
        claim("own_mass", "5", per="pair"),
        claim("load_rating", "20", per="pair", basis="excludes_carrier"),
    ]
    assert budget(ask(ROOF, [{"record": record, "claims": claims}]))["raw_g"] == 20000
    assert budget(ask(ROOF, [{"record": {**record, "confirmed": False}, "claims": claims}]))["raw_g"] is None
    per_bar = [claim("own_mass", "5"), claim("load_rating", "20", per="bar", basis="excludes_carrier")]
    assert budget(ask(ROOF, [{"record": record, "claims": per_bar}]))["raw_g"] == 60000
    assert budget(ask(ROOF, [{"record": {**record, "bars": None}, "claims": per_bar}]))["raw_g"] == 20000


def test_questions() -> None:
    claims = [ROOF, claim("roof_limit", "50", scope={"roofs": ["bare"]})]
    case = ask(ROOF, [])
    case["vehicle"]["claims"] = claims
    got = limit(case)
    assert got["gross_g"] == 50000
    assert [question["dimension"] for question in got["questions"]] == ["roofs"]
    assert [answer["gross_g"] for answer in got["questions"][0]["answers"]] == [50000, 75000]


@pytest.mark.parametrize("seed", range(tonight(75, 300)))
def test_random_cases_keep_the_promises(seed: int) -> None:
    rng = random.Random(seed)
    case = random_case(rng)
    assert json.loads(json.dumps(case)) == case
    before = copy.deepcopy(case)
    got = budget(case)
    assert case == before
    assert got["verdict"] in ("within", "marginal", "unknown", "over")
    if got["raw_g"] is not None:
        assert got["ceiling_g"] is None or got["raw_g"] <= got["ceiling_g"]

    # A roof of several kinds at once never makes an unknown roof's answer lower.
    several = budget(case, roof_sets=True)
    for key in ("verdict", "raw_g", "ceiling_g", "binding", "roof_figure"):
        assert several[key] == got[key]

    # From 0.80 up, a higher threshold never raises an answer, nor do claims that have one approval.
    at_eighty = budget({**case, "min_confidence": 0.8})["raw_g"]
    for threshold in (0.85, 0.9, 0.99):
        raised = budget({**case, "min_confidence": threshold})["raw_g"]
        assert raised is None or (at_eighty is not None and raised <= at_eighty)
    if case["vehicle"] is not None and at_eighty is not None:
        more = copy.deepcopy({**case, "min_confidence": 0.8})
        more["vehicle"]["claims"].append(
            claim("roof_limit", "60", approvals=1, confidence=0.7, bound=rng.choice(["exact", "at_least", "at_most"]))
        )
        lower = budget(more)["raw_g"]
        assert lower is None or lower <= at_eighty

    # Stating more about the car never lowers an answer.
    if case["vehicle"] is not None and at_eighty is not None and "body" not in case["context"]:
        stated = {**case, "min_confidence": 0.8, "context": {**case["context"], "body": "wagon"}}
        known = budget(stated)["raw_g"]
        assert known is not None and known >= at_eighty
