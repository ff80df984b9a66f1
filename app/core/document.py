"""Documents: what counts of each, folded from its entries, and the roots that copies share."""

from collections.abc import Iterable, Mapping

import msgspec

from app.core import entries
from app.core.entries import Entry, Payload, named

TO_PART_COPIES = 2
"""How many reviewers it takes to overrule that a document is a copy, or to let copies count as one where that raises."""


class Document(msgspec.Struct, frozen=True):
    """What counts of a document: whose it is, what it is, and whether its file is held. Without a file yet, as for an
    address that was never fetched, `sha256` is None."""

    id: str
    seq: int
    publisher: str
    kind: str
    sha256: str | None = None
    taken_down: bool = False

    @property
    def held(self) -> bool:
        """Whether its file is held."""
        return self.sha256 is not None and not self.taken_down

    @property
    def origin(self) -> str:
        """What the document itself is: its file's hash, which copies to the byte share, or else its id."""
        return self.sha256 or self.id


def document_begun(entry: Entry) -> Document | None:
    """The document that an entry files, if it files one."""
    id = named(entries.DOCUMENT, entry.seq)
    match entry.payload:
        case entries.DocumentAdded() as added:
            return Document(id, entry.seq, added.publisher, added.kind, added.sha256)
        case entries.DocumentAddressed() as addressed:
            return Document(id, entry.seq, addressed.publisher, addressed.kind)
        case _:
            return None


def document_named_by(payload: Payload) -> str | None:
    """The id of the document to which an entry happens, if it happens to one."""
    match payload:
        case entries.SnapshotKept() | entries.DocumentTakenDown():
            return payload.document
        case _:
            return None


def document_advanced(document: Document, payload: Payload) -> Document:
    """The document after one more of its entries."""
    match payload:
        case entries.SnapshotKept():
            return msgspec.structs.replace(document, sha256=document.sha256 or payload.sha256)
        case entries.DocumentTakenDown():
            return msgspec.structs.replace(document, taken_down=True)
        case _:
            return document


class Judged(msgspec.Struct, frozen=True):
    """Who says that one of two documents is copied from the other, and who says that it is not; and which of them said
    so as reviewers. Whose word raises something has to be one."""

    copied: frozenset[str] = frozenset()
    apart: frozenset[str] = frozenset()
    reviewers: frozenset[str] = frozenset()

    def with_word(self, actor: str, *, copied: bool, reviewer: bool = True) -> "Judged":
        """The same after one more word: a person's last word is theirs."""
        said = frozenset({actor})
        return Judged(
            self.copied | said if copied else self.copied - said,
            self.apart - said if copied else self.apart | said,
            self.reviewers | said if reviewer else self.reviewers - said,
        )

    @property
    def suspected(self) -> bool:
        """Whether the two count as one where that lowers: one person's word is enough, until two overrule it."""
        return bool(self.copied) and len(self.apart & self.reviewers) < TO_PART_COPIES

    @property
    def settled(self) -> bool:
        """Whether the two count as one where that raises: two reviewers say so, and more than say otherwise."""
        vouched = len(self.copied & self.reviewers)
        return vouched >= TO_PART_COPIES and vouched > len(self.apart)


Judgements = Mapping[frozenset[str], Judged]


def roots(documents: Mapping[str, Document], judgements: Judgements, *, settled: bool = False) -> dict[str, str]:
    """The root of each document: of those that are one and the same file, or copied from one another, the origin of the
    one that was filed first. `settled` joins only copies that two people have judged."""
    leader = {id: id for id in documents}

    def leader_of(id: str) -> str:
        while leader[id] != id:
            id = leader[id]
        return id

    def join(one: str, other: str) -> None:
        first, second = sorted((leader_of(one), leader_of(other)), key=lambda each: documents[each].seq)
        leader[second] = first

    for same in _same_files(documents.values()):
        for other in same[1:]:
            join(same[0], other)
    for pair, judged in judgements.items():
        if judged.settled if settled else judged.suspected:
            known = sorted(id for id in pair if id in documents)
            if len(known) == len(pair):
                join(known[0], known[-1])
    return {id: documents[leader_of(id)].origin for id in documents}


def _same_files(documents: Iterable[Document]) -> Iterable[list[str]]:
    same: dict[str, list[str]] = {}
    for document in documents:
        same.setdefault(document.origin, []).append(document.id)
    return same.values()
