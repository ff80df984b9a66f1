"""Publishers, subjects and documents as they are sent."""

from collections.abc import Collection, Iterable, Sequence
from functools import cache
from typing import Any, Final, Generic, TypeVar

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError, Kind
from app.core.scope import Years
from app.persistence.models import Carrier, Document, Fitment, Publisher, Snapshot, Vehicle
from app.persistence.queries import documents as document_queries
from app.persistence.queries import placements
from app.persistence.queries import subjects as queries
from app.persistence.session import AnySession
from app.services.facts import not_found

Shown = TypeVar("Shown")


class Page(msgspec.Struct, Generic[Shown], frozen=True):
    """Some of a list, and the cursor that goes on from there, or null at its end."""

    items: list[Shown]
    next: str | None = None


class PublisherView(msgspec.Struct, frozen=True):
    """A publisher. The name of a person is shown only while the registry holds it."""

    slug: str
    name: str | None
    kind: str
    importer_of: list[str]


class RecordView(msgspec.Struct, frozen=True, kw_only=True):
    """A subject's record. What does not apply to its kind is left out; `merged_into` is the subject as which it is
    answered, where it was merged into another."""

    kind: str
    id: str
    maker: str | msgspec.UnsetType = msgspec.UNSET
    model: str | msgspec.UnsetType = msgspec.UNSET
    series: str | msgspec.UnsetType | None = msgspec.UNSET
    years: Years | msgspec.UnsetType = msgspec.UNSET
    first_year: int | msgspec.UnsetType | None = msgspec.UNSET
    bodies: tuple[str, ...] | msgspec.UnsetType | None = msgspec.UNSET
    roofs: tuple[str, ...] | msgspec.UnsetType | None = msgspec.UNSET
    markets: tuple[str, ...] | msgspec.UnsetType | None = msgspec.UNSET
    carrier_kind: str | msgspec.UnsetType = msgspec.UNSET
    bars: int | msgspec.UnsetType | None = msgspec.UNSET
    fixing: str | msgspec.UnsetType | None = msgspec.UNSET
    feet: int | msgspec.UnsetType | None = msgspec.UNSET
    holds: tuple[str, ...] | msgspec.UnsetType = msgspec.UNSET
    category: str | msgspec.UnsetType = msgspec.UNSET
    vehicle: str | msgspec.UnsetType = msgspec.UNSET
    carrier: str | msgspec.UnsetType = msgspec.UNSET
    merged_into: str | msgspec.UnsetType = msgspec.UNSET
    confirmed: bool
    confirmations: int


class SnapshotView(msgspec.Struct, frozen=True):
    """What a document's address gave on a day."""

    at: str
    sha256: str
    size: int
    media_type: str


class DocumentView(msgspec.Struct, frozen=True, kw_only=True):
    """A document, the hash of the file that is held (null until its address was fetched), and what reading it came to.

    `checked` is what its address gave last: `kept`, `same`, or why it could not be had. `text` is where the pages' text
    came from: `layer`, `ocr`, `none`, or null before they are read; `not_read` says why they could not be.
    """

    id: str
    publisher: str
    kind: str
    title: str | None
    edition: str | None
    published: str | None
    obtained: str | None
    language: str | None
    market: str | None
    address: str | None
    held: bool
    sha256: str | None
    size: int | None
    media_type: str | None
    checked: str | None
    checked_at: str | None
    snapshots: list[SnapshotView]
    pages: int | None
    text: str | None
    flags: tuple[str, ...]
    not_read: str | None
    taken_down: str | None
    taken_down_reason: str | None
    submitted_at: str


def publisher_view(session: AnySession, slug: str) -> PublisherView:
    """One publisher. Raises not_found."""
    row = queries.publisher(session, slug=slug)
    if row is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_publisher", f"There is no publisher {slug!r}.")
    return shown_publishers(session, [row])[0]


def shown_publishers(session: AnySession, rows: Sequence[Publisher]) -> list[PublisherView]:
    """Publishers from their rows: the names of people are read all at once."""
    texts = texts_of(session, (row.name_sha256 for row in rows))
    return [
        PublisherView(
            row.slug,
            row.name if row.name_sha256 is None else texts.get(row.name_sha256),
            row.kind,
            list(row.importer_of),
        )
        for row in rows
    ]


