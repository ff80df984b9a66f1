"""What became of the claims that somebody entered."""

from collections.abc import Sequence

from sqlmodel import col, select

from app.core.review import Decision as Verdict
from app.core.review import Settlement as Vote
from app.persistence.models import Claim, Decision, Settlement
from app.persistence.session import AnySession


def claims_by(session: AnySession, *, author: str, before_seq: int | None, limit: int) -> list[Claim]:
    """The claims that an account entered, newest first, those before one."""
    # Whoever enters a whole catalogue has very many: only their ids are put in order, not all that they say.
    wanted = select(Claim.id).where(Claim.author == author)
    if before_seq is not None:
        wanted = wanted.where(Claim.seq < before_seq)
    newest = wanted.order_by(col(Claim.seq).desc()).limit(limit)
    return list(session.exec(select(Claim).where(col(Claim.id).in_(newest)).order_by(col(Claim.seq).desc())))


def turned_down(session: AnySession, *, claims: Sequence[str]) -> dict[str, Decision]:
    """Of each of some claims the last decision that rejected it, or asked for evidence."""
    wanted = (
        select(Decision)
        .where(col(Decision.claim).in_(claims), col(Decision.decision).in_([Verdict.REJECT, Verdict.ASK_EVIDENCE]))
        .order_by(col(Decision.at), col(Decision.id))
    )
    return {each.claim: each for each in session.exec(wanted)}


def refuted(session: AnySession, *, claims: Sequence[str]) -> dict[str, Settlement]:
    """Of each of some claims the last vote that refuted it."""
    wanted = (
        select(Settlement)
        .where(col(Settlement.claim).in_(claims), Settlement.settlement == Vote.REFUTE)
        .order_by(col(Settlement.at), col(Settlement.id))
    )
    return {each.claim: each for each in session.exec(wanted)}
