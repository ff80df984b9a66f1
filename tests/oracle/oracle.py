"""A slow, plain second reading of the rules for roof figures and budgets, kept apart from the application.

Every car that the context leaves possible is tried one by one, and everything is worked out again for each.
Masses are whole grams. ``None`` stands for "unbounded" wherever a limit is meant.
"""

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations, product
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


# ---------------------------------------------------------------------------------------------- conditions


def multiplied(figure: Figure, factor: Fraction) -> Figure:
    return replace(
        figure,
        gross=times(figure.gross, factor),
        net=times(figure.net, factor),
        cap_gross=times(figure.cap_gross, factor),
        cap_net=times(figure.cap_net, factor),
    )


def both(a: Figure, b: Figure) -> Figure:
    """Two figures that bind together (caps aside)."""
    gross, net = least([a.gross, b.gross]), least([a.net, b.net])
    gross_bounds = [f.gross_bound for f in (a, b) if f.gross == gross]
    net_bounds = [f.net_bound for f in (a, b) if f.net == net]
    return Figure(
        True,
        gross,
        net,
        "exact" if "exact" in gross_bounds else "at_least",
        "exact" if "exact" in net_bounds else "at_least",
        confidence=min(a.confidence, b.confidence),
    )


def is_exact(figure: Figure) -> bool:
    if figure.gross is not None and figure.gross_bound != "exact":
        return False
    return figure.net is None or figure.net_bound == "exact"


def with_caps(figure: Figure, cap_gross: Limit, cap_net: Limit) -> Figure:
    return lowered(replace(figure, cap_gross=cap_gross, cap_net=cap_net))


def in_condition(figures: dict[str, Figure], condition: str) -> Figure:
    on, off, parked = figures["on_road"], figures["off_road"], figures["parked"]
    if condition == "on_road":
        if on.found:
            return on
        return with_caps(off, on.cap_gross, on.cap_net)
    if condition == "off_road":
        cap_gross, cap_net = least([on.cap_gross, off.cap_gross]), least([on.cap_net, off.cap_net])
        if on.found and off.found:
            return with_caps(both(on, off), cap_gross, cap_net)
        return with_caps(on if on.found else off, cap_gross, cap_net)
    if parked.found and is_exact(parked):
        return parked
    driving = in_condition(figures, "on_road")
    chosen = parked
    if driving.found and (not parked.found or higher(driving, parked)):
        chosen = driving
    chosen = replace(chosen, gross_bound="at_least", net_bound="at_least")
    return with_caps(chosen, parked.cap_gross, parked.cap_net)


@dataclass(frozen=True)
class Answer:
    figure: Figure  # in the condition asked for, stand-ins included
    on_road: Figure  # the recorded on-road figure and caps, which factors on the roof multiply
    level: Fraction = SETTING  # lower where the figure had to be filled in at a lower threshold


def answer(
    claims: list[Claim],
    quantity: str,
    condition: str,
    threshold: Fraction,
    car: Car | None,
    is_vehicle: bool = False,
    counts: Counts = Counts(),
    own_factors: list[Claim] | None = None,
    needed: bool = True,
) -> Answer:
    chosen = [claim for claim in live(claims, quantity) if car is None or applies(claim, car)]
    recorded: dict[str, Figure] = {}
    for name in CONDITIONS:
        recorded[name] = resolve([c for c in chosen if c["condition"] == name], SETTING, is_vehicle, counts)
    figure = conditioned(recorded, condition, factor_for(own_factors or [], SETTING, "own_rating", None))
    level = SETTING
    if threshold < SETTING and not figure.found and needed:
        filled = {
            name: resolve([c for c in chosen if c["condition"] == name], threshold, is_vehicle, counts)
            for name in CONDITIONS
        }
        at_level = conditioned(filled, condition, factor_for(own_factors or [], threshold, "own_rating", None))
        if at_level.found:
            recorded, figure, level = filled, at_level, threshold
    on_road = recorded["on_road"]
    if threshold > SETTING and needed:
        if figure.found and figure.confidence < threshold:
            figure = refused(figure)
        if on_road.found and on_road.confidence < threshold:
            on_road = refused(on_road)
    return Answer(figure, on_road, level)


def conditioned(recorded: dict[str, Figure], condition: str, own_factor: Fraction | None) -> Figure:
    figures = dict(recorded)
    if condition == "off_road" and own_factor is not None:
        figures["on_road"] = multiplied(figures["on_road"], own_factor)
    return in_condition(figures, condition)


def given_answer(pair: tuple[Limit, Limit], condition: str, own_factor: Fraction | None = None) -> Answer:
    """A figure of the asker's own: an exact on-road one."""
    on_road = Figure(True, pair[0], pair[1], cap_gross=pair[0], cap_net=pair[1])
    recorded = {"on_road": on_road, "off_road": Figure(False), "parked": Figure(False)}
    return Answer(conditioned(recorded, condition, own_factor), on_road)


