"""Documents: filed by upload or by address, shown page by page, judged to be copies, taken down."""

from collections.abc import AsyncGenerator
from hashlib import sha256
from typing import Annotated, Any, Final

import msgspec
from fastapi import APIRouter, Depends, Request
from starlette.datastructures import FormData, UploadFile
from starlette.formparsers import MultiPartException, MultiPartParser
from starlette.responses import Response

from app.core.errors import CantrailError, Fault, Kind, invalid
from app.services import copies, documents, fetching, looking, page_reading, taking_down
from app.services.copies import Resemblances
from app.services.documents import MOST_BYTES
from app.services.faults import bad_input, faults_in
from app.services.inputs import NewCopyJudgement, NewDocument, NewTakedown
from app.services.page_reading import PageView
from app.services.views.records import DocumentView, Page
from app.services.work import Work
from app.web.bodies import unstorable
from app.web.describing import LISTS, READS, WRITES, gives, gives_file, takes, takes_form, takes_query
from app.web.edge import Reader, Writer, body_bytes, body_of, query_of
from app.web.errors import ProblemError
from app.web.lists import ListDocuments, Picture

router = APIRouter(tags=["documents"])

OVERHEAD: Final = 64 * 1024
"""What the fields and boundaries of a form may take beside the file."""

_FILE: Final = {"type": "string", "format": "binary", "description": "A PDF, PNG or JPEG file of at most 20 MiB."}
_FORM: Final = takes_form(
    NewDocument, {"file": _FILE}, {"file": "handbook.pdf", "publisher": "orrin", "kind": "handbook", "edition": "2021"}
)


class Upload:
    """A form with a file, or with an address instead, read whole and no further than is allowed."""

    def __init__(self, filename: str, content: bytes | None, new: NewDocument) -> None:
        self.filename = filename
        self.content = content
        self.new = new


async def upload(request: Request) -> Upload:
    """Read an uploaded document. Raises unsupported, too_large or bad input."""
    if not request.headers.get("content-type", "").lower().startswith("multipart/form-data"):
        raise CantrailError(
            Kind.UNSUPPORTED,
            "not_a_form",
            "Send the fields as multipart/form-data, with the document's file as `file` or its `address`.",
        )
    raw = await body_bytes(request, MOST_BYTES + OVERHEAD)

    async def sent() -> AsyncGenerator[bytes, None]:
        yield raw

    try:
        form = await MultiPartParser(request.headers, sent(), max_files=1, max_fields=20).parse()
    except (MultiPartException, KeyError, UnicodeDecodeError) as error:
        raise ProblemError(400, "malformed_form", f"This form cannot be read: {error}.") from error
    try:
        read = await _read(form)
    finally:
        await form.close()
    # A client that sends a form again draws another boundary: the same request is one that says the same.
    request.state.raw = msgspec.json.encode([read.new, read.filename, sha256(read.content or b"").hexdigest()])
    return read


async def _read(form: FormData) -> Upload:
    file = form.get("file")
    if not isinstance(file, UploadFile) and not form.get("address"):
        raise invalid("/file", "file_missing", "Send the document's file as `file`, or its `address`.")
    given = [(name, text) for name, text in form.multi_items() if name != "file"]
    fields: dict[str, Any] = {name: text for name, text in given if text}
    faults = [*faults_in(fields, NewDocument), *unstorable(fields)]
    if len(dict(given)) < len(given):
        faults.append(Fault("", "given_twice", "A field is given twice. Leave one out."))
    if faults:
        raise bad_input(faults)
    new = msgspec.convert(fields, NewDocument)
    if not isinstance(file, UploadFile):
        return Upload("", None, new)
    return Upload(file.filename or "", await file.read(), new)


@router.post(
    "/documents",
    status_code=201,
    summary="File a document by upload, or by the address at which it is published",
    responses=gives(DocumentView, 201, refuses=WRITES),
    openapi_extra=_FORM,
)
def add_document(writer: Annotated[Writer, Depends()], sent: Annotated[Upload, Depends(upload)]) -> Response:
    """A document with its file; or with its address, which is fetched and kept later."""
    content, new = sent.content, sent.new
    if content is None:
        writer.registry.fetcher.check(new.address or "")
        return writer.write(lambda work: documents.document(work.session, documents.add_address(work, new)), status=201)
    # Before the transaction, which nobody else may wait for while a file is looked at.
    documents.looked_at(writer.registry.reader, sent.filename, content)
    return writer.write(
        lambda work: documents.document(work.session, documents.add_document(work, new, sent.filename, content)),
        status=201,
    )


@router.get(
    "/documents",
    summary="Documents, oldest first",
    responses=gives(Page[DocumentView], refuses=LISTS, says="Some documents."),
    openapi_extra=takes_query(ListDocuments),
)
def list_documents(
    reader: Annotated[Reader, Depends()], asked: Annotated[ListDocuments, Depends(query_of(ListDocuments))]
) -> Response:
    """Documents, of one publisher."""
    return reader.show(
        lambda session: looking.documents(session, cursor=asked.cursor, limit=asked.limit, publisher=asked.publisher)
    )


