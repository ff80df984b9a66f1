"""Fold entries, up to any point, into what the rules need: records, claims, documents and the method in force."""

from collections.abc import Iterable

import msgspec

from app.core import entries
from app.core.claim import Subject, SubjectKind
from app.core.document import Document, Judged, document_advanced, document_begun, document_named_by, roots
from app.core.enquiry import Asked, Enquiry, advanced, enquiry_named_by
from app.core.enquiry import begun as enquiry_begun
from app.core.entries import Entry, Payload, named
from app.core.mass import Counts
from app.core.review import ClaimFacts, advance, begun, claim_facts, claim_named_by
from app.core.scope import OPEN, Range

__all__ = [
    "ClaimFacts",
    "Document",
    "Facts",
    "Record",
    "claim_facts",
    "copies",
    "fold",
    "links",
    "record_of",
    "taken_in",
]

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


class Facts:
    """Everything that a set of entries says, as of the last of them."""

    def __init__(self) -> None:
        self.seq = 0
        self.method: str | None = None
        self.records: dict[Subject, Record] = {}
        self.claims: dict[str, ClaimFacts] = {}
        self.documents: dict[str, Document] = {}
        self.judgements: dict[frozenset[str], Judged] = {}
        self.enquiries: dict[str, Enquiry] = {}
        self.publishers: dict[str, str] = {}
        self._roots: dict[bool, dict[str, str]] = {}
        self._standing: list[ClaimFacts] | None = None

    def apply(self, entry: Entry) -> None:
        """Take in the next entry. What this set does not hold the beginning of is passed over."""
        self.seq = max(self.seq, entry.seq)
        self._standing = None
        self._roots = {}
        payload = entry.payload
        record = record_of(entry)
        if record is not None:
            self.records[record.subject] = record
        claim = self.claims.get(claim_named_by(payload) or "")
        if claim is not None:
            self.claims[claim.id] = advance(claim, entry)
        self._document(entry)
        self._enquiry(entry)
        match payload:
            case entries.MethodAdopted():
                self.method = payload.method
            case entries.PublisherAdded():
                self.publishers[payload.slug] = payload.name or payload.slug
            case entries.ClaimSubmitted():
                self.claims[named(entries.CLAIM, entry.seq)] = begun(entry)
            case entries.RecordConfirmed():
                self._confirm(payload.subject, entry.actor)
            case _:
                pass

    def _document(self, entry: Entry) -> None:
        payload = entry.payload
        begun_here = document_begun(entry)
        if begun_here is not None:
            self.documents[begun_here.id] = begun_here
        document = self.documents.get(document_named_by(payload) or "")
        if document is not None:
            self.documents[document.id] = document_advanced(document, payload)
        if isinstance(payload, entries.CopyJudged):
            pair = frozenset({payload.document, payload.of})
            judged = self.judgements.get(pair, Judged())
            self.judgements[pair] = judged.with_word(entry.actor, copied=payload.copied, reviewer=payload.reviewer)

    def _enquiry(self, entry: Entry) -> None:
        opened = enquiry_begun(entry)
        if opened is not None:
            self.enquiries[opened.id] = opened
        enquiry = self.enquiries.get(enquiry_named_by(entry.payload) or "")
        if enquiry is not None:
            self.enquiries[enquiry.id] = advanced(enquiry, entry)

    def _confirm(self, subject: Subject, reviewer: str) -> None:
        record = self.records.get(subject)
        if record is not None and reviewer not in record.confirmed_by:
            self.records[subject] = msgspec.structs.replace(record, confirmed_by=(*record.confirmed_by, reviewer))

    def claims_on(self, subject: Subject) -> list[ClaimFacts]:
        """The claims on one subject, oldest first."""
        return [claim for claim in self.claims.values() if claim.subject == subject]

    def asked_about(self, subject: Subject) -> tuple[Asked, ...]:
        """The enquiries about one subject, oldest first, each with the name of whom it was put to: of a person, whose
        name is in no entry, the slug."""
        return tuple(
            Asked(enquiry, self.publishers.get(enquiry.asked, enquiry.asked))
            for enquiry in self.enquiries.values()
            if enquiry.subject == subject
        )

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

    def root_of(self, document: str, *, settled: bool = False) -> str | None:
        """The root of a document; None where it is not known here. `settled`: see `roots`."""
        if settled not in self._roots:
            self._roots[settled] = roots(self.documents, self.judgements, settled=settled)
        return self._roots[settled].get(document)

    def roots_of(
        self, claim: ClaimFacts, *, without: frozenset[str] = frozenset(), settled: bool = False
    ) -> dict[str, bool]:
        """The roots that a claim rests on but for some, each with whether a document of it is held: those that it
        cites, in the order of citing, and those of the claims that it is worked back from. `settled`: see `roots`."""
        found: dict[str, bool] = {}
        for id in self.documents_of(claim):
            root = self.root_of(id, settled=settled)
            if root is not None and self.root_of(id) not in without:
                found[root] = found.get(root, False) or self.documents[id].held
        return found

    def documents_of(self, claim: ClaimFacts) -> list[str]:
        """The documents that a claim rests on, those of the claims that it is worked back from included."""
        found = [citation.document for citation in claim.citations]
        for taken in self.taken_by(claim):
            found += self.documents_of(taken)
        return list(dict.fromkeys(found))

    def taken_by(self, claim: ClaimFacts) -> list[ClaimFacts]:
        """The claims from which a claim is worked back. One that was superseded is followed to what took its place."""
        named_there = claim.derivation.takes if claim.derivation is not None else ()
        return [self._in_force(self.claims[each.claim]) for each in named_there if each.claim in self.claims]

    def _in_force(self, claim: ClaimFacts) -> ClaimFacts:
        while claim.superseded_by in self.claims:
            claim = self.claims[claim.superseded_by]
        return claim

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
    that only repeats a carrier's rating is capped), and the publishers that were asked, by name."""
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
        case entries.EnquiryOpened():
            return {f"publisher:{payload.asked}"}
        case _:
            return set()


def copies(history: Iterable[Entry]) -> set[str]:
    """The streams of the documents that may share a root with these: those that are judged to be copies, or not, and
    those that are the same file."""
    return {
        stream
        for entry in history
        if isinstance(entry.payload, entries.CopyJudged | entries.DocumentAdded | entries.SnapshotKept)
        for stream in entry.streams
        if stream.startswith("document:")
    }


def taken_in(history: Iterable[Entry]) -> set[Subject]:
    """The subjects on whose claims the claims in these entries are worked back from."""
    return {
        subject
        for entry in history
        if isinstance(entry.payload, entries.ClaimDerived)
        for subject in entry.payload.derivation.subjects
    }
