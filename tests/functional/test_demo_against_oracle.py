"""The demo registry's claims, limits and budgets are what the rules say: against the oracle, through the services."""

import random
from typing import Any

import msgspec
import pytest

from app.bootstrap import Registry
from app.core.claim import Condition, Subject, SubjectKind
from app.core.confidence import explain
from app.core.dossier import Facts
from app.core.pages import PageOutcome
from app.core.scope import Body, Roof
from app.services.asked import BudgetIn, LimitIn
from seed_demo.carriers import CARRIERS
from seed_demo.fitments import FITMENTS
from seed_demo.fixings import FIXINGS
from seed_demo.gear import GEAR
from seed_demo.vehicles import VEHICLES
from tests.functional.told import Known, case_of
from tests.oracle.oracle import budget as oracle_budget
from tests.oracle.oracle import limit as oracle_limit

BATCHES = 8
REQUESTS_IN_A_BATCH = 60
GIVEN = {
    "own_mass": "22.5",
    "load_rating": "90",
    "rating_basis": "excludes_carrier",
    "off_road_factor": "3/4",
    "factor_applies_to": "both",
}
BARE: dict[str, Any] = {"context": {}, "carriers": [], "fixing": None, "gear": [], "given_roof": None}


def asked(rng: random.Random) -> dict[str, Any]:
    """A request, as the API takes it: often of carriers that are known to fit."""
    vehicle = rng.choice(VEHICLES).key
    fitting = [record.body for record in FITMENTS if record.body["vehicle"] == vehicle]
    fits = rng.choice(fitting) if fitting and rng.random() < 0.7 else None
    carriers: list[dict[str, Any]] = [{"id": fits["carrier"]}] if fits else []
    while rng.random() < 0.35 and len(carriers) < 3:
        carriers.append({"given": GIVEN} if rng.random() < 0.2 else {"id": rng.choice(CARRIERS).key})
    fixing: Any = rng.choice([None, None, "built_in", {"id": rng.choice(FIXINGS).key}])
    if fits and fits["fixing"] and rng.random() < 0.6:
        fixing = {"id": fits["fixing"]}
    return {
        "vehicle": vehicle,
        "context": _context(rng),
        "condition": rng.choice(["on_road", "off_road", "parked"]),
        "min_confidence": rng.choice([0.8, 0.8, 0.8, 0.5, 0.3, 0.9, 0.97]),
        "carriers": carriers,
        "fixing": fixing,
        "gear": [_item(rng) for _ in range(rng.randint(0, 4))],
        "given_roof": {"limit": "60", "basis": "includes_carrier"} if rng.random() < 0.15 else None,
    }


def _context(rng: random.Random) -> dict[str, Any]:
    context: dict[str, Any] = {}
    if rng.random() < 0.5:
        context["year"] = rng.randint(2010, 2026)
    if rng.random() < 0.5:
        context["body"] = str(rng.choice(list(Body)))
    if rng.random() < 0.5:
        context["roofs"] = sorted(str(roof) for roof in rng.sample(list(Roof), rng.choice([1, 1, 2])))
    if rng.random() < 0.4:
        context["market"] = rng.choice(["NZ", "AU", "DE", "ZA"])
    return context


def _item(rng: random.Random) -> dict[str, Any]:
    quantity = rng.choice([1, 1, 2])
    kind = rng.random()
    if kind < 0.5:
        mass, tolerance = rng.choice(["3.25", "14", "27.5"]), rng.choice(["0", "0.5", "2"])
        return {"name": "thing", "mass": mass, "tolerance": tolerance, "quantity": quantity}
    if kind < 0.75:
        return {"id": rng.choice(GEAR).key, "quantity": quantity}
    return {"category": rng.choice(["awning", "shovel", "board"]), "quantity": quantity}


