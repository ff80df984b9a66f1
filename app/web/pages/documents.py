"""A document and its pages: what it is, who filed it, what cites it, and each page with the figures boxed."""

from typing import Any, Final

from fastapi import APIRouter
from starlette.responses import Response

from app.core.errors import CantrailError
from app.persistence.session import ReadSession
from app.services import copies, documents, evidencing, looking, page_reading
from app.services.copies import Resemblances
from app.services.page_reading import PageView
from app.web.pages.submitting import document_in_words
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

PICTURED: Final = frozenset({"application/pdf", "image/png", "image/jpeg"})
"""Files of which each page has a picture."""

ZOOMS: Final = (1, 2, 3)
MOST_CITING: Final = 20
MOST_NUMBERED: Final = 24
UNREAD: Final = frozenset({"no_such_page"})


@router.get("/documents/{id}")
def document(visit: Visiting, id: str) -> Response:
    """A document."""
    after = looking.number(visit.request.query_params.get("cursor"))

    def look(session: ReadSession) -> dict[str, Any]:
        own = visit.signed_in is not None and documents.row(session, id).submitted_by == visit.signed_in.caller.account
        return {
            **document_in_words(session, id),
            "filed_by": documents.row(session, id).submitted_by,
            "own": own,
            "citing": evidencing.citing(session, id, after=after, limit=MOST_CITING),
            "alike": _alike(session, visit, id),
        }

    context = visit.read(look)
    view = context["view"]
    return visit.page(
        "document.html",
        numbered=range(1, min(view.pages or 0, MOST_NUMBERED) + 1),
        pictured=view.held and view.media_type in PICTURED,
        done=visit.request.query_params.get("done", ""),
        **context,
    )


@router.get("/documents/{id}/pages/{number}")
def page(visit: Visiting, id: str, number: str) -> Response:
    """One page of a document: its picture, the figures that claims cite from it in boxes, and its text."""
    query = visit.request.query_params
    zoom = next((each for each in ZOOMS if str(each) == query.get("zoom")), ZOOMS[0])
    asked = looking.number(number)

    def look(session: ReadSession) -> dict[str, Any]:
        return {**document_in_words(session, id), "page": _page(session, visit, id, asked)}

    context = visit.read(look)
    found: PageView = context["page"]
    chosen = query.get("claim")
    boxed = [each for each in found.cited if each.box is not None and chosen in {None, each.claim}]
    return visit.page(
        "document_page.html",
        boxed=boxed,
        zoom=zoom,
        zooms=ZOOMS,
        claim=chosen if any(each.claim == chosen for each in found.cited) else None,
        pictured=context["view"].media_type in PICTURED,
        **context,
    )


def _page(session: ReadSession, visit: Visit, id: str, number: int) -> PageView:
    """A page as it was read. Before its document is read the first page may be looked at, and no more is known of it."""
    try:
        return page_reading.page(session, visit.registry.store, id, number)
    except CantrailError as error:
        if error.code not in UNREAD or documents.row(session, id).pages is not None or number != 1:
            raise
        return PageView(id, number, 0, None, "", [])


def _alike(session: ReadSession, visit: Visit, id: str) -> Resemblances:
    if documents.row(session, id).taken_down is not None:
        return Resemblances(id, [])
    return copies.resembling(session, visit.registry.store, id)
