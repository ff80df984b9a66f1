"""Random registries and requests in the oracle's format. Pools are small, so that ties and interactions are frequent."""

import random
from typing import Any

Claim = dict[str, Any]

BODIES = ["wagon", "dual_cab", "hatch"]
ROOFS = ["raised_rail", "bare", "track"]
MARKETS = ["NZ", "ZA", "DE"]
FIRST, LAST = 2018, 2022
LIMITS = ["0", "30", "50", "75", "75.5", "80", "100", "100.25"]
LIMITS_LB = ["110", "165", "165.4", "176", "220"]
RATINGS = ["30", "50", "75", "100", "120.5"]
RATINGS_LB = ["110.2", "165", "220"]
MASSES = ["4.6", "5", "12.35", "25"]
MASSES_LB = ["10", "25.5", "55"]
EXCLUDED = [("4", "kg"), ("8.5", "kg"), ("25", "kg"), ("11", "lb"), ("55.1", "lb")]
FACTORS = ["1/2", "2/3", "0.75", "0.8", "1"]
APPLIES = ["own_rating", "roof_limit", "both", None]
BASES = ["includes_carrier", "excludes_carrier", "not_stated"]
THRESHOLDS = [0.3, 0.4, 0.5, 0.6, 0.7, 0.75, 0.85, 0.9, 0.95, 0.99]


class Numbers:
    """Claim ids, in the order of making."""

    def __init__(self) -> None:
        self.last = 1000

    def take(self) -> str:
        self.last += 1
        return f"C{self.last}"


def standing(rng: random.Random) -> dict[str, Any]:
    """State, approvals and a confidence that the caps allow for them."""
    kind = rng.random()
    if kind < 0.55:
        state, approvals = "approved", 2
        confidence = rng.choice([0.8, 0.85, 0.9, 0.95, 0.95, 0.99, 0.5, 0.75])
    elif kind < 0.72:
        state, approvals = "approved", 1
        confidence = rng.choice([0.3, 0.5, 0.6, 0.75, 0.79])
    elif kind < 0.84:
        state, approvals = rng.choice(["submitted", "needs_evidence"]), 0
        confidence = rng.choice([0.0, 0.3, 0.5, 0.55, 0.6])
    elif kind < 0.92:
        state, approvals = "disputed", rng.choice([1, 2])
        confidence = rng.choice([0.1, 0.3, 0.4])
    else:
        state = rng.choice(["rejected", "withdrawn", "superseded"])
        approvals = rng.choice([0, 1, 2])
        confidence = rng.choice([[0.3, 0.6], [0.5, 0.79], [0.75, 0.95]][approvals])
    return {"state": state, "approvals": approvals, "confidence": confidence}


def stated(rng: random.Random, kilograms: list[str], pounds: list[str]) -> dict[str, str]:
    if rng.random() < 0.25:
        return {"value": rng.choice(pounds), "unit": "lb"}
    return {"value": rng.choice(kilograms), "unit": "kg"}


def some(rng: random.Random, pool: list[str]) -> list[str]:
    size = rng.choice([1, 1, 1, 2])
    return sorted(rng.sample(pool, min(size, len(pool))))


def years(rng: random.Random) -> dict[str, int]:
    first = rng.randint(FIRST - 1, LAST)
    return {"from": first, "to": rng.randint(first, LAST + 1)}


def scope(rng: random.Random) -> dict[str, Any] | None:
    out: dict[str, Any] = {}
    for dimension, pool in (("years", []), ("bodies", BODIES), ("roofs", ROOFS), ("markets", MARKETS)):
        kind = rng.random()
        if kind < 0.15:
            out[dimension] = "all"
        elif kind < (0.45 if dimension in ("roofs", "bodies") else 0.28):
            out[dimension] = years(rng) if dimension == "years" else some(rng, pool)
    if not out and rng.random() < 0.5:
        return None
    return out


def condition(rng: random.Random) -> str:
    return rng.choice(["on_road", "on_road", "on_road", "off_road", "parked"])


