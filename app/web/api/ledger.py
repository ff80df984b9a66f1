"""The ledger for those who check it: its signed head, its entries as they are stored, and proofs."""

from typing import Annotated, Final

import msgspec
from fastapi import APIRouter, Depends
from msgspec import Meta
from starlette.responses import Response

from app.core.checkpoint import MOST_ENTRIES
from app.services import proofs
from app.services.inputs import Input
from app.services.proofs import ConsistencyView, InclusionView, KeyView, StoredEntries
from app.web.describing import gives, gives_text, takes_query
from app.web.edge import NOT_KEPT, Reader, json_response, query_of

router = APIRouter(prefix="/ledger", tags=["ledger"])

_NOTE: Final = (
    "roofs.example.org/ledger\n1187\nn4bQgYhMfWWaL+qgxVrQFaO/TxsrC4Is0V1sFbDwCgg=\n\n"
    "— roofs.example.org/ledger GisNfuVWQwDDYKxyiG6CyoSof4euuNWQ/JN9E9yHOA+f8ChLnRLQZ8ej0ZRDzBYd3y6Vx8n0v8HhXzYzWq7Kb5PSpQE=\n"
)

Number = Annotated[int, Meta(ge=1, le=MOST_ENTRIES)]


class ListEntries(Input, frozen=True, kw_only=True):
    """The entries that follow one."""

    after: Annotated[int, Meta(ge=0, le=MOST_ENTRIES, description="The last entry that you have.")] = 0
    limit: Annotated[int, Meta(ge=1, le=200)] = 50


class AskInclusion(Input, frozen=True, kw_only=True):
    """That an entry is in the ledger."""

    seq: Annotated[Number, Meta(description="The entry's number.")]
    size: Annotated[Number, Meta(description="Of a ledger of so many entries; the present one if left out.")] | None = (
        None
    )


class AskConsistency(Input, frozen=True, kw_only=True, rename={"earlier": "from"}):
    """That the ledger of a size begins with the ledger of an earlier size."""

    earlier: Annotated[Number, Meta(description="The earlier size.")]
    to: Annotated[Number, Meta(description="The later size; the present one if left out.")] | None = None


@router.get(
    "/checkpoint",
    summary="The ledger's present size and root, as a signed note (C2SP tlog-checkpoint)",
    response_class=Response,
    responses=gives_text(_NOTE, refuses=(500, 503)),
)
def get_checkpoint(reader: Annotated[Reader, Depends()]) -> Response:
    """A checkpoint. It is kept before it is handed out."""
    return Response(reader.registry.checkpoints.current(), headers=NOT_KEPT, media_type="text/plain")


@router.get(
    "/key",
    summary="The key that checkpoints are signed with",
    responses=gives(KeyView, refuses=(500, 503), says="The key."),
)
def get_key(reader: Annotated[Reader, Depends()]) -> Response:
    """The verifier key."""
    key = reader.registry.checkpoints.key.verifier()
    return json_response(msgspec.json.encode(KeyView(key.text, key.name, key.id.hex())))


@router.get(
    "/entries",
    summary="The ledger's entries as they are stored, in order",
    responses=gives(StoredEntries, refuses=(422, 500, 503), says="Some entries."),
    openapi_extra=takes_query(ListEntries),
)
def list_entries(
    reader: Annotated[Reader, Depends()], asked: Annotated[ListEntries, Depends(query_of(ListEntries))]
) -> Response:
    """Entries with their leaf hashes."""
    return reader.show(lambda session: proofs.stored_entries(session, after=asked.after, limit=asked.limit))


@router.get(
    "/proof/inclusion",
    summary="A proof that an entry is in the ledger",
    responses=gives(InclusionView, refuses=(422, 500, 503), says="The proof."),
    openapi_extra=takes_query(AskInclusion),
)
def get_inclusion(
    reader: Annotated[Reader, Depends()], asked: Annotated[AskInclusion, Depends(query_of(AskInclusion))]
) -> Response:
    """An inclusion proof."""
    return reader.show(lambda session: proofs.inclusion(session, seq=asked.seq, size=asked.size))


@router.get(
    "/proof/consistency",
    summary="A proof that the ledger begins with what it was earlier",
    responses=gives(ConsistencyView, refuses=(422, 500, 503), says="The proof."),
    openapi_extra=takes_query(AskConsistency),
)
def get_consistency(
    reader: Annotated[Reader, Depends()], asked: Annotated[AskConsistency, Depends(query_of(AskConsistency))]
) -> Response:
    """A consistency proof."""
    return reader.show(lambda session: proofs.consistency(session, earlier=asked.earlier, size=asked.to))