def refused(request: dict[str, Any], known: Known) -> bool:
    """Whether the vehicle's confirmed record has no such car."""
    allowed = known.dossiers[Subject(SubjectKind.VEHICLE, request["vehicle"])].record.range
    context = request["context"]
    year = context.get("year")
    return bool(
        (year and allowed.years and not allowed.years.first <= year <= allowed.years.end)
        or (context.get("body") and allowed.bodies and context["body"] not in allowed.bodies)
        or (context.get("roofs") and allowed.roofs and not set(context["roofs"]) <= set(allowed.roofs))
        or (context.get("market") and allowed.markets and context["market"] not in allowed.markets)
    )


def grams(kilograms: float | None) -> int | None:
    return None if kilograms is None else round(kilograms * 1000)


def side_in_grams(shown: dict[str, Any] | None, side: str) -> int | None:
    found = None if shown is None else shown[side]
    return None if found is None else grams(found["value"])


def test_every_claim_is_as_certain_as_the_rules_say(facts: Facts, known: Known) -> None:
    expected = {claim["id"]: claim["confidence"] for claims in known.claims.values() for claim in claims}
    found = {id: explain(claim, facts).confidence for id, claim in facts.claims.items()}
    assert found == expected
    # What is known of a subject by itself is enough to score its claims.
    by_itself = {id: each for dossier in known.dossiers.values() for id, each in dossier.scored.items()}
    assert {id: each.explanation.confidence for id, each in by_itself.items()} == {id: expected[id] for id in by_itself}
    assert by_itself.keys() == found.keys()


def test_the_papers_were_read_before_anything_was_compared(facts: Facts) -> None:
    outcomes = {citation.outcome for claim in facts.claims.values() for citation in claim.citations}
    assert set(PageOutcome) <= outcomes


@pytest.mark.parametrize("demand", [0.8, 0.5, 0.9])
@pytest.mark.parametrize("condition", list(Condition))
def test_every_limit_is_what_the_rules_say(
    condition: Condition, demand: float, registry: Registry, known: Known
) -> None:
    named = 0
    for record in VEHICLES:
        vehicle = Subject(SubjectKind.VEHICLE, record.key)
        asked = msgspec.convert({"condition": condition, "min_confidence": demand}, LimitIn, strict=False)
        found = msgspec.json.decode(registry.answers.limit(vehicle, asked).body)
        request = {"vehicle": record.key, "condition": condition, "min_confidence": demand}
        expected = oracle_limit(case_of(BARE | request, known))
        assert {
            "gross_g": side_in_grams(found["figure"], "gross"),
            "net_g": side_in_grams(found["figure"], "net"),
            "refused": found["figure"] is None,
        } == {key: expected[key] for key in ("gross_g", "net_g", "refused")}, request
        named += found["figure"] is not None
    assert named


@pytest.mark.parametrize("batch", range(BATCHES))
def test_every_budget_is_what_the_rules_say(batch: int, registry: Registry, known: Known) -> None:
    rng = random.Random(f"demo {batch}")
    compared = named = 0
    while compared < REQUESTS_IN_A_BATCH:
        request = asked(rng)
        if refused(request, known):
            continue
        found = msgspec.json.decode(registry.answers.budget(msgspec.convert(request, BudgetIn, strict=False)).body)
        expected = oracle_budget(case_of(request, known))
        assert {
            "allowed_g": grams(found["allowed_cargo"]),
            "ceiling_g": grams(found["ceiling"]),
            "remaining_g": grams(found["remaining"]),
            "binding": sorted(found["binding"]),
            "verdict": found["verdict"],
            "cargo_g": {
                "least": grams(found["cargo_least"]),
                "cargo": grams(found["cargo"]),
                "worst": grams(found["cargo_worst"]),
            },
        } == {
            key: expected[key] for key in ("allowed_g", "ceiling_g", "remaining_g", "binding", "verdict", "cargo_g")
        }, request
        compared += 1
        named += found["allowed_cargo"] is not None
    assert named > REQUESTS_IN_A_BATCH // 10
