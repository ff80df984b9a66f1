"""The ledger's entry types: what can be entered or decided, each with its version.

An entry is stored as canonical JSON (RFC 8785) of exactly these members: seq, at, actor, streams, type, version and
payload. An entry names every stream that it touches. No personal name, no file and no free text is ever in one: names
live in the account table, files and texts are stored by SHA-256 and the entry carries the hash.
"""

from typing import Any, ClassVar, Final

import msgspec

from app.core.claim import Interest, SourceType, Statement, Subject
from app.core.scope import Years

SYSTEM: Final = "system"
"""The actor of what time has done, and of the method's adoption."""

METHOD_STREAM: Final = "method"


class Payload(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What one type of entry says. `type` and `version` are those of the class."""

    type: ClassVar[str]
    version: ClassVar[int] = 1


class Entry(msgspec.Struct, frozen=True):
    """One line of the ledger. `at` is RFC 3339 in UTC, never earlier than that of the entry before."""

    seq: int
    at: str
    actor: str
    streams: tuple[str, ...]
    payload: Payload


# The method, publishers and subjects


class MethodAdopted(Payload, frozen=True):
    """From here on, confidence is computed by this version of the method."""

    type: ClassVar[str] = "method_adopted"
    method: str


class PublisherAdded(Payload, frozen=True):
    """A publisher; a person's name is a text, by hash."""

    type: ClassVar[str] = "publisher_added"
    slug: str
    kind: str
    name: str | None
    name_sha256: str | None
    importer_of: tuple[str, ...]
    distinct_from: tuple[str, ...]


class VehicleAdded(Payload, frozen=True):
    """A vehicle: one maker's model in one generation."""

    type: ClassVar[str] = "vehicle_added"
    slug: str
    maker: str
    model: str
    series: str | None
    years: Years
    bodies: tuple[str, ...] | None
    roofs: tuple[str, ...] | None
    markets: tuple[str, ...] | None
    distinct_from: tuple[str, ...]


class CarrierAdded(Payload, frozen=True):
    """A carrier; `bars` is how many bars it stands on or is, `fixing` is built_in, separate or not said."""

    type: ClassVar[str] = "carrier_added"
    slug: str
    maker: str
    model: str
    series: str | None
    kind: str
    first_year: int | None
    bars: int | None
    fixing: str | None
    distinct_from: tuple[str, ...]


class FixingAdded(Payload, frozen=True):
    """A fixing; `holds` is where on a roof it takes hold."""

    type: ClassVar[str] = "fixing_added"
    slug: str
    maker: str
    model: str
    series: str | None
    first_year: int | None
    feet: int | None
    holds: tuple[str, ...]
    distinct_from: tuple[str, ...]


class GearAdded(Payload, frozen=True):
    """A gear item, in a category with a usual range of masses."""

    type: ClassVar[str] = "gear_added"
    slug: str
    maker: str
    model: str
    series: str | None
    first_year: int | None
    category: str
    distinct_from: tuple[str, ...]


class FitmentAdded(Payload, frozen=True):
    """This carrier goes on this vehicle, with this fixing if one is named, on these roofs (None: not said)."""

    type: ClassVar[str] = "fitment_added"
    vehicle: str
    carrier: str
    fixing: str | None
    roofs: tuple[str, ...] | None
    distinct_from: tuple[str, ...]


class RecordConfirmed(Payload, frozen=True):
    """One reviewer has checked a subject's record, against a document if one is named."""

    type: ClassVar[str] = "record_confirmed"
    subject: Subject
    document: str | None


# Documents and claims


class DocumentAdded(Payload, frozen=True):
    """A document and where its file is held: the SHA-256 of its bytes, and of the title's text."""

    type: ClassVar[str] = "document_added"
    publisher: str
    kind: str
    title_sha256: str | None
    edition: str | None
    published: str | None
    obtained: str | None
    language: str | None
    market: str | None
    sha256: str
    size: int
    media_type: str


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


class ClaimWithdrawn(Payload, frozen=True):
    """Its author takes a claim back, before any approval."""

    type: ClassVar[str] = "claim_withdrawn"
    claim: str


# Reviews


class ReadingKeyed(Payload, frozen=True):
    """What a reviewer read from the evidence before seeing the claim, and in what the two differ."""

    type: ClassVar[str] = "reading_keyed"
    claim: str
    statement: Statement
    differences: tuple[str, ...]


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
        DocumentAdded,
        ClaimSubmitted,
        CitationAdded,
        ClaimWithdrawn,
        ReadingKeyed,
        ClaimDecided,
        ClaimDisputed,
        DisputeSettled,
        ClaimSuperseded,
        ClaimRevived,
        ClaimAged,
        DisputeLapsed,
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


CLAIM, CITATION, DOCUMENT, REVIEW, DISPUTE, FITMENT = "C", "T", "D", "R", "P", "F"
