"""Documents, their snapshots and copies, and the texts that are held by hash."""

from collections.abc import Sequence
from typing import Final, NamedTuple

from sqlalchemy import bindparam
from sqlmodel import and_, col, func, or_, select

from app.persistence.batches import in_batches
from app.persistence.models import Citation, CopyJudgement, Document, HeldText, Sketch, Snapshot
from app.persistence.session import AnySession

_BY_ID: Final = select(Document).where(col(Document.id).in_(bindparam("ids", expanding=True)))
_TEXTS: Final = select(HeldText).where(col(HeldText.sha256).in_(bindparam("ids", expanding=True)))
_SNAPSHOTS: Final = (
    select(Snapshot).where(col(Snapshot.document).in_(bindparam("ids", expanding=True))).order_by(col(Snapshot.seq))
)
"""Made once: most pages ask these, and building them takes longer than running them."""


def document(session: AnySession, *, id: str) -> Document | None:
    """One document."""
    return session.get(Document, id)


def documents_by_id(session: AnySession, *, ids: Sequence[str]) -> dict[str, Document]:
    """Several documents; those that are not there are left out."""
    found: dict[str, Document] = {}
    for some in in_batches(ids):
        found.update((each.id, each) for each in session.exec(_BY_ID, params={"ids": some}))
    return found


def documents(session: AnySession, *, after_seq: int, limit: int, publisher: str | None = None) -> list[Document]:
    """Documents, oldest first, those that follow an entry; of one publisher."""
    wanted = select(Document).where(Document.seq > after_seq)
    if publisher is not None:
        wanted = wanted.where(Document.publisher == publisher)
    return list(session.exec(wanted.order_by(col(Document.seq)).limit(limit)))


def documents_with(session: AnySession, *, sha256: str) -> list[Document]:
    """The documents that are one and the same file, oldest first."""
    return list(session.exec(select(Document).where(Document.sha256 == sha256).order_by(col(Document.seq))))


def documents_at(session: AnySession, *, address_sha256: str) -> list[Document]:
    """The documents that are published at one address, oldest first."""
    at = select(Document).where(Document.address_sha256 == address_sha256)
    return list(session.exec(at.order_by(col(Document.seq))))


def documents_of_file(session: AnySession, *, sha256: str) -> list[Document]:
    """The documents that hold a file, as their own or as a later snapshot, oldest first."""
    later = select(Snapshot.document).where(Snapshot.sha256 == sha256)
    wanted = select(Document).where(or_(col(Document.sha256) == sha256, col(Document.id).in_(later)))
    return list(session.exec(wanted.order_by(col(Document.seq))))


def snapshots(session: AnySession, *, document: str) -> list[Snapshot]:
    """What a document's address gave, oldest first."""
    return snapshots_of(session, documents=[document]).get(document, [])


def snapshots_of(session: AnySession, *, documents: Sequence[str]) -> dict[str, list[Snapshot]]:
    """What the addresses of some documents gave, of each oldest first."""
    found: dict[str, list[Snapshot]] = {}
    for some in in_batches(documents):
        for each in session.exec(_SNAPSHOTS, params={"ids": some}):
            found.setdefault(each.document, []).append(each)
    return found


def judgements(session: AnySession, *, document: str) -> list[CopyJudgement]:
    """What people say of a document and its copies, oldest first."""
    about = or_(col(CopyJudgement.document) == document, col(CopyJudgement.of) == document)
    return list(session.exec(select(CopyJudgement).where(about).order_by(col(CopyJudgement.seq))))


class Alike(NamedTuple):
    """A document, and how many numbers of another's sketch it shares."""

    document: str
    shared: int


def alike(session: AnySession, *, document: str, at_least: int, limit: int) -> list[Alike]:
    """The documents whose sketches share most with another's, the likest first."""
    own = select(Sketch.number).where(Sketch.document == document)
    shared = func.count()
    wanted = (
        select(Sketch.document, shared)
        .where(col(Sketch.number).in_(own), Sketch.document != document)
        .group_by(col(Sketch.document))
        .having(shared >= at_least)
        .order_by(shared.desc(), col(Sketch.document))
        .limit(limit)
    )
    return [Alike(id, count) for id, count in session.exec(wanted)]


def citations_of_document(session: AnySession, *, document: str) -> list[Citation]:
    """The citations of a document."""
    return sorted(
        session.exec(select(Citation).where(Citation.document == document)), key=lambda each: int(each.id[1:])
    )


def citations_after(session: AnySession, *, document: str, after: int, limit: int) -> list[Citation]:
    """Some citations of a document in the order of citing, those that follow one by the number in its id."""
    last = f"T{after}"
    length = func.length(Citation.id)
    following = or_(length > len(last), and_(length == len(last), col(Citation.id) > last))
    wanted = select(Citation).where(Citation.document == document, following)
    return list(session.exec(wanted.order_by(length, col(Citation.id)).limit(limit)))


def files_held(session: AnySession) -> set[str]:
    """The hash of every file that the tables speak of and that was not taken down: documents' own, their later
    snapshots', and those that hold their text."""
    standing = col(Document.taken_down).is_(None)
    kept = select(Snapshot.sha256).join(Document, col(Document.id) == Snapshot.document).where(standing)
    found: set[str] = set(session.exec(kept))
    for file in (Document.sha256, Document.text_sha256):
        found.update(each for each in session.exec(select(file).where(standing)) if each is not None)
    return found


def texts(session: AnySession, *, sha256s: Sequence[str]) -> dict[str, HeldText]:
    """Several texts by their hashes; those that are not there are left out."""
    found: dict[str, HeldText] = {}
    for some in in_batches(sha256s):
        found.update((each.sha256, each) for each in session.exec(_TEXTS, params={"ids": some}))
    return found
