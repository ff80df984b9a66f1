"""The oracle's arithmetic and single figures: one claim, one subject, one condition. See oracle.py."""

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

Case = dict[str, Any]
Claim = dict[str, Any]
Car = dict[str, list[Any]]
Limit = int | None

SETTING = Fraction(80, 100)
POUND = Fraction(45359237, 100000000)
DEAD = ("rejected", "withdrawn", "superseded")
CONDITIONS = ("on_road", "off_road", "parked")
DIMENSIONS = ("years", "bodies", "roofs", "markets")
CONTEXT_WORD = {"years": "year", "bodies": "body", "roofs": "roofs", "markets": "market"}
OTHER = "(none of these)"


# ---------------------------------------------------------------------------------------------- small arithmetic


def exact(value: Any) -> Fraction:
    return Fraction(str(value))


def grams(stated: dict[str, Any], count: int = 1, up: bool = False) -> int:
    amount = exact(stated["value"]) * 1000 * count
    if stated["unit"] == "lb":
        amount = amount * POUND
    return math.ceil(amount) if up else math.floor(amount)


def kilograms(value: Any, up: bool = False) -> int:
    return grams({"value": value, "unit": "kg"}, 1, up)


def least(values: list[Limit]) -> Limit:
    bounded = [value for value in values if value is not None]
    return min(bounded) if bounded else None


def below(a: Limit, b: Limit) -> bool:
    """a < b, None being unbounded."""
    if a is None:
        return False
    return b is None or a < b


def less(limit: Limit, mass: int) -> Limit:
    return None if limit is None else limit - mass


def times(limit: Limit, factor: Fraction) -> Limit:
    return None if limit is None else math.floor(limit * factor)


# ---------------------------------------------------------------------------------------------- one claim


def live(claims: list[Claim], quantity: str) -> list[Claim]:
    return [claim for claim in claims if claim["quantity"] == quantity and claim["state"] not in DEAD]


def sets(claim: Claim, level: Fraction) -> bool:
    return exact(claim["confidence"]) >= level


def approved_once(claim: Claim) -> bool:
    return bool(claim["approvals"] >= 1)


def scope_of(claim: Claim, dimension: str) -> Any:
    scope = claim.get("scope")
    return None if not scope else scope.get(dimension)


def applies(claim: Claim, car: Car) -> bool:
    for dimension in DIMENSIONS:
        given = scope_of(claim, dimension)
        if given is None or given == "all":
            continue
        if dimension == "years":
            if not any(in_years(given, year) for year in car["years"]):
                return False
        elif not any(value in given for value in car[dimension]):
            return False
    return True


def in_years(years: dict[str, Any], year: int) -> bool:
    return bool(years["from"] <= year and (years["to"] is None or year <= years["to"]))


def within(inner: Any, outer: Any, dimension: str) -> bool:
    """What the inner scope says (values or "all") lies within what the outer one says."""
    if outer == "all":
        return True
    if inner == "all":
        return False
    if dimension == "years":
        if inner["from"] < outer["from"]:
            return False
        if outer["to"] is None:
            return True
        return bool(inner["to"] is not None and inner["to"] <= outer["to"])
    return all(value in outer for value in inner)


def yields_to(claim: Claim, other: Claim) -> bool:
    if claim is other or other["bound"] != "exact" or not sets(other, SETTING):
        return False
    if claim["publisher"] != other["publisher"]:
        return False
    narrower = False
    for dimension in DIMENSIONS:
        mine, theirs = scope_of(claim, dimension), scope_of(other, dimension)
        if mine is not None:
            if theirs is None or not within(theirs, mine, dimension):
                return False
        elif theirs is not None and theirs != "all":
            narrower = True
    return narrower


@dataclass(frozen=True)
class Counts:
    """How many bars and feet a confirmed record says there are."""

    bars: int | None = None
    feet: int | None = None


UNCOUNTED = Counts()


def count_for(claim: Claim, counts: Counts, up: bool) -> int | None:
    per = claim.get("per") or "total"
    if per == "total":
        return 1
    if per == "bar":
        return counts.bars
    if per == "foot":
        return counts.feet
    if counts.bars is None:
        return None
    return (counts.bars + 1) // 2 if up else counts.bars // 2


def limit_pair(claim: Claim, is_vehicle: bool, counts: Counts) -> tuple[Limit, Limit]:
    """(gross, net) of one claim on a limit or a rating."""
    count = count_for(claim, counts, up=False)
    figure = grams(claim["stated"], 1 if count is None else count)
    if claim.get("basis") == "excludes_carrier":
        if not is_vehicle:
            return None, figure
        if claim.get("excluded_mass"):
            return figure + grams(claim["excluded_mass"]), figure
    return figure, None


# ---------------------------------------------------------------------------------------------- one figure


@dataclass(frozen=True)
class Figure:
    found: bool
    gross: Limit = None
    net: Limit = None
    gross_bound: str = "exact"
    net_bound: str = "exact"
    cap_gross: Limit = None
    cap_net: Limit = None
    confidence: Fraction = Fraction(1)


