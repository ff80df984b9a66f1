"""Read the pages of documents, and look whether the figures of claims stand where they are cited."""

import re
from typing import Final

import msgspec

from app.core import entries
from app.core.claim import SourceType, Statement, Subject
from app.core.errors import CantrailError, Kind
from app.core.figure_on_page import Found, look_for
from app.core.pages import Page, PageOutcome
from app.core.sketch import sketch
from app.persistence.queries import claims as claim_queries
from app.persistence.queries import documents as queries
from app.persistence.session import AnySession
from app.services import outbox, superseding
from app.services.documents import digest, held_file, row
from app.services.outbox import JobKind, Outcome
from app.services.ports import EvidenceStore, ReadText
from app.services.tools import Tools
from app.services.views.claims import BoxView, shown_box
from app.services.views.records import text_of
from app.services.work import Work

_PAGES: Final = msgspec.json.Decoder(tuple[Page, ...])
_NUMBER: Final = re.compile(r"[0-9]{1,6}")


def read(tools: Tools, id: str) -> Outcome:
    """Read a document's pages. What cannot be read is entered as that, and not tried again."""
    with tools.database.read() as session:
        try:
            sha256, media_type = held_file(session, id)
        except CantrailError:
            return _nothing
    content = tools.store.get(sha256)
    flags: tuple[str, ...] = ()
    try:
        flags = tools.reader.look(content, media_type).flags
        text = tools.reader.read(content, media_type)
    except CantrailError as error:
        if error.kind is not Kind.UNSUPPORTED:
            raise
        return _entering(entries.PagesRead(id, sha256, 0, "none", None, flags, (), error.code), None)
    words = " ".join(page.text for page in text.pages)
    held = msgspec.json.encode(text.pages) if words.strip() else None
    name = None if held is None else digest(held)
    return _entering(
        entries.PagesRead(id, sha256, len(text.pages), text.source, name, flags, sketch(words), None), held
    )


def give_up(tools: Tools, id: str, code: str) -> Outcome:
    """Enter that a document cannot be read."""
    with tools.database.read() as session:
        try:
            sha256, _ = held_file(session, id)
        except CantrailError:
            return _nothing
    return _entering(entries.PagesRead(id, sha256, 0, "none", None, (), (), code), None)


def _nothing(work: Work) -> None:
    """The document is gone, or has no file: there is nothing to enter."""


def _entering(found: entries.PagesRead, text: bytes | None) -> Outcome:
    def enter(work: Work) -> None:
        if row(work.session, found.document).taken_down is not None:
            return
        if text is not None:
            # In the writers' turn: the same text of another document may be on its way out.
            work.store.put(text)
        work.enter(found, [f"document:{found.document}"])
        for citation in queries.citations_of_document(work.session, document=found.document):
            outbox.ask(work, JobKind.LOOK, citation.id)

    return enter


def look(tools: Tools, citation_id: str, *, given_up: bool = False) -> Outcome:
    """Look whether a claim's figure stands where it is cited. What is worked back stands on no page. `given_up` enters
    that there was nothing to look at, and touches no file."""
    with tools.database.read() as session:
        citation = claim_queries.citation(session, id=citation_id)
        claim = None if citation is None else claim_queries.claim(session, id=citation.claim)
        document = None if citation is None else queries.document(session, id=citation.document)
        quote = None if citation is None else text_of(session, citation.quote_sha256)
    if citation is None or claim is None or document is None or document.sha256 is None or document.pages is None:
        return _nothing
    if claim.source_type is SourceType.ACCESSORY_DERIVED:
        return _nothing
    pages = () if given_up else pages_of(tools.store, document.text_sha256)
    outcome, page, found = search(claim.statement, pages, citation.page, document.language, quote)
    seen = entries.CitationRead(
        claim=claim.id,
        citation=citation.id,
        sha256=document.sha256,
        outcome=outcome,
        page=page,
        box=None if found is None else found.box,
    )
    if (citation.outcome, citation.found_page, citation.box, citation.read_sha256) == (
        outcome,
        page,
        seen.box,
        seen.sha256,
    ):
        return _nothing
    subject = Subject(claim.subject_kind, claim.subject_id)

    def enter(work: Work) -> None:
        work.enter(seen, [f"claim:{claim.id}", *work.streams_of(subject), f"document:{document.id}/cited"])
        superseding.supersede_where_due(work, subject)

    return enter


