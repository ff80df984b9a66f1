"""Vehicles, carriers, fixings, gear, fitments and their makers."""

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Depends
from starlette.responses import Response

from app.core.claim import Subject, SubjectKind
from app.core.gear import CATEGORIES
from app.services import looking, subjects
from app.services.inputs import (
    Confirmation,
    NewCarrier,
    NewFitment,
    NewFixing,
    NewGear,
    NewPublisher,
    NewVehicle,
)
from app.services.views.claims import ClaimView
from app.services.views.records import Page, PublisherView, RecordView
from app.services.work import Work
from app.web.describing import LISTS, READS, WRITES, gives, takes, takes_query
from app.web.edge import Reader, Writer, body_of, query_of
from app.web.lists import Find, FindGear, ListFitments, Paged

router = APIRouter()


def _of_kind(plural: str, kind: SubjectKind, new: type[Any], add: Callable[[Work, Any], str], summary: str) -> None:
    """The routes that every kind of made subject has."""
    wanted = FindGear if kind is SubjectKind.GEAR else Find

    def find(reader: Annotated[Reader, Depends()], asked: Annotated[Find, Depends(query_of(wanted))]) -> Response:
        limit, maker, year = asked.limit, asked.maker, asked.year
        category = asked.category if isinstance(asked, FindGear) else None
        if asked.q is None:
            return reader.show(
                lambda session: looking.records(
                    session, kind, cursor=asked.cursor, limit=limit, maker=maker, year=year, category=category
                )
            )
        found = reader.registry.finder.find(kind, asked.q, maker=maker, limit=200 if year or category else limit)
        return reader.show(
            lambda session: looking.found_records(session, kind, found, year=year, category=category, limit=limit)
        )

    def one(id: str, reader: Annotated[Reader, Depends()]) -> Response:
        return reader.show(lambda session: looking.record(session, Subject(kind, id)))

    def enter(writer: Annotated[Writer, Depends()], body: Annotated[Any, Depends(body_of(new))]) -> Response:
        return writer.write(lambda work: looking.record(work.session, Subject(kind, add(work, body))), status=201)

    shown = looking.PlatedRecord if kind is SubjectKind.VEHICLE else RecordView
    router.add_api_route(
        f"/{plural}",
        find,
        methods=["GET"],
        summary=f"Find {plural}, or list them",
        name=f"list_{plural}",
        responses=gives(Page[RecordView], refuses=LISTS, says="Some of them; with q, the best first."),
        openapi_extra=takes_query(wanted),
        tags=[plural],
    )
    router.add_api_route(
        f"/{plural}",
        enter,
        methods=["POST"],
        status_code=201,
        summary=summary,
        name=f"add_{kind}",
        responses=gives(shown, 201, refuses=WRITES),
        openapi_extra=takes(new),
        tags=[plural],
    )
    _of_any_kind(plural, kind)
    router.add_api_route(
        f"/{plural}/{{id}}",
        one,
        methods=["GET"],
        summary=f"One of the {plural}" + (": its plate" if kind is SubjectKind.VEHICLE else ""),
        name=f"get_{kind}",
        responses=gives(shown, refuses=READS, says="The record."),
        tags=[plural],
    )


def _of_any_kind(plural: str, kind: SubjectKind) -> None:
    """The routes that every subject has."""

    def claims(
        id: str, reader: Annotated[Reader, Depends()], asked: Annotated[Paged, Depends(query_of(Paged))]
    ) -> Response:
        after = looking.number(asked.cursor)
        return reader.show(
            lambda session: looking.claims_on(session, Subject(kind, id), after=after, limit=asked.limit)
        )

    def confirm(
        id: str,
        writer: Annotated[Writer, Depends()],
        body: Annotated[Confirmation, Depends(body_of(Confirmation))],
    ) -> Response:
        def done(work: Work) -> RecordView:
            subjects.confirm(work, Subject(kind, id), body)
            return looking.record(work.session, Subject(kind, id))

        return writer.write(done, status=201)

    router.add_api_route(
        f"/{plural}/{{id}}/claims",
        claims,
        methods=["GET"],
        summary="Every claim on it, whatever its state",
        name=f"{kind}_claims",
        responses=gives(Page[ClaimView], refuses=READS, says="Its claims, oldest first."),
        openapi_extra=takes_query(Paged),
        tags=[plural],
    )
    router.add_api_route(
        f"/{plural}/{{id}}/confirmations",
        confirm,
        methods=["POST"],
        status_code=201,
        summary="A reviewer has checked the record; two make it confirmed",
        name=f"confirm_{kind}",
        responses=gives(RecordView, 201, refuses=WRITES),
        openapi_extra=takes(Confirmation),
        tags=[plural],
    )


