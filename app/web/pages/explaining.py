"""How the registry works, in plain words, and under which terms its data may be used."""

from collections.abc import Iterator
from functools import cache
from typing import Final, NamedTuple

import msgspec
from fastapi import APIRouter
from starlette.responses import Response

from app.core.budget import Budget, Item, Part, Setup, load_of, work_out
from app.core.claim import AppliesTo, Basis, Condition
from app.core.conditions import Ruling, ruling_for
from app.core.confidence import CURRENT, SETS_AT, Method, probability
from app.core.given import GivenPart, GivenRoof
from app.core.lifecycle import State
from app.core.mass import Stated, Unit, carried_in, own_mass_grams
from app.core.review import APPROVALS_TO_SET
from app.core.steps import steps
from app.services.views.budgets import StepView, step_views
from app.web.pages.ladder import CAPS, RUNGS
from app.web.pages.visiting import PageRoute, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)


# Confidence


class Rung(NamedTuple):
    """One row of the table of points: in words, its points, and where its bar begins and how wide it is, in hundredths
    of the drawing's width."""

    words: str
    points: float
    left: float
    width: float


_GROUPS: Final = {
    "source": "Who says it",
    "artefact": "Whether the evidence is held",
    "reading": "Whether the machine finds the figure on the page",
    "blind": "What reviewers read without seeing the claim",
    "agreement": "Who else says so",
    "contradiction": "Who says less",
    "scope": "Which cars it speaks of",
    "basis": "Whether it says what it counts",
    "plausibility": "Whether it is likely at all",
    "age": "How old it is",
}
"""The table of points in parts, in the order in which people ask about them."""

_WORDS: Final = {**RUNGS, "age.most": "the most that age takes away"}
"""Most points stand in claims' ladders, in the same words."""

_STRONG: Final = ("source.manual_page", "artefact.held", "reading.found", "basis.stated", "scope.silent")
_READ: Final = ("blind.first_match", "blind.second_match")
"""The points of an ordinary good claim: before anybody has read it, and once two reviewers have."""


def table(method: Method) -> list[tuple[str, list[Rung]]]:
    """Every point of a method, under headings, with its bar."""
    widest = max(abs(points) for points in method.points.values())
    found: dict[str, list[Rung]] = {heading: [] for heading in _GROUPS.values()}
    for code, points in method.points.items():
        width = 50 * abs(points) / widest
        heading = _GROUPS.get(code.partition(".")[0], "Other")
        rung = Rung(_WORDS.get(code, code), points, 50 - width if points < 0 else 50, width)
        found.setdefault(heading, []).append(rung)
    return [(heading, rungs) for heading, rungs in found.items() if rungs]


class Grown(NamedTuple):
    """A good claim from its submission to its second approval: its points added up and its confidence each time."""

    approvals: int
    points: float
    uncapped: float
    cap: float | None
    confidence: float


def growth(method: Method) -> Iterator[Grown]:
    """How certain a page of a handbook that is held becomes, as it is read."""
    caps = {0: method.caps["no_approval"], 1: method.caps["one_approval"]}
    for approvals in range(APPROVALS_TO_SET + 1):
        added = [method.points[code] for code in (*_STRONG, *_READ[:approvals])]
        uncapped = probability(added)
        cap = caps.get(approvals)
        yield Grown(approvals, sum(added), uncapped, cap, uncapped if cap is None else min(cap, uncapped))


# The worked example


class Worked(NamedTuple):
    """A budget worked out in one condition, line by line."""

    condition: Condition
    steps: list[StepView]
    budget: Budget


class Example(msgspec.Struct, frozen=True):
    """The worked example: an invented vehicle, the rack on it, and what its owner would like to carry."""

    roof: Stated = Stated("75", Unit.KG)
    rack: Stated = Stated("25", Unit.KG)
    rating: Stated = Stated("100", Unit.KG)
    factor: str = "2/3"
    gear: tuple[tuple[str, int], ...] = (("awning", 14_000), ("boards", 7_600))


EXAMPLE: Final = Example()


