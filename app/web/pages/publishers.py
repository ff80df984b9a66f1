"""A publisher: what is theirs, what they published, and what they were asked."""

from typing import Any, Final

from fastapi import APIRouter
from starlette.responses import Response

from app.persistence.session import ReadSession
from app.services import looking
from app.services.views.enquiries import enquiry_page
from app.services.views.records import RecordView
from app.web.pages.finding import KINDS, PLURALS, apart
from app.web.pages.visiting import PageRoute, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

SHOWN: Final = 20


@router.get("/publishers/{slug}")
def publisher(slug: str, visit: Visiting) -> Response:
    """One publisher's page, from the place in each list that the address names."""
    asked = visit.request.query_params

    def look(session: ReadSession) -> dict[str, Any]:
        shown = looking.publisher(session, slug)
        things = []
        for kind in KINDS:
            cursor = asked.get(f"{kind}_after") or None
            page = looking.records(session, kind, cursor=cursor, limit=SHOWN, maker=slug)
            if page.items or cursor:
                title, place = PLURALS[kind]
                rows = [(place + each.id, _called(each), apart(each)) for each in page.items]
                things.append((kind, title, rows, page.next))
        cursor = asked.get("documents_after") or None
        return {
            "shown": shown,
            "things": things,
            "documents": looking.documents(session, cursor=cursor, limit=SHOWN, publisher=slug),
            "enquiries": enquiry_page(session, after=0, limit=SHOWN, publisher=slug, newest_first=True),
        }

    return visit.page("publisher.html", slug=slug, **visit.read(look))


def _called(record: RecordView) -> str:
    return " ".join(each for each in (record.model, record.series) if isinstance(each, str))
