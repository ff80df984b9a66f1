"""The review desk: what waits, in order and why; taking a piece of it in hand and giving it back; and what waits for
authors."""

from http import HTTPStatus
from typing import Any, Final

from fastapi import APIRouter
from starlette.responses import Response

from app.core.desk import READINGS, WorkKind
from app.core.errors import CantrailError
from app.persistence.session import ReadSession
from app.services import at_desk, desk
from app.services.desk import ListDesk
from app.web.pages import desk_other, desk_reading, desk_settling
from app.web.pages.desk_common import KINDS, READ_BLIND, again, kept, kept_to, kinds_of, look, minutes_left
from app.web.pages.forms import Faulty, Filled
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

PER_PAGE: Final = 25


@router.get("/desk")
def queue(visit: Visiting) -> Response:
    """What waits for whoever reviews."""
    visit.need()
    if not visit.reviews:
        return visit.page("desk_closed.html", HTTPStatus.FORBIDDEN)
    return _queue(visit)


def _queue(visit: Visit, status: int = HTTPStatus.OK, faulty: Faulty | None = None) -> Response:
    query = visit.request.query_params
    kind, cursor = kept_to(query.get("kind", "")), query.get("cursor") or None

    def read(session: ReadSession) -> dict[str, Any]:
        caller = visit.caller(session)
        return {
            "page": at_desk.lines(session, caller, visit.now, kinds_of(kind), cursor, PER_PAGE),
            "in_hand": at_desk.in_hand(session, caller, visit.now),
            "unfinished": at_desk.unfinished(session, caller),
            "interests": at_desk.declared(session, caller, visit.now),
        }

    found = visit.read(read)
    left = {each.id: minutes_left(each.until, visit.now) for each in found["in_hand"]}
    return visit.page(
        "desk.html",
        status,
        **found,
        left=left,
        kinds=KINDS,
        kind=kind,
        first=cursor is None,
        done=query.get("done", ""),
        read_blind=READ_BLIND,
        faulty=faulty or Faulty(),
    )


@router.get("/desk/own")
def own(visit: Visiting) -> Response:
    """Claims of one's own for which a reviewer asked for evidence."""
    visit.need()
    asked = ListDesk(cursor=visit.request.query_params.get("cursor") or None, limit=PER_PAGE)

    def read(session: ReadSession) -> dict[str, Any]:
        page = desk.own(session, visit.caller(session), asked)
        subjects = [each.subject for each in page.items if each.subject is not None]
        return {"page": page, "names": at_desk.called(session, subjects)}

    return visit.page("desk_own.html", **visit.read(read))


@router.post("/desk/next")
def take_next(visit: Visiting, sent: Filled) -> Response:
    """Take the first piece of work in hand, of one kind or of any, and go to it."""
    try:
        taken = visit.write(sent, lambda work: at_desk.take_next(work, kinds_of(sent.text("kind"))))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _queue(visit, status, faulty))
    if taken is None:
        return visit.go("/desk", done="nothing", **kept(sent))
    return visit.go(f"/desk/{taken}", **kept(sent))


@router.post("/desk/{work}/hold")
def hold(work: str, visit: Visiting, sent: Filled) -> Response:
    """Take one piece of work in hand and go to it."""
    try:
        visit.write(sent, lambda doing: desk.hold(doing, work))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _queue(visit, status, faulty))
    return visit.go(f"/desk/{work}", **kept(sent))


@router.post("/desk/{work}/release")
def release(work: str, visit: Visiting, sent: Filled) -> Response:
    """Give a piece of work back."""
    visit.write(sent, lambda doing: desk.release(doing, work))
    return visit.go("/desk", done=f"released.{work}", **kept(sent))


# Addresses of their own come before those of any piece of work.
router.include_router(desk_reading.router)
router.include_router(desk_settling.router)
router.include_router(desk_other.router)


@router.get("/desk/{work}")
def show(work: str, visit: Visiting) -> Response:
    """One piece of work, with the form that does it."""
    piece = look(visit, work)
    if piece.kind in READINGS:
        return desk_reading.show(visit, piece)
    if piece.kind in {WorkKind.SETTLEMENT, WorkKind.MISMATCH}:
        return desk_settling.show(visit, piece)
    return desk_other.show(visit, piece)
