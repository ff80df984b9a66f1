"""Ledger entries on enquiries: put to a publisher, closed by somebody, or closed by time."""

from typing import ClassVar

from app.core.claim import Condition, Quantity, Subject
from app.core.payload import Payload


class EnquiryOpened(Payload, frozen=True):
    """A question was put to a publisher, on a day, to be answered by another; the questions are a text, by hash. A
    limit is asked about in one condition or several, any other quantity in none."""

    type: ClassVar[str] = "enquiry_opened"
    subject: Subject
    asked: str
    quantity: Quantity
    conditions: tuple[Condition, ...]
    channel: str
    questions_sha256: str
    asked_on: str
    answer_by: str
    language: str | None


class EnquiryClosed(Payload, frozen=True):
    """What became of an enquiry, as an outcome, with the answer as a document where there is one; `ask_again` is the
    day from which it is worth asking again. After no answer, a late one may follow."""

    type: ClassVar[str] = "enquiry_closed"
    enquiry: str
    outcome: str
    document: str | None
    note_sha256: str | None
    answered_on: str | None
    ask_again: str | None


class EnquiryLapsed(Payload, frozen=True):
    """The day by which an enquiry was to be answered has passed without an answer."""

    type: ClassVar[str] = "enquiry_lapsed"
    enquiry: str
