"""What an account has done, counted from the tables that the ledger gives."""

from typing import Any

from sqlalchemy import func
from sqlmodel import col, select

from app.core.lifecycle import State
from app.core.review import Decision as Verdict
from app.core.review import DisputeState
from app.persistence.models import Claim, Decision, Dispute, Reading, Settlement
from app.persistence.session import AnySession


def _counted(session: AnySession, what: Any, *where: Any, once_for: Any = None) -> dict[str, int]:
    counted = func.count() if once_for is None else func.count(once_for.distinct())
    found = session.exec(select(what, counted).where(*where).group_by(what).order_by(what))
    return {str(word): count for word, count in found if word is not None}


def claims_by_state(session: AnySession, *, account: str) -> dict[str, int]:
    """How many claims an account entered, by what became of them."""
    return _counted(session, col(Claim.state), col(Claim.author) == account)


def rejections_by_code(session: AnySession, *, account: str) -> dict[str, int]:
    """How many claims of an account stand rejected, by the codes of those who rejected them: a reviewer, or those who
    refuted them."""
    rejected = select(Claim.id).where(Claim.author == account, Claim.state == State.REJECTED)
    decided = _counted(
        session,
        col(Decision.code),
        col(Decision.decision) == Verdict.REJECT,
        col(Decision.claim).in_(rejected),
        once_for=col(Decision.claim),
    )
    refuted = _counted(
        session, col(Settlement.code), col(Settlement.claim).in_(rejected), once_for=col(Settlement.claim)
    )
    return {code: decided.get(code, 0) + refuted.get(code, 0) for code in sorted({*decided, *refuted})}


def readings(session: AnySession, *, account: str) -> tuple[int, int]:
    """How many blind readings an account keyed, and how many of them the claim went beyond."""
    keyed = select(func.count()).where(col(Reading.reviewer) == account)
    # Differences are kept as a JSON list.
    matching = keyed.where(func.length(Reading.differences) <= len("[]"))
    total = session.exec(keyed).one()
    return total, total - session.exec(matching).one()


def decisions(session: AnySession, *, account: str) -> dict[str, int]:
    """How many decisions an account made, by what was decided."""
    return _counted(session, col(Decision.decision), col(Decision.reviewer) == account)


def overturned(session: AnySession, *, account: str) -> int:
    """How many of an account's decisions did not last: approvals of claims that were refuted or rejected after, and
    rejections of claims that were entered again and approved."""
    approvals = select(func.count()).where(
        col(Decision.reviewer) == account,
        col(Decision.decision) == Verdict.APPROVE,
        col(Decision.claim) == col(Claim.id),
        col(Claim.state) == State.REJECTED,
    )
    answers = select(Claim.id).where(
        col(Claim.answers_rejection) == col(Decision.claim),
        col(Claim.state).in_([State.APPROVED, State.DISPUTED, State.SUPERSEDED]),
    )
    rejections = select(func.count()).where(
        col(Decision.reviewer) == account,
        col(Decision.decision) == Verdict.REJECT,
        answers.exists(),
    )
    return session.exec(approvals).one() + session.exec(rejections).one()


def disputes(session: AnySession, *, account: str) -> dict[str, int]:
    """How many disputes an account raised, by what became of them."""
    found = _counted(session, col(Dispute.state), col(Dispute.by) == account)
    return {state: found.get(state, 0) for state in DisputeState}
