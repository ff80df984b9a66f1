"""A subject's dossier brought forward entry by entry, from one reading of all that it depends on.

What a subject came to depend on later is read from the beginning, and changes nothing before then: no rule looks at a
document before it is cited, or at a carrier before it fits. Only the number of the last entry differs, so that receipts
are made from what was read up to an entry and no further (`facts.load`).
"""

from bisect import bisect_right
from collections.abc import Sequence
from typing import Final

from app.core.claim import Subject
from app.core.dossier import Facts
from app.core.entries import Entry
from app.core.plate import Changed, changes, may_move
from app.core.scoring import Dossier, dossier_of
from app.persistence.session import AnySession
from app.services.facts import entries_about

_EACH: Final = 5
_ENTRIES_A_CLAIM: Final = 10
"""What reading and scoring take beside the claims to be scored, in as many of these: measured, roughly."""


class Walk:
    """One subject's dossier, as of later and later entries. `spent` is the work that it was so far, in claims scored."""

    def __init__(self, session: AnySession, subject: Subject, *, up_to: int) -> None:
        self._subject = subject
        self._entries, self.streams = entries_about(session, subject, up_to)
        self._facts = Facts()
        self._done = 0
        self._scored = 0
        self._dossier: Dossier | None = None
        self.spent = _EACH + len(self._entries) // _ENTRIES_A_CLAIM

    @property
    def entries(self) -> Sequence[Entry]:
        """All that the dossier depends on, oldest first."""
        return self._entries

    def following(self, seq: int) -> Entry | None:
        """The next entry that the dossier depends on, after one."""
        place = bisect_right(self._entries, seq, key=_number)
        return self._entries[place] if place < len(self._entries) else None

    def to(self, seq: int) -> Dossier | None:
        """The dossier as of an entry that is no earlier than any asked for before; None where there was no such subject
        then."""
        self._go_on(seq)
        if self._scored != self._done:
            self._dossier = dossier_of(self._facts, self._subject)
            self._scored = self._done
            self.spent += _EACH + len(self._facts.claims)
        return self._dossier

    def changes(self, entry: Entry) -> tuple[Changed, ...]:
        """What an entry did to the plate of a vehicle, whose dossier this is."""
        self._go_on(entry.seq - 1)
        if not may_move(entry, self._facts):
            return ()
        before, after = self.to(entry.seq - 1), self.to(entry.seq)
        return () if after is None or after is before else changes(before, after)

    def _go_on(self, seq: int) -> None:
        place = bisect_right(self._entries, seq, key=_number)
        for entry in self._entries[self._done : place]:
            self._facts.apply(entry)
        self._done = max(self._done, place)


def _number(entry: Entry) -> int:
    return entry.seq
