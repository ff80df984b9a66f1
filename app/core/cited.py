"""The places on which a claim rests, and what the machine saw there."""

import msgspec

from app.core import entries
from app.core.entries import Entry, named
from app.core.pages import Box, PageOutcome


class Citation(msgspec.Struct, frozen=True):
    """A place in a document on which a claim rests; and, once its page was read, whether the claim's figure stands
    there and where."""

    id: str
    document: str
    page: str | None
    locator: str | None
    quote_sha256: str | None
    by: str
    at: str
    outcome: PageOutcome | None = None
    found_page: int | None = None
    box: Box | None = None
    read_sha256: str | None = None


class Change(msgspec.Struct, frozen=True):
    """A page on which a claim rests that says something else since: the file that shows it, and whether the figure is
    still on it."""

    document: str
    sha256: str
    outcome: str
    at: str


def citation(entry: Entry, added: entries.CitationAdded) -> Citation:
    """A citation as it is entered."""
    return Citation(
        id=named(entries.CITATION, entry.seq),
        document=added.document,
        page=added.page,
        locator=added.locator,
        quote_sha256=added.quote_sha256,
        by=entry.actor,
        at=entry.at,
    )


def looked_at(citations: tuple[Citation, ...], read: entries.CitationRead) -> tuple[Citation, ...]:
    """A claim's citations after the machine has looked at one of them."""
    return tuple(
        msgspec.structs.replace(
            each, outcome=PageOutcome(read.outcome), found_page=read.page, box=read.box, read_sha256=read.sha256
        )
        if each.id == read.citation
        else each
        for each in citations
    )
