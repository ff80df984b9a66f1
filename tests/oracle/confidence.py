"""A slow, plain second reading of section 2.6, how certain a claim is, and of 2.5 where a figure is worked back.

A registry is a plain dict of everything at once: claims, documents, what people say of copies, counts, what fits what.
"""

import math
from fractions import Fraction
from typing import Any

from tests.oracle import accessories
from tests.oracle.figures import (
    DEAD,
    DIMENSIONS,
    Claim,
    Counts,
    count_for,
    exact,
    grams,
    in_years,
    limit_pair,
    scope_of,
)

Registry = dict[str, Any]

SOURCES = {
    "manual_page": Fraction("1.6"),
    "maker_statement": Fraction("0.9"),
    "accessory_derived": Fraction("0.4"),
    "unverified": Fraction("-1.0"),
}
FURTHER_ROOTS = [Fraction("0.8"), Fraction("0.4"), Fraction("0.2")]
MATCHES = [Fraction("1.0"), Fraction("0.6")]
HALF_A_KILOGRAM = 500
CLEAR_YEARS = range(1900, 2201)

# ---------------------------------------------------------------------------------------------- roots


def together(registry: Registry, one: str, other: str, settled: bool) -> bool:
    """Whether two documents count as one: the same file, or one a copy of the other. One person's word is enough where
    that lowers, unless two say otherwise; where it raises, it takes two, and more than say otherwise."""
    files = [registry["documents"][each]["file"] for each in (one, other)]
    if files[0] is not None and files[0] == files[1]:
        return True
    for judged in registry["judgements"]:
        if set(judged["pair"]) == {one, other}:
            if settled:
                return bool(judged["copied"] >= 2 and judged["copied"] > judged["apart"])
            return bool(judged["copied"] >= 1 and judged["apart"] < 2)
    return False


def root_of(registry: Registry, document: str, settled: bool = False) -> str:
    """The first filed of the documents that can be reached from one, copy by copy."""
    reached = {document}
    while True:
        further = {
            other
            for other in registry["documents"]
            if other not in reached and any(together(registry, each, other, settled) for each in reached)
        }
        if not further:
            return min(reached, key=lambda each: int(registry["documents"][each]["seq"]))
        reached |= further


def inputs(registry: Registry, claim: Claim) -> list[Claim]:
    """The claims that a derivation takes in, each as what took its place if something did."""
    found = []
    for id in (claim["derivation"] or {}).get("takes", []):
        taken = registry["claims"][id]
        while taken["superseded_by"] is not None:
            taken = registry["claims"][taken["superseded_by"]]
        found.append(taken)
    return found


def rests_on(registry: Registry, claim: Claim) -> list[str]:
    """The documents that a claim cites, and those of its inputs."""
    found = [citation["document"] for citation in claim["citations"]]
    for taken in inputs(registry, claim):
        found += rests_on(registry, taken)
    return found


def roots(registry: Registry, claim: Claim, settled: bool = False) -> dict[str, bool]:
    """A claim's roots, each with whether some document of it that the claim rests on is held."""
    found: dict[str, bool] = {}
    for document in rests_on(registry, claim):
        root = root_of(registry, document, settled)
        found[root] = found.get(root, False) or registry["documents"][document]["held"]
    return found


def voices(claim: Claim, found: dict[str, bool]) -> list[str]:
    """The held roots that each say a claim's figure. No page says a figure that is worked back from several: together
    they are one voice."""
    held = [root for root, is_held in found.items() if is_held]
    return held if claim["derivation"] is None else held[:1]


# ---------------------------------------------------------------------------------------------- figures


def counts_of(registry: Registry, claim: Claim) -> Counts:
    bars, feet = registry["counts"].get(claim["subject"], (None, None))
    return Counts(bars, feet)


def total(registry: Registry, claim: Claim) -> int:
    """A limit or rating in all; for each of an unknown number, it is read as the total."""
    count = count_for(claim, counts_of(registry, claim), up=False)
    return grams(claim["stated"], 1 if count is None else count)