@cache
def worked(condition: Condition, unit: Unit) -> Worked:
    """The example in one condition: worked out by the rules themselves."""
    roof = GivenRoof(EXAMPLE.roof, Basis.INCLUDES_CARRIER)
    rack = GivenPart(EXAMPLE.rack, EXAMPLE.rating, Basis.EXCLUDES_CARRIER, EXAMPLE.factor, AppliesTo.ROOF_LIMIT)
    part = Part(
        "the platform",
        rack.mass,
        ruling_for(rack.figures(), None, condition, SETS_AT, is_roof=False),
        rack.roof_factor,
        sticker=_on_road(rack).figure[0].grams,
    )
    setup = Setup(
        condition=condition,
        vehicle="the Orrin Tarn",
        roof=ruling_for(roof.figures(), None, condition, SETS_AT, is_roof=True),
        given_roof=None,
        fixing=None,
        carriers=(part,),
        fitments=(),
        fixing_said=True,
    )
    items = [Item(name, grams, grams, grams) for name, grams in EXAMPLE.gear]
    budget = work_out(setup, load_of(items))
    return Worked(condition, step_views(steps(setup, budget, items), unit), budget)


def _on_road(rack: GivenPart) -> Ruling:
    return ruling_for(rack.figures(), None, Condition.ON_ROAD, SETS_AT, is_roof=False)


@router.get("/how")
def how(visit: Visiting) -> Response:
    """How it works."""
    return visit.page(
        "how.html",
        method=CURRENT,
        table=table(CURRENT),
        caps=[(CAPS.get(code, code), most) for code, most in CURRENT.caps.items()],
        growth=list(growth(CURRENT)),
        sets_at=SETS_AT,
        states=list(State),
        examples=[worked(condition, visit.unit) for condition in (Condition.ON_ROAD, Condition.OFF_ROAD)],
        roof=own_mass_grams(EXAMPLE.roof),
        rack=carried_in(visit.unit, own_mass_grams(EXAMPLE.rack) or 0),
    )


# The data


class Licence(NamedTuple):
    """A licence of data: what it is called, where it stands, and what it asks in a sentence."""

    name: str
    address: str | None
    asks: str


_LICENCES: Final = {
    "CC-BY-4.0": Licence(
        "Creative Commons Attribution 4.0 International (CC BY 4.0)",
        "https://creativecommons.org/licenses/by/4.0/",
        "Take it, change it, sell what you make of it. Say where it is from, link to the licence, and say what you changed.",
    ),
    "CC-BY-SA-4.0": Licence(
        "Creative Commons Attribution-ShareAlike 4.0 International (CC BY-SA 4.0)",
        "https://creativecommons.org/licenses/by-sa/4.0/",
        "Take it and change it. Say where it is from, and pass on what you make of it under the same licence.",
    ),
    "CC0-1.0": Licence(
        "Creative Commons Zero 1.0 Universal (CC0 1.0)",
        "https://creativecommons.org/publicdomain/zero/1.0/",
        "Do with it what you like. To say where it is from is asked of you, not demanded.",
    ),
    "ODbL-1.0": Licence(
        "Open Data Commons Open Database License 1.0 (ODbL 1.0)",
        "https://opendatacommons.org/licenses/odbl/1-0/",
        "Take it and change it. Say where it is from, and share a database that you make of it under the same licence.",
    ),
    "ODC-By-1.0": Licence(
        "Open Data Commons Attribution License 1.0 (ODC-By 1.0)",
        "https://opendatacommons.org/licenses/by/1-0/",
        "Take it, change it, sell what you make of it. Say where it is from.",
    ),
    "PDDL-1.0": Licence(
        "Open Data Commons Public Domain Dedication and License 1.0 (PDDL 1.0)",
        "https://opendatacommons.org/licenses/pddl/1-0/",
        "Do with it what you like. To say where it is from is asked of you, not demanded.",
    ),
}


def licence(named: str) -> Licence:
    """The licence that whoever runs the registry chose for its data, by SPDX identifier or by a name of their own."""
    known = {id.lower(): each for id, each in _LICENCES.items()}
    return known.get(
        named.lower(), Licence(named, None, "Its own text says what it asks; whoever runs this registry has it.")
    )


@router.get("/data")
def data(visit: Visiting) -> Response:
    """The licence of the data, and what may be done with it."""
    return visit.page("data.html", licence=licence(visit.registry.settings.data_licence))
