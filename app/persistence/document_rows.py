"""The rows of documents: what an entry on a document changes in the tables."""

from typing import Any

from sqlalchemy import update

from app.core import entries
from app.core.entries import Entry, named
from app.persistence.base import adding_to, table_of
from app.persistence.models import CopyJudgement, Document, Row, Sketch, Snapshot
from app.persistence.session import WriteSession

Documentary = (
    entries.DocumentAdded
    | entries.DocumentAddressed
    | entries.SnapshotKept
    | entries.AddressChecked
    | entries.PagesRead
    | entries.CopyJudged
    | entries.DocumentTakenDown
)
"""What happens to documents."""


def write(session: WriteSession, entry: Entry, payload: Documentary) -> None:
    """Bring the rows of documents up to one entry."""
    said = {name: getattr(payload, name) for name in payload.__struct_fields__}
    match payload:
        case entries.DocumentAdded() | entries.DocumentAddressed():
            _insert(
                session,
                Document,
                said
                | {
                    "id": named(entries.DOCUMENT, entry.seq),
                    "seq": entry.seq,
                    "submitted_by": entry.actor,
                    "submitted_at": entry.at,
                },
            )
        case entries.SnapshotKept():
            _keep(session, entry, payload)
        case entries.AddressChecked():
            _update(session, payload.document, checked=payload.outcome, checked_at=entry.at)
        case entries.PagesRead():
            _read(session, payload)
        case entries.CopyJudged():
            _insert(session, CopyJudgement, said | {"seq": entry.seq, "by": entry.actor, "at": entry.at})
        case entries.DocumentTakenDown():
            _update(session, payload.document, taken_down=payload.code, taken_down_reason_sha256=payload.reason_sha256)


def _keep(session: WriteSession, entry: Entry, kept: entries.SnapshotKept) -> None:
    file = {"sha256": kept.sha256, "size": kept.size, "media_type": kept.media_type}
    first = update(table_of(Document)).where(
        table_of(Document).c.id == kept.document, table_of(Document).c.sha256.is_(None)
    )
    session.connection().execute(first.values(file))
    _insert(session, Snapshot, file | {"seq": entry.seq, "document": kept.document, "at": entry.at})
    _update(session, kept.document, checked="kept", checked_at=entry.at)


def _read(session: WriteSession, read: entries.PagesRead) -> None:
    """A document is read once for each of its files; its row and its sketch are those of its first."""
    first = update(table_of(Document)).where(
        table_of(Document).c.id == read.document, table_of(Document).c.sha256 == read.sha256
    )
    values = {
        "pages": read.pages,
        "text_source": read.source,
        "text_sha256": read.text_sha256,
        "flags": read.flags,
        "not_read": read.failure,
    }
    changed = session.connection().execute(first.values(values))
    if changed.rowcount and read.sketch:
        rows = [{"document": read.document, "number": number} for number in dict.fromkeys(read.sketch)]
        session.connection().execute(adding_to(Sketch), rows)


def _insert(session: WriteSession, row: type[Row], values: dict[str, Any]) -> None:
    session.connection().execute(adding_to(row), values)


def _update(session: WriteSession, document: str, **values: Any) -> None:
    documents = table_of(Document)
    session.connection().execute(update(documents).where(documents.c.id == document).values(values))
