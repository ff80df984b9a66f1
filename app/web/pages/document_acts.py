"""What people do about a document: have its address asked again, say that it is a copy, and take it down."""

from typing import Any, Final

from fastapi import APIRouter
from starlette.responses import Response

from app.core.errors import CantrailError
from app.core.permissions import may_take_down
from app.persistence.session import ReadSession
from app.services import copies, documents, fetching, foreseeing_takedowns, taking_down
from app.services.inputs import NewCopyJudgement, NewTakedown
from app.web.pages.foreseen_said import foretold
from app.web.pages.forms import Faulty, Filled, Sent
from app.web.pages.people_forms import again, wanted
from app.web.pages.submitting import document_in_words
from app.web.pages.submitting_forms import asked
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

SAYS: Final = {"yes": True, "no": False}


@router.post("/documents/{id}/fetch")
def fetch(id: str, visit: Visiting, sent: Filled) -> Response:
    """Have a document's address asked again, soon."""
    visit.write(sent, lambda work: fetching.ask_again(work, id))
    return visit.go(f"/documents/{id}", done="asked")


@router.get("/documents/{id}/copy")
def ask_copy(id: str, visit: Visiting) -> Response:
    """The form that says whether a document is copied from another."""
    visit.need()
    return _copy(visit, id, asked(visit.request.query_params))


@router.post("/documents/{id}/copy")
def judge_copy(id: str, visit: Visiting, sent: Filled) -> Response:
    """Somebody's word on two documents."""
    visit.need()
    try:
        given = {"of": sent.text("of").upper(), "copied": SAYS.get(sent.text("copied"))}
        new = wanted(NewCopyJudgement, **given)
        visit.write(sent, lambda work: copies.judge(work, id, new))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _copy(visit, id, sent, status, faulty))
    return visit.go(f"/documents/{id}", done="judged")


def _copy(visit: Visit, id: str, sent: Sent, status: int = 200, faulty: Faulty | None = None) -> Response:
    def look(session: ReadSession) -> dict[str, Any]:
        return {
            **document_in_words(session, id),
            "alike": copies.resembling(session, visit.registry.store, id).items,
        }

    return visit.form("document_copy.html", status, typed=sent, faulty=faulty or Faulty(), **visit.read(look))


@router.get("/documents/{id}/takedown")
def ask_takedown(id: str, visit: Visiting) -> Response:
    """The form that takes a document down, with what that would change."""
    may_take_down(visit.need().caller.role)
    return _takedown(visit, id, asked(visit.request.query_params))


@router.post("/documents/{id}/takedown")
def take_down(id: str, visit: Visiting, sent: Filled) -> Response:
    """Take a document's files down."""
    may_take_down(visit.need().caller.role)
    try:
        new = wanted(NewTakedown, code=sent.text("code"), reason=sent.text("reason"))
        visit.write(sent, lambda work: taking_down.take_down(work, id, new))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _takedown(visit, id, sent, status, faulty))
    return visit.go(f"/documents/{id}")


def _takedown(visit: Visit, id: str, sent: Sent, status: int = 200, faulty: Faulty | None = None) -> Response:
    account = visit.entered().caller.account

    def look(session: ReadSession) -> dict[str, Any]:
        is_down = documents.row(session, id).taken_down is not None
        found = foreseeing_takedowns.foresee(session, id, account, visit.now, visit.unit)
        return {
            **document_in_words(session, id),
            "is_down": is_down,
            "with_it": [each for each in found.documents if each != id],
            "told": foretold(session, found.changed, visit.unit),
        }

    return visit.form("document_takedown.html", status, typed=sent, faulty=faulty or Faulty(), **visit.read(look))
