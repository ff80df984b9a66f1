"""The questions that would narrow a vehicle's answers, asked on its page: each answer with the figures that it gives, as
a link that says it of the car."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any, Final, NamedTuple

from app.core.scope import NONE_OF_THESE, Body, Roof, Value, Years
from app.services.views.answers import LimitView
from app.services.views.records import RecordView
from app.web.pages.car import Car
from app.web.pages.plates import in_words
from app.web.pages.writing import said, value, years

MEMBERS: Final = {"years": "year", "bodies": "body", "roofs": "roofs", "markets": "market"}
MOST_YEARS: Final = 40
FEW: Final = 6
"""So many answers stand as buttons, each with its figure; more than these stand in rows, by figure."""


class Choice(NamedTuple):
    """An answer that can be given, and the page on which it is."""

    label: str
    href: str


class Group(NamedTuple):
    """The answers that give the same figures; `rest` is in words what cannot be said by a link."""

    figures: str
    choices: list[Choice]
    rest: str


class Question(NamedTuple):
    """A question: `changes` tells whether it changes an answer by itself, or only together with others."""

    dimension: str
    text: str
    changes: bool
    groups: list[Group]
    few: bool


def questions(answers: Sequence[LimitView], car: Car, record: RecordView, now: datetime) -> list[Question]:
    """What is open on this car: first what changes an answer by itself, and of those, what is seen from the outside."""
    by_dimension: dict[str, dict[Value, dict[str, str]]] = {}
    for answer in answers:
        for question in answer.questions:
            rows = by_dimension.setdefault(question.dimension, {})
            for each in question.answers:
                figure = in_words(each.gross, each.net, answer.unit)
                rows.setdefault(each.value, {})[answer.condition] = figure
    order = [each for each in ("roofs", "bodies", "years", "markets") if each in by_dimension]
    found = [_question(each, by_dimension[each], car, record, now) for each in order]
    return sorted(found, key=lambda each: not each.changes)


def _question(
    dimension: str, rows: dict[Value, dict[str, str]], car: Car, record: RecordView, now: datetime
) -> Question:
    groups: dict[str, tuple[list[Choice], list[str]]] = {}
    named = {each for each in rows if isinstance(each, str)}
    for each, figures in rows.items():
        choices, rest = groups.setdefault(_figures(figures), ([], []))
        made, unsayable = _choices(dimension, each, named, car, record, now)
        choices += made
        rest += unsayable
    shown = [Group(figures, choices, ", ".join(rest)) for figures, (choices, rest) in groups.items()]
    few = sum(len(group.choices) + bool(group.rest) for group in shown) <= FEW
    return Question(dimension, _asked(dimension, rows), len(groups) > 1, shown, few)


def _figures(by_condition: dict[str, str]) -> str:
    """The figures that one answer gives, said once where they are the same."""
    if len(set(by_condition.values())) == 1:
        (figure,) = set(by_condition.values())
        told = [said(condition, "condition_in") for condition in by_condition]
        return figure if len(told) > 2 else f"{figure} {' and '.join(told)}"
    return ", ".join(f"{figure} {said(condition, 'condition_in')}" for condition, figure in by_condition.items())


def _choices(
    dimension: str, given: Value, named: set[str], car: Car, record: RecordView, now: datetime
) -> tuple[list[Choice], list[str]]:
    """The links that say one value, and what of it no link can say."""
    if isinstance(given, Years):
        return _years(given, car, record, now)
    if given != NONE_OF_THESE:
        return [_choice(dimension, given, car)], []
    possible: Iterable[str] = {"bodies": Body, "roofs": Roof}.get(dimension, ())
    others = [_choice(dimension, str(each), car) for each in possible if each not in named]
    return others, [] if others else ["any other"]


def _choice(dimension: str, given: str, car: Car) -> Choice:
    member: dict[str, Any] = {MEMBERS[dimension]: [given] if dimension == "roofs" else given}
    return Choice(value(given, dimension), car.but(**member).here)


def _years(given: Years, car: Car, record: RecordView, now: datetime) -> tuple[list[Choice], list[str]]:
    made = record.years if isinstance(record.years, Years) else given
    first = max(given.first, made.first)
    last = min(given.end, made.end, max(now.year + 1, first))
    if last - first >= MOST_YEARS:
        return [], [years(given)]
    return [Choice(str(year), car.but(year=year).here) for year in range(first, last + 1)], []


def years_of(record: RecordView) -> str:
    """When a thing is made, as far as it is recorded."""
    if isinstance(record.years, Years):
        return years(record.years)
    return f"from {record.first_year}" if isinstance(record.first_year, int) else ""


def _asked(dimension: str, rows: dict[Value, dict[str, str]]) -> str:
    if dimension == "roofs":
        apart = {_figures(figures) for each, figures in rows.items() if each != "raised_rail"}
        if "raised_rail" in rows and len(apart) == 1 and _figures(rows[Roof.RAISED_RAIL]) not in apart:
            return "Does it have factory raised rails?"
        return "What does its roof have from the factory?"
    return {
        "bodies": "Which body has it?",
        "years": "Which model year is it?",
        "markets": "In which country was it sold new?",
    }[dimension]
