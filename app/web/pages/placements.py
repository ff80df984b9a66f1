"""Mergers, splits and their undoing: all of them, each by itself with what it would change or changed, and the form that
proposes to undo one."""

from collections.abc import Callable
from typing import Any, Final

from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError, Kind
from app.core.permissions import may_govern
from app.core.placement import PlacementKind, PlacementState
from app.persistence.session import ReadSession
from app.services import looking, placing
from app.services.calling import called
from app.services.changes import changes
from app.services.foreseeing_placements import Placing
from app.services.placing_inputs import NewUndoing
from app.services.views.placements import PlacementView, placement_page, placement_view
from app.web.pages.foreseen_said import alike
from app.web.pages.forms import Faulty, Filled, Sent
from app.web.pages.pairing import Ahead, ahead
from app.web.pages.people_forms import again, wanted
from app.web.pages.submitting_forms import asked
from app.web.pages.telling import Told, tell
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

A_PAGE: Final = 20


@router.get("/placements")
def all_of_them(visit: Visiting) -> Response:
    """All of them, the latest first; in one state, or of one record."""
    query = visit.request.query_params
    state = next((each for each in PlacementState if each == query.get("state")), None)
    kind = next((each for each in SubjectKind if each == query.get("kind")), None)
    subject = None if kind is None or not query.get("subject") else Subject(kind, query["subject"])
    after = looking.number(query.get("cursor") or None)

    def look(session: ReadSession) -> dict[str, Any]:
        page = placement_page(session, after=after, limit=A_PAGE, state=state, subject=subject, newest_first=True)
        about = [each for item in page.items for each in (item.subject, item.other)]
        return {"page": page, "names": called(session, [*about, *([subject] if subject else [])])}

    return visit.page("placements.html", state=state, subject=subject, **visit.read(look))


@router.get("/placements/{id}")
def one(id: str, visit: Visiting) -> Response:
    """One of them: what it says, what it would change, or what it did."""

    def look(session: ReadSession) -> dict[str, Any]:
        view = placement_view(session, id)
        weighs = view.state == PlacementState.PROPOSED and visit.reviews
        was_in_force = view.state in {PlacementState.IN_FORCE, PlacementState.UNDONE}
        did = _did(visit, session, view.decided) if view.decided is not None and was_in_force else None
        refused = _refused(placing.check_agreeing, session, id) if weighs else None
        named = _named(session, view)
        return {
            **named,
            "refused": refused,
            "ahead": _ahead(visit, session, view, named["undone"]) if weighs and refused is None else None,
            "did": did,
            "figures": alike(did.effects) if did is not None else [],
        }

    return visit.page(
        "placement.html",
        me=None if visit.signed_in is None else visit.signed_in.caller.account,
        **visit.read(look),
    )


@router.get("/placements/{id}/undoing")
def ask_undoing(id: str, visit: Visiting) -> Response:
    """The form that proposes to undo a merger or a split, with what that would change."""
    may_govern(visit.need().caller.role)
    return _undoing(visit, id, asked(visit.request.query_params))


@router.post("/placements/{id}/undoing")
def propose_undoing(id: str, visit: Visiting, sent: Filled) -> Response:
    """Propose to undo a merger or a split."""
    may_govern(visit.need().caller.role)
    try:
        new = wanted(NewUndoing, reason=sent.text("reason"))
        made = visit.write(sent, lambda work: placing.propose_undoing(work, id, new))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _undoing(visit, id, sent, status, faulty))
    return visit.go("/desk/proposed", done=f"proposed.{made}")


def _undoing(visit: Visit, id: str, sent: Sent, status: int = 200, faulty: Faulty | None = None) -> Response:
    def look(session: ReadSession) -> dict[str, Any]:
        view = placement_view(session, id)
        refused = _refused(placing.check_undoing, session, id)
        undoing = Placing(PlacementKind.UNDOING, view.subject, view.other, fitments=view.fitments, undoes=view.id)
        return {
            **_named(session, view),
            "refused": refused,
            "ahead": ahead(visit, session, undoing) if refused is None else None,
        }

    return visit.form("undoing.html", status, typed=sent, faulty=faulty or Faulty(), **visit.read(look))


def _refused(check: Callable[[ReadSession, Any], object], session: ReadSession, id: str) -> str | None:
    """Why something cannot be done about it now, if so."""
    try:
        check(session, placing.found(session, id))
    except CantrailError as error:
        if error.kind not in {Kind.CONFLICT, Kind.INVALID}:
            raise
        return error.message
    return None


def _named(session: ReadSession, view: PlacementView) -> dict[str, Any]:
    undone = placement_view(session, view.undoes) if view.undoes is not None else None
    return {"view": view, "undone": undone, "names": called(session, [view.subject, view.other])}


def _ahead(visit: Visit, session: ReadSession, view: PlacementView, undone: PlacementView | None) -> Ahead:
    """What agreeing would change. Undoing a split takes fitments back."""
    kind = PlacementKind(view.kind)
    fitments = view.fitments if undone is None else undone.fitments
    proposed = Placing(kind, view.subject, view.other, view.claims, fitments, view.undoes)
    return ahead(visit, session, proposed)


def _did(visit: Visit, session: ReadSession, seq: int) -> Told | None:
    """The entry that decided on it, with what it did to plates."""
    found = changes(session, after=seq - 1, limit=1, unit=visit.unit)
    return next(iter(tell(session, found.items, visit.unit)), None)
