"""Kept answers: kept by anybody, looked up by their digest, removed by a steward."""

from typing import Annotated, Final

import msgspec
from fastapi import APIRouter, Depends, Request
from msgspec import Meta
from starlette.responses import Response

from app.services import kept, looking
from app.services.inputs import Input
from app.services.kept import KeptView, NewKept, RemovedView, StandingView
from app.web.describing import ASKS, READS, WRITES, anonymously, gives, takes_query
from app.web.edge import Reader, Writer, body_of, json_response, query_of, registry_of

router = APIRouter(tags=["receipts"])

KEEPS: Final = (*ASKS, 409)


class AskStanding(Input, frozen=True, kw_only=True):
    """The entries that changed an answer since."""

    cursor: Annotated[str, Meta(max_length=100, description="`next` of the page before.")] | None = None


@router.post(
    "/receipts",
    status_code=201,
    summary="Answer, and keep the answer so that it can be looked up by its digest",
    responses=gives(KeptView, 201, refuses=KEEPS, says="Kept, now or before; Location says where."),
    openapi_extra=anonymously(NewKept),
)
def keep(request: Request, body: Annotated[NewKept, Depends(body_of(NewKept))]) -> Response:
    """A kept answer."""
    registry = registry_of(request)
    shown = kept.keep(registry.database, registry.answers, body, registry.clock.now())
    return json_response(msgspec.json.encode(shown), 201, headers={"Location": shown.address})


@router.get(
    "/receipts/{digest}",
    summary="A kept answer, whether it still stands, and the entries that changed it since",
    responses=gives(StandingView, refuses=READS, says="The answer as it was, and what became of it."),
    openapi_extra=takes_query(AskStanding),
)
def get_receipt(
    digest: str, reader: Annotated[Reader, Depends()], asked: Annotated[AskStanding, Depends(query_of(AskStanding))]
) -> Response:
    """A kept answer."""
    after = looking.number(asked.cursor)
    return reader.show(lambda session: kept.look(session, digest, after=after))


@router.post(
    "/receipts/{digest}/removal",
    summary="Forget what was asked, for good",
    responses=gives(RemovedView, refuses=WRITES),
)
def remove(digest: str, writer: Annotated[Writer, Depends()]) -> Response:
    """A removal."""
    return writer.write(lambda work: kept.remove(work, digest))
