"""What is missing and most asked for; and the published figures of reviewing."""

from typing import Final, NamedTuple
from urllib.parse import urlencode

import msgspec
from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Condition, Subject, SubjectKind
from app.core.wording import MONTHS
from app.persistence.session import ReadSession
from app.services import looking
from app.services.calling import called
from app.services.coverage import LackingView, ListCoverage, lacking
from app.services.desk_figures import Rate
from app.web.bodies import query
from app.web.pages import choosing
from app.web.pages.desk_common import REASONS
from app.web.pages.visiting import PageRoute, Visiting
from app.web.pages.writing import said

router = APIRouter(route_class=PageRoute, include_in_schema=False)

A_PAGE: Final = 30
MAKERS: Final = frozenset({"vehicle_maker"})
A_YEAR: Final = 12
FULL: Final = 100


class Lack(NamedTuple):
    """A roof limit that is missing, the vehicle's name, and how long its bars are: asked for, and in vain."""

    found: LackingView
    name: str
    asked: float
    vain: float

    @property
    def about(self) -> str:
        """What the pages that help are told: which figure of which vehicle."""
        return urlencode({"vehicle": self.found.vehicle, "quantity": "roof_limit", "condition": self.found.condition})


@router.get("/coverage")
def coverage(visit: Visiting) -> Response:
    """What is missing, most asked for in vain first."""
    asked = query(choosing.asked_with_slugs(visit.request, "maker"), ListCoverage)
    asked = msgspec.structs.replace(asked, limit=A_PAGE)

    def look(session: ReadSession) -> Response:
        page = lacking(session, asked)
        names = called(session, [Subject(SubjectKind.VEHICLE, each.vehicle) for each in page.items])
        most = max((each.asked for each in page.items), default=0) or 1
        lacks = [
            Lack(
                each,
                names[Subject(SubjectKind.VEHICLE, each.vehicle)],
                FULL * each.asked / most,
                FULL * each.asked_in_vain / most,
            )
            for each in page.items
        ]
        filters = {"maker": asked.maker, "condition": asked.condition}
        following = {key: text for key, text in {**filters, "cursor": page.next}.items() if text}
        return visit.page(
            "coverage.html",
            lacks=lacks,
            empty=not lacks and not looking.records(session, SubjectKind.VEHICLE, cursor=None, limit=1).items,
            asked=asked,
            conditions=list(Condition),
            makers=choosing.publishers(session, kinds=MAKERS),
            more=f"/coverage?{urlencode(following)}" if page.next else None,
        )

    return visit.read(look)


class Drawn(NamedTuple):
    """A rate with its interval in per cent, and the same as places on a line that is `FULL` long."""

    label: str
    readings: int
    mismatches: int
    rate: str | None
    low: str | None
    high: str | None
    places: tuple[float, float, float] | None


_QUEUES: Final = {
    "first_reading": "a first blind reading",
    "evidence_brought": "a look at evidence that was brought",
    "second_reading": "a second blind reading",
    "settlement": "a dispute to be settled",
    "mismatch": "a steward's look at a mismatch",
    "review_due": "a reading afresh, the claim being old",
}


@router.get("/desk-figures")
def desk_figures(visit: Visiting) -> Response:
    """How reviewing goes."""
    figures = visit.read(lambda session: visit.registry.figures.show(session, visit.now))
    by_quantity = [(said(each.quantity, "quantity"), each.mismatch) for each in figures.by_quantity]
    by_month = [(month(each.month), each.mismatch) for each in figures.by_month[-A_YEAR:]]
    return visit.page(
        "desk_figures.html",
        figures=figures,
        whole=rates([("all", figures.mismatch)]),
        by_quantity=rates(by_quantity),
        by_month=rates(by_month),
        queues=_QUEUES,
        reasons=REASONS,
    )


class Rates(NamedTuple):
    """Some rates on lines of one scale, and where those end."""

    rows: list[Drawn]
    widest: str


def rates(of: list[tuple[str, Rate]]) -> Rates:
    """Rates as they are shown, one beneath the other."""
    widest = max((rate.interval.high for _, rate in of if rate.interval), default=1.0)
    return Rates([drawn(label, rate, widest) for label, rate in of], percent(widest))


def month(text: str) -> str:
    """A month as people write it: "2025-04" is April 2025."""
    year, number = text.split("-")
    return f"{MONTHS[int(number) - 1]} {year}"


def drawn(label: str, of: Rate, widest: float) -> Drawn:
    """A rate as it is shown, on a line that ends at the widest interval."""
    if of.rate is None or of.interval is None:
        return Drawn(label, of.readings, of.mismatches, None, None, None, None)
    low, high = of.interval.low, of.interval.high
    places = (FULL * low / widest, FULL * of.rate / widest, FULL * high / widest)
    return Drawn(label, of.readings, of.mismatches, percent(of.rate), percent(low), percent(high), places)


def percent(rate: float) -> str:
    """A rate in per cent, to one decimal."""
    return f"{FULL * rate:.1f}%"