@router.get(
    "/gear/categories",
    summary="Categories of gear, and what such things usually weigh (common practice, no source)",
    responses=gives(looking.Categories, refuses=(500,), says="The categories."),
    tags=["gear"],
)
def categories(reader: Annotated[Reader, Depends()]) -> Response:
    """The categories of gear."""
    return reader.show(lambda _: looking.categories(CATEGORIES.values()))


_of_kind("vehicles", SubjectKind.VEHICLE, NewVehicle, subjects.add_vehicle, "Enter a vehicle")
_of_kind("carriers", SubjectKind.CARRIER, NewCarrier, subjects.add_carrier, "Enter a carrier")
_of_kind("fixings", SubjectKind.FIXING, NewFixing, subjects.add_fixing, "Enter a fixing")
_of_kind("gear", SubjectKind.GEAR, NewGear, subjects.add_gear, "Enter a gear item")
_of_any_kind("fitments", SubjectKind.FITMENT)


@router.get(
    "/fitments",
    summary="What fits what",
    responses=gives(Page[RecordView], refuses=LISTS, says="Some fitments, oldest first."),
    openapi_extra=takes_query(ListFitments),
    tags=["fitments"],
)
def list_fitments(
    reader: Annotated[Reader, Depends()], asked: Annotated[ListFitments, Depends(query_of(ListFitments))]
) -> Response:
    """Fitments, of one vehicle or carrier."""
    return reader.show(
        lambda session: looking.fitments(
            session, cursor=asked.cursor, limit=asked.limit, vehicle=asked.vehicle, carrier=asked.carrier
        )
    )


@router.post(
    "/fitments",
    status_code=201,
    summary="Enter that a carrier goes on a vehicle",
    responses=gives(RecordView, 201, refuses=WRITES),
    openapi_extra=takes(NewFitment),
    tags=["fitments"],
)
def add_fitment(
    writer: Annotated[Writer, Depends()], body: Annotated[NewFitment, Depends(body_of(NewFitment))]
) -> Response:
    """A fitment."""
    return writer.write(
        lambda work: looking.record(work.session, Subject(SubjectKind.FITMENT, subjects.add_fitment(work, body))),
        status=201,
    )


@router.get(
    "/fitments/{id}",
    summary="One fitment",
    responses=gives(RecordView, refuses=READS, says="The record."),
    tags=["fitments"],
)
def get_fitment(id: str, reader: Annotated[Reader, Depends()]) -> Response:
    """One fitment."""
    return reader.show(lambda session: looking.record(session, Subject(SubjectKind.FITMENT, id)))


@router.get(
    "/publishers",
    summary="Publishers by slug",
    responses=gives(Page[PublisherView], refuses=LISTS, says="Some publishers."),
    openapi_extra=takes_query(Paged),
    tags=["publishers"],
)
def list_publishers(
    reader: Annotated[Reader, Depends()], asked: Annotated[Paged, Depends(query_of(Paged))]
) -> Response:
    """Publishers."""
    return reader.show(lambda session: looking.publishers(session, cursor=asked.cursor, limit=asked.limit))


@router.post(
    "/publishers",
    status_code=201,
    summary="Enter a publisher",
    responses=gives(PublisherView, 201, refuses=WRITES),
    openapi_extra=takes(NewPublisher),
    tags=["publishers"],
)
def add_publisher(
    writer: Annotated[Writer, Depends()], body: Annotated[NewPublisher, Depends(body_of(NewPublisher))]
) -> Response:
    """A publisher."""
    return writer.write(lambda work: looking.publisher(work.session, subjects.add_publisher(work, body)), status=201)


@router.get(
    "/publishers/{slug}",
    summary="One publisher",
    responses=gives(PublisherView, refuses=READS, says="The publisher."),
    tags=["publishers"],
)
def get_publisher(slug: str, reader: Annotated[Reader, Depends()]) -> Response:
    """One publisher."""
    return reader.show(lambda session: looking.publisher(session, slug))
