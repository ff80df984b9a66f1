"""Fetch what is published at a document's address, keep it, and look later whether it still says the same."""

import logging
from datetime import timedelta
from typing import Final, NamedTuple

from app.core import entries
from app.core.claim import Subject
from app.core.errors import CantrailError, Kind
from app.core.lifecycle import DEAD
from app.core.permissions import Scope
from app.persistence.queries import claims as claim_queries
from app.persistence.queries import documents as queries
from app.services import outbox
from app.services.documents import FILE_TYPES, digest, row
from app.services.outbox import JobKind, Outcome
from app.services.page_reading import same_words, search
from app.services.ports import Fetched, ReadText
from app.services.tools import Tools
from app.services.views.records import text_of
from app.services.work import Work

CHECKED_EVERY: Final = timedelta(days=90)
"""How often an address is asked whether it still says the same."""

SAME: Final = "same"
ADDRESS_REFUSED: Final = "address_refused"
TAKEN_DOWN: Final = "taken_down"
_log: Final = logging.getLogger(__name__)

WEB_PAGES: Final = frozenset({"text/html", "application/xhtml+xml", "text/plain"})


class _Now(NamedTuple):
    """What an address gives today."""

    content: bytes
    media_type: str
    text: ReadText


def ask_again(work: Work, id: str) -> None:
    """Ask for a document's address to be fetched anew, now."""
    work.require(Scope.SUBMIT)
    document = row(work.session, id)
    if document.address_sha256 is None:
        raise CantrailError(Kind.CONFLICT, "no_address", f"{id} was filed as a file and has no address to fetch.")
    if document.taken_down is not None:
        raise CantrailError(Kind.CONFLICT, "taken_down", f"{id} was taken down: it is not fetched again.")
    outbox.ask(work, JobKind.FETCH, id)


def fetch(tools: Tools, id: str, *, last_try: bool) -> Outcome:
    """Fetch a document's address. Raises unavailable where it could not be had and may be tried again."""
    with tools.database.read() as session:
        document = queries.document(session, id=id)
        address = None if document is None else text_of(session, document.address_sha256)
        snapshots = queries.snapshots(session, document=id)
    if document is None or document.taken_down is not None or address is None:
        return lambda _: None
    try:
        now = _had(tools, tools.fetcher.fetch(address))
    except CantrailError as error:
        if error.kind is Kind.UNAVAILABLE and not last_try:
            raise
        if error.code == ADDRESS_REFUSED:
            _log.warning("hostile_fetch_refused", extra={"document": id})
        return _checked(id, error.code)
    if not snapshots:
        return _first(id, now)
    last = snapshots[-1]
    if digest(now.content) == last.sha256 or _says_the_same(tools, last.sha256, last.media_type, now):
        return _checked(id, SAME)
    return _changed(id, now, document.language)


def _had(tools: Tools, fetched: Fetched) -> _Now:
    """What was fetched, read: what a server calls a PDF and is none is refused, as an upload would be."""
    found = next((each.media_type for each in FILE_TYPES if fetched.content.startswith(each.magic)), None)
    media_type = found or fetched.media_type
    if media_type not in WEB_PAGES and found is None:
        raise CantrailError(
            Kind.UNSUPPORTED, "file_type", f"What is published there is called {media_type or 'nothing'} and is not."
        )
    return _Now(fetched.content, media_type, tools.reader.read(fetched.content, media_type))


def _says_the_same(tools: Tools, sha256: str, media_type: str, now: _Now) -> bool:
    """Pages change without their words: a new advertisement, another picture. Where there are no words, bytes decide."""
    before = tools.reader.read(tools.store.get(sha256), media_type)
    return any(page.text.strip() for page in before.pages) and same_words(before, now.text)


def give_up(id: str, code: str) -> Outcome:
    """Enter that an address could not be looked at; it is looked at again in its turn."""
    return _checked(id, code)


def _checked(id: str, outcome: str) -> Outcome:
    def enter(work: Work) -> None:
        work.enter(entries.AddressChecked(document=id, outcome=outcome), [f"document:{id}"])
        outbox.ask(work, JobKind.FETCH, id, after=CHECKED_EVERY)

    return enter


def _keep(work: Work, id: str, now: _Now) -> bool:
    """Keep what an address gives, in the writers' turn; False where this document, or this very file, was taken down."""
    if row(work.session, id).taken_down is not None:
        return False
    name = digest(now.content)
    same = queries.documents_of_file(work.session, sha256=name)
    if any(each.taken_down is not None for each in same):
        work.enter(entries.AddressChecked(document=id, outcome=TAKEN_DOWN), [f"document:{id}"])
        return False
    work.store.put(now.content)
    kept = entries.SnapshotKept(document=id, sha256=name, size=len(now.content), media_type=now.media_type)
    work.enter(kept, [f"document:{id}", *(f"document:{each.id}" for each in same)])
    return True


def _first(id: str, now: _Now) -> Outcome:
    def enter(work: Work) -> None:
        if not _keep(work, id, now):
            return
        outbox.ask(work, JobKind.READ, id)
        outbox.ask(work, JobKind.FETCH, id, after=CHECKED_EVERY)

    return enter


def _changed(id: str, now: _Now, language: str | None) -> Outcome:
    """The page says something else today: every claim that rests on it is told, and whether its figure is still there."""

    def enter(work: Work) -> None:
        if not _keep(work, id, now):
            return
        for citation in queries.citations_of_document(work.session, document=id):
            claim = claim_queries.claim(work.session, id=citation.claim)
            if claim is None or claim.state in DEAD:
                continue
            outcome, _, _ = search(claim.statement, now.text.pages, citation.page, language)
            subject = Subject(claim.subject_kind, claim.subject_id)
            work.enter(
                entries.EvidenceChanged(claim=claim.id, document=id, sha256=digest(now.content), outcome=outcome),
                [f"claim:{claim.id}", *work.streams_of(subject), f"document:{id}/cited"],
            )
        outbox.ask(work, JobKind.FETCH, id, after=CHECKED_EVERY)

    return enter
