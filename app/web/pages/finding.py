"""Find: one box, typing errors forgiven, vehicles first. What is not there leads to entering it."""

import re
from typing import Final, NamedTuple
from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Condition, Subject, SubjectKind
from app.core.errors import CantrailError
from app.core.gear import CATEGORIES
from app.core.scope import Body, Years
from app.persistence.session import ReadSession
from app.services import looking
from app.services.asked import ContextIn, LimitIn
from app.services.calling import called
from app.services.finding import Found
from app.services.views.answers import LimitView
from app.services.views.records import RecordView
from app.web.pages.car import Car
from app.web.pages.plates import Field, field, mass_unit
from app.web.pages.vehicles import LIMIT, recorded
from app.web.pages.visiting import PageRoute, Visit, Visiting
from app.web.pages.writing import said, years

router = APIRouter(route_class=PageRoute, include_in_schema=False)

MOST_WORDS: Final = 100
SHOWN: Final = 6
OF_ONE_KIND: Final = 24
SURE: Final = 86
"""A name that is this much like the words is the one that was meant, where no other name comes near."""
APART: Final = 12
FAR: Final = 20
"""What is this much less like the words than such a name only shares some letters with it."""
KINDS: Final = (SubjectKind.VEHICLE, SubjectKind.CARRIER, SubjectKind.FIXING, SubjectKind.GEAR)
PLURALS: Final = {
    SubjectKind.VEHICLE: ("Vehicles", "/vehicles/"),
    SubjectKind.CARRIER: ("Racks", "/carriers/"),
    SubjectKind.FIXING: ("Fixings", "/fixings/"),
    SubjectKind.GEAR: ("Gear", "/gear/"),
}
_YEAR: Final = re.compile(r"\b(19[0-9]{2}|20[0-9]{2})\b")
_BODY: Final = re.compile(
    r"\b(" + "|".join(sorted((each.replace("_", "[ -]?") for each in Body if each != "other"), reverse=True)) + r")\b",
    re.IGNORECASE,
)


class Words(NamedTuple):
    """What somebody typed: the name, and what they said of the car beside it."""

    name: str
    year: int | None
    body: Body | None


class Hit(NamedTuple):
    """Something that was found: what it is called, where its page is, what tells it apart, and a vehicle's plainest
    figure."""

    name: str
    href: str
    apart: str
    figure: Field | None


class Results(NamedTuple):
    """What was found of one kind, and where there is more of it."""

    title: str
    hits: list[Hit]
    more: str | None


@router.get("/find")
def find(visit: Visiting) -> Response:
    """What is found by some words."""
    asked = visit.request.query_params
    typed = " ".join(asked.get("q", "").split())[:MOST_WORDS]
    if not typed:
        return visit.go("/")
    only = next((kind for kind in KINDS if kind == asked.get("kind")), None)
    words = read_words(typed)
    kinds = (only,) if only else KINDS
    found = near_the_best({kind: visit.registry.finder.find(kind, words.name, limit=50) for kind in kinds})
    most = OF_ONE_KIND if only else SHOWN
    records, other_years = visit.read(
        lambda session: (
            {kind: _records(session, kind, each, words, most) for kind, each in found.items()},
            _of_other_years(session, found.get(SubjectKind.VEHICLE, []), words),
        )
    )
    sure = None if only or asked.get("all") else _sure(found, records[SubjectKind.VEHICLE], other_years, words.name)
    if sure is not None:
        return visit.go(Car(sure, _context(words)).here)
    results = [_results(visit, kind, each, words, typed, most) for kind, each in records.items() if each]
    return visit.page(
        "find.html",
        q=typed,
        results=results,
        other_years=[(name, f"/vehicles/{record.id}", apart(record)) for name, record in other_years],
        year=words.year,
        only=only,
        new=_entering(words),
    )


def near_the_best(found: dict[SubjectKind, list[Found]]) -> dict[SubjectKind, list[Found]]:
    """What was found without what is far less like the words than the best, where that is surely meant."""
    best = max((each.score for some in found.values() for each in some), default=0.0)
    if best < SURE:
        return found
    return {kind: [each for each in some if each.score >= best - FAR] for kind, some in found.items()}


def read_words(typed: str) -> Words:
    """A model year and a body apart from the name, where a name is left."""
    name, year, body = typed, None, None
    found = _YEAR.search(name)
    if found is not None and name != found[0]:
        year, name = int(found[0]), _without(name, found)
    named = _BODY.search(name)
    if named is not None and name.lower() != named[0].lower():
        body, name = Body(re.sub("[ -]", "_", named[0].lower())) if _is_body(named[0]) else None, _without(name, named)
    return Words(name, year, body)


