"""What bears on the desk's rows: what is on it already, and what their order follows from."""

from typing import Final, NamedTuple

from sqlalchemy import literal
from sqlmodel import and_, col, func, or_, select

from app.core.claim import Quantity, Subject, SubjectKind
from app.core.desk import WorkKind
from app.core.lifecycle import BINDING, UNDECIDED, State
from app.core.review import APPROVALS_TO_SET
from app.persistence.models import AskedCount, Carrier, Claim, DeskWork, Fitment
from app.persistence.queries.subjects import recorded
from app.persistence.session import AnySession

_AFRESH: Final = {"populate_existing": True}
"""These rows are written by plain SQL: what a session has read of them before may be out of date."""


class Known(NamedTuple):
    """What is on the desk already: since when, and whether it would lower a vetted figure."""

    since: str
    lowers: bool


def work_of(session: AnySession, *, claim: str) -> dict[tuple[WorkKind, str], Known]:
    """The work on one claim."""
    wanted = select(DeskWork.kind, DeskWork.about, DeskWork.since, DeskWork.lowers).where(DeskWork.claim == claim)
    return {(WorkKind(kind), about): Known(since, lowers) for kind, about, since, lowers in session.exec(wanted)}


def rows(session: AnySession, *, claim: str) -> list[DeskWork]:
    """The rows of the work on one claim."""
    return list(session.exec(select(DeskWork).where(DeskWork.claim == claim), execution_options=_AFRESH))


def one(session: AnySession, *, kind: WorkKind, about: str) -> DeskWork | None:
    """One piece of work."""
    return session.get(DeskWork, (kind, about))


def waits(session: AnySession, *, kind: WorkKind, about: str) -> bool:
    """Whether some work is on the desk."""
    found = select(DeskWork.about).where(DeskWork.kind == kind, DeskWork.about == about)
    return session.exec(found).first() is not None


def near_copies(session: AnySession, *, document: str) -> list[str]:
    """The pairs to be judged of which a document is one."""
    wanted = select(DeskWork.about).where(
        DeskWork.kind == WorkKind.NEAR_COPY,
        or_(col(DeskWork.about).startswith(f"{document}."), col(DeskWork.about).endswith(f".{document}")),
    )
    return list(session.exec(wanted))


def is_confirmed(session: AnySession, *, subject: Subject) -> bool:
    """Whether a subject's record is confirmed."""
    found = recorded(session, subject=subject)
    if found is None:
        return False
    # What this transaction has changed by plain SQL may be newer than what the session remembers.
    session.refresh(found)
    return found.confirmed


def maker_of(session: AnySession, *, subject: Subject) -> str | None:
    """Whose a subject is: a fitment is its carrier's maker's."""
    found = recorded(session, subject=subject)
    if isinstance(found, Fitment):
        carrier = session.get(Carrier, found.carrier)
        return None if carrier is None else carrier.maker
    return None if found is None else found.maker


def asked_in_vain(session: AnySession, *, subject: Subject, quantity: Quantity | None) -> int:
    """How often a figure of a subject was asked for in vain, in whatever condition; with None, any of its figures."""
    wanted = select(func.coalesce(func.sum(AskedCount.unmet), 0)).where(
        AskedCount.subject_kind == subject.kind, AskedCount.subject_id == subject.id
    )
    if quantity is not None:
        wanted = wanted.where(AskedCount.quantity == quantity)
    return int(session.exec(wanted).one())


def approved_claims(session: AnySession, *, author: str, most: int) -> int:
    """How many of an account's claims two reviewers have approved and none has refuted; counted up to a number."""
    good = (
        select(Claim.id)
        .where(
            Claim.author == author,
            Claim.approvals >= APPROVALS_TO_SET,
            col(Claim.state).in_((State.APPROVED, State.DISPUTED, State.SUPERSEDED)),
        )
        .limit(most)
        .subquery()
    )
    return session.exec(select(func.count()).select_from(good)).one()


def undecided_on(session: AnySession, *, subject: Subject) -> list[str]:
    """The undecided claims on a subject that are on the desk."""
    wanted = (
        select(Claim.id)
        .join(DeskWork, col(DeskWork.claim) == Claim.id)
        .where(Claim.subject_kind == subject.kind, Claim.subject_id == subject.id, col(Claim.state).in_(UNDECIDED))
        .distinct()
    )
    return list(session.exec(wanted))


def subjects_to_compare(session: AnySession) -> list[Subject]:
    """The subjects with undecided claims beside some that two reviewers approved."""
    vetted = select(Claim.subject_kind, Claim.subject_id).where(
        col(Claim.state).in_(BINDING), Claim.approvals >= APPROVALS_TO_SET
    )
    undecided = select(Claim.subject_kind, Claim.subject_id).where(col(Claim.state).in_(UNDECIDED))
    found = set(session.exec(vetted)) & set(session.exec(undecided))
    return sorted(Subject(SubjectKind(kind), id) for kind, id in found)


def all_work(session: AnySession, *, after: tuple[str, str], limit: int) -> list[DeskWork]:
    """Everything on the desk by kind and what it is about, what follows one piece of work."""
    kind, about = (literal(each) for each in after)
    following = or_(col(DeskWork.kind) > kind, and_(col(DeskWork.kind) == kind, col(DeskWork.about) > about))
    wanted = select(DeskWork).where(following).order_by(col(DeskWork.kind), col(DeskWork.about)).limit(limit)
    return list(session.exec(wanted, execution_options=_AFRESH))


def work_about(session: AnySession, *, subject: Subject) -> list[DeskWork]:
    """Everything on the desk about one subject."""
    wanted = select(DeskWork).where(DeskWork.subject_kind == subject.kind, DeskWork.subject_id == subject.id)
    return list(session.exec(wanted, execution_options=_AFRESH))
