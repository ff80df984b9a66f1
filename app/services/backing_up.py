"""Back up a whole registry while it is written to: one view of the database, and the evidence that this view speaks of."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime

import msgspec

from app.core.errors import CantrailError, Kind
from app.persistence import copying, ledger, migrate, tree
from app.persistence.base import utc_text
from app.persistence.queries import documents as queries
from app.persistence.session import Database, ReadSession
from app.services.backup_checking import Progress, checked, tell
from app.services.backup_parts import FORMAT, Held, Manifest, NewBackup, TablePart, kept_file, table_file
from app.services.ports import EvidenceStore


class BackedUp(msgspec.Struct, frozen=True):
    """What was backed up; `lost` are the files that the registry should have and has not."""

    manifest: Manifest
    lost: tuple[str, ...]


class _View(msgspec.Struct, frozen=True):
    """What one view of the database gave."""

    entries: int
    root: str
    tables: tuple[TablePart, ...]
    held: tuple[str, ...]


def back_up(
    database: Database,
    store: EvidenceStore,
    into: NewBackup,
    *,
    now: datetime,
    kept: Mapping[str, bytes],
    progress: Progress | None = None,
) -> BackedUp:
    """Write a backup, read it all again, and finish it. `kept` are files from beside the database, by their names.

    Rows come from one view that stands still; writers are not held up. The evidence follows, which is never changed and
    seldom removed; what was taken down meanwhile is left out, and so is what is missing or damaged. `progress` is told
    what is done, and of how much.
    """
    with database.read() as session:
        copying.take_time(session)
        view = _viewed(session, into, progress)
    held, missing = _evidence(view, store, into, progress)
    with database.read() as session:
        still = queries.files_held(session)
    manifest = Manifest(
        format=FORMAT,
        made_at=utc_text(now),
        revision=migrate.NEWEST,
        entries=view.entries,
        root=view.root,
        tables=view.tables,
        evidence=tuple(held),
        missing=tuple(missing),
        kept=tuple(into.write(kept_file(name), [content]) for name, content in sorted(kept.items())),
    )
    checked(into.reading, manifest, progress)
    into.finish(msgspec.json.format(msgspec.json.encode(manifest), indent=1))
    return BackedUp(manifest, tuple(each for each in missing if each in still))


def _viewed(session: ReadSession, into: NewBackup, progress: Progress | None) -> _View:
    tables = copying.tables(session)
    parts = []
    for done, table in enumerate(tables, start=1):
        columns, counted = copying.columns(session, table), _Counted(copying.rows(session, table))
        part = into.write(table_file(table), (msgspec.json.encode(row) + b"\n" for row in counted))
        parts.append(TablePart(part.name, part.size, part.sha256, tuple(columns), counted.count))
        tell(progress, done, len(tables))
    entries = ledger.head(session)
    root = tree.root(session, size=entries).hex()
    return _View(entries, root, tuple(parts), tuple(sorted(queries.files_held(session))))


def _evidence(
    view: _View, store: EvidenceStore, into: NewBackup, progress: Progress | None
) -> tuple[list[Held], list[str]]:
    held, missing = [], []
    for done, sha256 in enumerate(view.held, start=1):
        try:
            content = store.get(sha256)
        except CantrailError as error:
            if error.kind not in {Kind.NOT_FOUND, Kind.UNAVAILABLE}:
                raise
            missing.append(sha256)
            continue
        into.hold(sha256, content)
        held.append(Held(sha256, len(content)))
        tell(progress, done, len(view.held))
    return held, missing


class _Counted:
    """Rows, and how many there were."""

    def __init__(self, rows: Iterable[copying.Stored]) -> None:
        self._rows = rows
        self.count = 0

    def __iter__(self) -> Iterator[copying.Stored]:
        for row in self._rows:
            self.count += 1
            yield row
