"""The desk as one person sees it: the work that they may do, what they hold, and what waits for them as an author."""

from collections.abc import Collection, Sequence
from datetime import datetime
from typing import Final, NamedTuple

from sqlalchemy import ColumnElement, bindparam, exists, literal, tuple_
from sqlmodel import and_, col, or_, select

from app.core.claim import Interest
from app.core.desk import FOR_AUTHORS, FOR_STEWARDS, READINGS, Place, WorkKind
from app.persistence.models import (
    Citation,
    CopyJudgement,
    Decision,
    DeskHold,
    DeskWork,
    Dispute,
    MismatchJudgement,
    Reading,
    Settlement,
    StandingConfirmation,
)
from app.persistence.session import AnySession

_READING_HELD: Final = select(DeskHold).where(
    col(DeskHold.about) == bindparam("what"),
    col(DeskHold.kind).in_(READINGS),
    col(DeskHold.until) > bindparam("now"),
)


class Reviewer(NamedTuple):
    """Who sits at the desk: whether a steward, and the publishers in which they have declared an interest."""

    account: str
    steward: bool
    interests: frozenset[str]


READINGS_LOOKED_THROUGH: Final = 500
"""So many of the readings that somebody has keyed last are looked through for what they have not decided on."""


class After(NamedTuple):
    """The last piece of work of the page before."""

    place: Place
    kind: str
    about: str


def work_for(
    session: AnySession,
    *,
    reviewer: Reviewer,
    now: datetime,
    after: After | None,
    limit: int,
    kinds: Collection[WorkKind] | None = None,
    about: str | None = None,
) -> list[DeskWork]:
    """The work that a reviewer may do, in order, what follows some of it; of some kinds, or one piece: not their own,
    not what they have a hand or an interest in, not what somebody else holds."""
    wanted = select(DeskWork).where(
        col(DeskWork.kind).not_in(FOR_AUTHORS if reviewer.steward else FOR_AUTHORS | FOR_STEWARDS),
        or_(col(DeskWork.author).is_(None), col(DeskWork.author) != reviewer.account),
        ~_held_by_another(reviewer.account, now),
        ~_has_a_hand(reviewer.account),
    )
    if reviewer.interests:
        for whose in (DeskWork.maker, DeskWork.publisher):
            wanted = wanted.where(or_(col(whose).is_(None), col(whose).not_in(reviewer.interests)))
    if kinds is not None:
        wanted = wanted.where(col(DeskWork.kind).in_(kinds))
    if about is not None:
        wanted = wanted.where(DeskWork.about == about)
    order = (col(DeskWork.turn), col(DeskWork.stands_at), col(DeskWork.kind), col(DeskWork.about))
    if after is not None:
        last = (after.place.turn, after.place.stands_at, after.kind, after.about)
        wanted = wanted.where(tuple_(*order) > tuple_(*(literal(each) for each in last)))
    return list(session.exec(wanted.order_by(*order).limit(limit)))


def _held_by_another(account: str, now: datetime) -> ColumnElement[bool]:
    return exists().where(
        col(DeskHold.kind) == col(DeskWork.kind),
        col(DeskHold.about) == col(DeskWork.about),
        col(DeskHold.account) != account,
        col(DeskHold.until) > now,
    )