# ---------------------------------------------------------------------------------------------- which cars


def scope_values(claims: list[Claim], dimension: str) -> list[Any]:
    found: list[Any] = []
    for claim in claims:
        given = scope_of(claim, dimension)
        if given is None or given == "all":
            continue
        if dimension == "years":
            found += [given["from"]] if given["to"] is None else [given["from"], given["to"]]
        else:
            found += given
    return sorted(set(found))


def choices(case: Case, dimension: str, roof_sets: bool) -> list[list[Any]]:
    """Every way a car could be in one dimension, each as the list of values that it has there."""
    vehicle = case.get("vehicle")
    record: dict[str, Any] = vehicle["record"] if vehicle else {"confirmed": False}
    claims: list[Claim] = list(vehicle["claims"]) if vehicle else []
    for fitment in case.get("fitments") or []:
        claims += fitment["claims"]
    given = (case.get("context") or {}).get(CONTEXT_WORD[dimension])
    if given is not None and given != []:
        return [list(given)] if dimension == "roofs" else [[given]]
    spoken = scope_values(claims, dimension)
    named = record.get(dimension) if record["confirmed"] else None
    if dimension == "years":
        if named:
            last = named[1] if named[1] is not None else max([named[0], *spoken]) + 1
            return [[year] for year in range(named[0], last + 1)]
        if not spoken:
            return [[2000]]
        return [[year] for year in range(spoken[0] - 1, spoken[-1] + 2)]
    singles: list[Any] = list(named) if named else [*spoken, OTHER]
    out = [[value] for value in singles]
    if dimension == "roofs" and roof_sets:
        for size in range(2, len(singles) + 1):
            out += [list(several) for several in combinations(singles, size)]
    return out


def completions(case: Case, roof_sets: bool) -> list[Car]:
    parts = [choices(case, dimension, roof_sets) for dimension in DIMENSIONS]
    return [dict(zip(DIMENSIONS, chosen, strict=True)) for chosen in product(*parts)]


# ---------------------------------------------------------------------------------------------- the vehicle alone


def vehicle_answer(case: Case, car: Car) -> Answer:
    claims = case["vehicle"]["claims"]
    threshold = exact(case["min_confidence"])
    return answer(claims, "roof_limit", case["condition"], threshold, car, is_vehicle=True)


def lowest_figure(figures: list[Figure]) -> dict[str, Any]:
    """The lowest over completions; no figure in one of them is none."""
    missing = any(not figure.found for figure in figures)
    gross = None if missing else least([figure.gross for figure in figures])
    net = None if missing else least([figure.net for figure in figures])
    gross_bounds = [figure.gross_bound for figure in figures if figure.found and figure.gross == gross]
    net_bounds = [figure.net_bound for figure in figures if figure.found and figure.net == net]
    return {
        "gross_g": gross,
        "net_g": net,
        "bound_gross": None if gross is None else "exact" if "exact" in gross_bounds else "at_least",
        "bound_net": None if net is None else "exact" if "exact" in net_bounds else "at_least",
        "cap_gross_g": least([figure.cap_gross for figure in figures]),
        "cap_net_g": least([figure.cap_net for figure in figures]),
        "refused": missing,
    }


def limit(case: Case, roof_sets: bool = False) -> dict[str, Any]:
    """The vehicle's roof figure in the case's condition, by itself.

    ``questions``: the dimensions not given in which two cars that are alike in all else get different answers, each
    with what every single value would give (the lowest over the rest).
    """
    cars = completions(case, roof_sets)
    figures = [vehicle_answer(case, car).figure for car in cars]
    out = lowest_figure(figures)
    questions = []
    for dimension in DIMENSIONS:
        ways = choices(case, dimension, roof_sets)
        if len(ways) < 2:
            continue
        answers = []
        for way in ways:
            part = [figure for car, figure in zip(cars, figures, strict=True) if car[dimension] == way]
            result = lowest_figure(part)
            answers.append(
                {"value": way, "gross_g": result["gross_g"], "net_g": result["net_g"], "refused": result["refused"]}
            )
        if dimension_matters(cars, figures, dimension):
            questions.append({"dimension": dimension, "answers": answers})
    out["questions"] = questions
    return out


def dimension_matters(cars: list[Car], figures: list[Figure], dimension: str) -> bool:
    seen: dict[str, tuple[bool, Limit, Limit, str, str]] = {}
    for car, figure in zip(cars, figures, strict=True):
        rest = repr([car[other] for other in DIMENSIONS if other != dimension])
        shown = (figure.found, figure.gross, figure.net, figure.gross_bound, figure.net_bound)
        if not figure.found:
            shown = (False, None, None, "", "")
        if seen.setdefault(rest, shown) != shown:
            return True
    return False


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
