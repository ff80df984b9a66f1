"""Publishers, subjects and documents as they are sent."""

from typing import Any, Final, Generic, TypeVar

import msgspec

from app.core.claim import Subject
from app.core.dossier import SubjectPayload
from app.core.errors import CantrailError, Kind
from app.core.scope import Years
from app.persistence.models import Document, Publisher
from app.persistence.queries import documents as document_queries
from app.persistence.queries import subjects as queries
from app.persistence.session import AnySession
from app.services.facts import facts_about, not_found

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
    """A subject's record. What does not apply to its kind is left out."""

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
    confirmed: bool
    confirmations: int


class DocumentView(msgspec.Struct, frozen=True):
    """A document, and the hash of the file that is held."""

    id: str
    publisher: str
    kind: str
    title: str | None
    edition: str | None
    published: str | None
    obtained: str | None
    language: str | None
    market: str | None
    sha256: str
    size: int
    media_type: str
    submitted_at: str


def publisher_view(session: AnySession, slug: str) -> PublisherView:
    """One publisher. Raises not_found."""
    row = queries.publisher(session, slug=slug)
    if row is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_publisher", f"There is no publisher {slug!r}.")
    return shown_publisher(session, row)


def shown_publisher(session: AnySession, row: Publisher) -> PublisherView:
    """A publisher from its row."""
    name = row.name
    if row.name_sha256 is not None:
        name = text_of(session, row.name_sha256)
    return PublisherView(row.slug, name, row.kind, list(row.importer_of))


def text_of(session: AnySession, sha256: str | None) -> str | None:
    """A free text by its hash; None where there is none, or where it was taken down."""
    held = None if sha256 is None else document_queries.text(session, sha256=sha256)
    return None if held is None else held.content


def record_view(session: AnySession, subject: Subject) -> RecordView:
    """One subject's record, from the ledger. Raises not_found."""
    record = facts_about(session, subject)[0].records.get(subject)
    if record is None:
        raise not_found(subject)
    return shown_record(record.subject, record.payload, len(record.confirmed_by), confirmed=record.confirmed)


def shown_record(
    subject: Subject,
    payload: SubjectPayload,
    confirmations: int,
    *,
    confirmed: bool,
) -> RecordView:
    """A record as it is sent: what was entered, without what belongs to the entering."""
    said: dict[str, Any] = {
        _SHOWN_AS.get(name, name): getattr(payload, name)
        for name in payload.__struct_fields__
        if name not in _NOT_SHOWN
    }
    return RecordView(kind=subject.kind, id=subject.id, confirmed=confirmed, confirmations=confirmations, **said)


_SHOWN_AS: Final = {"kind": "carrier_kind"}
_NOT_SHOWN: Final = frozenset({"slug", "distinct_from"})


def shown_document(session: AnySession, row: Document) -> DocumentView:
    """A document from its row."""
    return DocumentView(
        id=row.id,
        publisher=row.publisher,
        kind=row.kind,
        title=text_of(session, row.title_sha256),
        edition=row.edition,
        published=row.published,
        obtained=row.obtained,
        language=row.language,
        market=row.market,
        sha256=row.sha256,
        size=row.size,
        media_type=row.media_type,
        submitted_at=row.submitted_at,
    )