def pages_of(store: EvidenceStore, text_sha256: str | None) -> tuple[Page, ...]:
    """The pages of a document as they were read; none where there was no text."""
    return () if text_sha256 is None else _PAGES.decode(store.get(text_sha256))


def search(
    statement: Statement, pages: tuple[Page, ...], cited: str | None, language: str | None, quote: str | None = None
) -> tuple[PageOutcome, int | None, Found | None]:
    """Look for a claim's figure on the page cited, or on every page where none is: what came of it, on which page (from
    1), and where; first where the words stand that are quoted from it."""
    texts = {number: page for number, page in enumerate(pages, start=1) if page.text.strip()}
    wanted = [number for number in _candidates(pages, cited) if number in texts]
    if not wanted:
        return PageOutcome.NO_TEXT, None, None
    apart = None
    for number in wanted:
        outcome, found = look_for(statement, texts[number], language, quote)
        if found is not None:
            return PageOutcome.FOUND, number, found
        if outcome is PageOutcome.APART and apart is None:
            apart = number
    return PageOutcome.NOT_FOUND if apart is None else PageOutcome.APART, apart, None


def _candidates(pages: tuple[Page, ...], cited: str | None) -> list[int]:
    """The pages that a citation may mean. What is printed as page 214 is seldom a file's 214th: pages with that number
    in their first or last line come first, then the one at that place; an excerpt has none of them, and is searched
    whole."""
    everywhere = list(range(1, len(pages) + 1))
    numbers = _NUMBER.findall(cited or "")
    if not numbers:
        return everywhere
    printed = [number for number in everywhere if set(numbers) & set(_edges(pages[number - 1].text))]
    in_place = [int(number) for number in numbers if 1 <= int(number) <= len(pages)]
    return list(dict.fromkeys(printed + in_place)) or everywhere


def _edges(text: str) -> list[str]:
    """The numbers in a page's first and last line, where its own is printed."""
    lines = [line for line in text.splitlines() if line.strip()]
    return [number for line in [*lines[:1], *lines[-1:]] for number in _NUMBER.findall(line)]


def ask_to_look(work: Work, document: str, citation: str) -> None:
    """Ask for a look at a citation whose document was read already; else it follows the reading."""
    row = queries.document(work.session, id=document)
    if row is not None and row.pages is not None:
        outbox.ask(work, JobKind.LOOK, citation)


def same_words(one: ReadText, other: ReadText) -> bool:
    """Whether two readings say the same, apart from white space."""
    return _words(one) == _words(other)


def _words(read: ReadText) -> list[str]:
    return [word for page in read.pages for word in page.text.split()]


class CitedView(msgspec.Struct, frozen=True):
    """A claim that cites a page: whether its figure was found on it, and where."""

    claim: str
    citation: str
    outcome: str | None
    box: BoxView | None


class PageView(msgspec.Struct, frozen=True):
    """One page of a document as it was read, and what is cited from it."""

    document: str
    page: int
    pages: int
    source: str | None
    text: str
    cited: list[CitedView]


def page(session: AnySession, store: EvidenceStore, id: str, number: int) -> PageView:
    """One page's text, from 1, and where the figures stand that claims cite from it. Raises not_found."""
    held_file(session, id)
    document = row(session, id)
    count = document.pages or 0
    if not 1 <= number <= count:
        raise CantrailError(
            Kind.NOT_FOUND, "no_such_page", f"{id} has {count} pages that were read; there is no page {number}."
        )
    pages = pages_of(store, document.text_sha256)
    cited = [
        CitedView(each.claim, each.id, each.outcome, shown_box(each.box))
        for each in queries.citations_of_document(session, document=id)
        if each.found_page == number or (each.found_page is None and str(number) == each.page)
    ]
    text = pages[number - 1].text if pages else ""
    return PageView(id, number, count, document.text_source, text, cited)
