"""The desk: what waits, taking it in hand, a steward's look at a mismatch, and the published figures of reviewing."""

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from app.persistence.session import AnySession
from app.services import desk, looking, mismatches
from app.services.desk import HoldView, ListDesk, OwnWorkView, WorkView
from app.services.desk_figures import DeskFigures
from app.services.inputs import NewMismatchJudgement
from app.services.views.claims import ClaimView
from app.services.views.records import Page
from app.services.work import Caller, Work
from app.web.describing import WRITES, gives, signed_in, takes, takes_query
from app.web.edge import Bearer, Reader, Writer, body_of, query_of, registry_of
from app.web.signed_in import private

router = APIRouter(tags=["desk"])

_LISTS = (401, 403, 422, 500, 503)


class Sitter:
    """Somebody who looks at the desk: reading, and known by name."""

    def __init__(self, request: Request, bearer: Annotated[Bearer, Depends()]) -> None:
        self.registry = registry_of(request)
        self._bearer = bearer

    def show(self, look: Callable[[AnySession, Caller], Any]) -> Response:
        """What this person may look at."""
        with self.registry.database.read() as session:
            shown = look(session, self._bearer.caller(session))
            noting = self._bearer.noting()
        answer = private(shown)
        answer.background = noting
        return answer


@router.get(
    "/desk",
    summary="What waits for a reviewer, in order",
    responses=gives(Page[WorkView], refuses=_LISTS, says="Some of the work that you may do."),
    openapi_extra={**takes_query(ListDesk), **signed_in()},
)
def list_desk(
    sitter: Annotated[Sitter, Depends()], asked: Annotated[ListDesk, Depends(query_of(ListDesk))]
) -> Response:
    """The desk."""
    return sitter.show(lambda session, by: desk.waiting(session, by, sitter.registry.clock.now(), asked))


@router.get(
    "/desk/own",
    summary="Claims of one's own for which a reviewer asked for evidence",
    responses=gives(Page[OwnWorkView], refuses=_LISTS, says="Some of them, longest waiting first."),
    openapi_extra={**takes_query(ListDesk), **signed_in()},
)
def list_own(sitter: Annotated[Sitter, Depends()], asked: Annotated[ListDesk, Depends(query_of(ListDesk))]) -> Response:
    """What waits for the author."""
    return sitter.show(lambda session, by: desk.own(session, by, asked))


@router.get(
    "/desk/figures",
    summary="How often blind readings differ, how long work waits, what is decided",
    responses=gives(DeskFigures, refuses=(422, 500, 503), says="The figures."),
)
def figures(reader: Annotated[Reader, Depends()]) -> Response:
    """The published figures."""
    registry = reader.registry
    return reader.show(lambda session: registry.figures.show(session, registry.clock.now()))


@router.post(
    "/desk/{work}/hold",
    summary="Take a piece of work in hand for half an hour, or go on holding it",
    responses=gives(HoldView, refuses=WRITES),
)
def hold(work: str, writer: Annotated[Writer, Depends()]) -> Response:
    """A hold."""
    return writer.write(lambda doing: desk.hold(doing, work))


@router.post(
    "/desk/{work}/release",
    summary="Give a piece of work back",
    responses=gives(HoldView, refuses=WRITES),
)
def release(work: str, writer: Annotated[Writer, Depends()]) -> Response:
    """A release."""
    return writer.write(lambda doing: desk.release(doing, work))


@router.post(
    "/readings/{id}/judgements",
    status_code=201,
    summary="A steward says what was wrong where a claim and a blind reading differ",
    responses=gives(ClaimView, 201, refuses=WRITES),
    openapi_extra=takes(NewMismatchJudgement),
)
def judge(
    id: str,
    writer: Annotated[Writer, Depends()],
    body: Annotated[NewMismatchJudgement, Depends(body_of(NewMismatchJudgement))],
) -> Response:
    """A judgement."""

    def done(work: Work) -> ClaimView:
        return looking.claim(work.session, mismatches.judge(work, id, body))

    return writer.write(done, status=201)
