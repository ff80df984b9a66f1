"""What bears on the desk's rows: what is on it already, and what their order follows from."""

from typing import Final, NamedTuple

from sqlalchemy import bindparam, literal
from sqlalchemy import select as pick
from sqlmodel import and_, col, func, or_, select

from app.core.claim import Quantity, Subject, SubjectKind
from app.core.desk import WorkKind
from app.core.lifecycle import BINDING, UNDECIDED, State
from app.core.review import APPROVALS_TO_SET
from app.persistence.base import table_of
from app.persistence.models import AskedCount, Carrier, Claim, DeskWork, Fitment
from app.persistence.queries.subjects import MADE, recorded
from app.persistence.session import AnySession

_AFRESH: Final = {"populate_existing": True}
"""These rows are written by plain SQL: what a session has read of them before may be out of date."""


_WORK: Final = table_of(DeskWork).c
_ASKED: Final = table_of(AskedCount).c
_CLAIM: Final = table_of(Claim).c
_FITTED: Final = table_of(Fitment).c
_CARRIER: Final = table_of(Carrier).c

_WORK_OF: Final = pick(_WORK.kind, _WORK.about, _WORK.since, _WORK.lowers).where(_WORK.claim == bindparam("of"))
_ROWS_OF: Final = select(DeskWork).where(col(DeskWork.claim) == bindparam("of"))
_WAITS: Final = pick(_WORK.about).where(_WORK.kind == bindparam("of"), _WORK.about == bindparam("what"))
_MAKER_OF: Final = {
    SubjectKind.FITMENT: pick(_CARRIER.maker)
    .join_from(table_of(Fitment), table_of(Carrier), _CARRIER.slug == _FITTED.carrier)
    .where(_FITTED.id == bindparam("of")),
    **{
        kind: pick(table_of(made).c.maker).where(table_of(made).c.slug == bindparam("of"))
        for kind, made in MADE.items()
    },
}
_IN_VAIN: Final = pick(func.coalesce(func.sum(_ASKED.unmet), 0)).where(
    _ASKED.subject_kind == bindparam("kind"), _ASKED.subject_id == bindparam("id")
)
_THIS_IN_VAIN: Final = _IN_VAIN.where(_ASKED.quantity == bindparam("quantity"))
_APPROVED_BY: Final = (
    pick(_CLAIM.id)
    .where(
        _CLAIM.author == bindparam("by"),
        _CLAIM.approvals >= APPROVALS_TO_SET,
        _CLAIM.state.in_((State.APPROVED, State.DISPUTED, State.SUPERSEDED)),
    )
    .limit(bindparam("most"))
)
_UNDECIDED_ON: Final = (
    pick(_CLAIM.id)
    .join(table_of(DeskWork), _WORK.claim == _CLAIM.id)
    .where(_CLAIM.subject_kind == bindparam("kind"), _CLAIM.subject_id == bindparam("id"), _CLAIM.state.in_(UNDECIDED))
    .distinct()
)
"""Made once: every entry asks these, and building them takes longer than running them."""


class Known(NamedTuple):
    """What is on the desk already: since when, and whether it would lower a vetted figure."""

    since: str
    lowers: bool


def work_of(session: AnySession, *, claim: str) -> dict[tuple[WorkKind, str], Known]:
    """The work on one claim."""
    found = session.connection().execute(_WORK_OF, {"of": claim})
    return {(WorkKind(kind), about): Known(since, lowers) for kind, about, since, lowers in found}


def rows(session: AnySession, *, claim: str) -> list[DeskWork]:
    """The rows of the work on one claim."""
    return list(session.exec(_ROWS_OF, params={"of": claim}, execution_options=_AFRESH))


def one(session: AnySession, *, kind: WorkKind, about: str) -> DeskWork | None:
    """One piece of work."""
    return session.get(DeskWork, (kind, about))


def waits(session: AnySession, *, kind: WorkKind, about: str) -> bool:
    """Whether some work is on the desk."""
    return session.connection().execute(_WAITS, {"of": kind, "what": about}).first() is not None


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
    maker: str | None = session.connection().execute(_MAKER_OF[subject.kind], {"of": subject.id}).scalar()
    return maker


def asked_in_vain(session: AnySession, *, subject: Subject, quantity: Quantity | None) -> int:
    """How often a figure of a subject was asked for in vain, in whatever condition; with None, any of its figures."""
    about = {"kind": subject.kind, "id": subject.id}
    if quantity is None:
        return int(session.connection().execute(_IN_VAIN, about).scalar_one())
    return int(session.connection().execute(_THIS_IN_VAIN, {**about, "quantity": quantity}).scalar_one())


def approved_claims(session: AnySession, *, author: str, most: int) -> int:
    """How many of an account's claims two reviewers have approved and none has refuted; counted up to a number."""
    return len(session.connection().execute(_APPROVED_BY, {"by": author, "most": most}).all())


def undecided_on(session: AnySession, *, subject: Subject) -> list[str]:
    """The undecided claims on a subject that are on the desk."""
    return list(session.connection().execute(_UNDECIDED_ON, {"kind": subject.kind, "id": subject.id}).scalars())


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
