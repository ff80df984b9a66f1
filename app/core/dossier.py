"""Fold entries, up to any point, into what the rules need: records, claims, documents and the method in force."""

from collections.abc import Callable, Hashable, Iterable
from typing import Any, TypeVar

import msgspec

from app.core import entries
from app.core.claim import Subject, SubjectKind
from app.core.document import Document, Judged, document_advanced, document_begun, document_named_by, roots
from app.core.enquiry import Asked, Enquiry, advanced, enquiry_named_by
from app.core.enquiry import begun as enquiry_begun
from app.core.entries import Entry, Payload
from app.core.mass import Counts
from app.core.placement import Placed, Placements
from app.core.record import CONFIRMATIONS, Record, record_of
from app.core.review import ClaimFacts, advance, begun, claim_facts, claim_named_by

__all__ = [
    "CONFIRMATIONS",
    "ClaimFacts",
    "Document",
    "Facts",
    "Record",
    "claim_facts",
    "copies",
    "fold",
    "joined_by",
    "links",
    "record_of",
    "taken_in",
]


Found = TypeVar("Found")


class Facts:
    """Everything that a set of entries says, as of the last of them. `memory` is for what is worked out from it, which
    holds until the next entry."""

    def __init__(self) -> None:
        self.seq = 0
        self.method: str | None = None
        self.records: dict[Subject, Record] = {}
        self.claims: dict[str, ClaimFacts] = {}
        self.documents: dict[str, Document] = {}
        self.judgements: dict[frozenset[str], Judged] = {}
        self.enquiries: dict[str, Enquiry] = {}
        self.publishers: dict[str, str] = {}
        self.placements = Placements()
        self._entered_on: dict[str, Subject] = {}
        self._fitted: dict[Subject, entries.FitmentAdded] = {}
        self._roots: dict[bool, dict[str, str]] = {}
        self._standing: list[ClaimFacts] | None = None
        self.memory: dict[Hashable, Any] = {}

    def once(self, what: str, claim: ClaimFacts, find: Callable[[], Found]) -> Found:
        """Work out something of a claim, and keep it until the next entry. Another claim may be tried under the same id:
        what was worked out of the one is not taken for the other's."""
        key = (what, claim.id)
        known: tuple[ClaimFacts, Found] | None = self.memory.get(key)
        if known is None or known[0] is not claim:
            known = self.memory[key] = claim, find()
        return known[1]

    def apply(self, entry: Entry) -> None:
        """Take in the next entry. What this set does not hold the beginning of is passed over."""
        self.seq = max(self.seq, entry.seq)
        self._standing = None
        self._roots = {}
        self.memory = {}
        payload = entry.payload
        record = record_of(entry)
        if record is not None:
            self._keep(record)
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
                self._submit(begun(entry))
            case entries.RecordConfirmed():
                if payload.subject in self.records:
                    self.records[payload.subject] = self.records[payload.subject].checked(entry.actor)
            case _:
                self._place(entry)

    def _submit(self, claim: ClaimFacts) -> None:
        self._entered_on[claim.id] = claim.subject
        home = self.placements.home(claim.id, claim.subject)
        self.claims[claim.id] = msgspec.structs.replace(claim, subject=home)

    def _keep(self, record: Record) -> None:
        """Take in a record as it is entered or corrected."""
        if isinstance(record.payload, entries.FitmentAdded):
            self._fitted[record.subject] = record.payload
            fitted = self.placements.fitted(record.subject.id, record.payload)
            record = msgspec.structs.replace(record, payload=fitted)
        self.records[record.subject] = record

    def _place(self, entry: Entry) -> None:
        """Take in what is said of which subjects are one, and of which claims are whose."""
        payload = entry.payload
        match payload:
            case entries.RecordCorrected():
                record = self.records.get(payload.subject)
                if record is not None:
                    entered = self._fitted.get(payload.subject, record.payload)
                    record = msgspec.structs.replace(record, payload=entered)
                    self._keep(record.corrected(entry.actor, payload.record))
            case entries.SubjectsMerged():
                self.placements.begin(Placed(payload.placement, payload.subject, payload.into))
                self._merge(payload)
            case entries.ClaimsPlaced():
                moved = (*payload.claims, *payload.fitments)
                self.placements.begin(Placed(payload.placement, payload.subject, payload.onto, moved))
            case entries.PlacementUndone():
                merged = self.placements.end(payload.undoes)
                if merged and payload.other in self.records:
                    self.records[payload.other] = self.records[payload.other].begun_again()
            case _:
                return
        self._settle()

    def _merge(self, merged: entries.SubjectsMerged) -> None:
        one, into = self.records.get(merged.subject), self.records.get(merged.into)
        if into is not None:
            begun_again = into.begun_again(*([one] if one is not None else []))
            stands = merged.confirmed_by and not into.before
            self.records[merged.into] = (into if stands else begun_again).stood_behind(merged.confirmed_by)

    def _settle(self) -> None:
        """Put every claim and fitment where it is now."""
        for id, claim in self.claims.items():
            home = self.placements.home(id, self._entered_on[id])
            if home != claim.subject:
                self.claims[id] = msgspec.structs.replace(claim, subject=home)
        for subject, entered in self._fitted.items():
            fitted = self.placements.fitted(subject.id, entered)
            self.records[subject] = msgspec.structs.replace(self.records[subject], payload=fitted)

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

    def in_force(self, subject: Subject) -> Subject:
        """The subject as which a subject is answered: itself, unless it was merged into another."""
        return self.placements.in_force(subject)

    def claims_on(self, subject: Subject) -> list[ClaimFacts]:
        """The claims on one subject, oldest first; on one that was merged, those on the one that it was merged into."""
        home = self.in_force(subject)
        return [claim for claim in self.claims.values() if claim.subject == home]

    def asked_about(self, subject: Subject) -> tuple[Asked, ...]:
        """The enquiries about one subject, oldest first, each with the name of whom it was put to: of a person, whose
        name is in no entry, the slug."""
        return tuple(
            Asked(enquiry, self.publishers.get(enquiry.asked, enquiry.asked))
            for enquiry in self.enquiries.values()
            if self.in_force(enquiry.subject) == subject
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
        for root, as_it_stands, id in self.rooted(claim, settled=settled):
            if as_it_stands not in without:
                found[root] = found.get(root, False) or self.documents[id].held
        return found

    def rooted(self, claim: ClaimFacts, *, settled: bool = False) -> list[tuple[str, str | None, str]]:
        """The root of each document that a claim rests on, that root as it stands today, and the document. `settled`: see
        `roots`."""
        return self.once(
            "settled" if settled else "rooted",
            claim,
            lambda: [
                (root, self.root_of(id), id)
                for id in self.documents_of(claim)
                if (root := self.root_of(id, settled=settled)) is not None
            ],
        )

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
        return self.counts_read(subject)[0]

    def counts_read(self, subject: Subject) -> tuple[Counts, ...]:
        """Every way of reading a subject's counts: as they stand, then as they stood where a correction waits. What
        would raise a figure has to hold by all of them, and what would lower one by any."""
        record = self.records.get(self.in_force(subject))
        if record is None:
            return (Counts(),)
        if not isinstance(record.payload, entries.FitmentAdded):
            return record.counts_read
        fixings = [None] if record.before else [record.payload.fixing]
        fixings += [each.payload.fixing for each in record.before if isinstance(each.payload, entries.FitmentAdded)]
        carried = self._of_part(SubjectKind.CARRIER, record.payload.carrier)
        held = [counts for fixing in fixings for counts in self._of_part(SubjectKind.FIXING, fixing)]
        return tuple(dict.fromkeys(Counts(bars=one.bars, feet=other.feet) for one in carried for other in held))

    def _of_part(self, kind: SubjectKind, id: str | None) -> tuple[Counts, ...]:
        return (Counts(),) if id is None else self.counts_read(Subject(kind, id))


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
        case entries.RecordCorrected(record=entries.FitmentSaid(fixing=str() as corrected_fixing)):
            return {f"{SubjectKind.FIXING}:{corrected_fixing}"}
        case entries.EnquiryOpened():
            return {f"publisher:{payload.asked}"}
        case _:
            return set()


def joined_by(history: Iterable[Entry]) -> set[str]:
    """The streams of the subjects that were ever merged, or split from one another, in these entries: whoever reads
    one reads the other."""
    found: set[str] = set()
    for entry in history:
        match entry.payload:
            case entries.SubjectsMerged(subject=one, into=other) | entries.ClaimsPlaced(subject=one, onto=other):
                found |= {one.stream, other.stream}
            case _:
                pass
    return found


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
