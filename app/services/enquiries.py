"""Enter what was asked of whom, and what became of it; and let time close what nobody answered."""

from datetime import UTC, date, timedelta

from app.core import entries
from app.core.allowance import Submitted
from app.core.claim import LIMITS, QUANTITIES, Quantity, Subject
from app.core.enquiry import Enquiry, Outcome, answer_due, check_close, enquiry_facts
from app.core.entries import named
from app.core.errors import CantrailError, Kind, invalid
from app.core.permissions import Scope
from app.persistence import ledger
from app.persistence.queries import documents, subjects
from app.persistence.queries import enquiries as queries
from app.persistence.session import AnySession
from app.services.facts import not_found, refuse_merged
from app.services.inputs import EnquiryOutcomeIn, NewEnquiry
from app.services.work import Work


def put(work: Work, new: NewEnquiry) -> str:
    """Enter a question that was put to a publisher. Gives its id."""
    work.require(Scope.SUBMIT)
    work.spend(Submitted.ENQUIRIES)
    subject = Subject(new.subject.kind, new.subject.id)
    if not subjects.exists(work.session, subject=subject):
        raise invalid("/subject/id", f"no_such_{subject.kind}", str(not_found(subject)))
    refuse_merged(work.session, subject)
    if subjects.publisher(work.session, slug=new.asked) is None:
        raise invalid("/asked", "no_such_publisher", f"There is no publisher {new.asked!r}. Add it first.")
    _check_quantity(subject, new)
    _past(work, new.asked_on, "/asked_on")
    answer_by = new.answer_by or answer_due(new.asked_on)
    _no_earlier(answer_by, new.asked_on, "/answer_by", "asked_on")
    id = named(entries.ENQUIRY, ledger.next_seq(work.session))
    work.enter(
        entries.EnquiryOpened(
            subject=subject,
            asked=new.asked,
            quantity=new.quantity,
            conditions=tuple(sorted(set(new.conditions))),
            channel=new.channel,
            questions_sha256=work.text(new.questions) or "",
            asked_on=new.asked_on,
            answer_by=answer_by,
            language=new.language,
        ),
        _streams(work, id, subject, new.asked),
    )
    return id


def close(work: Work, id: str, new: EnquiryOutcomeIn) -> str:
    """Enter what became of an enquiry: who asked does, or a steward; and once, but for an answer that came after all.
    Gives its id."""
    work.require(Scope.SUBMIT)
    enquiry = found(work.session, id)
    check_close(work.account, work.caller.role, enquiry, new.outcome)
    if new.outcome is Outcome.ANSWERED and new.document is None:
        raise invalid("/document", "answer_not_filed", "File what was answered as a document, and name it here.")
    if new.document is not None and documents.document(work.session, id=new.document) is None:
        raise invalid("/document", "no_such_document", f"There is no document {new.document}. File the answer first.")
    if new.answered_on is not None:
        _past(work, new.answered_on, "/answered_on")
        _no_earlier(new.answered_on, enquiry.asked_on, "/answered_on", "asked_on")
    if new.ask_again is not None:
        _no_earlier(new.ask_again, new.answered_on or enquiry.asked_on, "/ask_again", "the answer or asked_on")
    cited = [] if new.document is None else [f"document:{new.document}/cited"]
    work.enter(
        entries.EnquiryClosed(
            enquiry=enquiry.id,
            outcome=new.outcome,
            document=new.document,
            note_sha256=work.text(new.note),
            answered_on=new.answered_on,
            ask_again=new.ask_again,
        ),
        [*_streams(work, enquiry.id, enquiry.subject, enquiry.asked), *cited],
    )
    return enquiry.id


def due(work: Work) -> list[str]:
    """The open enquiries whose day to be answered by has passed, oldest first."""
    today = work.now.astimezone(UTC).date().isoformat()
    return [row.id for row in queries.enquiries_to_lapse(work.session, today=today)]


def lapse(work: Work, id: str) -> None:
    """Enter that nobody answered an enquiry by its day."""
    enquiry = found(work.session, id)
    work.enter(entries.EnquiryLapsed(enquiry=id), _streams(work, id, enquiry.subject, enquiry.asked))


def found(session: AnySession, id: str) -> Enquiry:
    """An enquiry as the ledger has it. Raises not_found."""
    if queries.enquiry(session, id=id) is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_enquiry", f"There is no enquiry {id!r}.")
    return enquiry_facts(ledger.entries_of(session, streams=[f"enquiry:{id}"], up_to=None))


def _streams(work: Work, id: str, subject: Subject, asked: str) -> list[str]:
    return [f"enquiry:{id}", *work.streams_of(subject), f"publisher:{asked}/enquiries"]


def _check_quantity(subject: Subject, new: NewEnquiry) -> None:
    possible: tuple[Quantity, ...] = QUANTITIES[subject.kind]
    if new.quantity not in possible:
        raise invalid(
            "/quantity",
            "wrong_quantity",
            f"A {subject.kind} has no {new.quantity}. Ask about: {', '.join(possible)}.",
        )
    if new.quantity in LIMITS and not new.conditions:
        raise invalid("/conditions", "condition_missing", "Say when the limit asked about holds: one or several.")
    if new.quantity not in LIMITS and new.conditions:
        raise invalid("/conditions", "no_condition_here", f"An {new.quantity} has no condition: leave it out.")


def _past(work: Work, day: str, pointer: str) -> None:
    """Raises bad input for a day that has not begun anywhere yet."""
    if _date(day, pointer) > work.now.astimezone(UTC).date() + timedelta(days=1):
        raise invalid(pointer, "day_ahead", f"{day} lies ahead. Enter what has been, once it has.")


def _no_earlier(day: str, than: str, pointer: str, what: str) -> None:
    if _date(day, pointer) < date.fromisoformat(than):
        raise invalid(pointer, "days_backwards", f"{day} is before {what}, {than}.")


def _date(day: str, pointer: str) -> date:
    try:
        return date.fromisoformat(day)
    except ValueError as error:
        raise invalid(pointer, "bad_day", f"The calendar has no day {day}.") from error
