"""Derivations: figures worked back, shown with their working. Nothing is stored until a claim carries one."""

from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.responses import Response

from app.services import previewing
from app.services.inputs import NewDerivation
from app.services.views.derivations import DerivationView
from app.web.describing import WRITES, gives, takes
from app.web.edge import Writer, body_of

router = APIRouter(tags=["claims"])


@router.post(
    "/derivations",
    summary="Work a figure back from accessory pages or from other claims",
    responses=gives(DerivationView, refuses=WRITES, says="The figure and its working."),
    openapi_extra=takes(NewDerivation),
)
def derive(
    writer: Annotated[Writer, Depends()], new: Annotated[NewDerivation, Depends(body_of(NewDerivation))]
) -> Response:
    """Work a figure back."""
    return writer.write(lambda work: previewing.derive(work, new))
