"""Read a backup from its first byte to its last, and hold it to its manifest."""

from collections.abc import Callable
from typing import Final

from app.core.merkle import Tree, leaf_hash
from app.persistence import copying
from app.services.backup_parts import Backup, Manifest, TablePart, damaged, lines_of, rows_of, table_of_part

Progress = Callable[[int, int], None]

_ENTRIES: Final = "ledger_entry"


def checked(backup: Backup, manifest: Manifest, progress: Progress | None = None) -> None:
    """Read a whole backup and hold it to its manifest. Raises `backup_damaged`.

    Every byte is hashed; the entries are whole, in order, and as many as there should be.
    """
    total = len(manifest.tables) + len(manifest.kept) + len(manifest.evidence)
    for done, part in enumerate(manifest.tables, start=1):
        if table_of_part(part) == _ENTRIES:
            _check_ledger(backup, part, manifest)
        elif sum(1 for _ in rows_of(lines_of(backup.chunks(part)))) != part.rows:
            raise damaged(f"{part.name} has not the rows that it should have")
        tell(progress, done, total)
    for kept in manifest.kept:
        for _ in backup.chunks(kept):
            pass
    for done, held in enumerate(manifest.evidence, start=total - len(manifest.evidence) + 1):
        backup.held(held)
        tell(progress, done, total)
    if _ENTRIES not in map(table_of_part, manifest.tables):
        raise damaged("it has no ledger")


def _check_ledger(backup: Backup, part: TablePart, manifest: Manifest) -> None:
    """Hold each entry to its hash, and all of them to the root over them."""
    tree = Tree()
    where = [part.columns.index(name) for name in ("seq", "body", "leaf_hash") if name in part.columns]
    for row in rows_of(lines_of(backup.chunks(part))):
        seq, body, leaf = (_bytes_or_number(row[place]) if place < len(row) else None for place in where)
        if seq != tree.size + 1 or not isinstance(body, bytes) or leaf_hash(body) != leaf:
            raise damaged(f"entry {tree.size + 1} of its ledger is not as it was entered")
        tree.add(leaf_hash(body))
    if tree.size != manifest.entries or part.rows != manifest.entries or tree.root().hex() != manifest.root:
        raise damaged("its ledger is another than its manifest says")


def _bytes_or_number(value: object) -> object:
    return copying.bytes_in(value) if isinstance(value, str) else value


def tell(progress: Progress | None, done: int, of: int) -> None:
    """Tell how much is done, where somebody wants to know."""
    if progress is not None:
        progress(done, of)
