"""What a figure is worked back from: the method, its rows and the claims that it takes in. How it is worked back
stands in `derivation`."""

from enum import StrEnum
from typing import Final

import msgspec

from app.core.claim import Subject
from app.core.mass import Stated


class Method(StrEnum):
    """How a figure is worked back from others."""

    ACCESSORY_PAGES = "accessory_pages"
    NET_TO_GROSS = "net_to_gross"
    FACTOR = "factor"
    SISTER_VEHICLE = "sister_vehicle"
    PARKED_MULTIPLE = "parked_multiple"


VERSION: Final = "d1"
"""The version of the methods, which every derivation keeps."""


class Place(msgspec.Struct, frozen=True):
    """The place on which a row rests."""

    document: str
    page: str | None = None
    locator: str | None = None


class Accessory(msgspec.Struct, frozen=True):
    """What one page says of one accessory on this vehicle: its own mass, the load that it may take there, whether the
    page says that this load leaves the accessory out, and its general rating. `subject` is the accessory where the
    registry knows it."""

    accessory: str
    mass: Stated
    load: Stated
    leaves_out: bool
    rating: Stated | None = None
    subject: Subject | None = None
    cites: Place | None = None


class Taken(msgspec.Struct, frozen=True):
    """A claim that a derivation takes in, and its subject."""

    claim: str
    subject: Subject


class Derivation(msgspec.Struct, frozen=True):
    """From what a claim's figure is worked back. Accessory pages have rows; the other methods take in claims, in the
    order in which their method names them; `multiple` is that of a parked limit."""

    method: Method
    version: str = VERSION
    rows: tuple[Accessory, ...] = ()
    takes: tuple[Taken, ...] = ()
    multiple: int | None = None

    @property
    def subjects(self) -> frozenset[Subject]:
        """The subjects whose claims it depends on."""
        accessories = {row.subject for row in self.rows if row.subject is not None}
        return frozenset({each.subject for each in self.takes} | accessories)
