"""Ledger entries on documents: filed, fetched, read, judged to be copies, and taken down."""

from typing import ClassVar

from app.core.payload import Payload


class DocumentAdded(Payload, frozen=True):
    """A document that came with its file: the SHA-256 of its bytes, and of the title's text."""

    type: ClassVar[str] = "document_added"
    publisher: str
    kind: str
    title_sha256: str | None
    edition: str | None
    published: str | None
    obtained: str | None
    language: str | None
    market: str | None
    sha256: str
    size: int
    media_type: str


class DocumentAddressed(Payload, frozen=True):
    """A document that is published at an address (a text, by hash), to be fetched and kept."""

    type: ClassVar[str] = "document_addressed"
    publisher: str
    kind: str
    title_sha256: str | None
    edition: str | None
    published: str | None
    obtained: str | None
    language: str | None
    market: str | None
    address_sha256: str


class SnapshotKept(Payload, frozen=True):
    """What a document's address gave on this day, kept. The first is the document's file; a later one is kept because
    its words have changed since."""

    type: ClassVar[str] = "snapshot_kept"
    document: str
    sha256: str
    size: int
    media_type: str


class AddressChecked(Payload, frozen=True):
    """A document's address was asked again, or for the first time in vain: `same`, or a code that says why not."""

    type: ClassVar[str] = "address_checked"
    document: str
    outcome: str


class PagesRead(Payload, frozen=True):
    """A file's pages were read: where their text came from (`layer`, `ocr` or `none`), the file that holds it, what is
    odd about the file, and a sketch of the words, by which near copies are found. `failure` says why it was not read."""

    type: ClassVar[str] = "pages_read"
    document: str
    sha256: str
    pages: int
    source: str
    text_sha256: str | None
    flags: tuple[str, ...]
    sketch: tuple[int, ...]
    failure: str | None


class CopyJudged(Payload, frozen=True):
    """A person says that a document is copied from another, or that it is not: copies share a root. `reviewer` is
    whether they were one then."""

    type: ClassVar[str] = "copy_judged"
    document: str
    of: str
    copied: bool
    reviewer: bool


class DocumentTakenDown(Payload, frozen=True):
    """A document's files are held no more: their hashes stay, with a code (`rights`, `privacy`) and a reason."""

    type: ClassVar[str] = "document_taken_down"
    document: str
    files: tuple[str, ...]
    code: str
    reason_sha256: str
