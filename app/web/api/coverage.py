"""What is lacking, by how often it is asked for."""

from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.responses import Response

from app.services.coverage import LackingView, ListCoverage, lacking
from app.services.views.records import Page
from app.web.describing import LISTS, gives, takes_query
from app.web.edge import Reader, query_of

router = APIRouter(tags=["coverage"])


@router.get(
    "/coverage",
    summary="Which vehicles lack which figure, by how often they are asked for",
    responses=gives(Page[LackingView], refuses=LISTS, says="Some of what is lacking."),
    openapi_extra=takes_query(ListCoverage),
)
def list_coverage(
    reader: Annotated[Reader, Depends()], asked: Annotated[ListCoverage, Depends(query_of(ListCoverage))]
) -> Response:
    """What is lacking."""
    return reader.show(lambda session: lacking(session, asked))
