"""A slow, plain second reading of the rules for roof figures and budgets, kept apart from the application.

Every car that the context leaves possible is tried one by one, and everything is worked out again for each.
Masses are whole grams. ``None`` stands for "unbounded" wherever a limit is meant.
"""

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from tests.oracle.cars import answer, completions, given_answer, limit, multiplied, vehicle_answer
from tests.oracle.figures import (
    SETTING,
    Case,
    Claim,
    Counts,
    Figure,
    Limit,
    below,
    exact,
    factor_for,
    kilograms,
    least,
    less,
    own_mass,
)

__all__ = ["budget", "limit"]

# ---------------------------------------------------------------------------------------------- the parts


def claims_of(part: Any) -> list[Claim]:
    if isinstance(part, list):
        return part
    return list(part.get("claims") or [])


def given_of(part: Any) -> dict[str, Any] | None:
    return None if isinstance(part, list) else part.get("given")


def counts_of(part: Any) -> Counts:
    record = None if isinstance(part, list) else part.get("record")
    if not record or not record.get("confirmed"):
        return Counts()
    return Counts(record.get("bars"), record.get("feet"))


def part_mass(part: Any, threshold: Fraction) -> int | None:
    given = given_of(part)
    if given is not None:
        return None if given.get("own_mass") is None else kilograms(given["own_mass"], up=True)
    return own_mass(claims_of(part), threshold, counts_of(part))


def part_factor(part: Any, level: Fraction, use: str) -> Fraction | None:
    given = given_of(part)
    if given is None:
        return factor_for(claims_of(part), level, use, None)
    if given.get("off_road_factor") is None or (given.get("factor_applies_to") or "both") not in (use, "both"):
        return None
    return exact(given["off_road_factor"])


def part_rating(part: Any, condition: str, threshold: Fraction) -> Figure:
    given = given_of(part)
    if given is None:
        claims = claims_of(part)
        found = answer(claims, "load_rating", condition, threshold, None, counts=counts_of(part), own_factors=claims)
        return found.figure
    if given.get("load_rating") is None:
        return Figure(False)
    figure = kilograms(given["load_rating"])
    pair = (None, figure) if given.get("rating_basis") == "excludes_carrier" else (figure, None)
    return given_answer(pair, condition, part_factor(part, SETTING, "own_rating")).figure


def given_roof_pair(given: dict[str, Any]) -> tuple[Limit, Limit]:
    figure = kilograms(given["limit"])
    if given.get("basis") == "excludes_carrier" and given.get("excluded_mass") is not None:
        return figure + kilograms(given["excluded_mass"]), figure
    return figure, None


# ---------------------------------------------------------------------------------------------- the cargo


def cargo_sums(case: Case) -> tuple[dict[str, int], bool]:
    """The three sums, and whether the mass of something is missing."""
    if case.get("cargo_g") is not None:
        return dict(case["cargo_g"]), False
    sums = {"least": 0, "cargo": 0, "worst": 0}
    missing = False
    people = case.get("people") or []
    if people and case["condition"] != "parked":
        raise ValueError("people count when parked only")
    for thing in [*(case.get("gear") or []), *people]:
        quantity = thing.get("quantity", 1)
        if thing.get("mass") is not None:
            mass = exact(thing["mass"])
            worst = mass + exact(thing.get("tolerance") or 0)
            sums["least"] += quantity * math.ceil(mass * 1000)
            sums["cargo"] += quantity * math.ceil(mass * 1000)
            sums["worst"] += quantity * math.ceil(worst * 1000)
        elif thing.get("range") is not None:
            bottom, top = thing["range"]
            sums["least"] += quantity * kilograms(bottom, up=True)
            sums["cargo"] += quantity * kilograms(top, up=True)
            sums["worst"] += quantity * kilograms(top, up=True)
        else:
            missing = True
    return sums, missing


# ---------------------------------------------------------------------------------------------- the budget


@dataclass(frozen=True)
class Allowance:
    allowed: Limit  # None: no figure
    kind: str  # exact, floor, cap
    cap: Limit  # no more than this: exact parts and caps


def allowance(figure: Figure, gross_less: int, net_less: int) -> Allowance:
    gross, net = less(figure.gross, gross_less), less(figure.net, net_less)
    cap = least([less(figure.cap_gross, gross_less), less(figure.cap_net, net_less)])
    if not figure.found:
        return Allowance(None, "cap", cap)
    allowed = least([gross, net])
    bounds = []
    if gross is not None and gross == allowed:
        bounds.append(figure.gross_bound)
    if net is not None and net == allowed:
        bounds.append(figure.net_bound)
    kind = "exact" if "exact" in bounds else "floor"
    exact_gross = gross if figure.gross_bound == "exact" else None
    exact_net = net if figure.net_bound == "exact" else None
    return Allowance(allowed, kind, least([cap, exact_gross, exact_net]))


def over_completions(rows: list[Allowance], needed: bool) -> Allowance:
    """The lowest; a needed figure that is missing for one car is missing."""
    cap = least([row.cap for row in rows])
    if needed and any(row.allowed is None for row in rows):
        return Allowance(None, "cap", cap)
    allowed = least([row.allowed for row in rows])
    if allowed is None or below(cap, allowed):
        return Allowance(cap, "cap", cap)
    kinds = [row.kind for row in rows if row.allowed == allowed]
    return Allowance(allowed, "exact" if "exact" in kinds else "floor", cap)


