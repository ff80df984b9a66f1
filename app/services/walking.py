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
        place = bisect_right(self._entries, seq, key=_number)
        if place > self._done:
            for entry in self._entries[self._done : place]:
                self._facts.apply(entry)
            self._done = place
            self._dossier = dossier_of(self._facts, self._subject)
            self.spent += _EACH + len(self._facts.claims)
        return self._dossier


def _number(entry: Entry) -> int:
    return entry.seq
