"""A claim and the cars that it is about, in the few words of a list."""

from typing import Final

from app.core.mass import Per, Unit
from app.core.scope import ALL, NONE_OF_THESE, Scope, Value, Years
from app.services.sheets import LineView
from app.services.views.plates import CellView
from app.web.pages.writing import said, value, years

_PER: Final = {Per.BAR: "for each bar", Per.PAIR: "for each pair of bars", Per.FOOT: "for each foot"}
_APPLIES: Final = {
    "own_rating": "on its own rating",
    "roof_limit": "on the roof limit",
    "both": "on its own rating and the roof limit",
}


def figure_words(claim: LineView) -> str:
    """What a claim states, in the words and the unit of its source."""
    said_so, stated = claim.said, claim.said.stated
    unit = "" if stated.unit is Unit.FACTOR else str(stated.unit)
    per = "" if said_so.per is None else _PER.get(said_so.per, "")
    return " ".join(filter(None, [said(said_so.bound, "bound"), stated.value, unit, per]))


def terms(claim: LineView) -> str:
    """The condition and the basis of a claim's figure, or what its factor is on."""
    said_so = claim.said
    applies = "" if said_so.applies_to is None else _APPLIES[said_so.applies_to]
    found = [said(said_so.condition, "condition_in"), said(said_so.basis, "basis"), applies]
    return ", ".join(filter(None, found))


def scope_words(scope: Scope) -> str:
    """What a source speaks on; where it is silent on all, that."""
    found = []
    if isinstance(scope.years, Years):
        found.append(years(scope.years))
    for dimension, spoken in (("bodies", scope.bodies), ("roofs", scope.roofs), ("markets", scope.markets)):
        if spoken == ALL:
            found.append(f"all {dimension}")
        elif isinstance(spoken, tuple):
            found.append(", ".join(value(each, dimension) for each in spoken))
    return "; ".join(found) or "the source does not say for which cars"


def cell_words(cells: list[CellView]) -> str:
    """The cars that some cells together are."""
    told = [" or ".join(_cell(each, cell.dimension) for each in cell.values) for cell in cells]
    return ", ".join(told) or "every car"


def _cell(given: Value, dimension: str) -> str:
    if isinstance(given, Years):
        return years(given)
    if given == NONE_OF_THESE:
        return f"any other {said(dimension, 'dimension')}"
    return value(given, dimension)
