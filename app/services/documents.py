"""File documents, by upload or by address: what is uploaded is checked, kept by its hash, and then entered."""

import math
from collections.abc import Sequence
from hashlib import sha256
from pathlib import PurePath
from typing import Final, NamedTuple

from app.core import entries
from app.core.allowance import Submitted
from app.core.entries import named
from app.core.errors import CantrailError, Kind, invalid
from app.core.permissions import Scope
from app.persistence import ledger
from app.persistence.models import Document
from app.persistence.queries import documents as queries
from app.persistence.queries import subjects
from app.persistence.session import AnySession
from app.services import outbox
from app.services.inputs import NewDocument
from app.services.outbox import JobKind
from app.services.ports import EvidenceStore, PageReader
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
    """File a document with its file and give its id. The file is safely on the disk before the entry that speaks of it
    is committed; its pages are read later."""
    work.require(Scope.SUBMIT)
    work.spend(Submitted.DOCUMENTS)
    file_type = checked(filename, content)
    if new.address is not None:
        raise invalid("/address", "file_and_address", "Send a file or an address, not both: each is a document.")
    _check_publisher(work, new.publisher)
    name = digest(content)
    same = queries.documents_of_file(work.session, sha256=name)
    for known in same:
        _refuse_known(known, new, "This very file")
    work.store.put(content)
    return _enter(
        work,
        entries.DocumentAdded(
            publisher=new.publisher,
            kind=new.kind,
            title_sha256=work.text(new.title),
            edition=new.edition,
            published=new.published,
            obtained=new.obtained,
            language=new.language,
            market=new.market,
            sha256=name,
            size=len(content),
            media_type=file_type.media_type,
        ),
        JobKind.READ,
        [f"document:{each.id}" for each in same],
    )


def add_address(work: Work, new: NewDocument) -> str:
    """File a document by its address and give its id. What is published there is fetched and kept later."""
    work.require(Scope.SUBMIT)
    work.spend(Submitted.DOCUMENTS)
    if new.address is None:
        raise invalid("/file", "file_missing", "Send the document's file as `file`, or its `address`.")
    _check_publisher(work, new.publisher)
    address_sha256 = work.text(new.address) or ""
    for known in queries.documents_at(work.session, address_sha256=address_sha256):
        _refuse_known(known, new, "This very address")
    return _enter(
        work,
        entries.DocumentAddressed(
            publisher=new.publisher,
            kind=new.kind,
            title_sha256=work.text(new.title),
            edition=new.edition,
            published=new.published,
            obtained=new.obtained,
            language=new.language,
            market=new.market,
            address_sha256=address_sha256,
        ),
        JobKind.FETCH,
    )


def _enter(
    work: Work,
    filed: entries.DocumentAdded | entries.DocumentAddressed,
    then: JobKind,
    same: Sequence[str] = (),
) -> str:
    """`same` are the streams of the documents that are this very file: what is known of one counts for all."""
    id = named(entries.DOCUMENT, ledger.next_seq(work.session))
    work.enter(filed, [f"document:{id}", *same, f"publisher:{filed.publisher}/documents"])
    outbox.ask(work, then, id)
    return id


def _check_publisher(work: Work, slug: str) -> None:
    if subjects.publisher(work.session, slug=slug) is None:
        raise invalid("/publisher", "no_such_publisher", f"There is no publisher {slug!r}. Add it first.")


def _refuse_known(known: Document, new: NewDocument, what: str) -> None:
    if known.taken_down is not None:
        raise CantrailError(
            Kind.CONFLICT,
            "taken_down",
            f"{what} was filed as {known.id} and taken down ({known.taken_down}). It is not taken again.",
            details={"document": known.id},
        )
    if (known.publisher, known.kind) == (new.publisher, new.kind):
        raise CantrailError(
            Kind.CONFLICT,
            "document_exists",
            f"{what} is already filed as {known.id}. Cite that one.",
            details={"document": known.id},
        )


def looked_at(reader: PageReader, filename: str, content: bytes) -> None:
    """Refuse a file that cannot be read, before anything is begun. Raises as `checked` and the reader do."""
    reader.look(content, checked(filename, content).media_type)


def checked(filename: str, content: bytes) -> FileType:
    """The type of an uploaded file. Raises too_large, or unsupported where its beginning is none of the types that
    are taken or is not what its name says."""
    if len(content) > MOST_BYTES:
        raise CantrailError(
            Kind.TOO_LARGE,
            "file_too_large",
            f"The file has {math.ceil(len(content) / 104_857.6) / 10} MiB; 20 MiB is the most. Send the pages that matter.",
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


def row(session: AnySession, id: str) -> Document:
    """One document's row. Raises not_found."""
    found = queries.document(session, id=id)
    if found is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_document", f"There is no document {id!r}.")
    return found


def document(session: AnySession, id: str) -> DocumentView:
    """One document. Raises not_found."""
    return shown_document(session, row(session, id))


class HeldFile(NamedTuple):
    """A held file: its bytes, its type, and a name to save it under."""

    content: bytes
    media_type: str
    filename: str


def held_file(session: AnySession, id: str) -> tuple[str, str]:
    """The hash and the type of a document's file. Raises not_found where none is held."""
    found = row(session, id)
    if found.taken_down is not None:
        raise CantrailError(
            Kind.NOT_FOUND, "taken_down", f"The file of {id} was taken down ({found.taken_down}). Its hash is kept."
        )
    if found.sha256 is None or found.media_type is None:
        raise CantrailError(
            Kind.NOT_FOUND, "not_fetched", f"What {id} is published at was not fetched yet: it has no file."
        )
    return found.sha256, found.media_type


def file(session: AnySession, store: EvidenceStore, id: str) -> HeldFile:
    """The file of a document. Raises not_found."""
    name, media_type = held_file(session, id)
    return HeldFile(store.get(name), media_type, f"{id}{_ENDINGS.get(media_type, '.bin')}")


def snapshot(session: AnySession, store: EvidenceStore, id: str, sha256: str) -> HeldFile:
    """What a document's address gave on one of its days. Raises not_found."""
    held_file(session, id)
    for each in queries.snapshots(session, document=id):
        if each.sha256 == sha256:
            return HeldFile(
                store.get(sha256), each.media_type, f"{id}-{each.seq}{_ENDINGS.get(each.media_type, '.bin')}"
            )
    raise CantrailError(Kind.NOT_FOUND, "no_such_snapshot", f"{id} has no snapshot {sha256[:64]!r}.")


_ENDINGS: Final = {each.media_type: each.endings[0] for each in FILE_TYPES} | {
    "text/html": ".html",
    "application/xhtml+xml": ".xhtml",
    "text/plain": ".txt",
}
"""What a file of each type is saved as: those that are uploaded, and those that are only fetched."""


def digest(content: bytes) -> str:
    """The name under which a file is held: the hexadecimal SHA-256 of its bytes."""
    return sha256(content).hexdigest()