def budget(case: Case, roof_sets: bool = False) -> dict[str, Any]:
    condition, threshold = case["condition"], exact(case["min_confidence"])
    vehicle, given_roof, fixing = case.get("vehicle"), case.get("given_roof"), case.get("fixing")
    carriers: list[Any] = case.get("carriers") or []
    fitments: list[dict[str, Any]] = case.get("fitments") or []
    if vehicle is None and given_roof is None:
        raise ValueError("neither a vehicle nor a given roof")
    missing: list[str] = []

    cargo, cargo_missing = cargo_sums(case)
    if cargo_missing:
        missing.append("gear mass")

    masses: list[int] = []
    for index, carrier in enumerate(carriers):
        mass = part_mass(carrier, threshold)
        if mass is None:
            missing.append(f"mass of carrier {index}")
        masses.append(mass or 0)
    fixing_mass = 0
    if fixing is not None:
        mass = part_mass(fixing, threshold)
        if mass is None:
            missing.append("mass of fixing")
        fixing_mass = mass or 0
    everything = fixing_mass + sum(masses)

    # All constraints, for every car that it may be.
    rows: dict[tuple[str, str], list[Allowance]] = {}
    needed: list[tuple[str, str]] = []

    def put(name: str, of: str, row: Allowance, is_needed: bool) -> None:
        rows.setdefault((name, of), []).append(row)
        if is_needed and (name, of) not in needed:
            needed.append((name, of))

    cars = completions(case, roof_sets)
    loosest = SETTING if vehicle is None else min(vehicle_answer(case, car).level for car in cars)
    for car in cars:
        own_level = SETTING
        roofs: list[tuple[str, Figure, Fraction]] = []
        if vehicle is not None:
            found = vehicle_answer(case, car)
            put("vehicle_roof", "", allowance(found.figure, everything, 0), True)
            roofs.append(("vehicle", found.on_road, loosest))
            own_level = found.level
        if given_roof is not None:
            found = given_answer(given_roof_pair(given_roof), condition)
            put("given_roof", "", allowance(found.figure, everything, 0), True)
            roofs.append(("given", found.on_road, SETTING))

        if condition == "off_road":
            for which, on_road, parts_level in roofs:
                factors: list[tuple[str, Fraction | None]] = []
                if vehicle is not None:
                    factors.append(("vehicle", factor_for(vehicle["claims"], own_level, "any", car)))
                for index, carrier in enumerate(carriers):
                    factors.append((f"carrier {index}", part_factor(carrier, parts_level, "roof_limit")))
                if fixing is not None:
                    factors.append(("fixing", part_factor(fixing, parts_level, "roof_limit")))
                for whose, factor in factors:
                    if factor is not None:
                        row = allowance(multiplied(on_road, factor), everything, 0)
                        put("vehicle_roof_reduced", f"{which} roof by {whose}", row, False)

        for index, carrier in enumerate(carriers):
            above = sum(masses[index + 1 :])
            figure = part_rating(carrier, condition, threshold)
            put("carrier", str(index), allowance(figure, masses[index] + fixing_mass + above, above), True)
        if fixing is not None:
            figure = part_rating(fixing, condition, threshold)
            put("fixing", "", allowance(figure, fixing_mass + sum(masses), sum(masses)), True)
        for number, fitment in enumerate(fitments):
            index = fitment["carrier"]
            above = sum(masses[index + 1 :])
            found = answer(
                fitment["claims"],
                "load_rating",
                condition,
                threshold,
                car,
                counts=counts_of(carriers[index]),
                own_factors=[] if given_of(carriers[index]) is not None else claims_of(carriers[index]),
                needed=False,
            )
            row = allowance(found.figure, masses[index] + fixing_mass + above, above)
            put("fitment", str(number), row, False)

    constraints: list[dict[str, Any]] = []
    allowances: list[tuple[str, int]] = []
    ceiling: Limit = None
    plain_ceiling: Limit = None
    for (name, of), several in rows.items():
        row = over_completions(several, (name, of) in needed)
        if row.allowed is None and (name, of) in needed:
            missing.append(f"{name} {of}".strip())
        ceiling = least([ceiling, row.cap])
        if row.allowed is not None and row.kind in ("exact", "cap"):
            plain_ceiling = least([plain_ceiling, row.allowed])
        if row.allowed is None:
            plain_ceiling = least([plain_ceiling, row.cap])
        if row.allowed is not None:
            allowances.append((name, row.allowed))
        constraints.append({"name": name, "of": of, "allowed_g": row.allowed, "kind": row.kind, "cap_g": row.cap})

    raw: Limit = None if missing else min(amount for _, amount in allowances)
    fixing_unsaid = bool(carriers) and not case["fixing_said"]
    out: dict[str, Any] = {
        "verdict": verdict(cargo, raw, ceiling, fixing_unsaid),
        "allowed_g": None if raw is None else max(0, raw),
        "raw_g": raw,
        "ceiling_g": ceiling,
        "remaining_g": None if raw is None else raw - cargo["cargo"],
        "binding": [] if raw is None else sorted({name for name, amount in allowances if amount == raw}),
        "constraints": constraints,
        "cargo_g": cargo,
        "missing": missing,
        # The other reading of the ceiling: a constraint whose allowance is a floor adds nothing, its caps included.
        "plain_ceiling_g": plain_ceiling,
        "plain_verdict": verdict(cargo, raw, plain_ceiling, fixing_unsaid),
        "roof_figure": None,
    }
    if vehicle is not None:
        figure_answer = limit(case, roof_sets)
        del figure_answer["questions"]
        out["roof_figure"] = figure_answer
    return out


def verdict(cargo: dict[str, int], raw: Limit, ceiling: Limit, fixing_unsaid: bool) -> str:
    if ceiling is not None and cargo["least"] > ceiling:
        return "over"
    if raw is None or cargo["cargo"] > raw:
        return "unknown"
    if cargo["worst"] > raw or fixing_unsaid:
        return "marginal"
    return "within"
