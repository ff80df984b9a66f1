"""Fold entries, up to any point, into what the rules need: records, claims, documents and the method in force."""

from collections.abc import Iterable

import msgspec

from app.core import entries
from app.core.claim import Subject, SubjectKind
from app.core.entries import Entry, Payload, named
from app.core.mass import Counts
from app.core.review import ClaimFacts, advance, begun, claim_facts, claim_named_by
from app.core.scope import OPEN, Range

__all__ = ["ClaimFacts", "Document", "Facts", "Record", "claim_facts", "fold", "links", "record_of"]

CONFIRMATIONS = 2

SubjectPayload = (
    entries.VehicleAdded | entries.CarrierAdded | entries.FixingAdded | entries.GearAdded | entries.FitmentAdded
)


class Record(msgspec.Struct, frozen=True):
    """What is entered about a subject itself, and which reviewers have checked it."""

    subject: Subject
    seq: int
    author: str
    payload: SubjectPayload
    confirmed_by: tuple[str, ...] = ()

    @property
    def confirmed(self) -> bool:
        """A record is confirmed once two reviewers have checked it."""
        return len(self.confirmed_by) >= CONFIRMATIONS

    @property
    def range(self) -> Range:
        """What the record closes: nothing until it is confirmed."""
        if not self.confirmed or not isinstance(self.payload, entries.VehicleAdded):
            return OPEN
        vehicle = self.payload
        return Range(vehicle.years, vehicle.bodies or None, vehicle.roofs or None, vehicle.markets or None)

    @property
    def counts(self) -> Counts:
        """Bars and feet: unknown until the record is confirmed."""
        if not self.confirmed:
            return Counts()
        return Counts(bars=getattr(self.payload, "bars", None), feet=getattr(self.payload, "feet", None))

    @property
    def fixing_built_in(self) -> bool:
        """Whether a confirmed record says that a carrier's fixing is part of it."""
        return self.confirmed and isinstance(self.payload, entries.CarrierAdded) and self.payload.fixing == "built_in"


class Document(msgspec.Struct, frozen=True):
    """What counts of a document: whose it is, what it is, whether its file is held, and its root."""

    id: str
    publisher: str
    kind: str
    sha256: str
    held: bool = True

    @property
    def root(self) -> str:
        """The origin of what the document says: copies to the byte share one."""
        return self.sha256


class Facts:
    """Everything that a set of entries says, as of the last of them."""

    def __init__(self) -> None:
        self.seq = 0
        self.method: str | None = None
        self.records: dict[Subject, Record] = {}
        self.claims: dict[str, ClaimFacts] = {}
        self.documents: dict[str, Document] = {}
        self._standing: list[ClaimFacts] | None = None

    def apply(self, entry: Entry) -> None:
        """Take in the next entry. What this set does not hold the beginning of is passed over."""
        self.seq = max(self.seq, entry.seq)
        self._standing = None
        payload = entry.payload
        record = record_of(entry)
        if record is not None:
            self.records[record.subject] = record
        claim = self.claims.get(claim_named_by(payload) or "")
        if claim is not None:
            self.claims[claim.id] = advance(claim, entry)
        match payload:
            case entries.MethodAdopted():
                self.method = payload.method
            case entries.ClaimSubmitted():
                self.claims[named(entries.CLAIM, entry.seq)] = begun(entry)
            case entries.DocumentAdded():
                id = named(entries.DOCUMENT, entry.seq)
                self.documents[id] = Document(id, payload.publisher, payload.kind, payload.sha256)
            case entries.RecordConfirmed():
                self._confirm(payload.subject, entry.actor)
            case _:
                pass

    def _confirm(self, subject: Subject, reviewer: str) -> None:
        record = self.records.get(subject)
        if record is not None and reviewer not in record.confirmed_by:
            self.records[subject] = msgspec.structs.replace(record, confirmed_by=(*record.confirmed_by, reviewer))

    def claims_on(self, subject: Subject) -> list[ClaimFacts]:
        """The claims on one subject, oldest first."""
        return [claim for claim in self.claims.values() if claim.subject == subject]

    def standing(self) -> list[ClaimFacts]:
        """The claims that bind, oldest first: those that may agree with others or contradict them."""
        if self._standing is None:
            self._standing = [claim for claim in self.claims.values() if claim.binds]
        return self._standing

    def fitments_of(self, vehicle: str) -> list[Record]:
        """The fitments recorded for one vehicle, oldest first."""
        return [
            record
            for record in self.records.values()
            if isinstance(record.payload, entries.FitmentAdded) and record.payload.vehicle == vehicle
        ]

    def roots_of(self, claim: ClaimFacts) -> dict[str, bool]:
        """The roots that a claim cites, each with whether its document is held, in the order of citing."""
        roots: dict[str, bool] = {}
        for citation in claim.citations:
            document = self.documents.get(citation.document)
            if document is not None:
                roots[document.root] = roots.get(document.root, False) or document.held
        return roots

    def counts_for(self, subject: Subject) -> Counts:
        """The counts that multiply figures for each bar, pair or foot: a fitment has its carrier's and its fixing's."""
        record = self.records.get(subject)
        if record is None:
            return Counts()
        if not isinstance(record.payload, entries.FitmentAdded):
            return record.counts
        carrier = self.records.get(Subject(SubjectKind.CARRIER, record.payload.carrier))
        fixing = self.records.get(Subject(SubjectKind.FIXING, record.payload.fixing or ""))
        return Counts(
            bars=carrier.counts.bars if carrier else None,
            feet=fixing.counts.feet if fixing else None,
        )


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


def fold(history: Iterable[Entry], into: Facts | None = None) -> Facts:
    """Fold entries, oldest first."""
    facts = into or Facts()
    for entry in history:
        facts.apply(entry)
    return facts


def links(history: Iterable[Entry]) -> set[str]:
    """The further streams on which answers about these entries' subjects depend: the documents cited, and the
    carriers and fixings that fit (a figure for each bar or foot is multiplied by their counts, and a vehicle limit
    that only repeats a carrier's rating is capped)."""
    found: set[str] = set()
    for entry in history:
        found |= _linked(entry.payload)
    return found


def _linked(payload: Payload) -> set[str]:
    match payload:
        case entries.CitationAdded():
            return {f"document:{payload.document}"}
        case entries.ClaimDisputed(document=str() as document):
            return {f"document:{document}"}
        case entries.FitmentAdded():
            fixing = {f"{SubjectKind.FIXING}:{payload.fixing}"} if payload.fixing else set()
            return {f"{SubjectKind.CARRIER}:{payload.carrier}"} | fixing
        case _:
            return set()
