"""The ledger's entry types: what can be entered or decided, each with its version.

An entry is stored as canonical JSON (RFC 8785) of exactly these members: seq, at, actor, streams, type, version and
payload. An entry names every stream that it touches. No personal name, no file and no free text is ever in one: names
live in the account table, files and texts are stored by SHA-256 and the entry carries the hash.
"""

from typing import Any, ClassVar, Final

import msgspec

from app.core.account_entries import AccountDisabled, AccountEnabled, AccountReset, RoleGiven
from app.core.claim import Interest, SourceType, Statement, Subject
from app.core.derived import Derivation
from app.core.desk_entries import ClaimRenewed, MismatchJudged
from app.core.document_entries import (
    AddressChecked,
    CopyJudged,
    DocumentAdded,
    DocumentAddressed,
    DocumentTakenDown,
    PagesRead,
    SnapshotKept,
)
from app.core.enquiry_entries import EnquiryClosed, EnquiryLapsed, EnquiryOpened
from app.core.pages import Box
from app.core.payload import Payload
from app.core.placement_entries import (
    ClaimsPlaced,
    FitmentSaid,
    MergerProposed,
    PlacementDropped,
    PlacementUndone,
    RecordCorrected,
    SplitProposed,
    SubjectsMerged,
    UndoingProposed,
    VehicleSaid,
)
from app.core.subject_entries import (
    CarrierAdded,
    FitmentAdded,
    FixingAdded,
    GearAdded,
    MethodAdopted,
    PublisherAdded,
    RecordConfirmed,
    VehicleAdded,
)

__all__ = [
    "CITATION",
    "CLAIM",
    "DISPUTE",
    "DOCUMENT",
    "ENQUIRY",
    "FITMENT",
    "METHOD_STREAM",
    "PAYLOADS",
    "PLACEMENT",
    "REVIEW",
    "SYSTEM",
    "AccountDisabled",
    "AccountEnabled",
    "AccountReset",
    "AddressChecked",
    "CarrierAdded",
    "CitationAdded",
    "CitationRead",
    "ClaimAged",
    "ClaimDecided",
    "ClaimDerived",
    "ClaimDisputed",
    "ClaimRenewed",
    "ClaimRevived",
    "ClaimSubmitted",
    "ClaimSuperseded",
    "ClaimWithdrawn",
    "ClaimsPlaced",
    "CopyJudged",
    "DisputeLapsed",
    "DisputeSettled",
    "DocumentAdded",
    "DocumentAddressed",
    "DocumentTakenDown",
    "EnquiryClosed",
    "EnquiryLapsed",
    "EnquiryOpened",
    "Entry",
    "EvidenceChanged",
    "FitmentAdded",
    "FitmentSaid",
    "FixingAdded",
    "GearAdded",
    "MergerProposed",
    "MethodAdopted",
    "MismatchJudged",
    "PagesRead",
    "Payload",
    "PlacementDropped",
    "PlacementUndone",
    "PublisherAdded",
    "ReadingKeyed",
    "RecordConfirmed",
    "RecordCorrected",
    "RoleGiven",
    "SnapshotKept",
    "SplitProposed",
    "SubjectsMerged",
    "UndoingProposed",
    "VehicleAdded",
    "VehicleSaid",
    "members",
    "named",
    "read",
]

SYSTEM: Final = "system"
"""The actor of what time has done, and of the method's adoption."""

METHOD_STREAM: Final = "method"


class Entry(msgspec.Struct, frozen=True):
    """One line of the ledger. `at` is RFC 3339 in UTC, never earlier than that of the entry before."""

    seq: int
    at: str
    actor: str
    streams: tuple[str, ...]
    payload: Payload


# Claims


class ClaimSubmitted(Payload, frozen=True):
    """A claim. Its citations follow as entries of their own in the same transaction."""

    type: ClassVar[str] = "claim_submitted"
    subject: Subject
    statement: Statement
    source_type: SourceType
    publisher: str | None
    interest: Interest
    supersedes: str | None
    answers_rejection: str | None
    answer_sha256: str | None


class CitationAdded(Payload, frozen=True):
    """A place in a document on which a claim rests; `more` is whether it came after the claim."""

    type: ClassVar[str] = "citation_added"
    claim: str
    document: str
    page: str | None
    locator: str | None
    quote_sha256: str | None
    later: bool


class ClaimDerived(Payload, frozen=True):
    """From what a claim's figure is worked back; entered with the claim."""

    type: ClassVar[str] = "claim_derived"
    claim: str
    derivation: Derivation


class CitationRead(Payload, frozen=True):
    """Whether a claim's figure was found on a page that it cites, in the file with this hash, and where: `page` counts
    from 1. A box is left, top, right and bottom in ten-thousandths of the page."""

    type: ClassVar[str] = "citation_read"
    claim: str
    citation: str
    sha256: str
    outcome: str
    page: int | None
    box: Box | None


class EvidenceChanged(Payload, frozen=True):
    """A page on which a claim rests says something else today; `outcome` is whether the figure is still on it."""

    type: ClassVar[str] = "evidence_changed"
    claim: str
    document: str
    sha256: str
    outcome: str


