"""A claim's history as people follow it: each entry with what it did to the plate of the claim's vehicle."""

from typing import Final

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.mass import Unit
from app.core.roof import remembered
from app.persistence import ledger
from app.persistence.session import AnySession
from app.services.facts import Around
from app.services.looking import EntryView, entry_view
from app.services.views.plates import ChangedView, changed_view
from app.services.views.records import Page
from app.services.walking import Walk

MOST_WORK: Final = 2500
"""What one page may take, in claims scored: some tenths of a second. Where it is used up, the page ends."""


class HappenedView(msgspec.Struct, frozen=True):
    """An entry, and the fields of its vehicle's plate that it set, emptied, raised or lowered."""

    entry: EntryView
    plates: list[ChangedView]


def of_claim(
    session: AnySession, around: Around, id: str, subject: Subject, *, after: int, limit: int, unit: Unit
) -> Page[HappenedView]:
    """What happened to a claim on a subject, oldest first. It is worked out once, and again when something happens to the
    subject."""
    key = ("history", id, after, limit, unit)
    return remembered(
        around(subject).dossier, key, lambda: _of_claim(session, id, subject, after=after, limit=limit, unit=unit)
    )


def _of_claim(
    session: AnySession, id: str, subject: Subject, *, after: int, limit: int, unit: Unit
) -> Page[HappenedView]:
    history = ledger.entries_of(session, streams=[f"claim:{id}"], up_to=None)
    following = [entry for entry in history if entry.seq > after]
    page = following[:limit]
    if subject.kind is not SubjectKind.VEHICLE or not page:
        return _page([HappenedView(entry_view(entry), []) for entry in page], len(following))
    walk = Walk(session, subject, up_to=page[-1].seq)
    shown: list[HappenedView] = []
    for entry in page:
        did = [changed_view(subject.id, changed, unit) for changed in walk.changes(entry)]
        shown.append(HappenedView(entry_view(entry), did))
        if walk.spent >= MOST_WORK:
            break
    return _page(shown, len(following))


def _page(shown: list[HappenedView], following: int) -> Page[HappenedView]:
    return Page(shown, str(shown[-1].entry.seq) if len(shown) < following else None)
