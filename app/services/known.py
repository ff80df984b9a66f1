"""What is known of a subject already, for somebody who is about to enter a claim on it."""

import msgspec

from app.core.claim import Quantity, Subject, SubjectKind
from app.core.mass import Unit
from app.core.plate import plate
from app.persistence.session import AnySession
from app.services.facts import Around
from app.services.views.claims import ClaimView, shown_claims
from app.services.views.plates import PlateFieldView, plate_field_view


class Known(msgspec.Struct, frozen=True):
    """A vehicle's plate, which others have none of, and the newest claims of one quantity, whatever their state;
    `further` is how many more there are."""

    plate: list[PlateFieldView]
    claims: list[ClaimView]
    further: int


def known(session: AnySession, around: Around, subject: Subject, quantity: Quantity, unit: Unit, *, most: int) -> Known:
    """What the registry says of a subject. Raises not_found."""
    dossier, facts = around(subject)
    found = [
        each
        for each in dossier.scored.values()
        if each.claim.subject == dossier.subject and each.claim.statement.quantity is quantity
    ]
    found.sort(key=lambda each: -each.claim.seq)
    fields = plate(dossier) if subject.kind is SubjectKind.VEHICLE else ()
    return Known(
        [plate_field_view(each, unit) for each in fields],
        shown_claims(session, found[:most], facts),
        max(0, len(found) - most),
    )
