"""Claims: entered, cited, withdrawn, read, decided, disputed, settled."""

from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.responses import Response

from app.services import claims, disputing, looking, reviewing
from app.services.inputs import NewCitation, NewClaim, NewDecision, NewDispute, NewReading, NewSettlement
from app.services.looking import EntryView
from app.services.views.claims import ClaimView, ConfidenceView, DisputeView, ReadingOutcome
from app.services.views.records import Page
from app.services.work import Work
from app.web.describing import READS, WRITES, gives, takes, takes_query
from app.web.edge import Reader, Writer, body_of, query_of
from app.web.lists import Paged

router = APIRouter(tags=["claims"])


@router.post(
    "/claims",
    status_code=201,
    summary="Submit a rating with its evidence",
    responses=gives(ClaimView, 201, refuses=WRITES),
    openapi_extra=takes(NewClaim),
)
def submit(writer: Annotated[Writer, Depends()], body: Annotated[NewClaim, Depends(body_of(NewClaim))]) -> Response:
    """A claim with its citations."""
    return writer.write(lambda work: looking.claim(work.session, claims.submit(work, body)), status=201)


@router.get("/claims/{id}", summary="One claim", responses=gives(ClaimView, refuses=READS, says="The claim."))
def get_claim(id: str, reader: Annotated[Reader, Depends()]) -> Response:
    """One claim."""
    return reader.show(lambda session: looking.claim(session, id))


@router.get(
    "/claims/{id}/confidence",
    summary="A claim's confidence, point by point",
    responses=gives(ConfidenceView, refuses=READS, says="Every point and cap, so that the sum can be checked by hand."),
)
def confidence(id: str, reader: Annotated[Reader, Depends()]) -> Response:
    """A claim's confidence."""
    return reader.show(lambda session: looking.confidence(session, id))


@router.get(
    "/claims/{id}/history",
    summary="The ledger's entries on a claim",
    responses=gives(Page[EntryView], refuses=READS, says="Its entries, oldest first."),
    openapi_extra=takes_query(Paged),
)
def history(
    id: str, reader: Annotated[Reader, Depends()], asked: Annotated[Paged, Depends(query_of(Paged))]
) -> Response:
    """A claim's history."""
    after = looking.number(asked.cursor)
    return reader.show(lambda session: looking.history(session, id, after=after, limit=asked.limit))


@router.post(
    "/claims/{id}/citations",
    status_code=201,
    summary="Add evidence to a claim, before any approval",
    responses=gives(ClaimView, 201, refuses=WRITES),
    openapi_extra=takes(NewCitation),
)
def cite(
    id: str, writer: Annotated[Writer, Depends()], body: Annotated[NewCitation, Depends(body_of(NewCitation))]
) -> Response:
    """A further citation."""

    def done(work: Work) -> ClaimView:
        claims.cite(work, id, body)
        return looking.claim(work.session, id)

    return writer.write(done, status=201)


@router.post(
    "/claims/{id}/withdrawal",
    summary="Take one's own claim back, before any approval",
    responses=gives(ClaimView, refuses=WRITES),
)
def withdraw(id: str, writer: Annotated[Writer, Depends()]) -> Response:
    """A withdrawal."""

    def done(work: Work) -> ClaimView:
        claims.withdraw(work, id)
        return looking.claim(work.session, id)

    return writer.write(done)


@router.post(
    "/claims/{id}/readings",
    status_code=201,
    summary="Key a blind reading; only then is the claim shown",
    responses=gives(ReadingOutcome, 201, refuses=WRITES),
    openapi_extra=takes(NewReading),
)
def read(
    id: str, writer: Annotated[Writer, Depends()], body: Annotated[NewReading, Depends(body_of(NewReading))]
) -> Response:
    """A blind reading."""
    return writer.write(
        lambda work: looking.reading_outcome(work.session, id, reviewing.read(work, id, body)), status=201
    )


@router.post(
    "/claims/{id}/decisions",
    status_code=201,
    summary="Decide on a claim",
    responses=gives(ClaimView, 201, refuses=WRITES),
    openapi_extra=takes(NewDecision),
)
def decide(
    id: str, writer: Annotated[Writer, Depends()], body: Annotated[NewDecision, Depends(body_of(NewDecision))]
) -> Response:
    """A decision."""

    def done(work: Work) -> ClaimView:
        reviewing.decide(work, id, body)
        return looking.claim(work.session, id)

    return writer.write(done, status=201)


@router.post(
    "/claims/{id}/disputes",
    status_code=201,
    summary="Dispute an approved claim",
    responses=gives(DisputeView, 201, refuses=WRITES),
    openapi_extra=takes(NewDispute),
)
def dispute(
    id: str, writer: Annotated[Writer, Depends()], body: Annotated[NewDispute, Depends(body_of(NewDispute))]
) -> Response:
    """A dispute."""
    return writer.write(lambda work: looking.dispute(work.session, disputing.dispute(work, id, body)), status=201)


@router.get("/disputes/{id}", summary="One dispute", responses=gives(DisputeView, refuses=READS, says="The dispute."))
def get_dispute(id: str, reader: Annotated[Reader, Depends()]) -> Response:
    """One dispute."""
    return reader.show(lambda session: looking.dispute(session, id))


@router.post(
    "/disputes/{id}/settlements",
    status_code=201,
    summary="Settle a dispute: one upholds the claim, two refute it",
    responses=gives(ClaimView, 201, refuses=WRITES),
    openapi_extra=takes(NewSettlement),
)
def settle(
    id: str, writer: Annotated[Writer, Depends()], body: Annotated[NewSettlement, Depends(body_of(NewSettlement))]
) -> Response:
    """A settlement."""
    return writer.write(lambda work: looking.claim(work.session, disputing.settle(work, id, body)), status=201)
