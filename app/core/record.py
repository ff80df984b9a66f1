"""What is entered about a subject itself, who has checked it, and what a correction leaves of it meanwhile."""

import msgspec

from app.core import entries
from app.core.claim import Subject, SubjectKind
from app.core.entries import Entry, named
from app.core.mass import Counts
from app.core.placement_entries import RecordSaid
from app.core.scope import OPEN, Range

CONFIRMATIONS = 2

SubjectPayload = (
    entries.VehicleAdded | entries.CarrierAdded | entries.FixingAdded | entries.GearAdded | entries.FitmentAdded
)


class Record(msgspec.Struct, frozen=True):
    """What is entered about a subject itself, and which reviewers have checked it.

    While a correction waits for its confirmations, `before` is what stood before it (after a merger, both records), and
    `waiting` what earlier corrections said that wait as well. `author` is who said last what the record says, `earlier`
    who said some of it before without that two others have checked it since.
    """

    subject: Subject
    seq: int
    author: str
    payload: SubjectPayload
    confirmed_by: tuple[str, ...] = ()
    before: "tuple[Record, ...]" = ()
    waiting: tuple[SubjectPayload, ...] = ()
    earlier: tuple[str, ...] = ()

    @property
    def confirmed(self) -> bool:
        """A record is confirmed once two reviewers have checked it."""
        return len(self.confirmed_by) >= CONFIRMATIONS

    @property
    def authors(self) -> frozenset[str]:
        """Who said what two others are still to check: none of them is one of the two."""
        return frozenset({self.author, *self.earlier})

    @property
    def range(self) -> Range:
        """What the record closes: nothing until it is confirmed."""
        if not self.confirmed or not isinstance(self.payload, entries.VehicleAdded):
            return OPEN
        vehicle = self.payload
        return Range(vehicle.years, vehicle.bodies or None, vehicle.roofs or None, vehicle.markets or None)

    @property
    def ranges(self) -> tuple[Range, ...]:
        """What rules a car out: only what each of these rules out. A correction lets no further car in by itself."""
        return tuple(each.range for each in self.before) or (self.range,)

    @property
    def counts(self) -> Counts:
        """Bars and feet: unknown until the record is confirmed."""
        if not self.confirmed:
            return Counts()
        return Counts(bars=getattr(self.payload, "bars", None), feet=getattr(self.payload, "feet", None))

    @property
    def counts_read(self) -> tuple[Counts, ...]:
        """Every way of reading the counts: as they stand, and while a correction waits, as they stood."""
        return tuple(dict.fromkeys([self.counts, *(each.counts for each in self.before)]))

    @property
    def fixing_built_in(self) -> bool:
        """Whether a confirmed record says that a carrier's fixing is part of it."""
        return self.confirmed and isinstance(self.payload, entries.CarrierAdded) and self.payload.fixing == "built_in"

    @property
    def categories(self) -> tuple[str, ...]:
        """The categories that a gear item may be of: several while a correction waits."""
        said = [self.payload, *(each.payload for each in self.before), *self.waiting]
        return tuple(dict.fromkeys(each.category for each in said if isinstance(each, entries.GearAdded)))

    def checked(self, reviewer: str) -> "Record":
        """The record once one more reviewer has checked it; the second ends what stood before."""
        if reviewer in self.confirmed_by:
            return self
        return self.stood_behind((*self.confirmed_by, reviewer))

    def stood_behind(self, reviewers: tuple[str, ...]) -> "Record":
        """The record as just these reviewers have checked it."""
        over = len(reviewers) >= CONFIRMATIONS
        return msgspec.structs.replace(
            self,
            confirmed_by=reviewers,
            before=() if over else self.before,
            waiting=() if over else self.waiting,
        )

    def corrected(self, author: str, said: RecordSaid) -> "Record":
        """The record once somebody has corrected it: its confirmation starts again."""
        begun_again = self.begun_again()
        waiting = (*self.waiting, self.payload) if self.before else ()
        earlier = () if self.confirmed else tuple(dict.fromkeys([*self.earlier, self.author]))
        return msgspec.structs.replace(
            begun_again, author=author, payload=corrected(self.payload, said), waiting=waiting, earlier=earlier
        )

    def begun_again(self, *beside: "Record") -> "Record":
        """The record with its confirmation started again. What stood before, also in some records beside it, still
        counts where it is less."""
        stood = [*(self.before or (self,)), *(each for other in beside for each in (other.before or (other,)))]
        waiting = (*self.waiting, *(said for other in beside for said in (other.payload, *other.waiting)))
        return msgspec.structs.replace(self, confirmed_by=(), before=tuple(stood), waiting=waiting)


def corrected(payload: SubjectPayload, said: RecordSaid) -> SubjectPayload:
    """What a record says once it is corrected; its maker, its slug and what it joins stay."""
    return msgspec.structs.replace(payload, **{name: getattr(said, name) for name in said.__struct_fields__})


def same(one: SubjectPayload, other: SubjectPayload) -> bool:
    """Whether two records say the same, but for what the things are called."""
    return type(one) is type(other) and all(
        getattr(one, name) == getattr(other, name) for name in one.__struct_fields__ if name not in _NAMES
    )


_NAMES = frozenset({"slug", "maker", "model", "series", "distinct_from"})


def behind_both(one: Record, into: Record) -> tuple[str, ...]:
    """Who stands behind a record into which another one is merged: where both say the same, whoever confirmed either of
    them, but for its authors; otherwise nobody."""
    if one.before or into.before or not same(one.payload, into.payload):
        return ()
    reviewers = dict.fromkeys([*into.confirmed_by, *one.confirmed_by])
    return tuple(each for each in reviewers if each not in into.authors)


def record_of(entry: Entry) -> Record | None:
    """The record that an entry creates, if it creates one."""
    match entry.payload:
        case entries.VehicleAdded() as payload:
            subject = Subject(SubjectKind.VEHICLE, payload.slug)
        case entries.CarrierAdded() as payload:
            subject = Subject(SubjectKind.CARRIER, payload.slug)
        case entries.FixingAdded() as payload:
            subject = Subject(SubjectKind.FIXING, payload.slug)
        case entries.GearAdded() as payload:
            subject = Subject(SubjectKind.GEAR, payload.slug)
        case entries.FitmentAdded() as payload:
            subject = Subject(SubjectKind.FITMENT, named(entries.FITMENT, entry.seq))
        case _:
            return None
    return Record(subject, entry.seq, entry.actor, payload)