def lowered(figure: Figure) -> Figure:
    """The figure brought down to its own caps."""
    if not figure.found:
        return figure
    if below(figure.cap_gross, figure.gross):
        figure = replace(figure, gross=figure.cap_gross, gross_bound="exact")
    if below(figure.cap_net, figure.net):
        figure = replace(figure, net=figure.cap_net, net_bound="exact")
    return figure


def refused(figure: Figure) -> Figure:
    """No figure any more; what was exact is still a cap."""
    cap_gross = least([figure.cap_gross, figure.gross if figure.gross_bound == "exact" else None])
    cap_net = least([figure.cap_net, figure.net if figure.net_bound == "exact" else None])
    return Figure(False, cap_gross=cap_gross, cap_net=cap_net)


def higher(a: Figure, b: Figure) -> bool:
    """a is higher than b: by gross, then net."""
    if a.gross != b.gross:
        return below(b.gross, a.gross)
    return below(b.net, a.net)


def resolve(claims: list[Claim], level: Fraction, is_vehicle: bool, counts: Counts) -> Figure:
    """One fully known car, one subject, quantity and condition; the claims given are live and apply."""
    standing = [claim for claim in claims if not any(yields_to(claim, other) for other in claims)]
    setting = [claim for claim in standing if sets(claim, level)]
    lowering = [claim for claim in standing if sets(claim, level) or approved_once(claim)]

    caps = [limit_pair(claim, is_vehicle, counts) for claim in lowering if claim["bound"] in ("exact", "at_most")]
    figure = Figure(False, cap_gross=least([cap[0] for cap in caps]), cap_net=least([cap[1] for cap in caps]))

    exacts = [limit_pair(claim, is_vehicle, counts) for claim in setting if claim["bound"] == "exact"]
    floors = [limit_pair(claim, is_vehicle, counts) for claim in setting if claim["bound"] == "at_least"]
    if exacts:
        figure = replace(figure, found=True, gross=least([e[0] for e in exacts]), net=least([e[1] for e in exacts]))
    elif floors:
        best = Figure(True, floors[0][0], floors[0][1], "at_least", "at_least")
        for gross, net in floors[1:]:
            other = Figure(True, gross, net, "at_least", "at_least")
            if higher(other, best):
                best = other
        figure = replace(best, cap_gross=figure.cap_gross, cap_net=figure.cap_net)
    if not figure.found:
        return figure
    figure = lowered(figure)

    sure = Fraction(0)
    for claim in setting:
        if claim["bound"] in ("exact", "at_least"):
            gross, net = limit_pair(claim, is_vehicle, counts)
            if not below(gross, figure.gross) and not below(net, figure.net):
                sure = max(sure, exact(claim["confidence"]))
    return replace(figure, confidence=sure)


def own_mass(claims: list[Claim], threshold: Fraction, counts: Counts) -> int | None:
    mass, sure = own_mass_at(live(claims, "own_mass"), SETTING, counts)
    if mass is not None and threshold > SETTING and sure < threshold:
        return None
    if mass is None and threshold < SETTING:
        mass, sure = own_mass_at(live(claims, "own_mass"), threshold, counts)
    return mass


def own_mass_at(claims: list[Claim], level: Fraction, counts: Counts) -> tuple[int | None, Fraction]:
    """The mirror of ``resolve``: the highest stands, and at_most and at_least change places."""
    exacts: list[int] = []
    most: list[int] = []
    raising: list[int] = []
    confidences: list[tuple[int, Fraction]] = []
    for claim in claims:
        setting = sets(claim, level)
        if not setting and not approved_once(claim):
            continue
        count = count_for(claim, counts, up=True)
        if count is None:
            if claim["bound"] in ("exact", "at_least"):
                return None, Fraction(0)
            continue
        mass = grams(claim["stated"], count, up=True)
        if claim["bound"] in ("exact", "at_least"):
            raising.append(mass)
        if setting and claim["bound"] == "exact":
            exacts.append(mass)
        if setting and claim["bound"] == "at_most":
            most.append(mass)
        if setting and claim["bound"] in ("exact", "at_most"):
            confidences.append((mass, exact(claim["confidence"])))
    if exacts:
        figure = max(exacts)
    elif most:
        figure = min(most)
    else:
        return None, Fraction(0)
    figure = max([figure, *raising])
    return figure, max([sure for mass, sure in confidences if mass <= figure], default=Fraction(0))


def factor_for(claims: list[Claim], level: Fraction, use: str, car: Car | None) -> Fraction | None:
    """The lowest factor that counts for ``use``: own_rating, roof_limit, or any (a vehicle's). A factor is never
    needed, so that the level is 0.80 except where the limit that it multiplies is itself filled in below that."""
    wanted = []
    for claim in live(claims, "off_road_factor"):
        if car is not None and not applies(claim, car):
            continue
        if use == "any" or (claim.get("applies_to") or "both") in (use, "both"):
            wanted.append(claim)
    counting = [claim for claim in wanted if sets(claim, level) or approved_once(claim)]
    return min([exact(claim["stated"]["value"]) for claim in counting], default=None)
