"""The change feed: entries in order, each with what it did to the plates of the vehicles that it touches."""

from collections.abc import Iterable, Iterator
from typing import Final

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.entries import Entry, RecordConfirmed
from app.core.mass import Unit
from app.core.plate import changes as plate_changes
from app.core.review import claim_named_by
from app.core.scoring import Dossier
from app.persistence import ledger
from app.persistence.queries import claims as queries
from app.persistence.session import AnySession
from app.services.facts import load
from app.services.looking import EntryView, entry_view
from app.services.views.plates import ChangedView, changed_view


class ChangeView(msgspec.Struct, frozen=True):
    """An entry, and the fields of plates that it set, emptied, raised or lowered."""

    entry: EntryView
    plates: list[ChangedView]


class Changes(msgspec.Struct, frozen=True):
    """Some of the feed; `after` goes on from there, and is null when nothing more is there yet."""

    items: list[ChangeView]
    next: str | None
    unit: str
    head: int


def changes(session: AnySession, *, after: int, limit: int, unit: Unit = Unit.KG) -> Changes:
    """The entries that follow one."""
    entries = ledger.entries_after(session, after=after, limit=limit)
    before = _Before(session)
    items = [ChangeView(entry_view(entry), list(_effects(session, entry, before, unit))) for entry in entries]
    head = ledger.head(session)
    last = entries[-1].seq if entries else after
    return Changes(items, str(last) if last < head else None, unit, head)


def _effects(session: AnySession, entry: Entry, before: "_Before", unit: Unit) -> Iterator[ChangedView]:
    for vehicle in _vehicles(session, entry):
        earlier = before.of(vehicle, entry.seq - 1)
        loaded = load(session, vehicle, entry.seq)
        if loaded is None:
            continue
        before.keep(vehicle, entry.seq, loaded.dossier)
        for changed in plate_changes(earlier, loaded.dossier):
            yield changed_view(vehicle.id, changed, unit)


def _vehicles(session: AnySession, entry: Entry) -> Iterable[Subject]:
    """The vehicles whose plates an entry may change: those it touches, those with claims that rest on a document it is
    about, those with claims that are worked back from any of these; and for a claim on a carrier, those that the
    carrier fits and whose maker states a limit, which counts for less where it only repeats the carrier's rating."""
    touched = [subject for stream in entry.streams if (subject := _subject(stream)) is not None]
    for stream in entry.streams:
        kind, _, id = stream.partition(":")
        if kind == "document" and "/" not in id:
            touched += queries.subjects_citing(session, document=id)
    reached: dict[Subject, None] = {}
    while touched:
        subject = touched.pop()
        if subject not in reached:
            reached[subject] = None
            touched += queries.depending_on(session, subject=subject)
    vehicles = [subject for subject in reached if subject.kind is SubjectKind.VEHICLE]
    if vehicles or not (claim_named_by(entry.payload) is not None or isinstance(entry.payload, RecordConfirmed)):
        return vehicles
    return [
        Subject(SubjectKind.VEHICLE, slug)
        for carrier in reached
        if carrier.kind is SubjectKind.CARRIER
        for slug in queries.vehicles_stated_beside(session, carrier=carrier.id)
    ]


_KINDS: Final = frozenset(SubjectKind)


def _subject(stream: str) -> Subject | None:
    """The subject whose own stream this is."""
    kind, _, id = stream.partition(":")
    return Subject(SubjectKind(kind), id) if kind in _KINDS and "/" not in id else None


class _Before:
    """Each vehicle as it was last seen, so that a run of entries on one vehicle is folded once each."""

    def __init__(self, session: AnySession) -> None:
        self._session = session
        self._seen: dict[Subject, tuple[int, Dossier]] = {}

    def of(self, vehicle: Subject, up_to: int) -> Dossier | None:
        """A vehicle as of an entry; None where it was not there yet."""
        seen = self._seen.get(vehicle)
        if seen is not None and seen[0] == up_to:
            return seen[1]
        loaded = load(self._session, vehicle, up_to)
        return None if loaded is None else loaded.dossier

    def keep(self, vehicle: Subject, seq: int, dossier: Dossier) -> None:
        """Remember a vehicle as of an entry."""
        self._seen[vehicle] = (seq, dossier)
