"""Enquiries: by id, in lists, and those whose day has passed."""

from collections.abc import Collection

from sqlmodel import col, select

from app.core.claim import SubjectKind
from app.core.enquiry import EnquiryState, Outcome
from app.persistence.models import Enquiry
from app.persistence.session import AnySession


def enquiry(session: AnySession, *, id: str) -> Enquiry | None:
    """One enquiry."""
    return session.get(Enquiry, id)


def enquiries(
    session: AnySession,
    *,
    after_seq: int,
    limit: int,
    newest_first: bool = False,
    subject_kind: SubjectKind | None = None,
    subjects: Collection[str] | None = None,
    publisher: str | None = None,
    state: EnquiryState | None = None,
    outcome: Outcome | None = None,
    ask_again_before: str | None = None,
) -> list[Enquiry]:
    """Enquiries, oldest first, those that follow an entry, or newest first, those that come before one (0: all); about
    one kind of subject or some subjects, put to one publisher, open or closed, with one outcome, or worth asking again
    from a day before this one (YYYY-MM-DD)."""
    wanted = select(Enquiry)
    if after_seq:
        wanted = wanted.where(Enquiry.seq < after_seq if newest_first else Enquiry.seq > after_seq)
    if subject_kind is not None:
        wanted = wanted.where(Enquiry.subject_kind == subject_kind)
    if subjects is not None:
        wanted = wanted.where(col(Enquiry.subject_id).in_(subjects))
    if publisher is not None:
        wanted = wanted.where(Enquiry.asked == publisher)
    if state is not None:
        none = col(Enquiry.outcome).is_(None)
        wanted = wanted.where(none if state is EnquiryState.OPEN else ~none)
    if outcome is not None:
        wanted = wanted.where(Enquiry.outcome == outcome)
    if ask_again_before is not None:
        wanted = wanted.where(col(Enquiry.ask_again) < ask_again_before)
    order = col(Enquiry.seq).desc() if newest_first else col(Enquiry.seq)
    return list(session.exec(wanted.order_by(order).limit(limit)))


def enquiries_to_lapse(session: AnySession, *, today: str) -> list[Enquiry]:
    """The open enquiries whose day to be answered by is before today (YYYY-MM-DD), oldest first."""
    wanted = select(Enquiry).where(col(Enquiry.outcome).is_(None), Enquiry.answer_by < today)
    return list(session.exec(wanted.order_by(col(Enquiry.seq))))
