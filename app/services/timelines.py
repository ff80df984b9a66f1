"""A claim's history as people follow it: each entry with what it did to the plate of the claim's vehicle."""

from typing import Final

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.mass import Unit
from app.core.plate import changes
from app.persistence import ledger
from app.persistence.session import AnySession
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
    session: AnySession, id: str, subject: Subject, *, after: int, limit: int, unit: Unit
) -> Page[HappenedView]:
    """What happened to a claim on a subject, oldest first."""
    history = ledger.entries_of(session, streams=[f"claim:{id}"], up_to=None)
    following = [entry for entry in history if entry.seq > after]
    page = [entry_view(entry) for entry in following[:limit]]
    if subject.kind is not SubjectKind.VEHICLE or not page:
        return _page([HappenedView(entry, []) for entry in page], len(following))
    walk = Walk(session, subject, up_to=page[-1].seq)
    shown: list[HappenedView] = []
    for entry in page:
        shown.append(HappenedView(entry, _done_to(walk, subject, entry.seq, unit)))
        if walk.spent >= MOST_WORK:
            break
    return _page(shown, len(following))


def _page(shown: list[HappenedView], following: int) -> Page[HappenedView]:
    return Page(shown, str(shown[-1].entry.seq) if len(shown) < following else None)


def _done_to(walk: Walk, vehicle: Subject, seq: int, unit: Unit) -> list[ChangedView]:
    before, after = walk.to(seq - 1), walk.to(seq)
    if after is None or after is before:
        return []
    return [changed_view(vehicle.id, changed, unit) for changed in changes(before, after)]