def bound(rng: random.Random) -> str:
    return rng.choice(["exact", "exact", "exact", "exact", "at_least", "at_most"])


def publisher(rng: random.Random) -> str:
    return rng.choice(["maker", "maker", "importer"])


def factor_claim(rng: random.Random, numbers: Numbers, scoped: bool) -> Claim:
    claim: Claim = {
        "id": numbers.take(),
        "quantity": "off_road_factor",
        "stated": {"value": rng.choice(FACTORS), "unit": "factor"},
        "publisher": publisher(rng),
        "applies_to": rng.choice(APPLIES),
        **standing(rng),
    }
    if scoped:
        claim["scope"] = scope(rng)
        claim["applies_to"] = rng.choice(["roof_limit", "both", None])
    return claim


def roof_claim(rng: random.Random, numbers: Numbers) -> Claim:
    claim: Claim = {
        "id": numbers.take(),
        "quantity": "roof_limit",
        "condition": condition(rng),
        "stated": stated(rng, LIMITS, LIMITS_LB),
        "basis": rng.choice(BASES),
        "bound": bound(rng),
        "excluded_mass": None,
        "publisher": publisher(rng),
        "scope": scope(rng),
        **standing(rng),
    }
    if claim["basis"] == "excludes_carrier" and rng.random() < 0.8:
        value, unit = rng.choice(EXCLUDED)
        claim["excluded_mass"] = {"value": value, "unit": unit}
    if rng.random() < 0.03:
        claim["per"] = rng.choice(["bar", "pair", "foot"])
    return claim


def sure_roof_claim(rng: random.Random, numbers: Numbers) -> Claim:
    """One that makes an answer likely: on-road, exact, certain, about every car."""
    claim = roof_claim(rng, numbers)
    claim.update(condition="on_road", bound="exact", state="approved", approvals=2)
    claim.update(confidence=rng.choice([0.8, 0.9, 0.95]), scope=rng.choice([None, {"roofs": "all"}]))
    return claim


def per(rng: random.Random, kinds: list[str]) -> str:
    return rng.choice(kinds) if rng.random() < 0.25 else "total"


def rating_claim(rng: random.Random, numbers: Numbers, pers: list[str], scoped: bool = False) -> Claim:
    claim: Claim = {
        "id": numbers.take(),
        "quantity": "load_rating",
        "condition": condition(rng),
        "stated": stated(rng, RATINGS, RATINGS_LB),
        "basis": rng.choice(BASES),
        "bound": bound(rng),
        "publisher": publisher(rng),
        "per": per(rng, pers),
        **standing(rng),
    }
    if scoped:
        claim["scope"] = scope(rng)
    return claim


def mass_claim(rng: random.Random, numbers: Numbers, pers: list[str]) -> Claim:
    return {
        "id": numbers.take(),
        "quantity": "own_mass",
        "stated": stated(rng, MASSES, MASSES_LB),
        "basis": rng.choice(["includes_fixing", "excludes_fixing", "not_stated"]),
        "bound": bound(rng),
        "publisher": publisher(rng),
        "per": per(rng, pers),
        **standing(rng),
    }


def part_claims(rng: random.Random, numbers: Numbers, pers: list[str]) -> list[Claim]:
    claims: list[Claim] = []
    if rng.random() < 0.85:
        sure = mass_claim(rng, numbers, ["total"])
        sure.update(bound="exact", state="approved", approvals=2, confidence=rng.choice([0.8, 0.9, 0.95]))
        claims.append(sure)
    if rng.random() < 0.85:
        sure = rating_claim(rng, numbers, pers)
        sure.update(condition="on_road", bound="exact", state="approved", approvals=2)
        sure["confidence"] = rng.choice([0.8, 0.9, 0.95])
        claims.append(sure)
    for _ in range(rng.choice([0, 0, 0, 1, 2])):
        claims.append(mass_claim(rng, numbers, pers))
    for _ in range(rng.choice([0, 0, 1, 2, 3])):
        claims.append(rating_claim(rng, numbers, pers))
    for _ in range(rng.choice([0, 0, 1, 2])):
        claims.append(factor_claim(rng, numbers, scoped=False))
    rng.shuffle(claims)
    return claims


