"""Where a claim comes from, in an open standard."""

from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends
from starlette.responses import Response

from app.services.provenance import provenance
from app.web.describing import READS, gives
from app.web.edge import Reader, json_response

router = APIRouter(tags=["claims"])

TRACES: Final = (*READS, 413)


@router.get(
    "/claims/{id}/provenance",
    summary="Where a claim comes from, as PROV-JSON (W3C PROV-DM)",
    responses=gives(dict[str, Any], refuses=TRACES, says="A PROV-JSON document: each ledger entry is an activity."),
)
def get_provenance(id: str, reader: Annotated[Reader, Depends()]) -> Response:
    """A claim's provenance."""
    with reader.registry.database.read() as session:
        written = provenance(session, id)
    return json_response(written.encode())
