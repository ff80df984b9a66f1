"""File documents: what is uploaded is checked, kept by its hash, and then entered."""

from pathlib import PurePath
from typing import Final, NamedTuple

from app.core import entries
from app.core.entries import named
from app.core.errors import CantrailError, Kind, invalid
from app.core.permissions import Scope
from app.persistence import ledger
from app.persistence.queries import documents as queries
from app.persistence.queries import subjects
from app.persistence.session import AnySession
from app.services.inputs import NewDocument
from app.services.ports import EvidenceStore
from app.services.views.records import DocumentView, shown_document
from app.services.work import Work

MOST_BYTES: Final = 20 * 1024 * 1024


class FileType(NamedTuple):
    """A type of file that may be evidence: how it begins, and how its name may end."""

    media_type: str
    magic: bytes
    endings: tuple[str, ...]


FILE_TYPES: Final = (
    FileType("application/pdf", b"%PDF-", (".pdf",)),
    FileType("image/png", b"\x89PNG\r\n\x1a\n", (".png",)),
    FileType("image/jpeg", b"\xff\xd8\xff", (".jpg", ".jpeg")),
)


def add_document(work: Work, new: NewDocument, filename: str, content: bytes) -> str:
    """File a document and give its id. The file is safely on the disk before the entry that speaks of it is committed."""
    work.require(Scope.SUBMIT)
    file_type = checked(filename, content)
    if subjects.publisher(work.session, slug=new.publisher) is None:
        raise invalid("/publisher", "no_such_publisher", f"There is no publisher {new.publisher!r}. Add it first.")
    sha256 = work.store.put(content)
    for known in queries.documents_with(work.session, sha256=sha256):
        if (known.publisher, known.kind) == (new.publisher, new.kind):
            raise CantrailError(
                Kind.CONFLICT,
                "document_exists",
                f"This very file is already filed as {known.id}. Cite that one.",
                details={"document": known.id},
            )
    id = named(entries.DOCUMENT, ledger.next_seq(work.session))
    work.enter(
        entries.DocumentAdded(
            publisher=new.publisher,
            kind=new.kind,
            title_sha256=work.text(new.title),
            edition=new.edition,
            published=new.published,
            obtained=new.obtained,
            language=new.language,
            market=new.market,
            sha256=sha256,
            size=len(content),
            media_type=file_type.media_type,
        ),
        [f"document:{id}", f"publisher:{new.publisher}/documents"],
    )
    return id


def checked(filename: str, content: bytes) -> FileType:
    """The type of an uploaded file. Raises too_large, or unsupported where its beginning is none of the types that
    are taken or is not what its name says."""
    if len(content) > MOST_BYTES:
        raise CantrailError(
            Kind.TOO_LARGE,
            "file_too_large",
            f"The file has {len(content) / 1_048_576:.1f} MiB; 20 MiB is the most. Send the pages that matter.",
        )
    found = next((each for each in FILE_TYPES if content.startswith(each.magic)), None)
    if found is None:
        raise CantrailError(
            Kind.UNSUPPORTED,
            "file_type",
            "This is no PDF, PNG or JPEG file, whatever its name says. Save or photograph the page as one of these.",
        )
    if PurePath(filename).suffix.lower() not in found.endings:
        raise CantrailError(
            Kind.UNSUPPORTED,
            "file_name",
            f"The file is {found.media_type} but its name does not end in {' or '.join(found.endings)}. Rename it.",
        )
    return found


def document(session: AnySession, id: str) -> DocumentView:
    """One document. Raises not_found."""
    row = queries.document(session, id=id)
    if row is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_document", f"There is no document {id!r}.")
    return shown_document(session, row)


class HeldFile(NamedTuple):
    """A held file: its bytes, its type, and a name to save it under."""

    content: bytes
    media_type: str
    filename: str


def file(session: AnySession, store: EvidenceStore, id: str) -> HeldFile:
    """The file of a document. Raises not_found."""
    view = document(session, id)
    ending = next(each.endings[0] for each in FILE_TYPES if each.media_type == view.media_type)
    return HeldFile(store.get(view.sha256), view.media_type, f"{view.id}{ending}")
