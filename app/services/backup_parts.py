"""What a backup is made of: a manifest, the rows of each table, the evidence, and what was kept beside the database."""

import re
from collections.abc import Iterable, Iterator
from typing import Any, Final, Protocol

import msgspec

from app.core.errors import CantrailError, Kind

FORMAT: Final = 1
MANIFEST: Final = "manifest.json"

MOST_MANIFEST: Final = 256 * 2**20
MOST_LINE: Final = 64 * 2**20
MOST_FILE: Final = 256 * 2**20
"""What no manifest, row or file of evidence comes near: a backup that says more was not made by this program."""

_NAME: Final = re.compile(r"[a-z][a-z0-9_]{0,62}")
_KEPT: Final = re.compile(r"[a-z][a-z0-9_-]{0,62}(\.[a-z0-9]{1,8})?")
_SHA256: Final = re.compile(r"[0-9a-f]{64}")


class Part(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One file of a backup."""

    name: str
    size: int
    sha256: str


class TablePart(Part, frozen=True, forbid_unknown_fields=True):
    """One table's rows."""

    columns: tuple[str, ...]
    rows: int


class Held(msgspec.Struct, frozen=True, forbid_unknown_fields=True, array_like=True):
    """One file of evidence: it lies under its hash."""

    sha256: str
    size: int


class Manifest(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What is in a backup: of a ledger with so many entries and this root, at this revision of the tables. `missing` are
    files of evidence that the registry itself no longer had."""

    format: int
    made_at: str
    revision: str
    entries: int
    root: str
    tables: tuple[TablePart, ...]
    evidence: tuple[Held, ...]
    missing: tuple[str, ...]
    kept: tuple[Part, ...]


class NewBackup(Protocol):
    """A backup that is being made: nothing stands under its own name before `finish`."""

    def write(self, name: str, chunks: Iterable[bytes]) -> Part:
        """Write one file. Raises `backup_not_written`."""

    def hold(self, sha256: str, content: bytes) -> None:
        """Write one file of evidence. Raises `backup_not_written`."""

    def finish(self, manifest: bytes) -> None:
        """Write the manifest and give the whole its name. Raises `backup_not_written`."""

    @property
    def reading(self) -> "Backup":
        """What has been written so far, to be read again."""


class Backup(Protocol):
    """A backup that somebody brings: every file is as long as the manifest says, plain, and inside."""

    def manifest(self) -> bytes:
        """The manifest. Raises `backup_damaged`, and not_found `no_backup`."""

    def chunks(self, part: Part) -> Iterator[bytes]:
        """One file, some bytes at a time, checked when it was read to its end. Raises `backup_damaged`."""

    def held(self, held: Held) -> bytes:
        """One file of evidence, checked. Raises `backup_damaged`."""


def table_file(table: str) -> str:
    """Where a table's rows are."""
    return f"tables/{table}.jsonl"


def kept_file(name: str) -> str:
    """Where a file is that was kept beside the database."""
    return f"kept/{name}"


def held_file(sha256: str) -> str:
    """Where a file of evidence is."""
    return f"evidence/{sha256[:2]}/{sha256[2:4]}/{sha256}"


def manifest_of(backup: Backup) -> Manifest:
    """A backup's manifest, with no name in it but those that a backup has. Raises `backup_damaged`."""
    try:
        manifest = msgspec.json.decode(backup.manifest(), type=Manifest)
    except msgspec.MsgspecError as error:
        raise damaged(f"its manifest cannot be read: {error}") from error
    if manifest.format != FORMAT:
        raise damaged(f"it has the format {manifest.format}, and this version reads {FORMAT}")
    if not all(_is_named_well(part) for part in manifest.tables):
        raise damaged("its manifest names a table that cannot be")
    if not all(part.name.startswith("kept/") and _KEPT.fullmatch(name_kept(part)) for part in manifest.kept):
        raise damaged("its manifest names a file that cannot be")
    hashes = [*manifest.missing, *(held.sha256 for held in manifest.evidence)]
    if not all(_SHA256.fullmatch(each) for each in hashes) or len(set(hashes)) != len(hashes):
        raise damaged("its manifest names a file of evidence that cannot be")
    if not all(0 <= held.size <= MOST_FILE for held in manifest.evidence):
        raise damaged("its manifest names a file of evidence that is too large")
    return manifest


def table_of_part(part: TablePart) -> str:
    """The table whose rows a part has."""
    return part.name.removeprefix("tables/").removesuffix(".jsonl")


def name_kept(part: Part) -> str:
    """The name that a file from beside the database has there."""
    return part.name.removeprefix("kept/")


def _is_named_well(part: TablePart) -> bool:
    table = table_of_part(part)
    return _NAME.fullmatch(table) is not None and part.name == table_file(table) and part.size >= 0


def lines_of(chunks: Iterable[bytes]) -> Iterator[bytes]:
    """Lines out of chunks. Raises `backup_damaged` where one is longer than any row."""
    rest = b""
    for chunk in chunks:
        *lines, rest = (rest + chunk).split(b"\n")
        yield from lines
        if len(rest) > MOST_LINE:
            raise damaged("one of its rows is too long")
    if rest:
        raise damaged("the last of its rows breaks off")


def rows_of(lines: Iterable[bytes]) -> Iterator[list[Any]]:
    """Rows out of lines."""
    decoder = msgspec.json.Decoder(list[Any])
    for line in lines:
        try:
            yield decoder.decode(line)
        except msgspec.MsgspecError as error:
            raise damaged("one of its rows cannot be read") from error


def damaged(why: str) -> CantrailError:
    """What is said of a backup that is not as it was made."""
    return CantrailError(Kind.INVALID, "backup_damaged", f"This backup cannot be restored: {why}.")