def _is_body(text: str) -> bool:
    return re.sub("[ -]", "_", text.lower()) in set(Body)


def _without(text: str, found: re.Match[str]) -> str:
    return " ".join((text[: found.start()] + " " + text[found.end() :]).split())


def _context(words: Words) -> ContextIn:
    return ContextIn(year=words.year, body=words.body)


def _records(
    session: ReadSession, kind: SubjectKind, found: list[Found], words: Words, most: int
) -> list[tuple[str, RecordView]]:
    """The records of what was found with their names, one more than is shown; vehicles of the year that was said. What
    was merged into another is found as that."""
    year = words.year if kind is SubjectKind.VEHICLE else None
    page = looking.found_records(session, kind, found, year=year, category=None, limit=most + 1)
    names = called(session, [Subject(kind, record.id) for record in page.items])
    standing = [record for record in page.items if not isinstance(record.merged_into, str)]
    return [(names[Subject(kind, record.id)], record) for record in standing]


def _of_other_years(session: ReadSession, found: list[Found], words: Words) -> list[tuple[str, RecordView]]:
    """The vehicles that are called so and were not made in the year that was said: it is as easily mistaken as a name."""
    if words.year is None:
        return []
    some = _records(session, SubjectKind.VEHICLE, found, words._replace(year=None), SHOWN)
    return [
        (name, record)
        for name, record in some
        if isinstance(record.years, Years) and not record.years.first <= words.year <= record.years.end
    ]


def _sure(
    found: dict[SubjectKind, list[Found]],
    vehicles: list[tuple[str, RecordView]],
    other_years: list[tuple[str, RecordView]],
    name: str,
) -> str | None:
    """The one vehicle that must be meant: the only one whose name has every word, or the only one that is like them, of
    whichever year."""
    wanted = set(name.lower().split())
    having = [record.id for called_so, record in vehicles if wanted <= set(called_so.lower().split())]
    scores = {each.id: each.score for each in found[SubjectKind.VEHICLE]}
    others = max((each.score for kind in KINDS[1:] for each in found[kind]), default=0.0)
    if len(having) == 1:
        return having[0] if scores[having[0]] > others else None
    if having or not vehicles:
        return None
    first, *rest = (scores[record.id] for _, record in (*vehicles, *other_years))
    return vehicles[0][1].id if first >= SURE and max([others, *rest]) <= first - APART else None


def _results(
    visit: Visit, kind: SubjectKind, records: list[tuple[str, RecordView]], words: Words, typed: str, most: int
) -> Results:
    title, place = PLURALS[kind]
    is_vehicle = kind is SubjectKind.VEHICLE
    hits = [
        Hit(
            name,
            Car(record.id, _context(words)).here if is_vehicle else place + record.id,
            apart(record),
            _figure(visit, record, words) if is_vehicle and most == SHOWN else None,
        )
        for name, record in records[:most]
    ]
    more = f"/find?{urlencode({'q': typed, 'kind': kind})}" if len(records) > most == SHOWN else None
    return Results(title, hits, more)


def _figure(visit: Visit, record: RecordView, words: Words) -> Field | None:
    """The limit on sealed roads, for the car as far as the words say it."""
    subject = Subject(SubjectKind.VEHICLE, record.id)
    for context in (_context(words), ContextIn()):
        try:
            asked = LimitIn(condition=Condition.ON_ROAD, context=context, unit=mass_unit(visit.unit))
            answer: LimitView = LIMIT.decode(visit.registry.answers.glance(subject, asked).body)
        except CantrailError:
            continue
        return field(answer, record.id)
    return None


def apart(record: RecordView) -> str:
    """What tells one thing from others of the same name."""
    if isinstance(record.years, Years):
        return recorded(record)
    told = [years(Years(record.first_year, record.first_year))] if isinstance(record.first_year, int) else []
    if isinstance(record.carrier_kind, str):
        told.append(record.carrier_kind)
    if isinstance(record.bars, int):
        told.append(f"{record.bars} bars")
    if isinstance(record.holds, tuple):
        told.append("for " + " or ".join(said(each, "roof") for each in record.holds))
    if isinstance(record.category, str) and record.category in CATEGORIES:
        told.append(CATEGORIES[record.category].name)
    return " · ".join(told)


def _entering(words: Words) -> str:
    """Where what was typed is entered, filled in as far as it can be told."""
    first, _, rest = words.name.partition(" ")
    filled = {"maker": first if rest else "", "model": rest or first, "from": str(words.year or "")}
    return f"/vehicles/new?{urlencode({name: text for name, text in filled.items() if text})}"
