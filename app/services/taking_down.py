"""Take files down, and remove what nothing speaks of: a hash and a reason stay."""

from datetime import timedelta
from typing import Final

from app.core import entries
from app.core.errors import CantrailError, Kind
from app.core.permissions import Scope, may_take_down
from app.persistence.models import Document
from app.persistence.queries import documents as queries
from app.persistence.session import AnySession, Database
from app.services import outbox
from app.services.documents import row
from app.services.inputs import NewTakedown
from app.services.outbox import JobKind, Outcome
from app.services.ports import EvidenceStore
from app.services.work import Work

UNCLAIMED_AFTER: Final = timedelta(days=1)
"""A file is stored before the entry that speaks of it: one that is younger may yet be spoken of."""


def take_down(work: Work, id: str, new: NewTakedown) -> str:
    """Take down a document's files, and those of every document that holds one of them. Gives the document's id."""
    work.require(Scope.REVIEW)
    may_take_down(work.caller.role)
    document = row(work.session, id)
    if document.taken_down is not None:
        raise CantrailError(Kind.CONFLICT, "taken_down", f"{id} was taken down already ({document.taken_down}).")
    reason = work.text(new.reason) or ""
    for each in holding(work.session, id):
        text = row(work.session, each).text_sha256
        taken = taken_down(work.session, each, new.code, reason)
        work.enter(taken, [f"document:{each}"])
        for file in (*taken.files, *([text] if text is not None else [])):
            outbox.ask(work, JobKind.REMOVE, file)
    return id


def holding(session: AnySession, id: str) -> list[str]:
    """The documents that are taken down with one: itself, and whatever else holds one of its files. Raises not_found."""
    files = _files(session, row(session, id))
    found = {id} | {each.id for file in files for each in queries.documents_of_file(session, sha256=file)}
    return [each for each in sorted(found, key=lambda other: int(other[1:])) if row(session, each).taken_down is None]


def taken_down(session: AnySession, id: str, code: str, reason_sha256: str) -> entries.DocumentTakenDown:
    """The entry that one document is held no more."""
    files = tuple(_files(session, row(session, id)))
    return entries.DocumentTakenDown(document=id, files=files, code=code, reason_sha256=reason_sha256)


def _files(session: AnySession, document: Document) -> list[str]:
    own = [] if document.sha256 is None else [document.sha256]
    return list(dict.fromkeys([*own, *(each.sha256 for each in queries.snapshots(session, document=document.id))]))


def remove(store: EvidenceStore, sha256: str) -> Outcome:
    """Remove a file that was taken down, unless something else holds it: in the writers' turn, so that nobody begins to
    speak of it meanwhile."""

    def enter(work: Work) -> None:
        if sha256 not in queries.files_held(work.session):
            store.remove(sha256)

    return enter


def sweep(database: Database, store: EvidenceStore) -> int:
    """Remove the files that nothing speaks of and that are older than a day: what an upload left behind that came to
    nothing. Gives how many. It takes the writers' turn, so that no upload of the same file is under way meanwhile."""
    with database.write() as session:
        held = queries.files_held(session)
        unclaimed = [sha256 for sha256 in store.older_than(UNCLAIMED_AFTER) if sha256 not in held]
        for sha256 in unclaimed:
            store.remove(sha256)
    return len(unclaimed)
