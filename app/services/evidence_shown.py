"""The pages of evidence as whoever reads them sees them: which document, which page of its file, its picture or its text;
and nothing of what claims make of them."""

import re
from fractions import Fraction
from typing import Final

import msgspec

from app.core.claim import Statement
from app.core.errors import CantrailError, Kind
from app.persistence.models import Citation, Document
from app.persistence.queries import claims as claim_queries
from app.persistence.queries import documents as queries
from app.persistence.queries import subjects
from app.persistence.session import AnySession
from app.services.page_reading import pages_of
from app.services.ports import EvidenceStore
from app.services.views.records import text_of

DRAWN: Final = frozenset({"application/pdf", "image/png", "image/jpeg"})
"""The types of file of which there are pictures."""

_NUMBER: Final = re.compile(r"[0-9]{1,6}")
_FIGURE: Final = re.compile(r"[0-9]+/[1-9][0-9]*|[0-9]+(?:[.,][0-9]+)?")


class CitedPlace(msgspec.Struct, frozen=True):
    """A place that is cited: where it is said to be, and on which page of the file that is, as far as is known."""

    document: str
    title: str | None
    publisher: str
    page: str | None
    locator: str | None
    number: int


class Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """One page of a document. `pages` is null until it was read; `picture` says whether there is one to be had, and
    `missing` why there is nothing to see."""

    document: str
    title: str | None
    publisher: str
    kind: str
    edition: str | None
    published: str | None
    number: int
    pages: int | None
    picture: bool
    text: str
    missing: str | None


def places_of(session: AnySession, claim: str) -> list[CitedPlace]:
    """Where the evidence of a claim stands, in the order of citing, as it is told to whoever reads it blind: without the
    words for a place that say what is claimed."""
    entered = claim_queries.claim(session, id=claim)
    found = []
    for each in claim_queries.citations_of(session, claim=claim):
        row = queries.document(session, id=each.document)
        if row is not None and entered is not None:
            place = _place(session, row, each)
            told = place.locator is not None and _says_figure(place.locator, entered.statement)
            found.append(msgspec.structs.replace(place, locator=None) if told else place)
    return found


def _says_figure(words: str, said: Statement) -> bool:
    """Whether a figure of a claim stands among some words."""
    figures = {Fraction(each.value) for each in (said.stated, said.excluded_mass) if each is not None}
    return not figures.isdisjoint(Fraction(each.replace(",", ".")) for each in _FIGURE.findall(words))


def place_in(session: AnySession, document: str, page: str | None) -> CitedPlace:
    """A place in a document that somebody names. Raises not_found."""
    row = _row(session, document)
    return CitedPlace(row.id, _title(session, row), _publisher(session, row), page, None, _number(row, page))


def sheet(session: AnySession, store: EvidenceStore, document: str, number: int) -> Sheet:
    """One page of a document, from 1. How many there are is known once it was read: before, there is the first. Raises
    not_found."""
    row = _row(session, document)
    if number < 1 or number > (row.pages or 1):
        raise CantrailError(Kind.NOT_FOUND, "no_such_page", f"{document} has no page {number}.")
    held = row.sha256 is not None and row.taken_down is None
    pages = pages_of(store, row.text_sha256) if held else ()
    return Sheet(
        document=row.id,
        title=_title(session, row),
        publisher=_publisher(session, row),
        kind=row.kind,
        edition=row.edition,
        published=row.published,
        number=number,
        pages=row.pages,
        picture=held and row.media_type in DRAWN,
        text=pages[number - 1].text if number <= len(pages) else "",
        missing=None if held else _missing(row),
    )


def _missing(row: Document) -> str:
    if row.taken_down is not None:
        return f"Its file was taken down ({row.taken_down})."
    return "What is published at its address was not fetched yet: there is nothing to read."


def _row(session: AnySession, document: str) -> Document:
    row = queries.document(session, id=document)
    if row is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_document", f"There is no document {document!r}.")
    return row


def _place(session: AnySession, row: Document, cited: Citation) -> CitedPlace:
    number = cited.found_page or _number(row, cited.page)
    return CitedPlace(row.id, _title(session, row), _publisher(session, row), cited.page, cited.locator, number)


def _number(row: Document, page: str | None) -> int:
    """The page of the file that is likeliest meant: the one with that number, where the file has so many."""
    said = _NUMBER.search(page or "")
    number = 1 if said is None else max(int(said.group()), 1)
    return number if number <= (row.pages or 1) else 1


def _title(session: AnySession, row: Document) -> str | None:
    return text_of(session, row.title_sha256)


def _publisher(session: AnySession, row: Document) -> str:
    found = subjects.publisher(session, slug=row.publisher)
    return row.publisher if found is None or found.name is None else found.name
