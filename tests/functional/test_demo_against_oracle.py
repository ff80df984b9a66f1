"""Any budget over the demo registry is what the rules say: against the oracle, through the service that the API sends."""

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest

from app.core.claim import Subject, SubjectKind
from app.core.scope import Body, Roof
from app.core.scoring import Dossier
from app.persistence.session import Database
from app.services.answering import Answers
from app.services.facts import load
from app.services.inputs import BudgetIn
from app.settings import Settings
from seed_demo.carriers import CARRIERS
from seed_demo.fitments import FITMENTS
from seed_demo.fixings import FIXINGS
from seed_demo.gear import GEAR
from seed_demo.shapes import Record
from seed_demo.vehicles import VEHICLES
from tests.functional.told import case_of
from tests.oracle.oracle import budget as oracle_budget

BATCHES = 8
REQUESTS_IN_A_BATCH = 60
GIVEN = {
    "own_mass": "22.5",
    "load_rating": "90",
    "rating_basis": "excludes_carrier",
    "off_road_factor": "3/4",
    "factor_applies_to": "both",
}


@pytest.fixture(scope="module")
def database(demo_folder: Path) -> Iterator[Database]:
    database = Database(Settings(data_dir=demo_folder, database_url=None).url, checkpoints=False)
    yield database
    database.dispose()


@pytest.fixture(scope="module")
def known(database: Database) -> dict[Subject, Dossier]:
    kinds: list[tuple[SubjectKind, tuple[Record[Any], ...]]] = [
        (SubjectKind.VEHICLE, VEHICLES),
        (SubjectKind.CARRIER, CARRIERS),
        (SubjectKind.FIXING, FIXINGS),
        (SubjectKind.GEAR, GEAR),
    ]
    found = {}
    with database.read() as session:
        for kind, records in kinds:
            for record in records:
                subject = Subject(kind, record.key)
                loaded = load(session, subject)
                assert loaded is not None
                found[subject] = loaded.dossier
    return found


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


def refused(request: dict[str, Any], known: dict[Subject, Dossier]) -> bool:
    """Whether the vehicle's confirmed record has no such car."""
    allowed = known[Subject(SubjectKind.VEHICLE, request["vehicle"])].record.range
    context = request["context"]
    year = context.get("year")
    return bool(
        (year and allowed.years and not allowed.years.first <= year <= allowed.years.end)
        or (context.get("body") and allowed.bodies and context["body"] not in allowed.bodies)
        or (context.get("roofs") and allowed.roofs and not set(context["roofs"]) <= set(allowed.roofs))
        or (context.get("market") and allowed.markets and context["market"] not in allowed.markets)
    )


@pytest.mark.parametrize("batch", range(BATCHES))
def test_every_budget_is_what_the_rules_say(batch: int, database: Database, known: dict[Subject, Dossier]) -> None:
    rng = random.Random(f"demo {batch}")
    answers = Answers(database, 500)
    compared = named = 0
    while compared < REQUESTS_IN_A_BATCH:
        request = asked(rng)
        if refused(request, known):
            continue
        found = msgspec.json.decode(answers.budget(msgspec.convert(request, BudgetIn, strict=False)).body)
        expected = oracle_budget(case_of(request, known))

        def grams(kilograms: float | None) -> int | None:
            return None if kilograms is None else round(kilograms * 1000)

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
