"""The desk's other work: records to check, papers that may be copies, evidence to find, figures worked back that no longer
follow; and what stewards propose of which things are one."""

from http import HTTPStatus
from typing import Any, Final

from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Subject, SubjectKind
from app.core.desk import WorkKind
from app.core.errors import CantrailError, invalid
from app.core.placement import PlacementState
from app.persistence.session import ReadSession
from app.services import at_desk, copies, evidence_shown, looking, placing, subjects
from app.services.at_desk import Piece
from app.services.inputs import Confirmation, NewCopyJudgement
from app.services.placing_inputs import Drop
from app.services.stating import WITH_SCOPE
from app.services.views.placements import placement_page
from app.web.pages import desk_compare
from app.web.pages.desk_common import again, context, finish, look, reviewer
from app.web.pages.desk_forms import made
from app.web.pages.desk_reading import evidence, recorded
from app.web.pages.forms import Faulty, Filled
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

PROPOSALS_A_PAGE: Final = 20


def show(visit: Visit, piece: Piece, status: int = HTTPStatus.OK, **given: Any) -> Response:
    """A piece of work with the short form that does it."""
    if piece.work is None:
        return visit.page("desk_not_yours.html", status, **context(visit, piece, claim=None, decided=False))
    match piece.kind:
        case WorkKind.RECORD:
            shown = recorded(visit, _subject(piece))
            return visit.page("desk_record.html", status, **context(visit, piece, **{**shown, **given}))
        case WorkKind.NEAR_COPY:
            return visit.page("desk_copy.html", status, **context(visit, piece, **{**_papers(visit, piece), **given}))
        case _:
            return visit.page("desk_claim.html", status, **context(visit, piece, **{**_claim(visit, piece), **given}))


def _subject(piece: Piece) -> Subject:
    kind, _, id = piece.about.partition(".")
    return Subject(SubjectKind(kind), id)


def _claim(visit: Visit, piece: Piece) -> dict[str, Any]:
    claim = visit.read(lambda session: looking.claim(session, piece.about))
    said = desk_compare.stated(claim)
    rows = desk_compare.rows(said, scoped=claim.subject.kind in WITH_SCOPE)
    return {"claim": claim, "rows": rows, "line": desk_compare.line(said), **evidence(visit, claim.id)}


def _papers(visit: Visit, piece: Piece) -> dict[str, Any]:
    """Two papers whose words are much alike."""
    one, _, other = piece.about.partition(".")

    def read(session: ReadSession) -> dict[str, Any]:
        store = visit.registry.store
        sheets = [evidence_shown.sheet(session, store, each, 1) for each in (one, other)]
        found = next((each for each in copies.resembling(session, store, one).items if each.document == other), None)
        return {"sheets": sheets, "resembling": found}

    return visit.read(read)


@router.post("/desk/{work}/confirmation")
def confirm(work: str, visit: Visiting, sent: Filled) -> Response:
    """One has checked what a record says."""
    piece = look(visit, work)
    try:
        new = made(Confirmation, {"document": (sent.text("document").upper() or None)})
        subject = _subject(piece)
        return finish(visit, sent, work, f"checked.{piece.about}", lambda doing: subjects.confirm(doing, subject, new))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: show(visit, piece, status, sent=sent, faulty=faulty))


@router.post("/desk/{work}/copy")
def judge_copy(work: str, visit: Visiting, sent: Filled) -> Response:
    """Whether one paper is copied from the other."""
    piece = look(visit, work)
    one, _, other = piece.about.partition(".")
    try:
        if sent.text("copied") not in {"yes", "no"}:
            raise invalid("/copied", "missing", "Choose one of the two.")
        new = NewCopyJudgement(other, sent.text("copied") == "yes")
        return finish(visit, sent, work, f"copy.{one}", lambda doing: copies.judge(doing, one, new))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: show(visit, piece, status, sent=sent, faulty=faulty))


@router.get("/desk/proposed")
def proposed(visit: Visiting) -> Response:
    """Mergers, splits and their undoing that wait for somebody else than who proposed them."""
    return _proposed(visit)


def _proposed(visit: Visit, status: int = HTTPStatus.OK, **given: Any) -> Response:
    me = reviewer(visit)
    after = looking.number(visit.request.query_params.get("cursor") or None)

    def read(session: ReadSession) -> dict[str, Any]:
        page = placement_page(session, after=after, limit=PROPOSALS_A_PAGE, state=PlacementState.PROPOSED, subject=None)
        names = at_desk.called(session, [each for item in page.items for each in (item.subject, item.other)])
        return {"page": page, "names": names}

    done = visit.request.query_params.get("done", "")
    shown = {**visit.read(read), "me": me, "done": done, "faulty": Faulty(), "sent_for": "", "reason": ""}
    return visit.page("desk_proposed.html", status, **{**shown, **given})


@router.post("/desk/proposed/{id}")
def agree(id: str, visit: Visiting, sent: Filled) -> Response:
    """Agree with a proposal, refuse it, or take one's own back."""
    reviewer(visit)
    reason = sent.or_none("reason")
    try:
        match sent.text("say"):
            case "agree":
                visit.write(sent, lambda work: placing.confirm(work, id))
            case "refuse":
                drop = made(Drop, {"reason": reason})
                visit.write(sent, lambda work: placing.refuse(work, id, drop))
            case _:
                drop = made(Drop, {"reason": reason})
                visit.write(sent, lambda work: placing.withdraw(work, id, drop))
    except CantrailError as error:
        return again(
            visit,
            error,
            lambda status, faulty: _proposed(visit, status, faulty=faulty, sent_for=id, reason=sent.text("reason")),
        )
    return visit.go("/desk/proposed", done=f"{sent.text('say')}.{id}")