def given_part(rng: random.Random) -> dict[str, Any]:
    factor = rng.choice([None, *FACTORS])
    return {
        "given": {
            "own_mass": rng.choice(MASSES),
            "load_rating": rng.choice([*RATINGS, *RATINGS, None]),
            "rating_basis": rng.choice(BASES),
            "off_road_factor": factor,
            "factor_applies_to": None if factor is None else rng.choice(APPLIES),
        }
    }


def carrier(rng: random.Random, numbers: Numbers) -> Any:
    kind = rng.random()
    if kind < 0.2:
        return given_part(rng)
    if kind < 0.35:
        return part_claims(rng, numbers, ["total"])
    record = {
        "bars": rng.choice([None, 1, 2, 2, 3, 4]),
        "fixing": rng.choice(["built_in", "built_in", "separate", None]),
        "confirmed": rng.random() < 0.7,
    }
    return {"record": record, "claims": part_claims(rng, numbers, ["bar", "pair"])}


def fixing_part(rng: random.Random, numbers: Numbers) -> Any:
    kind = rng.random()
    if kind < 0.15:
        return given_part(rng)
    if kind < 0.3:
        return part_claims(rng, numbers, ["total"])
    record = {"feet": rng.choice([None, 4, 4, 6]), "confirmed": rng.random() < 0.7}
    return {"record": record, "claims": part_claims(rng, numbers, ["foot"])}


def vehicle_of(rng: random.Random, numbers: Numbers) -> dict[str, Any]:
    record = {
        "confirmed": rng.random() < 0.6,
        "years": rng.choice([None, [FIRST, LAST], [FIRST, LAST], [FIRST + 1, None]]),
        "bodies": rng.choice([None, ["wagon"], ["wagon", "dual_cab"], ["wagon", "dual_cab"]]),
        "roofs": rng.choice([None, None, ["raised_rail", "bare"], ["bare", "raised_rail", "track"]]),
        "markets": rng.choice([None, None, ["NZ"], ["NZ", "ZA"]]),
    }
    claims = [roof_claim(rng, numbers) for _ in range(rng.choice([0, 1, 2, 3, 4, 5, 6]))]
    if rng.random() < 0.7:
        claims.append(sure_roof_claim(rng, numbers))
    claims += [factor_claim(rng, numbers, scoped=True) for _ in range(rng.choice([0, 0, 1, 2]))]
    rng.shuffle(claims)
    return {"record": record, "claims": claims}


def context_of(rng: random.Random, record: dict[str, Any]) -> dict[str, Any]:
    """Fully, partly or not known, and never what a confirmed record rules out."""
    known = rng.choice([0.0, 0.5, 0.5, 0.8, 1.0])
    fixed = record if record["confirmed"] else {}
    out: dict[str, Any] = {}
    if rng.random() < known:
        first, last = fixed.get("years") or [FIRST - 1, LAST + 2]
        out["year"] = rng.randint(first, LAST + 2 if last is None else last)
    if rng.random() < known:
        out["body"] = rng.choice(fixed.get("bodies") or BODIES)
    if rng.random() < known:
        pool = list(fixed.get("roofs") or [*ROOFS, "glass"])
        out["roofs"] = rng.sample(pool, min(len(pool), rng.choice([1, 1, 1, 2, 3])))
    if rng.random() < known:
        out["market"] = rng.choice(fixed.get("markets") or MARKETS)
    return out


def gear_item(rng: random.Random) -> dict[str, Any]:
    item: dict[str, Any] = {"mass": None, "tolerance": None, "quantity": rng.choice([1, 1, 1, 2]), "range": None}
    kind = rng.random()
    if kind < 0.7:
        item["mass"] = rng.choice(["0", "9", "14", "20", "25.25", "33.3", "45"])
        item["tolerance"] = rng.choice([None, None, "1", "2.5"])
    elif kind < 0.97:
        item["range"] = rng.choice([["5", "10"], ["20", "45"], ["50", "100"]])
    if kind < 0.1:
        item["range"] = ["20", "45"]
    return item


