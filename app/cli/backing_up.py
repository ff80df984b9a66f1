"""Back a registry up while it runs, and restore it into a place where there is none."""

import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from app.cli.opening import DATA_DIR, FAILURE, opened, progress, settings

if TYPE_CHECKING:
    from app.persistence.session import Database
    from app.services.backup_parts import Manifest
    from app.services.restoring import Bringing
    from app.services.verifying import Report
    from app.settings import Settings

RESTORE_EXAMPLES: Final = """\b
Examples:
  cantrail restore /backups/monday --into /srv/cantrail
  CANTRAIL_DATABASE_URL=postgresql+psycopg://roofs@db/roofs \\
    cantrail restore /backups/monday --into /srv/cantrail
"""

_TOLD: Final = 5
"""How many names of one kind are listed."""


def add_to(app: typer.Typer) -> None:
    """Add these commands."""
    app.command(epilog="Example: cantrail backup /backups/monday --like /backups/sunday")(backup)
    app.command(epilog=RESTORE_EXAMPLES)(restore)


def backup(
    destination: Annotated[Path, typer.Argument(metavar="DEST", help="A folder that is not there yet.")],
    like: Annotated[
        Path | None,
        typer.Option(metavar="OLDER", help="Link evidence that an older backup beside it has, instead of copying it."),
    ] = None,
    with_keys: Annotated[
        bool, typer.Option("--with-keys", help="Put the private keys in too. Then keep the backup as you keep them.")
    ] = False,
) -> None:
    """Back up the whole registry while it runs.

    The folder holds every table as it stood at one moment, the evidence, the last checkpoint and the public key. It
    is read again before it gets its name; if anything goes wrong, nothing of it is left.
    """
    from app.adapters.backup_folder import NewBackupFolder
    from app.adapters.kept_files import kept_beside
    from app.services import backing_up

    with opened() as registry:
        # Before the database is looked at: a checkpoint must not be of more entries than the backup has.
        named = registry.settings
        kept = kept_beside(named.checkpoint, named.signing_key, named.private_keys if with_keys else ())
        with progress("Backing up") as told, NewBackupFolder(destination, like=like) as folder:
            done = backing_up.back_up(
                registry.database, registry.store, folder, now=registry.clock.now(), kept=kept, progress=told
            )
    print(f"{destination} holds {_contents(done.manifest)}.")
    if done.lost:
        print(
            f"cantrail: {len(done.lost)} files of evidence are missing or damaged in the registry and are not in the "
            f"backup: {_some(done.lost)}. Run `cantrail verify`.",
            file=sys.stderr,
        )
        raise typer.Exit(FAILURE)


def restore(
    source: Annotated[Path, typer.Argument(metavar="SOURCE", help="The folder of a backup.")],
    into: Annotated[
        Path | None, typer.Option(metavar="DIR", help="The registry's folder. Default: CANTRAIL_DATA_DIR.")
    ] = None,
    lose_entries: Annotated[
        bool,
        typer.Option(
            "--lose-entries",
            help="Restore although a checkpoint was published of entries that this backup has not. They are lost, "
            "everybody who keeps that checkpoint will see it, and the registry writes nothing before it is put away.",
        ),
    ] = False,
) -> None:
    """Restore a backup where there is no registry.

    It is verified in full before it goes live: every byte of the backup, the ledger, the tables made from it, and the
    checkpoints that are kept in the folder. A backup of either database may be restored into either.
    """
    from app.adapters.backup_folder import BackupFolder
    from app.services import restoring

    if into is not None:
        DATA_DIR.set(into)
    named = settings()
    with progress("Reading the backup") as told:
        bringing = restoring.looked_at(BackupFolder(source), told)
    with _made(named) as database:
        report = _bring(named, database, bringing, lose_entries=lose_entries)
    print(f"{named.data_dir} is restored: {_contents(bringing.manifest)}.")
    if bringing.manifest.missing:
        print(f"{len(bringing.manifest.missing)} files of evidence were not in the backup.")
    print("Next: revoke again what was revoked, and take down again what was taken down, since the backup was made.")
    if any(check.wrong for check in report.checks if check.name == "accounts"):
        print(
            "cantrail: The account table trusts somebody otherwise than the ledger does. Run `cantrail verify`.",
            file=sys.stderr,
        )
    if not named.signing_key.exists():
        print(f"Put the signing key back as {named.signing_key} before `cantrail init` and `cantrail serve`.")


@contextmanager
def _made(named: "Settings") -> Iterator["Database"]:
    """The database to restore into. A SQLite file is made aside, and gets its name when the block has come to its end."""
    from app.adapters.safe_writing import sync_folder
    from app.bootstrap import is_there, sqlite_file
    from app.core.errors import CantrailError, Kind
    from app.persistence.session import Database

    target = sqlite_file(named)
    if target is None:
        database = Database(named.url)
        try:
            yield database
        finally:
            database.dispose()
        return
    if is_there(named):
        raise CantrailError(
            Kind.CONFLICT, "not_empty", f"There is a registry in {target} already, and a restore overwrites nothing."
        )
    target.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=".restoring-", dir=target.parent) as aside:
        database = Database(f"sqlite:///{aside}/{target.name}")
        try:
            yield database
        finally:
            database.dispose()
        (Path(aside) / target.name).rename(target)
        sync_folder(target.parent)


def _bring(named: "Settings", database: "Database", bringing: "Bringing", *, lose_entries: bool) -> "Report":
    from app.adapters.evidence_store import FolderEvidenceStore
    from app.adapters.kept_files import put_back
    from app.bootstrap import checkpoints_of
    from app.services import restoring
    from app.services.verifying import verify

    named.evidence_dir.mkdir(parents=True, exist_ok=True)
    store = FolderEvidenceStore(named.evidence_dir)
    with progress("Restoring") as told:
        restoring.restore(bringing, database, store, told)
    put = put_back(named.checkpoint, named.private_keys, restoring.kept(bringing))
    try:
        checkpoints = checkpoints_of(named, database)
        if not lose_entries:
            restoring.refuse_lost_entries(checkpoints)
        with progress("Verifying") as told:
            report = verify(database, store, checkpoints, lambda _, done, of: told(done, of))
        restoring.refuse_unsound(report, bringing.manifest, lose_entries=lose_entries)
        restoring.go_live(database)
    except BaseException:
        restoring.give_up(database)
        for path in put:
            path.unlink(missing_ok=True)
        raise
    return report


def _contents(manifest: "Manifest") -> str:
    size = sum(part.size for part in (*manifest.tables, *manifest.kept)) + sum(held.size for held in manifest.evidence)
    return f"{manifest.entries} entries, {len(manifest.evidence)} files of evidence, {size / 2**20:.1f} MiB"


def _some(names: tuple[str, ...]) -> str:
    more = len(names) - _TOLD
    return ", ".join(names[:_TOLD]) + (f" and {more} more" if more > 0 else "")