def worked_back(registry: Registry, claim: Claim) -> dict[str, Any]:
    """What a derivation comes to today: grams, basis, excluded mass and bound, and whether sums agree across three or
    more rows."""
    method = claim["derivation"]["method"]
    if method == "accessory_pages":
        rows = [as_row(registry, row, 2) for row in claim["derivation"]["rows"]]
        told = accessories.told(rows)
        counted: dict[str, Any] = {"basis": "includes_carrier", "excluded_mass": None, "bound": told["bound"]}
        once = [as_row(registry, row, 1) for row in claim["derivation"]["rows"]]
        if once != rows and least_of(once) < told["figure_g"]:
            return {"grams": least_of(once), "wide": False, **counted}
        used = accessories.rows_used(rows)
        heard = {repr(used[place]) for place in accessories.taking_part(used)}
        return {"grams": told["figure_g"], "wide": told["kind"] == "sums_agree" and len(heard) >= 3, **counted}
    taken = [today(registry, each) for each in inputs(registry, claim)]
    stated = exact(taken[0]["stated"]["value"]) * (accessories.TINY[taken[0]["stated"]["unit"]])
    if method == "net_to_gross":
        low = accessories.read(taken[1]["stated"]["value"], taken[1]["stated"]["unit"])[0]
        times = count_for(taken[1], counts_of(registry, taken[1]), up=False)
        assert times is not None
        whole = grams(taken[0]["stated"]) + low * times // accessories.GRAM
        bound = "at_most" if taken[0]["bound"] == "at_most" else "exact"
        return {"grams": whole, "wide": False, "basis": "includes_carrier", "excluded_mass": None, "bound": bound}
    if method == "factor":
        stated *= exact(taken[1]["stated"]["value"])
    if method == "parked_multiple":
        stated *= claim["derivation"]["multiple"]
    return {
        "grams": math.floor(stated / accessories.GRAM),
        "wide": False,
        "basis": taken[0]["basis"] or "not_stated",
        "excluded_mass": taken[0]["excluded_mass"] if method == "sister_vehicle" else None,
        "bound": taken[0]["bound"],
    }


def least_of(rows: list[dict[str, Any]]) -> int:
    """The least in grams that any row tells, each with its lower own mass; rows limited by themselves left out unless
    all are. No bound at all where no mass is lower than its page says."""
    low = accessories.read
    lighter = [
        row["lighter"] is not None and row["lighter"] * accessories.GRAM < low(row["mass"], row["unit"])[0]
        for row in rows
    ]
    if not any(lighter):
        return 10**12
    told = []
    for row, is_lighter in zip(rows, lighter, strict=True):
        load, rating = low(row["load"], row["unit"]), row["rating"] and low(row["rating"], row["unit"])
        by_itself = bool(rating) and load[0] <= rating[1] and rating[0] <= load[1]
        mass = row["lighter"] * accessories.GRAM if is_lighter else low(row["mass"], row["unit"])[0]
        told.append((by_itself, load[0] + mass if row["leaves_out"] else load[0]))
    heard = [least for by_itself, least in told if not by_itself] or [least for _, least in told]
    return min(heard) // accessories.GRAM


def still_the_same(claim: Claim, found: dict[str, Any]) -> bool:
    """Whether what is worked back today is on the basis that the claim states, and not only a most."""
    if found["bound"] == "at_most" and claim["bound"] != "at_most":
        return False
    return (found["basis"], found["excluded_mass"]) == (claim["basis"], claim["excluded_mass"])


def as_row(registry: Registry, row: dict[str, Any], approvals: int) -> dict[str, Any]:
    units = {row["mass"]["unit"], row["load"]["unit"], *([row["rating"]["unit"]] if row["rating"] else [])}
    assert len(units) == 1, "a page that mixes units within a row"
    return {
        "accessory": row["accessory"],
        "mass": row["mass"]["value"],
        "load": row["load"]["value"],
        "rating": row["rating"]["value"] if row["rating"] else None,
        "unit": units.pop(),
        "leaves_out": row["leaves_out"],
        "lighter": lightest(registry, row["subject"], approvals),
    }


def lightest(registry: Registry, subject: str | None, approvals: int) -> int | None:
    """The lowest own mass that a claim with so many approvals gives."""
    masses = [
        total(registry, claim)
        for claim in registry["claims"].values()
        if claim["subject"] == subject
        and claim["quantity"] == "own_mass"
        and claim["bound"] != "at_least"
        and binds(claim)
        and claim["approvals"] >= approvals
    ]
    return min(masses, default=None)


