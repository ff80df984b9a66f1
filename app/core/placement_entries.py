"""Ledger entries that correct a record, make two subjects one, or place claims of one on another."""

from typing import ClassVar

import msgspec

from app.core.claim import Subject
from app.core.payload import Payload
from app.core.scope import Years


class VehicleSaid(msgspec.Struct, frozen=True, forbid_unknown_fields=True, tag_field="of", tag="vehicle"):
    """All that a vehicle's record says, but for its maker and its slug."""

    model: str
    series: str | None
    years: Years
    bodies: tuple[str, ...] | None
    roofs: tuple[str, ...] | None
    markets: tuple[str, ...] | None


class CarrierSaid(msgspec.Struct, frozen=True, forbid_unknown_fields=True, tag_field="of", tag="carrier"):
    """All that a carrier's record says, but for its maker and its slug."""

    model: str
    series: str | None
    kind: str
    first_year: int | None
    bars: int | None
    fixing: str | None


class FixingSaid(msgspec.Struct, frozen=True, forbid_unknown_fields=True, tag_field="of", tag="fixing"):
    """All that a fixing's record says, but for its maker and its slug."""

    model: str
    series: str | None
    first_year: int | None
    feet: int | None
    holds: tuple[str, ...]


class GearSaid(msgspec.Struct, frozen=True, forbid_unknown_fields=True, tag_field="of", tag="gear"):
    """All that a gear item's record says, but for its maker and its slug."""

    model: str
    series: str | None
    first_year: int | None
    category: str


class FitmentSaid(msgspec.Struct, frozen=True, forbid_unknown_fields=True, tag_field="of", tag="fitment"):
    """All that a fitment's record says, but for what it joins."""

    fixing: str | None
    roofs: tuple[str, ...] | None


RecordSaid = VehicleSaid | CarrierSaid | FixingSaid | GearSaid | FitmentSaid


class RecordCorrected(Payload, frozen=True):
    """A steward replaces what a record says. Its confirmation starts again."""

    type: ClassVar[str] = "record_corrected"
    subject: Subject
    record: RecordSaid
    distinct_from: tuple[str, ...]
    reason_sha256: str


class MergerProposed(Payload, frozen=True):
    """A steward says that two subjects are one, to be known as `into`. Nothing happens yet."""

    type: ClassVar[str] = "merger_proposed"
    subject: Subject
    into: Subject
    reason_sha256: str


class SplitProposed(Payload, frozen=True):
    """A steward says that some claims and fitments of a subject belong to another one. Nothing happens yet."""

    type: ClassVar[str] = "split_proposed"
    subject: Subject
    onto: Subject
    claims: tuple[str, ...]
    fitments: tuple[str, ...]
    reason_sha256: str


class UndoingProposed(Payload, frozen=True):
    """A steward says that a placement in force was wrong. Nothing happens yet."""

    type: ClassVar[str] = "undoing_proposed"
    undoes: str
    reason_sha256: str


class PlacementDropped(Payload, frozen=True):
    """A proposal is taken back by whoever made it, or refused by somebody else."""

    type: ClassVar[str] = "placement_dropped"
    placement: str
    refused: bool
    reason_sha256: str | None


class SubjectsMerged(Payload, frozen=True):
    """Somebody else confirms a merger: from here on a subject is answered as another one, whose record these reviewers
    stand behind."""

    type: ClassVar[str] = "subjects_merged"
    placement: str
    subject: Subject
    into: Subject
    confirmed_by: tuple[str, ...]


class ClaimsPlaced(Payload, frozen=True):
    """Somebody else confirms a split: from here on these claims and fitments of one subject are another one's."""

    type: ClassVar[str] = "claims_placed"
    placement: str
    subject: Subject
    onto: Subject
    claims: tuple[str, ...]
    fitments: tuple[str, ...]


class PlacementUndone(Payload, frozen=True):
    """Somebody else confirms that a merger or split between two subjects was wrong: from here on it is not in force."""

    type: ClassVar[str] = "placement_undone"
    placement: str
    undoes: str
    subject: Subject
    other: Subject
