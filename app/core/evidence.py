"""Which documents a source type may rest on: whose they are, and of what kind."""

from collections.abc import Sequence
from enum import StrEnum

import msgspec

from app.core.claim import SourceType


class PublisherKind(StrEnum):
    """Who publishes documents."""

    VEHICLE_MAKER = "vehicle_maker"
    CARRIER_MAKER = "carrier_maker"
    GEAR_MAKER = "gear_maker"
    IMPORTER = "importer"
    DEALER = "dealer"
    SHOP = "shop"
    PUBLIC_BODY = "public_body"
    PERSON = "person"
    FORUM = "forum"


MAKERS = frozenset({PublisherKind.VEHICLE_MAKER, PublisherKind.CARRIER_MAKER, PublisherKind.GEAR_MAKER})


class DocumentKind(StrEnum):
    """What a document is."""

    HANDBOOK = "handbook"
    MAKER_PAGE = "maker_page"
    LETTER = "letter"
    CATALOGUE = "catalogue"
    ACCESSORY_PAGE = "accessory_page"
    PLATE_PHOTO = "plate_photo"
    INSTRUCTION_SHEET = "instruction_sheet"
    OTHER = "other"


MANUALS = frozenset({DocumentKind.HANDBOOK, DocumentKind.PLATE_PHOTO, DocumentKind.INSTRUCTION_SHEET})
STATEMENTS = frozenset({DocumentKind.MAKER_PAGE, DocumentKind.LETTER, DocumentKind.CATALOGUE})


class Cited(msgspec.Struct, frozen=True):
    """A document that a claim cites: its kind, its publisher, and of which makers that one is the importer."""

    kind: DocumentKind
    publisher: str
    importer_of: tuple[str, ...] = ()


def misfit(source_type: SourceType, maker: str, cited: Sequence[Cited], *, derived: bool = False) -> str | None:
    """Why a source type does not fit what is cited first, as a sentence; None where it fits. What is worked back is
    accessory_derived, and nothing else is."""
    if derived and source_type is not SourceType.ACCESSORY_DERIVED:
        return "A claim with a derivation is accessory_derived: its figure is worked back, and no page states it."
    first = cited[0] if cited else None
    match source_type:
        case SourceType.UNVERIFIED:
            return None
        case SourceType.MANUAL_PAGE:
            if first is not None and first.kind in MANUALS and first.publisher == maker:
                return None
            return (
                f"A manual_page claim cites first a handbook, plate_photo or instruction_sheet published by {maker}, "
                "the subject's own maker. Cite one, or choose another source type."
            )
        case SourceType.MAKER_STATEMENT:
            if first is not None and first.kind in STATEMENTS and maker in {first.publisher, *first.importer_of}:
                return None
            return (
                f"A maker_statement claim cites first a maker_page, letter or catalogue published by {maker} or its "
                "importer. A dealer's word, or a rack maker's list, is unverified."
            )
        case SourceType.ACCESSORY_DERIVED:
            if derived:
                return None
            return (
                "An accessory_derived claim carries a derivation: the rows of accessory pages, or the claims, from "
                "which its figure is worked back. Work it out with POST /derivations, and send its `claim`."
            )
