"""The change feed, and whether the server is well."""

from typing import Annotated

import msgspec
from fastapi import APIRouter, Depends
from starlette.responses import Response

from app.persistence import migrate
from app.services.changes import Changes, changes
from app.web.describing import gives, takes_query
from app.web.edge import Reader, json_response, query_of
from app.web.errors import problem
from app.web.lists import ListChanges


class Health(msgspec.Struct, frozen=True, omit_defaults=True):
    """How the server is; `warnings` are sentences about what whoever runs it should see to."""

    status: str
    warnings: tuple[str, ...] = ()


router = APIRouter(tags=["changes"])
health = APIRouter(tags=["health"])


@router.get(
    "/changes",
    summary="The entries since one, in order, each with the plate cells that it set, emptied, raised or lowered",
    responses=gives(Changes, refuses=(422, 500, 503), says="Some of the feed."),
    openapi_extra=takes_query(ListChanges),
)
def list_changes(
    reader: Annotated[Reader, Depends()], asked: Annotated[ListChanges, Depends(query_of(ListChanges))]
) -> Response:
    """The feed."""
    return reader.show(lambda session: changes(session, after=asked.after, limit=asked.limit))


@health.get("/healthz", summary="The process answers", responses=gives(Health, refuses=(), says="It does."))
def healthz() -> Response:
    """Alive."""
    return json_response(b'{"status":"alive"}')


@health.get(
    "/readyz",
    summary="The registry can be read and is up to date",
    responses=gives(Health, refuses=(503,), says="It can."),
)
def readyz(reader: Annotated[Reader, Depends()]) -> Response:
    """Ready."""
    if not migrate.is_current(reader.registry.database):
        return problem(503, "not_ready", "The database is older than this program. Run `cantrail init`.")
    refusal = reader.registry.database.refusal
    if refusal is not None:
        return problem(503, refusal.code, refusal.message)
    return json_response(msgspec.json.encode(Health("ready", tuple(reader.registry.checkpoints.troubles()))))
