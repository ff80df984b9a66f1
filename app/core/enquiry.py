"""Enquiries: what somebody asked a maker, an importer, a dealer or a shop, and what became of it, folded from entries.

An enquiry that came to nothing says why there is no figure. It never makes, raises or lowers one.
"""

from collections.abc import Iterable
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

import msgspec

from app.core import entries
from app.core.claim import Condition, Quantity, Subject
from app.core.entries import Entry, Payload, named
from app.core.errors import CantrailError, Kind
from app.core.permissions import Role

DAYS_TO_ANSWER: Final = 28
"""How long an answer is waited for where whoever asks does not say."""


class Channel(StrEnum):
    """How an enquiry was put."""

    LETTER = "letter"
    EMAIL = "email"
    TELEPHONE = "telephone"
    FORM = "form"
    COUNTER = "counter"


class Outcome(StrEnum):
    """What became of an enquiry."""

    ANSWERED = "answered"
    QUOTED_CARRIER_RATING = "quoted_carrier_rating"
    DID_NOT_KNOW = "did_not_know"
    DECLINED = "declined"
    NOT_RATED = "not_rated"
    NO_ANSWER = "no_answer"


class EnquiryState(StrEnum):
    """Whether something has become of an enquiry."""

    OPEN = "open"
    CLOSED = "closed"


class Enquiry(msgspec.Struct, frozen=True):
    """A question put to a publisher and what became of it, up to some entry. `closed_on` is the day of the outcome: for
    an answer that never came, the last day on which it was waited for."""

    id: str
    seq: int
    subject: Subject
    asked: str
    quantity: Quantity
    conditions: tuple[Condition, ...]
    channel: Channel
    questions_sha256: str
    asked_on: str
    answer_by: str
    language: str | None
    by: str
    at: str
    outcome: Outcome | None = None
    closed_on: str | None = None
    closed_by: str | None = None
    document: str | None = None
    note_sha256: str | None = None
    ask_again: str | None = None

    @property
    def state(self) -> EnquiryState:
        """Open until something has become of it."""
        return EnquiryState.OPEN if self.outcome is None else EnquiryState.CLOSED


class Asked(msgspec.Struct, frozen=True):
    """An enquiry beside the name of whom it was put to."""

    enquiry: Enquiry
    name: str


def begun(entry: Entry) -> Enquiry | None:
    """The enquiry that an entry opens, if it opens one."""
    payload = entry.payload
    if not isinstance(payload, entries.EnquiryOpened):
        return None
    return Enquiry(
        id=named(entries.ENQUIRY, entry.seq),
        seq=entry.seq,
        subject=payload.subject,
        asked=payload.asked,
        quantity=payload.quantity,
        conditions=payload.conditions,
        channel=Channel(payload.channel),
        questions_sha256=payload.questions_sha256,
        asked_on=payload.asked_on,
        answer_by=payload.answer_by,
        language=payload.language,
        by=entry.actor,
        at=entry.at,
    )


def enquiry_named_by(payload: Payload) -> str | None:
    """The id of the enquiry to which an entry happens, if it happens to one."""
    match payload:
        case entries.EnquiryClosed() | entries.EnquiryLapsed():
            return payload.enquiry
        case _:
            return None


def advanced(enquiry: Enquiry, entry: Entry) -> Enquiry:
    """The enquiry after one more of its entries."""
    match entry.payload:
        case entries.EnquiryClosed() as closed:
            return msgspec.structs.replace(
                enquiry,
                outcome=Outcome(closed.outcome),
                closed_on=closed.answered_on or entry.at[:10],
                closed_by=entry.actor,
                document=closed.document,
                note_sha256=closed.note_sha256,
                ask_again=closed.ask_again,
            )
        case entries.EnquiryLapsed():
            return msgspec.structs.replace(
                enquiry, outcome=Outcome.NO_ANSWER, closed_on=enquiry.answer_by, closed_by=entry.actor
            )
        case _:
            return enquiry


def enquiry_facts(history: Iterable[Entry]) -> Enquiry:
    """Fold the entries of one enquiry's stream, oldest first. Raises ValueError where the first is not the enquiry."""
    enquiry: Enquiry | None = None
    for entry in history:
        if enquiry is None:
            enquiry = begun(entry)
            if enquiry is None:
                raise ValueError(f"entry {entry.seq} does not open an enquiry")
        elif enquiry_named_by(entry.payload) == enquiry.id:
            enquiry = advanced(enquiry, entry)
    if enquiry is None:
        raise ValueError("an enquiry's history begins with the enquiry")
    return enquiry


def answer_due(asked_on: str) -> str:
    """The day by which an answer is waited for, where whoever asks does not say."""
    return (date.fromisoformat(asked_on) + timedelta(days=DAYS_TO_ANSWER)).isoformat()


def check_close(account: str, role: Role, enquiry: Enquiry, outcome: Outcome) -> None:
    """Raises where somebody may not say what became of an enquiry, or where that is said already: who asked says it, or
    a steward, and only once; after no answer, one that came late may still be entered."""
    if account != enquiry.by and role is not Role.STEWARD:
        raise CantrailError(
            Kind.FORBIDDEN,
            "not_the_asker",
            f"Only who entered {enquiry.id}, or a steward, says what became of it. You may put an enquiry of your own.",
        )
    late = enquiry.outcome is Outcome.NO_ANSWER and outcome is not Outcome.NO_ANSWER
    if enquiry.outcome is not None and not late:
        raise CantrailError(
            Kind.CONFLICT,
            "already_closed",
            f"{enquiry.id} is closed: {enquiry.outcome}. Only no_answer gives way, to an answer that came late.",
            details={"outcome": enquiry.outcome},
        )


def came_to_nothing(
    asked: Iterable[Asked], quantity: Quantity, condition: Condition | None = None
) -> tuple[Asked, ...]:
    """The enquiries about a figure, or about one that could stand in for it, that ended in anything but an answer; the
    newest first."""
    found = [each for each in asked if _concerns(each.enquiry, quantity, condition)]
    return tuple(sorted(found, key=lambda each: -each.enquiry.seq))


def _concerns(enquiry: Enquiry, quantity: Quantity, condition: Condition | None) -> bool:
    if enquiry.quantity is not quantity or enquiry.outcome in {None, Outcome.ANSWERED}:
        return False
    return condition is None or any(each in _CONCERNED[condition] for each in enquiry.conditions)


_DRIVING: Final = frozenset({Condition.ON_ROAD, Condition.OFF_ROAD})

# Section 2.3: driving figures stand in for each other and for the parked one, which stands in for none.
_CONCERNED: Final = {
    Condition.ON_ROAD: _DRIVING,
    Condition.OFF_ROAD: _DRIVING,
    Condition.PARKED: frozenset(Condition),
}
