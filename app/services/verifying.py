"""Look through a whole registry for anything that is not as it was entered. It only reads, and holds nobody up.

Everything in the database is seen as it stood at one moment; the tables that the ledger gives are made again in a
scratch file beside, and compared there.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from hashlib import sha256

import msgspec

from app.core import entries
from app.core.errors import CantrailError
from app.persistence import auditing
from app.persistence.models import HeldText
from app.persistence.queries import documents as document_queries
from app.persistence.replaying import replayed
from app.persistence.session import AnySession, Database
from app.services.checkpoints import Checkpoints, Kept
from app.services.findings import Check, Findings, Progress, nothing_told
from app.services.ports import EvidenceStore
from app.services.verifying_accounts import check
from app.services.verifying_ledger import LedgerCheck, LedgerSeen
from app.services.verifying_tables import compare


class Report(msgspec.Struct, frozen=True):
    """What was found in a registry: how many entries it has, the root over them, and each check."""

    size: int
    root: str
    fine: bool
    checks: tuple[Check, ...]


def verify(
    database: Database, store: EvidenceStore, checkpoints: Checkpoints, progress: Progress | None = None
) -> Report:
    """Check everything: the entries, the tree over them, the head, the checkpoints kept, the tables against a replay,
    who is trusted, the texts and files by their hashes, and the database's own structure. What cannot be read is a finding.

    Raises `storage_unavailable` where the database cannot be opened at all.
    """
    told = progress or nothing_told
    # Read before the ledger is: what is published meanwhile would be ahead of what is seen of it.
    kept = checkpoints.kept()
    with database.read() as session:
        auditing.take_time(session)
        structure = _structure(session)
        ledger = LedgerCheck(session, {each.checkpoint.size for each in kept if each.checkpoint is not None})
        with _reading(ledger.entries, ledger.seen):
            ledger.run(told)
        published = _published(kept, ledger.seen)
        tables, files = _tables(session, ledger.seen, told)
        accounts = _accounts(session, ledger.seen)
        texts = _texts(session, ledger.seen, told)
    evidence = _evidence(database, store, files, told)
    found = (structure, ledger.entries, ledger.tree, ledger.head, published, tables, accounts, texts, evidence)
    checks = tuple(each.check() for each in found)
    return Report(ledger.seen.size, ledger.seen.root.hex(), not any(each.wrong for each in checks), checks)


@contextmanager
def _reading(found: Findings, seen: LedgerSeen | None = None) -> Iterator[None]:
    """What cannot be read is wrong."""
    try:
        yield
    except CantrailError as error:
        found.add("the database", error.message)
        if seen is not None:
            seen.readable = False


def _structure(session: AnySession) -> Findings:
    found = Findings("database")
    with _reading(found):
        found.looked_at = 1
        for where, what in auditing.structural_faults(session):
            found.add(where, what)
    return found


def _published(kept: list[Kept], seen: LedgerSeen) -> Findings:
    """The checkpoints kept: each must be the root over the first so many entries."""
    found = Findings("checkpoints")
    for each in kept:
        if each.trouble is not None:
            found.add(each.where, each.trouble)
        if each.checkpoint is None:
            continue
        found.looked_at += 1
        if each.checkpoint.size > seen.size:
            found.add(each.where, f"it was published over {each.checkpoint.size} entries, and there are {seen.size}")
        elif seen.roots.get(each.checkpoint.size) != each.checkpoint.root:
            found.add(each.where, f"the first {each.checkpoint.size} entries are not those that it was published over")
    return found


def _tables(session: AnySession, seen: LedgerSeen, told: Progress) -> tuple[Findings, set[str]]:
    """The tables against a replay, and the files that are to be held by the ledger."""
    found = Findings("tables")
    files: set[str] = set()
    if not seen.readable:
        found.add("the tables", "they were not compared: the entries that they follow from cannot all be read")
        with _reading(found):
            files = document_queries.files_held(session)
        return found, files
    try:
        with replayed(session, _streams_of, _counted(told)) as replay:
            files = document_queries.files_held(replay)
            compare(found, session, replay, told)
    except CantrailError as error:
        found.add("the tables", error.message)
    except Exception as error:  # noqa: BLE001 - entries that were tampered with can break a replay in any way
        found.add("the ledger", f"its entries cannot be replayed: {type(error).__name__}: {error}")
    return found, files


def _streams_of(body: bytes) -> tuple[str, ...]:
    return entries.read(body).streams


def _counted(told: Progress) -> Callable[[int, int], None]:
    return lambda done, of: told("replay", done, of)


def _accounts(session: AnySession, seen: LedgerSeen) -> Findings:
    """Who is trusted with what; where not every entry can be read, nobody can tell."""
    found = Findings("accounts")
    if seen.readable:
        with _reading(found):
            check(found, session, seen.trust)
    return found


def _texts(session: AnySession, seen: LedgerSeen, told: Progress) -> Findings:
    """Every held text by its hash; one that the ledger names is there, or says why it was taken down."""
    found = Findings("texts")
    missing = dict(seen.texts)
    with _reading(found):
        of = auditing.count(session, HeldText)
        for named, content, taken_down in auditing.texts(session):
            found.looked_at += 1
            missing.pop(named, None)
            if content is None and not taken_down:
                found.add(f"text {named}", "it is neither held nor taken down")
            # SQLite may hold other things than text in a column of texts.
            if content is not None and not (isinstance(content, str) and _hashes_to(content, named)):
                found.add(f"text {named}", "it does not have this hash")
            told("texts", found.looked_at, of)
        for named, seq in missing.items():
            found.add(f"text {named}", f"entry {seq} names it, and it is not there")
    return found


def _hashes_to(content: str, named: object) -> bool:
    return sha256(content.encode()).hexdigest() == named


def _evidence(database: Database, store: EvidenceStore, files: set[str], told: Progress) -> Findings:
    """Every file that is to be held, by its hash."""
    found = Findings("evidence")
    for done, file in enumerate(sorted(files), start=1):
        found.looked_at += 1
        try:
            store.get(file)
        except CantrailError as error:
            if error.code != "evidence_missing" or _is_still_held(database, file):
                found.add(f"file {file}", error.message)
        except OSError as error:
            found.add(f"file {file}", f"it cannot be read: {error.strerror}")
        told("evidence", done, len(files))
    return found


def _is_still_held(database: Database, file: str) -> bool:
    """Whether a file is still to be held now: it may have been taken down since the database was looked at."""
    with database.read() as session:
        return file in document_queries.files_held(session)
