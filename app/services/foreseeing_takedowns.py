"""What taking a document down would change if it were done now: nothing is entered."""

from datetime import datetime
from typing import Final

import msgspec

from app.core.claim import SubjectKind
from app.core.entries import Entry
from app.core.mass import Unit
from app.persistence import ledger
from app.persistence.base import utc_text
from app.persistence.queries import reach
from app.persistence.session import AnySession
from app.services.foreseeing_figures import MOST_REACHED, Foresight, WouldChange
from app.services.taking_down import holding, taken_down

_FOR: Final = "rights"
"""Why it is done changes no figure."""


class TakedownForeseen(msgspec.Struct, frozen=True):
    """The documents that would be held no more, and the figures that would change by it."""

    documents: list[str]
    changed: WouldChange


def foresee(session: AnySession, id: str, account: str, now: datetime, unit: Unit) -> TakedownForeseen:
    """Work out what would change. Raises not_found."""
    documents = holding(session, id)
    seq, at = ledger.head(session) + 1, utc_text(now)
    made = [
        Entry(seq + place, at, account, (f"document:{each}",), taken_down(session, each, _FOR, ""))
        for place, each in enumerate(documents)
    ]
    citing = reach.citing(session, documents=documents, before=seq)
    # Vehicles are reached by the entries themselves.
    things = sorted(
        (each for each in citing if each.kind is not SubjectKind.VEHICLE), key=lambda subject: subject.stream
    )
    foresight = Foresight(session, things[:MOST_REACHED], made, unit, beyond=len(things[MOST_REACHED:]))
    for entry in made:
        foresight.facts.apply(entry)
    return TakedownForeseen(documents, foresight.would_change())