def given_roof_of(rng: random.Random) -> dict[str, Any]:
    out: dict[str, Any] = {"limit": rng.choice(LIMITS), "basis": rng.choice(BASES)}
    if out["basis"] == "excludes_carrier" and rng.random() < 0.5:
        out["excluded_mass"] = rng.choice(["4", "8.5", "25"])
    return out


def is_said(carriers: list[Any], fixing: Any) -> bool:
    """A fixing is named, or the lowest carrier's confirmed record has it built in."""
    if fixing is not None:
        return True
    if not carriers or isinstance(carriers[0], list):
        return False
    record = carriers[0].get("record") or {}
    return bool(record.get("confirmed")) and record.get("fixing") == "built_in"


def random_case(rng: random.Random) -> dict[str, Any]:
    numbers = Numbers()
    vehicle = None if rng.random() < 0.07 else vehicle_of(rng, numbers)
    given_roof = given_roof_of(rng) if vehicle is None or rng.random() < 0.15 else None
    carriers = [carrier(rng, numbers) for _ in range(rng.choice([0, 1, 1, 1, 2, 2, 3]))]
    fixing = fixing_part(rng, numbers) if carriers and rng.random() < 0.4 else None
    fitments: list[dict[str, Any]] = []
    registered = [index for index, part in enumerate(carriers) if isinstance(part, list) or "given" not in part]
    if vehicle is not None and registered:
        for _ in range(rng.choice([0, 0, 0, 1, 1, 2])):
            claims = [rating_claim(rng, numbers, ["bar", "pair"], scoped=True) for _ in range(rng.choice([1, 2, 3]))]
            fitments.append({"carrier": rng.choice(registered), "record": {"roofs": None}, "claims": claims})
    asked = rng.choice(["on_road", "on_road", "off_road", "off_road", "parked"])
    case: dict[str, Any] = {
        "vehicle": vehicle,
        "context": {} if vehicle is None else context_of(rng, vehicle["record"]),
        "condition": asked,
        "min_confidence": 0.8 if rng.random() < 0.5 else rng.choice(THRESHOLDS),
        "carriers": carriers,
        "fixing": fixing,
        "fixing_said": is_said(carriers, fixing),
        "fitments": fitments,
        "given_roof": given_roof,
    }
    if rng.random() < 0.3:
        cargo = rng.choice([0, 9000, 20000, 33300, 45000, 70000])
        least = max(0, cargo - rng.choice([0, 0, 5000]))
        case["cargo_g"] = {"cargo": cargo, "least": least, "worst": cargo + rng.choice([0, 0, 2000, 6000])}
    else:
        case["gear"] = [gear_item(rng) for _ in range(rng.choice([0, 1, 1, 2, 3]))]
        people = rng.choice([0, 0, 1, 2]) if asked == "parked" else 0
        case["people"] = [{"mass": rng.choice(["60", "75", "82.5"])} for _ in range(people)]
    return case


def all_claims(case: dict[str, Any]) -> list[Claim]:
    """Every claim of a case: the vehicle's, the parts', the fitments'."""
    owners = [case["vehicle"], case["fixing"], *case["carriers"], *case["fitments"]]
    found: list[Claim] = []
    for owner in owners:
        found += owner if isinstance(owner, list) else (owner or {}).get("claims", [])
    return found


def weakened_case(rng: random.Random) -> dict[str, Any]:
    """A random case with more floors and more fitments' figures, in which much of what set does not set any more."""
    case = random_case(rng)
    for claim in all_claims(case):
        if claim["quantity"] in ("roof_limit", "load_rating") and rng.random() < 0.4:
            claim["bound"] = "at_least"
        if claim["state"] == "approved" and claim["confidence"] >= 0.8 and rng.random() < 0.4:
            claim["confidence"] = rng.choice([0.1, 0.4, 0.6, 0.79])
            claim["state"] = rng.choice(["approved", "disputed"])
    return case
