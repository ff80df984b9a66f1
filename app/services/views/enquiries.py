"""Enquiries as they are sent."""

from collections.abc import Mapping, Sequence

import msgspec

from app.core.claim import Condition, Quantity, Subject, SubjectKind
from app.core.enquiry import Channel, EnquiryState, Outcome
from app.core.errors import CantrailError, Kind, invalid
from app.persistence.models import Enquiry
from app.persistence.queries import enquiries as queries
from app.persistence.queries import placements
from app.persistence.session import AnySession
from app.services.views.records import Page, publisher_names, texts_of


class EnquiryView(msgspec.Struct, frozen=True, kw_only=True):
    """A question put to a publisher, and what became of it. `closed_on` is the day of the outcome: where no answer came,
    the last day on which it was waited for. Who closed it is `system` where time did."""

    id: str
    subject: Subject
    asked: str
    asked_name: str | None
    quantity: Quantity
    conditions: tuple[Condition, ...]
    channel: Channel
    questions: str | None
    asked_on: str
    answer_by: str
    language: str | None
    by: str
    at: str
    state: EnquiryState
    outcome: Outcome | None
    closed_on: str | None
    closed_by: str | None
    document: str | None
    note: str | None
    ask_again: str | None


def enquiry_view(session: AnySession, id: str) -> EnquiryView:
    """One enquiry. Raises not_found."""
    row = queries.enquiry(session, id=id)
    if row is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_enquiry", f"There is no enquiry {id!r}.")
    return shown_enquiries(session, [row])[0]


def shown_enquiries(session: AnySession, rows: Sequence[Enquiry]) -> list[EnquiryView]:
    """Enquiries from their rows: who was asked, and what was written, is read all at once."""
    names = publisher_names(session, {row.asked for row in rows})
    texts = texts_of(session, (sha256 for row in rows for sha256 in (row.questions_sha256, row.note_sha256)))
    return [_shown(row, names, texts) for row in rows]


def _shown(row: Enquiry, names: Mapping[str, str | None], texts: Mapping[str | None, str]) -> EnquiryView:
    return EnquiryView(
        id=row.id,
        subject=Subject(row.subject_kind, row.subject_id),
        asked=row.asked,
        asked_name=names[row.asked],
        quantity=row.quantity,
        conditions=row.conditions,
        channel=row.channel,
        questions=texts.get(row.questions_sha256),
        asked_on=row.asked_on,
        answer_by=row.answer_by,
        language=row.language,
        by=row.by,
        at=row.at,
        state=EnquiryState.OPEN if row.outcome is None else EnquiryState.CLOSED,
        outcome=row.outcome,
        closed_on=row.closed_on,
        closed_by=row.closed_by,
        document=row.document,
        note=texts.get(row.note_sha256),
        ask_again=row.ask_again,
    )


def enquiry_page(
    session: AnySession,
    *,
    after: int,
    limit: int,
    newest_first: bool = False,
    subject_kind: SubjectKind | None = None,
    subject: str | None = None,
    publisher: str | None = None,
    state: EnquiryState | None = None,
    outcome: Outcome | None = None,
    ask_again_before: str | None = None,
) -> Page[EnquiryView]:
    """Enquiries, oldest first unless the newest are wanted first. Raises bad input for a subject without its kind: ids are unique within a kind."""
    if subject is not None and subject_kind is None:
        raise invalid("/subject_kind", "missing", "Say of which kind the subject is: vehicle, carrier, fixing …")
    asked_as = None if subject is None or subject_kind is None else Subject(subject_kind, subject)
    rows = queries.enquiries(
        session,
        after_seq=after,
        limit=limit + 1,
        newest_first=newest_first,
        subject_kind=subject_kind,
        subjects=None if asked_as is None else placements.answered_alike(session, subject=asked_as),
        publisher=publisher,
        state=state,
        outcome=outcome,
        ask_again_before=ask_again_before,
    )
    shown = shown_enquiries(session, rows[:limit])
    return Page(shown, str(rows[limit - 1].seq) if len(rows) > limit else None)
