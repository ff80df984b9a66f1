"""The oracle's conditions and cars: what stands in for what, and every car that it may be. See oracle.py."""

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations, product
from typing import Any

from tests.oracle.figures import (
    CONDITIONS,
    CONTEXT_WORD,
    DIMENSIONS,
    OTHER,
    SETTING,
    UNCOUNTED,
    Car,
    Case,
    Claim,
    Counts,
    Figure,
    Limit,
    applies,
    exact,
    factor_for,
    higher,
    least,
    live,
    lowered,
    refused,
    resolve,
    scope_of,
    sets,
    times,
)

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
    counts: Counts = UNCOUNTED,
    own_factors: list[Claim] | None = None,
    needed: bool = True,
) -> Answer:
    chosen = [claim for claim in live(claims, quantity) if car is None or applies(claim, car)]

    def at(level: Fraction) -> tuple[Figure, Figure]:
        own_factor = factor_for(own_factors or [], level, "own_rating", None)
        ways = []
        for supposed in suppositions(chosen, level):
            recorded = {
                name: resolve([c for c in supposed if c["condition"] == name], level, is_vehicle, counts)
                for name in CONDITIONS
            }
            ways.append((conditioned(recorded, condition, own_factor), recorded["on_road"]))
        if needed and not ways[0][0].found:
            return ways[0]
        return no_more_than([way[0] for way in ways]), no_more_than([way[1] for way in ways])

    figure, on_road = at(SETTING)
    level = SETTING
    if threshold < SETTING and not figure.found and needed:
        at_level = at(threshold)
        if at_level[0].found:
            (figure, on_road), level = at_level, threshold
    if threshold > SETTING and needed:
        if figure.found and figure.confidence < threshold:
            figure = refused(figure)
        if on_road.found and on_road.confidence < threshold:
            on_road = refused(on_road)
    return Answer(figure, on_road, level)


def suppositions(claims: list[Claim], level: Fraction) -> list[list[Claim]]:
    """The claims as they are, and then in every way in which those that two reviewers approved and that do not set
    might set after all."""
    waiting = [n for n, claim in enumerate(claims) if claim["approvals"] >= 2 and not sets(claim, level)]
    out = []
    for size in range(len(waiting) + 1):
        for raised in combinations(waiting, size):
            out.append([{**claim, "confidence": 1} if n in raised else claim for n, claim in enumerate(claims)])
    return out


def no_more_than(figures: list[Figure]) -> Figure:
    """The first figure, and no more than any of the others, which are not sure."""
    first = figures[0]
    found = [figure for figure in figures if figure.found]
    if not found:
        return first
    gross, net = least([figure.gross for figure in found]), least([figure.net for figure in found])
    sure_gross = first.gross if first.found and first.gross_bound == "exact" else None
    sure_net = first.net if first.found and first.net_bound == "exact" else None
    return Figure(
        True,
        gross,
        net,
        first.gross_bound if first.found and first.gross == gross else "at_least",
        first.net_bound if first.found and first.net == net else "at_least",
        least([first.cap_gross, sure_gross]),
        least([first.cap_net, sure_net]),
        first.confidence,
    )


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