class ClaimWithdrawn(Payload, frozen=True):
    """Its author takes a claim back, before any approval."""

    type: ClassVar[str] = "claim_withdrawn"
    claim: str


# Reviews


class ReadingKeyed(Payload, frozen=True, omit_defaults=True):
    """What a reviewer read from the evidence before seeing the claim, and in what the two differ; for what is worked
    back, the rows that were read too."""

    type: ClassVar[str] = "reading_keyed"
    claim: str
    statement: Statement
    differences: tuple[str, ...]
    derivation: Derivation | None = None


class ClaimDecided(Payload, frozen=True):
    """A reviewer's decision on a claim: approve, reject (with a code) or ask_evidence, with a reason."""

    type: ClassVar[str] = "claim_decided"
    claim: str
    reading: str | None
    decision: str
    code: str | None
    reason_sha256: str
    interest: Interest


class ClaimDisputed(Payload, frozen=True):
    """Somebody challenges a claim; `document` is the evidence held against it, if there is any."""

    type: ClassVar[str] = "claim_disputed"
    claim: str
    document: str | None
    page: str | None
    reason_sha256: str
    interest: Interest


class DisputeSettled(Payload, frozen=True):
    """A reviewer's vote on a dispute: one upholds the claim, two refute it."""

    type: ClassVar[str] = "dispute_settled"
    dispute: str
    claim: str
    settlement: str
    code: str | None
    reason_sha256: str


class ClaimSuperseded(Payload, frozen=True):
    """A newer claim, which now sets, takes a claim's place."""

    type: ClassVar[str] = "claim_superseded"
    claim: str
    by: str


class ClaimRevived(Payload, frozen=True):
    """The claim that took its place was refuted, so a claim stands again."""

    type: ClassVar[str] = "claim_revived"
    claim: str
    instead_of: str


# What time has done


class ClaimAged(Payload, frozen=True):
    """A claim is past its review-by date, by this many whole years."""

    type: ClassVar[str] = "claim_aged"
    claim: str
    years: int


class DisputeLapsed(Payload, frozen=True):
    """A dispute without held evidence has stood for its days and is over."""

    type: ClassVar[str] = "dispute_lapsed"
    dispute: str
    claim: str


PAYLOADS: Final[dict[tuple[str, int], type[Payload]]] = {
    (payload.type, payload.version): payload
    for payload in (
        MethodAdopted,
        PublisherAdded,
        VehicleAdded,
        CarrierAdded,
        FixingAdded,
        GearAdded,
        FitmentAdded,
        RecordConfirmed,
        RecordCorrected,
        MergerProposed,
        SplitProposed,
        UndoingProposed,
        PlacementDropped,
        SubjectsMerged,
        ClaimsPlaced,
        PlacementUndone,
        DocumentAdded,
        DocumentAddressed,
        SnapshotKept,
        AddressChecked,
        PagesRead,
        CopyJudged,
        DocumentTakenDown,
        ClaimSubmitted,
        CitationAdded,
        ClaimDerived,
        CitationRead,
        EvidenceChanged,
        ClaimWithdrawn,
        ReadingKeyed,
        ClaimDecided,
        ClaimDisputed,
        DisputeSettled,
        ClaimSuperseded,
        ClaimRevived,
        ClaimAged,
        ClaimRenewed,
        MismatchJudged,
        DisputeLapsed,
        EnquiryOpened,
        EnquiryClosed,
        EnquiryLapsed,
        RoleGiven,
        AccountDisabled,
        AccountEnabled,
        AccountReset,
    )
}


class _Line(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    seq: int
    at: str
    actor: str
    streams: tuple[str, ...]
    type: str
    version: int
    payload: msgspec.Raw


_DECODER = msgspec.json.Decoder(_Line)
_PAYLOAD_DECODERS = {key: msgspec.json.Decoder(payload) for key, payload in PAYLOADS.items()}


def members(entry: Entry) -> dict[str, Any]:
    """An entry as the plain JSON members that are stored, for canonical encoding."""
    return {
        "seq": entry.seq,
        "at": entry.at,
        "actor": entry.actor,
        "streams": list(entry.streams),
        "type": entry.payload.type,
        "version": entry.payload.version,
        "payload": msgspec.to_builtins(entry.payload),
    }


def read(body: bytes) -> Entry:
    """An entry from its stored JSON. Raises msgspec.ValidationError where it is not one of the types above."""
    line = _DECODER.decode(body)
    decoder = _PAYLOAD_DECODERS.get((line.type, line.version))
    if decoder is None:
        raise msgspec.ValidationError(f"entry {line.seq}: no type {line.type} of version {line.version}")
    return Entry(line.seq, line.at, line.actor, line.streams, decoder.decode(line.payload))


def named(letter: str, seq: int) -> str:
    """The id of what an entry created: a letter and the entry's number, so that a person can say it aloud."""
    return f"{letter}{seq}"


CLAIM, CITATION, DOCUMENT, REVIEW, DISPUTE, FITMENT, ENQUIRY, PLACEMENT = "C", "T", "D", "R", "P", "F", "E", "M"