def publisher_names(session: AnySession, slugs: Collection[str]) -> dict[str, str | None]:
    """What some publishers are called; None where a person's name was taken down."""
    rows = queries.publishers_by_slug(session, slugs=slugs)
    return {each.slug: each.name for each in shown_publishers(session, rows)}


def text_of(session: AnySession, sha256: str | None) -> str | None:
    """A free text by its hash; None where there is none, or where it was taken down."""
    return texts_of(session, [sha256]).get(sha256)


def texts_of(session: AnySession, sha256s: Iterable[str | None]) -> dict[str | None, str]:
    """Free texts by their hashes, read all at once; what was taken down is left out."""
    wanted = dict.fromkeys(each for each in sha256s if each is not None)
    found = document_queries.texts(session, sha256s=list(wanted))
    return {sha256: held.content for sha256, held in found.items() if held.content is not None}


def record_view(session: AnySession, subject: Subject) -> RecordView:
    """One subject's record. Raises not_found."""
    row = queries.recorded(session, subject=subject)
    if row is None:
        raise not_found(subject)
    return record_views(session, subject.kind, [row])[0]


def record_views(session: AnySession, kind: SubjectKind, rows: Sequence[queries.Recorded]) -> list[RecordView]:
    """Some records of one kind, in the order of their rows."""
    ids = [row.id if isinstance(row, Fitment) else row.slug for row in rows]
    counts = queries.confirmation_counts(session, kind=kind, ids=ids)
    into = placements.merged_into(session, kind=kind, ids=ids)
    return [
        _shown_record(kind, id, row, counts.get(id, 0), into.get(id, msgspec.UNSET))
        for id, row in zip(ids, rows, strict=True)
    ]


def _shown_record(
    kind: SubjectKind, id: str, row: queries.Recorded, confirmations: int, into: str | msgspec.UnsetType
) -> RecordView:
    """A record as it is sent: what its row says, by the same names."""
    said: dict[str, Any] = {name: getattr(row, name) for name in _shown(type(row))}
    if isinstance(row, Vehicle):
        said["years"] = Years(said.pop("first_year"), row.last_year)
    if isinstance(row, Carrier):
        said["carrier_kind"] = row.kind
    return RecordView(kind=kind, id=id, confirmations=confirmations, merged_into=into, **said)


@cache
def _shown(row: type[queries.Recorded]) -> tuple[str, ...]:
    return tuple(name for name in row.model_fields if name in _SHOWN)


_SHOWN: Final = frozenset(RecordView.__struct_fields__) - {"kind", "id"}


def shown_document(session: AnySession, row: Document) -> DocumentView:
    """A document from its row."""
    return shown_documents(session, [row])[0]


def shown_documents(session: AnySession, rows: Sequence[Document]) -> list[DocumentView]:
    """Documents from their rows: their texts and snapshots are read all at once."""
    hashes = [(row.title_sha256, row.address_sha256, row.taken_down_reason_sha256) for row in rows]
    texts = texts_of(session, (sha256 for each in hashes for sha256 in each))
    snapshots = document_queries.snapshots_of(session, documents=[row.id for row in rows if row.address_sha256])
    return [_shown_document(row, texts, snapshots.get(row.id, [])) for row in rows]


def _shown_document(row: Document, texts: dict[str | None, str], snapshots: list[Snapshot]) -> DocumentView:
    return DocumentView(
        id=row.id,
        publisher=row.publisher,
        kind=row.kind,
        title=texts.get(row.title_sha256),
        edition=row.edition,
        published=row.published,
        obtained=row.obtained,
        language=row.language,
        market=row.market,
        address=texts.get(row.address_sha256),
        held=row.sha256 is not None and row.taken_down is None,
        sha256=row.sha256,
        size=row.size,
        media_type=row.media_type,
        checked=row.checked,
        checked_at=row.checked_at,
        snapshots=[SnapshotView(each.at, each.sha256, each.size, each.media_type) for each in snapshots],
        pages=row.pages,
        text=row.text_source,
        flags=row.flags or (),
        not_read=row.not_read,
        taken_down=row.taken_down,
        taken_down_reason=texts.get(row.taken_down_reason_sha256),
        submitted_at=row.submitted_at,
    )
