"""What happened to a vehicle, the latest first, and what each entry did to its plate."""

from typing import Final

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.entries import ClaimSubmitted, Entry
from app.core.mass import Unit
from app.core.plate import STILL
from app.persistence import ledger
from app.persistence.session import AnySession
from app.services.changes import ChangeView
from app.services.facts import not_found
from app.services.looking import entry_view
from app.services.views.plates import changed_view
from app.services.walking import Walk

MOST_WORK: Final = 250
"""What one page may take, in claims scored: some hundredths of a second. The more claims a vehicle has, the fewer entries
stand on a page."""


class Timeline(msgspec.Struct, frozen=True):
    """Some entries, the latest first. Asked for before the entry `older`, earlier ones follow; null at the beginning."""

    items: list[ChangeView]
    older: int | None


def timeline(session: AnySession, slug: str, *, before: int | None, limit: int, unit: Unit) -> Timeline:
    """What happened to a vehicle before an entry (None: up to now). What happens elsewhere and leaves its plate as it was
    is left out: so a page may hold fewer than `limit`. Raises not_found."""
    subject = Subject(SubjectKind.VEHICLE, slug)
    walk = Walk(session, subject, up_to=ledger.head(session) if before is None else before - 1)
    entries = walk.entries
    if before is None and not any(subject.stream in entry.streams for entry in entries):
        raise not_found(subject)
    claims = sum(isinstance(entry.payload, ClaimSubmitted) for entry in entries)
    told = [each for each in entries if subject.stream in each.streams or not isinstance(each.payload, STILL)]
    first = max(0, len(told) - max(1, min(limit, MOST_WORK // (claims + 1))))
    found = [_happened(walk, subject, entry, unit) for entry in told[first:]]
    return Timeline([each for each in reversed(found) if each is not None], told[first].seq if first else None)


def _happened(walk: Walk, subject: Subject, entry: Entry, unit: Unit) -> ChangeView | None:
    plate = [changed_view(subject.id, each, unit) for each in walk.changes(entry)]
    if not plate and subject.stream not in entry.streams:
        return None
    return ChangeView(entry_view(entry), plate, complete=True)