def today(registry: Registry, claim: Claim) -> Claim:
    """The claim with what it is worked back from today, where that is less than it states."""
    if claim["derivation"] is None:
        return claim
    found = worked_back(registry, claim)["grams"]
    if found >= total(registry, claim):
        return claim
    return {**claim, "stated": {"value": f"{found / 1000:.3f}", "unit": "kg"}, "per": "total"}


# ---------------------------------------------------------------------------------------------- comparing


def binds(claim: Claim) -> bool:
    return claim["state"] not in DEAD and claim["approvals"] >= 1


def counts_all(claim: Claim) -> bool:
    """Whether a figure reads as counting the carrier, or a mass as counting the fixing."""
    if claim["basis"] == "excludes_fixing":
        return False
    if claim["basis"] != "excludes_carrier":
        return True
    return claim["kind"] == "vehicle" and claim["excluded_mass"] is None


def overlapping(one: Claim, other: Claim) -> bool:
    """Whether some car is within both scopes."""
    for dimension in DIMENSIONS:
        mine, theirs = scope_of(one, dimension), scope_of(other, dimension)
        if mine in (None, "all") or theirs in (None, "all"):
            continue
        if dimension == "years":
            if not any(in_years(mine, year) and in_years(theirs, year) for year in CLEAR_YEARS):
                return False
        elif not set(mine) & set(theirs):
            return False
    return True


def comparable(one: Claim, other: Claim) -> bool:
    """Other claims of the same quantity, condition and basis, and of overlapping scope."""
    same = all(one[key] == other[key] for key in ("subject", "quantity", "condition"))
    purposes = [claim["applies_to"] or "both" for claim in (one, other)]
    return (
        same
        and one["id"] != other["id"]
        and counts_all(one) == counts_all(other)
        and (one["kind"] == "vehicle" or purposes[0] == purposes[1])
        and overlapping(one, other)
    )


def beyond(registry: Registry, claim: Claim, other: Claim) -> list[Fraction]:
    """By how much a claim goes beyond another, in grams, or in parts of a factor: on each side that both have."""
    if claim["quantity"] == "off_road_factor":
        # Any difference at all is more than half a kilogram.
        difference = exact(claim["stated"]["value"]) - exact(other["stated"]["value"])
        return [difference * 10**9]
    counts = counts_of(registry, claim)
    if claim["quantity"] == "own_mass":
        mine, theirs = (count_for(each, counts, up=True) for each in (claim, other))
        if mine is None or theirs is None:
            return []
        return [Fraction(grams(other["stated"], theirs, up=True) - grams(claim["stated"], mine, up=True))]
    pairs = [limit_pair(today(registry, each), claim["kind"] == "vehicle", counts) for each in (claim, other)]
    return [Fraction(a - b) for a, b in zip(*pairs, strict=True) if a is not None and b is not None]


def agreeing(registry: Registry, claim: Claim) -> list[str]:
    """The roots of other claims that say the same. It takes two approvals to agree, and no dispute."""
    own = roots(registry, claim)
    heard = set(own)
    found: list[str] = []
    for other in sorted(registry["claims"].values(), key=lambda each: each["derivation"] is not None):
        if not comparable(claim, other) or other["state"] != "approved" or other["approvals"] < 2:
            continue
        if other["bound"] == ("at_least" if claim["quantity"] == "own_mass" else "at_most"):
            continue
        apart = beyond(registry, claim, other)
        if not apart or any(abs(each) > HALF_A_KILOGRAM for each in apart):
            continue
        theirs = roots(registry, other)
        if other["derivation"] is not None and set(theirs) & heard:
            continue
        heard |= set(theirs)
        found += [root for root in voices(other, theirs) if root not in own and root not in found]
    return found


def contradicting(registry: Registry, claim: Claim) -> dict[str, float]:
    """The independent roots that are lower (higher, for an own mass), each with what its claim is worth."""
    own = roots(registry, claim, settled=True)
    found: dict[str, float] = {}
    for other in registry["claims"].values():
        if not comparable(claim, other) or not binds(other):
            continue
        if other["bound"] == ("at_most" if claim["quantity"] == "own_mass" else "at_least"):
            continue
        if not any(each > HALF_A_KILOGRAM for each in beyond(registry, claim, other)):
            continue
        worth = chance(lasting(registry, other))
        for root in roots(registry, other, settled=True):
            if root not in own:
                found[root] = max(worth, found.get(root, 0.0))
    return found


