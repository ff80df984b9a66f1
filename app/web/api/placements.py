"""Corrections of records; and subjects that are one, or are two: proposed by a steward, confirmed by somebody else."""

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Depends
from starlette.responses import Response

from app.core.claim import Subject, SubjectKind
from app.core.errors import invalid
from app.services import correcting, looking, placing
from app.services.placing_inputs import (
    Agreement,
    CorrectedCarrier,
    CorrectedFitment,
    CorrectedFixing,
    CorrectedGear,
    CorrectedVehicle,
    Drop,
    NewMerger,
    NewSplit,
    NewUndoing,
)
from app.services.views.placements import PlacementView, placement_page, placement_view
from app.services.views.records import Page, RecordView
from app.services.work import Work
from app.web.describing import LISTS, READS, WRITES, gives, takes, takes_query
from app.web.edge import Reader, Writer, body_of, query_of
from app.web.lists import ListPlacements

router = APIRouter()


def _corrects(plural: str, kind: SubjectKind, new: type[Any]) -> None:
    def correct(id: str, writer: Annotated[Writer, Depends()], body: Annotated[Any, Depends(body_of(new))]) -> Response:
        def done(work: Work) -> RecordView:
            correcting.correct(work, Subject(kind, id), body)
            return looking.record(work.session, Subject(kind, id))

        return writer.write(done, status=201)

    router.add_api_route(
        f"/{plural}/{{id}}/corrections",
        correct,
        methods=["POST"],
        status_code=201,
        summary="A steward replaces what the record says; its confirmation starts again",
        name=f"correct_{kind}",
        responses=gives(looking.PlatedRecord if kind is SubjectKind.VEHICLE else RecordView, 201, refuses=WRITES),
        openapi_extra=takes(new),
        tags=[plural],
    )


_corrects("vehicles", SubjectKind.VEHICLE, CorrectedVehicle)
_corrects("carriers", SubjectKind.CARRIER, CorrectedCarrier)
_corrects("fixings", SubjectKind.FIXING, CorrectedFixing)
_corrects("gear", SubjectKind.GEAR, CorrectedGear)
_corrects("fitments", SubjectKind.FITMENT, CorrectedFitment)


def _proposes(path: str, new: type[Any], propose: Callable[[Work, Any], str], summary: str) -> None:
    def enter(writer: Annotated[Writer, Depends()], body: Annotated[Any, Depends(body_of(new))]) -> Response:
        return writer.write(lambda work: placement_view(work.session, propose(work, body)), status=201)

    router.add_api_route(
        path,
        enter,
        methods=["POST"],
        status_code=201,
        summary=summary,
        name=f"propose_{path[1:-1]}",
        responses=gives(PlacementView, 201, refuses=WRITES),
        openapi_extra=takes(new),
        tags=["placements"],
    )


_proposes("/mergers", NewMerger, placing.propose_merger, "A steward proposes that two subjects are one")
_proposes("/splits", NewSplit, placing.propose_split, "A steward proposes that some claims are another subject's")


def _decides(what: str, new: type[Any], decide: Callable[[Work, str, Any], str | None], summary: str) -> None:
    """What is done about one placement. `decide` gives the placement to show, where it is another one."""

    def done(id: str, writer: Annotated[Writer, Depends()], body: Annotated[Any, Depends(body_of(new))]) -> Response:
        return writer.write(lambda work: placement_view(work.session, decide(work, id, body) or id), status=201)

    router.add_api_route(
        f"/placements/{{id}}/{what}",
        done,
        methods=["POST"],
        status_code=201,
        summary=summary,
        name=f"placement_{what}",
        responses=gives(PlacementView, 201, refuses=WRITES),
        openapi_extra=takes(new),
        tags=["placements"],
    )


def _confirm(work: Work, id: str, _: Agreement) -> None:
    placing.confirm(work, id)


_decides("confirmations", Agreement, _confirm, "Somebody else agrees: it comes into force")
_decides("refusals", Drop, placing.refuse, "Somebody else refuses it")
_decides("withdrawal", Drop, placing.withdraw, "Whoever proposed it takes it back")
_decides("undoings", NewUndoing, placing.propose_undoing, "A steward proposes that what is in force was wrong")


@router.get(
    "/placements",
    summary="Mergers, splits and their undoing, oldest first",
    responses=gives(Page[PlacementView], refuses=LISTS, says="Some placements."),
    openapi_extra=takes_query(ListPlacements),
    tags=["placements"],
)
def list_placements(
    reader: Annotated[Reader, Depends()], asked: Annotated[ListPlacements, Depends(query_of(ListPlacements))]
) -> Response:
    """Placements, in one state, or of one subject."""
    if (asked.kind is None) != (asked.subject is None):
        raise invalid("/subject", "kind_and_subject", "Name a subject by its kind and its slug: both, or neither.")
    subject = None if asked.kind is None or asked.subject is None else Subject(asked.kind, asked.subject)
    after = looking.number(asked.cursor)
    return reader.show(
        lambda session: placement_page(session, after=after, limit=asked.limit, state=asked.state, subject=subject)
    )


@router.get(
    "/placements/{id}",
    summary="One merger, split or undoing",
    responses=gives(PlacementView, refuses=READS, says="The placement."),
    tags=["placements"],
)
def get_placement(id: str, reader: Annotated[Reader, Depends()]) -> Response:
    """One placement."""
    return reader.show(lambda session: placement_view(session, id))
