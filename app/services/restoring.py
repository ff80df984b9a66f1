"""Restore a backup into a place where no registry is. Nothing opens it before `go_live`: in between it is verified."""

import msgspec

from app.core.errors import CantrailError, Kind
from app.persistence import copying, ledger, migrate, projection, tree
from app.persistence.session import Database, WriteSession
from app.services.backup_checking import Progress, checked, tell
from app.services.backup_parts import (
    Backup,
    Manifest,
    TablePart,
    damaged,
    lines_of,
    manifest_of,
    name_kept,
    rows_of,
    table_of_part,
)
from app.services.checkpoints import Checkpoints
from app.services.ports import EvidenceStore
from app.services.verifying import Report


class Bringing(msgspec.Struct, frozen=True):
    """A backup that was read to its end and is as it was made."""

    backup: Backup
    manifest: Manifest


def looked_at(backup: Backup, progress: Progress | None = None) -> Bringing:
    """Read a backup to its end. Raises `backup_damaged`, and `backup_too_new` for one of a later version's."""
    manifest = manifest_of(backup)
    if not migrate.knows(manifest.revision):
        raise CantrailError(
            Kind.INVALID,
            "backup_too_new",
            f"This backup was made at revision {manifest.revision[:64]!r}, which this version does not know: "
            "restore it with the version that made it, or a newer one.",
        )
    checked(backup, manifest, progress)
    return Bringing(backup, manifest)


def restore(bringing: Bringing, database: Database, store: EvidenceStore, progress: Progress | None = None) -> None:
    """Bring a backup's evidence and rows into a database that has no tables. The tables that the ledger gives are made
    again from it. Raises `not_empty`, and `backup_damaged` where its rows do not fit together."""
    manifest = bringing.manifest
    for done, held in enumerate(manifest.evidence, start=1):
        store.put(bringing.backup.held(held))
        tell(progress, done, len(manifest.evidence))
    with database.write() as session:
        if migrate.is_unfinished(session):
            copying.clear(session)
        if not copying.is_empty(session):
            raise CantrailError(
                Kind.CONFLICT,
                "not_empty",
                "This database has tables already, and a restore overwrites nothing: name an empty one.",
            )
        migrate.upgrade_to(session, manifest.revision)
        copying.take_time(session)
        _put(session, bringing, progress)
        migrate.upgrade_to(session, "head")
        _replay(session, manifest, progress)
        migrate.call(session, migrate.RESTORING)


def kept(bringing: Bringing) -> dict[str, bytes]:
    """The files that were kept beside the database, by their names there."""
    return {name_kept(part): b"".join(bringing.backup.chunks(part)) for part in bringing.manifest.kept}


def refuse_lost_entries(checkpoints: Checkpoints) -> None:
    """Raise where a checkpoint is kept of entries that the restored ledger has not."""
    refusal = checkpoints.refusal()
    if refusal is not None:
        raise CantrailError(
            Kind.CONFLICT,
            "backup_too_old",
            f"{refusal.message} With --lose-entries it is restored all the same: the help says what that means.",
        )


def refuse_unsound(report: Report, manifest: Manifest, *, lose_entries: bool) -> None:
    """Raise where anything is wrong in what was restored but for what is known to be missing, and for who is trusted:
    that is for the operator to put right, and no reason to be left without a registry."""
    missing = {f"file {each}" for each in manifest.missing}
    for check in report.checks:
        if check.name == "accounts" or (check.name == "checkpoints" and lose_entries):
            continue
        unknown = [each for each in check.findings if each.where not in missing]
        if unknown or check.wrong > len(missing):
            first = (*unknown, *check.findings)[0]
            raise damaged(f"restored, it does not verify: {first.where}: {first.what}")


def give_up(database: Database) -> None:
    """Take away what a restore has put into a database, where it is not to go live."""
    with database.write() as session:
        if migrate.is_unfinished(session):
            copying.clear(session)


def go_live(database: Database) -> None:
    """Let a registry that was restored and verified be opened."""
    with database.write() as session:
        migrate.call(session, migrate.NEWEST)


def _put(session: WriteSession, bringing: Bringing, progress: Progress | None) -> None:
    parts = {table_of_part(part): part for part in bringing.manifest.tables}
    wanted = copying.in_order(session)
    if set(parts) != set(wanted):
        raise damaged("it has other tables than a registry of its version")
    for done, table in enumerate(wanted, start=1):
        _put_table(session, bringing.backup, table, parts[table])
        tell(progress, done, len(wanted))


def _put_table(session: WriteSession, backup: Backup, table: str, part: TablePart) -> None:
    rows = rows_of(lines_of(backup.chunks(part)))
    if copying.put_rows(session, table, part.columns, rows) != part.rows:
        raise damaged(f"{part.name} has not the rows that it should have")


def _replay(session: WriteSession, manifest: Manifest, progress: Progress | None) -> None:
    """Make the tables from the ledger, once it is known to be the one that was backed up."""
    entries = ledger.head(session)
    if entries != manifest.entries or tree.root(session, size=entries).hex() != manifest.root:
        raise damaged("its ledger is another than its manifest says")
    try:
        projection.rebuild(session, progress=progress)
    except (msgspec.MsgspecError, LookupError, ValueError) as error:
        raise damaged("its ledger cannot be replayed") from error
