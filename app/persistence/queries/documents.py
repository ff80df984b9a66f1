"""Documents, and the texts that are held by hash."""

from collections.abc import Sequence

from sqlmodel import col, select

from app.persistence.models import Document, HeldText
from app.persistence.session import AnySession

_AT_ONCE = 500


def document(session: AnySession, *, id: str) -> Document | None:
    """One document."""
    return session.get(Document, id)


def documents(session: AnySession, *, after_seq: int, limit: int, publisher: str | None = None) -> list[Document]:
    """Documents, oldest first, those that follow an entry; of one publisher."""
    wanted = select(Document).where(Document.seq > after_seq)
    if publisher is not None:
        wanted = wanted.where(Document.publisher == publisher)
    return list(session.exec(wanted.order_by(col(Document.seq)).limit(limit)))


def documents_with(session: AnySession, *, sha256: str) -> list[Document]:
    """The documents that are one and the same file, oldest first."""
    return list(session.exec(select(Document).where(Document.sha256 == sha256).order_by(col(Document.seq))))


def text(session: AnySession, *, sha256: str) -> HeldText | None:
    """One text, or what is left of it where it was taken down."""
    return session.get(HeldText, sha256)


def texts(session: AnySession, *, sha256s: Sequence[str]) -> dict[str, HeldText]:
    """Several texts by their hashes; those that are not there are left out."""
    found: dict[str, HeldText] = {}
    for start in range(0, len(sha256s), _AT_ONCE):
        some = select(HeldText).where(col(HeldText.sha256).in_(sha256s[start : start + _AT_ONCE]))
        found.update((each.sha256, each) for each in session.exec(some))
    return found
