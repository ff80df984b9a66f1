"""Enquiries: what was asked of whom, and what became of it; and the letter that asks."""

from typing import Annotated, Final

import msgspec
from fastapi import APIRouter, Depends
from starlette.responses import Response

from app.services import enquiries, looking
from app.services.inputs import EnquiryOutcomeIn, NewEnquiry
from app.services.letters import LetterView, letter_view
from app.services.views.enquiries import EnquiryView, enquiry_page, enquiry_view
from app.services.views.records import Page
from app.web.describing import LISTS, READS, WRITES, Responses, gives, takes, takes_query
from app.web.edge import NOT_KEPT, Reader, Writer, body_of, json_response, query_of
from app.web.lists import AskLetter, ListEnquiries

router = APIRouter(tags=["enquiries"])

_TEXT: Final = {"schema": {"type": "string"}, "example": "Place, date: ................................\n\nTo: Orrin\n"}


@router.post(
    "/enquiries",
    status_code=201,
    summary="Enter what was asked of a maker, an importer, a dealer or a shop",
    responses=gives(EnquiryView, 201, refuses=WRITES),
    openapi_extra=takes(NewEnquiry),
)
def put(writer: Annotated[Writer, Depends()], body: Annotated[NewEnquiry, Depends(body_of(NewEnquiry))]) -> Response:
    """An enquiry."""
    return writer.write(lambda work: enquiry_view(work.session, enquiries.put(work, body)), status=201)


@router.post(
    "/enquiries/{id}/outcome",
    status_code=201,
    summary="Enter what became of an enquiry: who asked does, or a steward",
    responses=gives(EnquiryView, 201, refuses=WRITES),
    openapi_extra=takes(EnquiryOutcomeIn),
)
def close(
    id: str, writer: Annotated[Writer, Depends()], body: Annotated[EnquiryOutcomeIn, Depends(body_of(EnquiryOutcomeIn))]
) -> Response:
    """An outcome."""
    return writer.write(lambda work: enquiry_view(work.session, enquiries.close(work, id, body)), status=201)


@router.get(
    "/enquiries",
    summary="Enquiries, oldest first",
    responses=gives(Page[EnquiryView], refuses=LISTS, says="Some enquiries."),
    openapi_extra=takes_query(ListEnquiries),
)
def list_enquiries(
    reader: Annotated[Reader, Depends()], asked: Annotated[ListEnquiries, Depends(query_of(ListEnquiries))]
) -> Response:
    """Enquiries about a subject, put to a publisher, open or closed, or worth asking again."""
    after = looking.number(asked.cursor)
    return reader.show(
        lambda session: enquiry_page(
            session,
            after=after,
            limit=asked.limit,
            subject_kind=asked.subject_kind,
            subject=asked.subject,
            publisher=asked.publisher,
            state=asked.state,
            outcome=asked.outcome,
            ask_again_before=asked.ask_again_before,
        )
    )


@router.get("/enquiries/{id}", summary="One enquiry", responses=gives(EnquiryView, refuses=READS, says="The enquiry."))
def get_enquiry(id: str, reader: Annotated[Reader, Depends()]) -> Response:
    """One enquiry."""
    return reader.show(lambda session: enquiry_view(session, id))


def _gives_letter() -> Responses:
    given = gives(LetterView, refuses=READS, says="The letter; with format=text, its text alone.")
    given[200]["content"]["text/plain"] = _TEXT
    return given


@router.get(
    "/vehicles/{id}/letter",
    summary="A letter that asks for a vehicle's roof limit, ready to print and sign",
    responses=_gives_letter(),
    openapi_extra=takes_query(AskLetter),
    tags=["vehicles"],
)
def get_letter(
    id: str, reader: Annotated[Reader, Depends()], asked: Annotated[AskLetter, Depends(query_of(AskLetter))]
) -> Response:
    """A letter to a publisher about a vehicle."""
    with reader.registry.database.read() as session:
        written = letter_view(
            session, id, to=asked.publisher, conditions=asked.condition or (), language=asked.language
        )
    if asked.format == "text":
        return Response(written.text, headers=NOT_KEPT, media_type="text/plain")
    return json_response(msgspec.json.encode(written))
