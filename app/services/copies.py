"""Which documents may be copies of each other: the machine proposes, a person decides."""

import msgspec
from rapidfuzz import fuzz

from app.core import entries
from app.core.document import Judged
from app.core.errors import CantrailError, Kind, invalid
from app.core.permissions import MAY, Scope
from app.core.sketch import WORTH_COMPARING
from app.persistence.queries import documents as queries
from app.persistence.session import AnySession
from app.services.documents import row
from app.services.inputs import NewCopyJudgement
from app.services.page_reading import pages_of
from app.services.ports import EvidenceStore
from app.services.work import Work

ALIKE = 0.80
"""How much of their words two texts share before one is proposed as a copy of the other."""

MOST_COMPARED = 10
LONGEST_COMPARED = 20_000
"""Of each text, as many characters as this are compared: a copy is alike from its beginning on."""


class Resembling(msgspec.Struct, frozen=True):
    """A document like another: how much of their words they share (1 for one and the same file), and what people have
    said of the two."""

    document: str
    publisher: str
    alike: float
    copied: tuple[str, ...]
    apart: tuple[str, ...]
    one_root: bool


class Resemblances(msgspec.Struct, frozen=True):
    """The documents that are like one, the likest first. Whether it is copied from one of them is for a person to say."""

    document: str
    items: list[Resembling]


def judge(work: Work, id: str, new: NewCopyJudgement) -> str:
    """Say whether a document is copied from another. Gives the document's id."""
    work.require(Scope.SUBMIT)
    one = row(work.session, id)
    other = queries.document(work.session, id=new.of)
    if other is None:
        raise invalid("/of", "no_such_document", f"There is no document {new.of}.")
    if one.id == other.id:
        raise invalid("/of", "same_document", "A document is no copy of itself. Name the other one.")
    if one.sha256 is not None and one.sha256 == other.sha256:
        raise CantrailError(
            Kind.CONFLICT, "one_file", f"{one.id} and {other.id} are one and the same file: they share a root already."
        )
    said = _said(work.session, id).get(other.id, Judged())
    if work.account in (said.copied if new.copied else said.apart):
        raise CantrailError(Kind.CONFLICT, "already_judged", f"You have said so of {one.id} and {other.id}.")
    work.enter(
        entries.CopyJudged(
            document=one.id, of=other.id, copied=new.copied, reviewer=Scope.REVIEW in MAY[work.caller.role]
        ),
        [f"document:{one.id}", f"document:{other.id}"],
    )
    return id


def resembling(session: AnySession, store: EvidenceStore, id: str) -> Resemblances:
    """The documents that are like one, and what people have said of them. Raises not_found."""
    one = row(session, id)
    said = _said(session, id)
    found: dict[str, float] = {}
    if one.sha256 is not None:
        found = {each.id: 1.0 for each in queries.documents_with(session, sha256=one.sha256) if each.id != id}
    if one.taken_down is None and one.text_sha256 is not None:
        mine = _text(store, one.text_sha256)
        for each in queries.alike(session, document=id, at_least=WORTH_COMPARING, limit=MOST_COMPARED):
            other = queries.document(session, id=each.document)
            if other is None or other.id in found or other.taken_down is not None or other.text_sha256 is None:
                continue
            alike = fuzz.ratio(mine, _text(store, other.text_sha256)) / 100
            if alike >= ALIKE or other.id in said:
                found[other.id] = round(alike, 3)
    for judged in said:
        found.setdefault(judged, 0.0)
    items = [_shown(session, other, alike, said.get(other, Judged()), one.sha256) for other, alike in found.items()]
    return Resemblances(id, sorted(items, key=lambda each: (-each.alike, each.document)))


def _said(session: AnySession, id: str) -> dict[str, Judged]:
    """What people say of a document and each other one, their last words."""
    said: dict[str, Judged] = {}
    for each in queries.judgements(session, document=id):
        other = each.of if each.document == id else each.document
        said[other] = said.get(other, Judged()).with_word(each.by, copied=each.copied, reviewer=each.reviewer)
    return said


def _shown(session: AnySession, id: str, alike: float, judged: Judged, sha256: str | None) -> Resembling:
    other = row(session, id)
    same_file = sha256 is not None and other.sha256 == sha256
    return Resembling(
        document=id,
        publisher=other.publisher,
        alike=alike,
        copied=tuple(sorted(judged.copied)),
        apart=tuple(sorted(judged.apart)),
        one_root=same_file or judged.suspected,
    )


def _text(store: EvidenceStore, sha256: str) -> str:
    whole = " ".join(page.text for page in pages_of(store, sha256))
    return " ".join(whole.casefold().split())[:LONGEST_COMPARED]