# ---------------------------------------------------------------------------------------------- points


def chance(points: list[Fraction]) -> float:
    return 1 / (1 + math.exp(-float(sum(points))))


def lasting(registry: Registry, claim: Claim) -> list[Fraction]:
    """What a claim is worth by itself and keeps: no lost evidence, age, mismatch or figure that is not found."""
    points = [SOURCES[claim["source_type"]]]
    points.append(Fraction("0.7") if rests_on(registry, claim) else Fraction("-1.2"))
    if claim["derivation"] is None and any(each["outcome"] == "found" for each in claim["citations"]):
        points.append(Fraction("0.6"))
    if claim["kind"] in ("vehicle", "fitment"):
        speaks = [scope_of(claim, dimension) is not None for dimension in ("years", "bodies", "roofs")]
        if all(speaks):
            points.append(Fraction("0.3"))
        elif not any(speaks):
            points.append(Fraction("-0.4"))
    if claim["basis"] not in (None, "not_stated"):
        points.append(Fraction("0.2"))
    points += MATCHES[: sum(claim["readings"])]
    if claim["kind"] == "vehicle" and claim["quantity"] == "roof_limit" and total(registry, claim) > 400_000:
        points.append(Fraction("-1.0"))
    return points


def passing(registry: Registry, claim: Claim) -> list[Fraction]:
    """What weakens a claim without its saying anything else."""
    points = []
    if rests_on(registry, claim) and not any(roots(registry, claim).values()):
        points.append(Fraction("-0.6") - Fraction("0.7"))
    outcomes = [each["outcome"] for each in claim["citations"]]
    if claim["derivation"] is None and "found" not in outcomes and "not_found" in outcomes:
        points.append(Fraction("-1.0"))
    points += [Fraction("-1.0") for matches in claim["readings"] if not matches]
    if claim["overdue_years"] is not None:
        points.append(max(Fraction("-1.5"), Fraction("-0.5") - Fraction("0.2") * claim["overdue_years"]))
    return points


def caps(registry: Registry, claim: Claim, others: list[str]) -> list[float]:
    own = roots(registry, claim)
    found = [{0: 0.60, 1: 0.79}.get(claim["approvals"], 1.0)]
    if claim["source_type"] == "unverified":
        found.append(0.50)
    if not any(own.values()):
        found.append(0.79)
    if (claim["overdue_years"] or 0) >= 1:
        found.append(0.79)
    if claim["state"] == "disputed":
        found.append(0.40)
    if sum(own.values()) + len(others) < 2 and repeats_a_rating(registry, claim):
        found.append(0.60)
    if claim["source_type"] == "accessory_derived":
        found.append(0.92 if worked_back(registry, claim)["wide"] else 0.85)
        # A guess by multiple never sets at 0.80: the most is the next lower thousandth that the other caps use.
        found.append(0.79 if claim["derivation"]["method"] == "parked_multiple" else 1.0)
        found += [0.0 if each["state"] in DEAD else confidence(registry, each) for each in inputs(registry, claim)]
        found.append(1.0 if still_the_same(claim, worked_back(registry, claim)) else 0.0)
    return found


def repeats_a_rating(registry: Registry, claim: Claim) -> bool:
    """Whether a maker states of a roof what a carrier recorded as fitting it is rated for."""
    if claim["source_type"] != "maker_statement" or claim["quantity"] != "roof_limit":
        return False
    return any(
        other["subject"] in registry["fits"].get(claim["subject"], [])
        and other["quantity"] == "load_rating"
        and binds(other)
        and abs(total(registry, other) - total(registry, claim)) <= HALF_A_KILOGRAM
        for other in registry["claims"].values()
    )


def confidence(registry: Registry, claim: Claim) -> float:
    """How likely a claim, relied on as it stands, does not overstate: rounded down to three decimals."""
    others = agreeing(registry, claim)
    said = [*voices(claim, roots(registry, claim)), *others]
    points = lasting(registry, claim) + passing(registry, claim)
    points += FURTHER_ROOTS[: max(0, len(said) - 1)]
    points += [Fraction("-1.2") * Fraction(worth) for worth in contradicting(registry, claim).values()]
    return min(math.floor(1000 * chance(points)) / 1000, *caps(registry, claim, others), 1.0)
