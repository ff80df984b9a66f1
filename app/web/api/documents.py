"""Documents: filed by upload, shown, and their files saved."""

from collections.abc import AsyncGenerator
from hashlib import sha256
from typing import Annotated, Any, Final

import msgspec
from fastapi import APIRouter, Depends, Request
from starlette.datastructures import FormData, UploadFile
from starlette.formparsers import MultiPartException, MultiPartParser
from starlette.responses import Response

from app.core.errors import CantrailError, Fault, Kind, invalid
from app.services import documents, looking
from app.services.documents import MOST_BYTES
from app.services.faults import bad_input, faults_in
from app.services.inputs import NewDocument
from app.services.views.records import DocumentView, Page
from app.web.bodies import unstorable
from app.web.describing import LISTS, READS, WRITES, gives, gives_file, takes_form, takes_query
from app.web.edge import Reader, Writer, body_bytes, query_of
from app.web.errors import ProblemError
from app.web.lists import ListDocuments

router = APIRouter(tags=["documents"])

OVERHEAD: Final = 64 * 1024
"""What the fields and boundaries of a form may take beside the file."""

_FILE: Final = {"type": "string", "format": "binary", "description": "A PDF, PNG or JPEG file of at most 20 MiB."}
_FORM: Final = takes_form(
    NewDocument, {"file": _FILE}, {"file": "handbook.pdf", "publisher": "orrin", "kind": "handbook", "edition": "2021"}
)


class Upload:
    """A form with a file, read whole and no further than is allowed."""

    def __init__(self, filename: str, content: bytes, new: NewDocument) -> None:
        self.filename = filename
        self.content = content
        self.new = new


async def upload(request: Request) -> Upload:
    """Read an uploaded document. Raises unsupported, too_large or bad input."""
    if not request.headers.get("content-type", "").lower().startswith("multipart/form-data"):
        raise CantrailError(
            Kind.UNSUPPORTED, "not_a_form", "Send the file and its fields as multipart/form-data, the file as `file`."
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
    request.state.raw = msgspec.json.encode([read.new, read.filename, sha256(read.content).hexdigest()])
    return read


async def _read(form: FormData) -> Upload:
    file = form.get("file")
    if not isinstance(file, UploadFile):
        raise invalid("/file", "file_missing", "Send the document's file as `file`.")
    given = [(name, text) for name, text in form.multi_items() if name != "file"]
    fields: dict[str, Any] = {name: text for name, text in given if text}
    faults = [*faults_in(fields, NewDocument), *unstorable(fields)]
    if len(dict(given)) < len(given):
        faults.append(Fault("", "given_twice", "A field is given twice. Leave one out."))
    if faults:
        raise bad_input(faults)
    content = await file.read()
    return Upload(file.filename or "", content, msgspec.convert(fields, NewDocument))


@router.post(
    "/documents",
    status_code=201,
    summary="File a document by upload",
    responses=gives(DocumentView, 201, refuses=WRITES),
    openapi_extra=_FORM,
)
def add_document(writer: Annotated[Writer, Depends()], sent: Annotated[Upload, Depends(upload)]) -> Response:
    """A document with its file."""
    return writer.write(
        lambda work: documents.document(
            work.session, documents.add_document(work, sent.new, sent.filename, sent.content)
        ),
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
    headers = {
        "Content-Disposition": f'attachment; filename="{held.filename}"',
        "Content-Security-Policy": "sandbox; default-src 'none'",
        "X-Content-Type-Options": "nosniff",
        "Cache-Control": "private, max-age=3600",
    }
    return Response(held.content, headers=headers, media_type=held.media_type)
