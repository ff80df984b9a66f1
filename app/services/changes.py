"""The change feed: entries in order, each with what it did to the plates of the vehicles that it touches.

A page takes a bounded time, whatever an entry touches: where its plates are too many for one page, the page ends within
it, and the next one goes on from there.
"""

import re
from typing import Final

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.entries import Entry
from app.core.errors import invalid
from app.core.mass import Unit
from app.persistence import ledger
from app.persistence.session import AnySession
from app.services.looking import EntryView, entry_view
from app.services.reach import Reach
from app.services.views.plates import ChangedView, changed_view
from app.services.walking import Walk

MOST_WORK: Final = 2500
"""What one page may take, in claims scored: some tenths of a second."""

_PLACE: Final = re.compile(r"([0-9]{1,15})(?:\.([a-z0-9-]{1,80}))?")


class ChangeView(msgspec.Struct, frozen=True):
    """An entry, and the fields of plates that it set, emptied, raised or lowered. Where it is not `complete`, the page
    ends within it: the next one begins with the same entry and the plates that are not here."""

    entry: EntryView
    plates: list[ChangedView]
    complete: bool


class Changes(msgspec.Struct, frozen=True):
    """Some of the feed; sent as `after`, `next` goes on from there, and is null when nothing more is there yet."""

    items: list[ChangeView]
    next: str | None
    unit: str
    head: int


class Place(msgspec.Struct, frozen=True):
    """A place in the feed: after an entry; or where a vehicle is named, within it, after that vehicle's plate."""

    seq: int
    vehicle: str | None = None


def place(said: int | str) -> Place:
    """A place as it is sent: an entry's number, or what `next` gave. Raises bad input."""
    found = _PLACE.fullmatch(str(said))
    if found is None:
        raise invalid("/after", "bad_cursor", "Give the number of the last entry that you have, or `next` as it was.")
    return Place(int(found[1]), found[2])


def changes(session: AnySession, *, after: int | str, limit: int, unit: Unit = Unit.KG) -> Changes:
    """The entries that follow a place, so many at most."""
    begins = place(after)
    first = begins.seq if begins.vehicle is None else begins.seq - 1
    entries = ledger.entries_after(session, after=first, limit=limit)
    head = ledger.head(session)
    page = _Page(session, unit, up_to=entries[-1].seq if entries else first)
    ends = Place(first)
    items: list[ChangeView] = []
    for entry in entries:
        within = begins.vehicle if entry.seq == begins.seq else None
        plates, last = page.plates(entry, after=within)
        items.append(ChangeView(entry_view(entry), plates, last is None))
        ends = Place(entry.seq, last)
        if page.is_full:
            break
    return Changes(items, _sent(ends, head), unit, head)


def _sent(ends: Place, head: int) -> str | None:
    """What goes on from a place, if there is anything after it."""
    if ends.vehicle is not None:
        return f"{ends.seq}.{ends.vehicle}"
    return str(ends.seq) if ends.seq < head else None


class _Page:
    """The plates of one page's entries. Each vehicle is read once, and brought forward from entry to entry."""

    def __init__(self, session: AnySession, unit: Unit, up_to: int) -> None:
        self._session = session
        self._unit = unit
        self._up_to = up_to
        self._reach = Reach(session)
        self._walks: dict[str, Walk] = {}
        self._spent = 0

    @property
    def is_full(self) -> bool:
        """Whether enough was done for one page."""
        return self._spent >= MOST_WORK

    def plates(self, entry: Entry, *, after: str | None) -> tuple[list[ChangedView], str | None]:
        """What an entry did to plates, from the one after a vehicle's; and where the page is full before the last, the
        vehicle that was looked at last."""
        vehicles = [slug for slug in self._reach.vehicles(entry) if after is None or slug > after]
        found: list[ChangedView] = []
        for slug in vehicles:
            found += self._changed(slug, entry)
            if self.is_full and slug != vehicles[-1]:
                return found, slug
        return found, None

    def _changed(self, slug: str, entry: Entry) -> list[ChangedView]:
        if slug not in self._walks:
            self._walks[slug] = Walk(self._session, Subject(SubjectKind.VEHICLE, slug), up_to=self._up_to)
            self._spent += self._walks[slug].spent
        walk = self._walks[slug]
        before = walk.spent
        found = [changed_view(slug, changed, self._unit) for changed in walk.changes(entry)]
        self._spent += walk.spent - before
        return found
