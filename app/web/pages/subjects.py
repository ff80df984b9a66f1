"""Racks, fixings, gear, and what fits what: the record, the figures, what they rest on, the claims, and what it fits."""

from collections.abc import Callable
from typing import Any, Final

import msgspec
from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import QUANTITIES, Condition, Quantity, Subject, SubjectKind
from app.core.gear import CATEGORIES
from app.persistence.session import ReadSession
from app.services import looking, sheets
from app.services.asked import LimitIn
from app.services.sheets import FitView
from app.services.views.answers import FactorsView, LimitView, MassView, UnreviewedView
from app.services.views.records import Page, RecordView
from app.web.pages import briefly
from app.web.pages.improving import submitted_at
from app.web.pages.narrowing import years_of
from app.web.pages.plates import Field, claims_behind, factor_field, fields, mass_field, mass_unit
from app.web.pages.vehicles import LIMIT, conflicts_in, lower_in, named_in
from app.web.pages.visiting import PageRoute, Visit, Visiting
from app.web.pages.writing import said

router = APIRouter(route_class=PageRoute, include_in_schema=False)

CLAIMS: Final = 12
FITS: Final = 20
MASS: Final = msgspec.json.Decoder(MassView)
FACTORS: Final = msgspec.json.Decoder(FactorsView)
PLACES: Final = {
    SubjectKind.CARRIER: "carriers",
    SubjectKind.FIXING: "fixings",
    SubjectKind.GEAR: "gear",
    SubjectKind.FITMENT: "fitments",
}


class Figures:
    """All figures of one subject that is not a vehicle, exactly as the API answers them."""

    def __init__(self, visit: Visit, subject: Subject) -> None:
        self._visit = visit
        self._subject = subject
        possible = QUANTITIES[subject.kind]
        ratings = Condition if Quantity.LOAD_RATING in possible else ()
        self.ratings: list[LimitView] = [LIMIT.decode(self._asked(Quantity.LOAD_RATING, each)) for each in ratings]
        self.mass = MASS.decode(self._asked(Quantity.OWN_MASS)) if Quantity.OWN_MASS in possible else None
        has_factor = Quantity.OFF_ROAD_FACTOR in possible
        self.factors = FACTORS.decode(self._asked(Quantity.OFF_ROAD_FACTOR)).factors if has_factor else []

    def _asked(self, quantity: Quantity, condition: Condition | None = None) -> bytes:
        asked = LimitIn(quantity=quantity, condition=condition, unit=mass_unit(self._visit.unit))
        return self._visit.registry.answers.limit(self._subject, asked).body

    @property
    def used(self) -> dict[str, list[str]]:
        """The claims that give the figures, each with the conditions in which it does, if there are any."""
        found: dict[str, list[str]] = {}
        for answer in self.ratings:
            for claim in claims_behind(answer):
                found.setdefault(claim, []).append(answer.condition)
        own = [
            *(() if self.mass is None else self.mass.claims),
            *(claim for each in self.factors for claim in each.claims),
        ]
        for claim in own:
            found.setdefault(claim, [])
        return found

    @property
    def named(self) -> list[str]:
        """Every claim that the answers name."""
        return list(dict.fromkeys([*self.used, *named_in(self.ratings)]))

    @property
    def higher(self) -> list[UnreviewedView]:
        """The undecided claims that say that it weighs more."""
        return [] if self.mass is None else self.mass.unreviewed_higher

    @property
    def conflicts(self) -> dict[tuple[str, ...], tuple[float, float, list[str]]]:
        """The claims that cannot all be right: on its ratings, each with its conditions, and on what it weighs."""
        found = conflicts_in(self.ratings)
        for each in () if self.mass is None else self.mass.conflicts:
            found[each.claims] = (each.low, each.high, [])
        return found

    def itself(self, name: str) -> list[Field]:
        """What it weighs, and its factors, as fields of a plate."""
        mass = [] if self.mass is None else [mass_field(self.mass, name)]
        return [*mass, *(factor_field(each) for each in self.factors)]


def _page_of(kind: SubjectKind) -> Callable[[str, Visit], Response]:
    def page(id: str, visit: Visiting) -> Response:
        subject = Subject(kind, id)
        figures = Figures(visit, subject)
        asked = visit.request.query_params

        def look(session: ReadSession) -> dict[str, Any]:
            after = looking.number(asked.get("claims_after"))
            dossier = visit.registry.answers.dossier(subject)
            sheet = sheets.sheet(session, dossier, unit=visit.unit, named=figures.named, after=after, limit=CLAIMS)
            fit = sheets.fit(session, id) if kind is SubjectKind.FITMENT else None
            return {
                "sheet": sheet,
                "fit": fit,
                "fits": _fits(session, subject, looking.number(asked.get("fits_after"))),
            }

        around = visit.read(look)
        sheet, fit = around["sheet"], around["fit"]
        if isinstance(sheet.record.merged_into, str):
            return visit.go(f"/{PLACES[kind]}/{sheet.record.merged_into}")
        name = sheet.name if fit is None else f"{fit.carrier_name} on {fit.vehicle_name}"
        return visit.page(
            "subject.html",
            **around,
            id=id,
            kind=kind,
            name=name,
            here=f"/{PLACES[kind]}/{id}",
            facts=facts(sheet.record),
            ratings=fields(figures.ratings, name),
            itself=figures.itself(name),
            used=figures.used,
            lower=lower_in(figures.ratings),
            higher=figures.higher,
            conflicts=figures.conflicts,
            gaps=[(gap, submitted_at(subject, gap)) for gap in sheet.gaps],
            words=briefly,
            submit=submitted_at(subject),
        )

    page.__doc__ = f"One {kind}."
    return page


def _fits(session: ReadSession, subject: Subject, after: int) -> Page[FitView]:
    match subject.kind:
        case SubjectKind.CARRIER:
            return sheets.fits(session, carrier=subject.id, after=after, limit=FITS)
        case SubjectKind.FIXING:
            return sheets.fits(session, fixing=subject.id, after=after, limit=FITS)
        case _:
            return Page([])


def facts(record: RecordView) -> list[tuple[str, str]]:
    """What a record says, each with what it is."""
    told: list[tuple[str, object]] = [
        ("Kind", record.carrier_kind),
        ("Years", years_of(record)),
        ("Bars", record.bars),
        ("Feet", record.feet),
        ("Its fixing is", _fixing(record)),
        ("Holds on", _roofs(record.holds)),
        ("On roofs with", _roofs(record.roofs)),
        ("Category", CATEGORIES[record.category].name if record.category in CATEGORIES else None),
    ]
    return [(what, str(each)) for what, each in told if each is not None and each is not msgspec.UNSET and each != ""]


def _fixing(record: RecordView) -> str | None:
    if record.kind != SubjectKind.CARRIER or not isinstance(record.fixing, str):
        return None
    return {"built_in": "built in", "separate": "separate"}.get(record.fixing, record.fixing)


def _roofs(given: object) -> str | None:
    return " or ".join(said(each, "roof") for each in given) if isinstance(given, tuple) else None


for _kind, _plural in PLACES.items():
    router.add_api_route(f"/{_plural}/{{id}}", _page_of(_kind), methods=["GET"], name=f"page_of_{_kind}")