def _has_a_hand(account: str) -> ColumnElement[bool]:
    """Whether somebody has read, decided on, disputed, settled, judged or confirmed what this work is about, so that it
    is for others; or declared an interest in it while doing so."""
    decided = exists().where(col(Decision.claim) == col(DeskWork.claim), col(Decision.reviewer) == account)
    disputed = exists().where(col(Dispute.claim) == col(DeskWork.claim), col(Dispute.by) == account)
    judged = exists().where(
        col(MismatchJudgement.claim) == col(DeskWork.claim), col(MismatchJudgement.steward) == account
    )
    read = exists().where(col(Reading.claim) == col(DeskWork.claim), col(Reading.reviewer) == account)
    voted = exists().where(col(Settlement.dispute) == col(DeskWork.about), col(Settlement.reviewer) == account)
    confirmed = exists().where(
        col(StandingConfirmation.subject_kind) == col(DeskWork.subject_kind),
        col(StandingConfirmation.subject_id) == col(DeskWork.subject_id),
        col(StandingConfirmation.reviewer) == account,
    )
    said = exists().where(
        col(CopyJudgement.by) == account,
        or_(
            col(CopyJudgement.document) + "." + col(CopyJudgement.of) == col(DeskWork.about),
            col(CopyJudgement.of) + "." + col(CopyJudgement.document) == col(DeskWork.about),
        ),
    )
    interested = or_(
        decided.where(col(Decision.interest) != Interest.NONE), disputed.where(col(Dispute.interest) != Interest.NONE)
    )
    kind = col(DeskWork.kind)
    return or_(
        and_(kind.in_(READINGS), or_(read, judged, interested)),
        and_(kind == WorkKind.SETTLEMENT, or_(decided, disputed, judged, voted)),
        and_(kind == WorkKind.MISMATCH, or_(read, decided, disputed)),
        and_(kind == WorkKind.RECORD, confirmed),
        and_(kind == WorkKind.NEAR_COPY, said),
    )


def own_work(session: AnySession, *, author: str, after: After | None, limit: int) -> list[DeskWork]:
    """What waits for who entered the claims: those for which a reviewer has asked for evidence."""
    wanted = select(DeskWork).where(DeskWork.author == author, col(DeskWork.kind).in_(FOR_AUTHORS))
    order = (col(DeskWork.turn), col(DeskWork.stands_at), col(DeskWork.kind), col(DeskWork.about))
    if after is not None:
        last = (after.place.turn, after.place.stands_at, after.kind, after.about)
        wanted = wanted.where(tuple_(*order) > tuple_(*(literal(each) for each in last)))
    return list(session.exec(wanted.order_by(*order).limit(limit)))


def hold(session: AnySession, *, kind: WorkKind, about: str) -> DeskHold | None:
    """Who has some work in hand, or had."""
    return session.get(DeskHold, (kind, about))


def holds(session: AnySession, *, account: str, now: datetime) -> list[DeskHold]:
    """What somebody holds now."""
    return list(session.exec(select(DeskHold).where(DeskHold.account == account, col(DeskHold.until) > now)))


def reading_held_by(session: AnySession, *, claim: str, now: datetime) -> DeskHold | None:
    """Who holds the reading of a claim now."""
    return session.exec(_READING_HELD, params={"what": claim, "now": now}).first()


def read_undecided(session: AnySession, *, reviewer: str, limit: int) -> list[DeskWork]:
    """The work on claims that somebody has read of late and not decided on, the claims read last first."""
    latest = (
        select(Reading.id)
        .where(Reading.reviewer == reviewer)
        .order_by(col(Reading.at).desc())
        .limit(READINGS_LOOKED_THROUGH)
    )
    decided = exists().where(col(Decision.claim) == col(Reading.claim), col(Decision.reviewer) == reviewer)
    wanted = (
        select(DeskWork)
        .join(Reading, col(Reading.claim) == col(DeskWork.claim))
        .where(col(Reading.id).in_(latest), col(DeskWork.kind).in_(READINGS), ~decided)
        .order_by(col(Reading.at).desc(), col(Reading.id))
        .limit(limit)
    )
    return list(session.exec(wanted))


def citations_of(session: AnySession, *, claims: Sequence[str]) -> dict[str, list[Citation]]:
    """The citations of some claims, in the order of citing."""
    found: dict[str, list[Citation]] = {}
    for each in session.exec(select(Citation).where(col(Citation.claim).in_(claims))):
        found.setdefault(each.claim, []).append(each)
    return {claim: sorted(cited, key=lambda each: int(each.id[1:])) for claim, cited in found.items()}


def asks_for_evidence(session: AnySession, *, claims: Sequence[str]) -> dict[str, str]:
    """Of some claims, the text (by hash) with which a reviewer last asked for evidence."""
    wanted = select(Decision).where(col(Decision.claim).in_(claims), Decision.decision == "ask_evidence")
    asked = sorted(session.exec(wanted), key=lambda each: int(each.id[1:]))
    return {each.claim: each.reason_sha256 for each in asked}
