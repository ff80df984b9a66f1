"""A file that was damaged: whatever touches the ledger or the evidence is told by `verify`."""

import os
import random
import shutil
from pathlib import Path
from typing import Any, Final

import pysqlite3

from app.adapters.evidence_store import FolderEvidenceStore
from app.bootstrap import checkpoints_of
from app.core.errors import CantrailError
from app.persistence.session import Database
from app.services.verifying import verify
from app.settings import Settings
from tests.faults.paths import go
from tests.faults.standing import Standing, begun, settled

DAMAGES: Final = int(os.environ.get("CANTRAIL_FAULT_DAMAGES", "400"))
PAGE: Final = 4096
LEDGER: Final = ("ledger_entry", "ledger_stream", "ledger_node", "ledger_head")


def test_every_damage_to_ledger_or_evidence_is_told(sqlite_url: str, tmp_path: Path) -> None:
    settings = settled(sqlite_url, tmp_path / "data")
    standing = Standing(settings, begun(settings))
    go(0, lambda step, place: standing.do(step, f"0-{place}")[1])
    standing.registry.close()
    file = Path(sqlite_url.removeprefix("sqlite:///"))
    whole, ledger = file.read_bytes(), _ledger(file)
    assert _is_fine(settings)
    papers = sorted(path for path in settings.evidence_dir.glob("*/*/*") if path.is_file())
    chance = random.Random(29)
    for _ in range(DAMAGES // 4 // len(papers) + 1):
        _damage_each(settings, papers, chance)
    touched = 0
    for number in range(DAMAGES * 3 // 4):
        file.write_bytes(_damaged(whole, chance))
        if _ledger(file) != ledger:
            touched += 1
            assert not _is_fine(settings), number
        for beside in ("-wal", "-shm"):
            Path(f"{file}{beside}").unlink(missing_ok=True)
    file.write_bytes(whole)
    assert _is_fine(settings)
    assert touched > DAMAGES / 6
    shutil.rmtree(settings.evidence_dir)
    assert not _is_fine(settings)


def _damage_each(settings: Settings, papers: list[Path], chance: random.Random) -> None:
    """Every file of the evidence damaged at once: each is told of by its name."""
    kept = {paper: paper.read_bytes() for paper in papers}
    for paper, content in kept.items():
        paper.write_bytes(_damaged(content, chance))
    told = "\n".join(_evidence_told(settings))
    for paper, content in kept.items():
        assert paper.name in told, paper
        paper.write_bytes(content)


def _evidence_told(settings: Settings) -> list[str]:
    """All that `verify` says of the files of the evidence."""
    database = Database(settings.url)
    report = verify(database, FolderEvidenceStore(settings.evidence_dir), checkpoints_of(settings, database))
    database.dispose()
    return [str(found) for check in report.checks if check.name == "evidence" for found in check.findings]


def _damaged(content: bytes, chance: random.Random) -> bytes:
    """A bit flipped, the end cut off, or a page blanked."""
    at = chance.randrange(len(content))
    match chance.choice(("flip", "flip", "cut", "blank")):
        case "flip":
            return content[:at] + bytes([content[at] ^ (1 << chance.randrange(8))]) + content[at + 1 :]
        case "cut":
            return content[:at]
        case _:
            start = at - at % PAGE
            return content[:start] + bytes(len(content[start : start + PAGE])) + content[start + PAGE :] + b"\0"


def _ledger(file: Path) -> Any:
    """Every row of the ledger, read as plainly as can be; None where it cannot be read."""
    connection = pysqlite3.connect(f"file:{file}?mode=ro&immutable=1", uri=True)
    try:
        return [connection.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall() for table in LEDGER]
    except pysqlite3.Error:
        return None
    finally:
        connection.close()


def _is_fine(settings: Settings) -> bool:
    """Whether `verify` finds nothing. Where the database cannot be opened, it says so, too."""
    database = Database(settings.url)
    try:
        return verify(database, FolderEvidenceStore(settings.evidence_dir), checkpoints_of(settings, database)).fine
    except CantrailError:
        return False
    finally:
        database.dispose()
