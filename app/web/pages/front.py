"""The front page, the files that pages bring along, and the unit that a visitor chose."""

from pathlib import PurePath
from typing import Final

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError, Kind
from app.persistence.session import ReadSession
from app.services import looking
from app.services.calling import called
from app.web.pages.forms import Filled, local_path
from app.web.pages.rendering import asset, brought_along, packed
from app.web.pages.visiting import UNIT_COOKIE, PageRoute, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

MEDIA_TYPES: Final = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".txt": "text/plain; charset=utf-8",
    ".woff2": "font/woff2",
}
FOR_EVER: Final = {"Cache-Control": "public, max-age=31536000, immutable"}
VARIES: Final = {"Vary": "Accept-Encoding"}
PACKED: Final = frozenset({".woff2"})
"""Files of these kinds are packed in themselves."""
YEAR_S: Final = 365 * 24 * 3600


@router.get("/")
def front(visit: Visiting) -> Response:
    """The front page: one box, and something to try it with."""
    return visit.page("front.html", example=visit.read(_example))


def _example(session: ReadSession) -> tuple[str, str] | None:
    """A vehicle of this registry, by its name and its page; None where there is none yet."""
    some = looking.records(session, SubjectKind.VEHICLE, cursor=None, limit=1).items
    if not some:
        return None
    subject = Subject(SubjectKind.VEHICLE, some[0].id)
    return called(session, [subject])[subject], f"/vehicles/{subject.id}"


@router.get("/static/{digest}/{name}")
def static(request: Request, digest: str, name: str) -> Response:
    """A file that pages bring along, by the digest of what is in it."""
    content = brought_along().get(name)
    if content is None or asset(name) != f"/static/{digest}/{name}":
        raise CantrailError(Kind.NOT_FOUND, "no_such_file", "There is no such file. Load the page anew.")
    suffix = PurePath(name).suffix
    media_type = MEDIA_TYPES[suffix]
    if suffix in PACKED:
        return Response(content, headers=FOR_EVER, media_type=media_type)
    if "gzip" not in request.headers.get("accept-encoding", ""):
        return Response(content, headers=FOR_EVER | VARIES, media_type=media_type)
    return Response(packed(name), headers=FOR_EVER | VARIES | {"Content-Encoding": "gzip"}, media_type=media_type)


@router.post("/unit")
def choose_unit(visit: Visiting, sent: Filled) -> Response:
    """Kilograms or pounds from now on, and back to where the choice was made."""
    response = visit.go(local_path(sent.text("back")))
    response.set_cookie(
        UNIT_COOKIE, "lb" if sent.text("unit") == "lb" else "kg", max_age=YEAR_S, httponly=True, samesite="lax"
    )
    return response