@router.get(
    "/documents/{id}", summary="One document", responses=gives(DocumentView, refuses=READS, says="The document.")
)
def get_document(id: str, reader: Annotated[Reader, Depends()]) -> Response:
    """One document."""
    return reader.show(lambda session: documents.document(session, id))


@router.get("/documents/{id}/file", summary="The file as it was filed", responses=gives_file(), response_class=Response)
def get_file(id: str, reader: Annotated[Reader, Depends()]) -> Response:
    """A document's file, to be saved and not to be shown."""
    with reader.registry.database.read() as session:
        held = documents.file(session, reader.registry.store, id)
    return _saved(held)


@router.get(
    "/documents/{id}/snapshots/{sha256}",
    summary="What a document's address gave on one of its days",
    responses=gives_file(),
    response_class=Response,
)
def get_snapshot(id: str, sha256: str, reader: Annotated[Reader, Depends()]) -> Response:
    """A snapshot's file, to be saved and not to be shown."""
    with reader.registry.database.read() as session:
        held = documents.snapshot(session, reader.registry.store, id, sha256)
    return _saved(held)


def _saved(held: documents.HeldFile) -> Response:
    headers = {
        "Content-Disposition": f'attachment; filename="{held.filename}"',
        "Content-Security-Policy": "sandbox; default-src 'none'",
        "Cache-Control": "private, max-age=3600",
    }
    return Response(held.content, headers=headers, media_type=held.media_type)


@router.get(
    "/documents/{id}/pages/{number}",
    summary="One page's text, and where the figures stand that claims cite from it",
    responses=gives(PageView, refuses=READS, says="The page."),
)
def get_page(id: str, number: str, reader: Annotated[Reader, Depends()]) -> Response:
    """One page, from 1."""
    return reader.show(lambda session: page_reading.page(session, reader.registry.store, id, looking.number(number)))


@router.get(
    "/documents/{id}/pages/{number}/picture",
    summary="One page, drawn again",
    responses=gives_file(kinds=("image/png",)),
    response_class=Response,
    openapi_extra=takes_query(Picture),
)
def get_picture(
    id: str, number: str, reader: Annotated[Reader, Depends()], asked: Annotated[Picture, Depends(query_of(Picture))]
) -> Response:
    """A picture of one page."""
    registry = reader.registry
    with registry.database.read() as session:
        held = documents.file(session, registry.store, id)
    width = None if asked.width is None else int(asked.width)
    picture = registry.reader.picture(held.content, held.media_type, looking.number(number), width)
    headers = {"Content-Security-Policy": "sandbox; default-src 'none'", "Cache-Control": "private, max-age=3600"}
    return Response(picture, headers=headers, media_type="image/png")


@router.post(
    "/documents/{id}/fetches",
    status_code=202,
    summary="Fetch a document's address again, soon",
    responses=gives(DocumentView, 202, refuses=WRITES),
)
def fetch_again(id: str, writer: Annotated[Writer, Depends()]) -> Response:
    """Look whether a page still says the same."""

    def do(work: Work) -> DocumentView:
        fetching.ask_again(work, id)
        return documents.document(work.session, id)

    return writer.write(do, status=202)


@router.get(
    "/documents/{id}/resembling",
    summary="The documents that are like one, and what people say of them",
    responses=gives(Resemblances, refuses=READS, says="The likest first."),
)
def get_resembling(id: str, reader: Annotated[Reader, Depends()]) -> Response:
    """Which documents may be copies of each other."""
    return reader.show(lambda session: copies.resembling(session, reader.registry.store, id))


@router.post(
    "/documents/{id}/copies",
    status_code=201,
    summary="Say whether a document is copied from another: copies count as one root",
    responses=gives(Resemblances, 201, refuses=WRITES),
    openapi_extra=takes(NewCopyJudgement),
)
def judge_copy(
    id: str,
    writer: Annotated[Writer, Depends()],
    new: Annotated[NewCopyJudgement, Depends(body_of(NewCopyJudgement))],
) -> Response:
    """A person's word on two documents."""
    store = writer.registry.store
    return writer.write(lambda work: copies.resembling(work.session, store, copies.judge(work, id, new)), status=201)


@router.post(
    "/documents/{id}/takedown",
    summary="Take a document's files down: their hashes and the reason stay (stewards)",
    responses=gives(DocumentView, refuses=WRITES),
    openapi_extra=takes(NewTakedown),
)
def take_down(
    id: str, writer: Annotated[Writer, Depends()], new: Annotated[NewTakedown, Depends(body_of(NewTakedown))]
) -> Response:
    """For rights or privacy."""
    return writer.write(lambda work: documents.document(work.session, taking_down.take_down(work, id, new)))
