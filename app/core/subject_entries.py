"""Ledger entries on the method in force, on publishers and on the records of subjects."""

from typing import ClassVar

from app.core.claim import Subject
from app.core.payload import Payload
from app.core.scope import Years


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
