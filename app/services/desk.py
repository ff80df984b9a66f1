"""The desk: what waits for somebody, in order, and taking a piece of it in hand for a while."""

from collections.abc import Collection, Sequence
from datetime import datetime
from typing import Annotated, Final

import msgspec
from msgspec import Meta

from app.core.claim import Subject
from app.core.desk import FOR_AUTHORS, HELD_FOR, MOST_HELD, READINGS, Place, WorkKind
from app.core.errors import CantrailError, Kind, invalid
from app.core.permissions import Role, Scope, require
from app.persistence import desk_stores as stores
from app.persistence.base import utc_text
from app.persistence.models import Citation, DeskHold, DeskWork
from app.persistence.queries import desk as rows
from app.persistence.queries import desk_work as queries
from app.persistence.queries.desk_work import After, Reviewer
from app.persistence.session import AnySession
from app.services import interests
from app.services.inputs import Input
from app.services.views.records import Page, text_of
from app.services.work import Caller, Work

_CURSOR: Final = "~"
_TURNS: Final = {"0": 0, "1": 1}


class ListDesk(Input, frozen=True, kw_only=True):
    """Some of the desk; of one kind of work."""

    kind: WorkKind | None = None
    cursor: Annotated[str, Meta(max_length=300, description="`next` of the page before.")] | None = None
    limit: Annotated[int, Meta(ge=1, le=200)] = 50


class PlaceCited(msgspec.Struct, frozen=True):
    """Where the evidence stands."""

    document: str
    page: str | None
    locator: str | None


class WorkView(msgspec.Struct, frozen=True, kw_only=True):
    """A piece of work. Of a claim that is to be read blind it says what to read and where, and nothing of what is
    claimed: no figure, condition, basis or scope, and not whether it would lower anything (`lowers` is then null)."""

    id: str
    kind: WorkKind
    since: str
    asked: int
    lowers: bool | None
    subject: Subject | None
    quantity: str | None
    claim: str | None
    dispute: str | None
    reading: str | None
    documents: list[PlaceCited]
    held_until: str | None


class OwnWorkView(msgspec.Struct, frozen=True, kw_only=True):
    """A claim of one's own for which a reviewer asked for evidence, and in which words."""

    claim: str
    subject: Subject | None
    quantity: str | None
    since: str
    asked_for: str | None


class HoldView(msgspec.Struct, frozen=True):
    """A piece of work in one's own hands."""

    work: str
    until: str


def work_id(kind: WorkKind, about: str) -> str:
    """How a piece of work is named: what is to be done, a dot, and about what."""
    return f"{kind}.{about}"


def waiting(
    session: AnySession,
    caller: Caller,
    now: datetime,
    asked: ListDesk,
    kinds: Collection[WorkKind] | None = None,
) -> Page[WorkView]:
    """The work that a reviewer may do, in order; of the kind that is asked for, or of several."""
    require(caller.role, caller.scopes, Scope.REVIEW)
    found = queries.work_for(
        session,
        reviewer=_reviewer(session, caller, now),
        now=now,
        after=_after(asked.cursor),
        limit=asked.limit + 1,
        kinds=kinds if asked.kind is None else {asked.kind},
    )
    held = {(each.kind, each.about): each for each in queries.holds(session, account=caller.account, now=now)}
    claims = [each.claim for each in found if each.claim is not None]
    cited = queries.citations_of(session, claims=claims)
    shown = [
        _shown(each, cited.get(each.claim or "", ()), held.get((each.kind, each.about)))
        for each in found[: asked.limit]
    ]
    return Page(shown, _next(found, asked.limit))


def own(session: AnySession, caller: Caller, asked: ListDesk) -> Page[OwnWorkView]:
    """What waits for somebody as the author of claims."""
    require(caller.role, caller.scopes, Scope.SUBMIT)
    found = queries.own_work(session, author=caller.account, after=_after(asked.cursor), limit=asked.limit + 1)
    reasons = queries.asks_for_evidence(session, claims=[each.about for each in found])
    shown = [
        OwnWorkView(
            claim=each.about,
            subject=_subject(each),
            quantity=each.quantity,
            since=each.since,
            asked_for=text_of(session, reasons.get(each.about)),
        )
        for each in found[: asked.limit]
    ]
    return Page(shown, _next(found, asked.limit))


def hold(work: Work, id: str) -> HoldView:
    """Take a piece of work in hand for a while. It guides others, is over by itself and is not drawn out: nobody keeps
    others from reading a claim."""
    work.require(Scope.REVIEW)
    kind, about = _named(work.session, id)
    known = queries.hold(work.session, kind=kind, about=about)
    refuse_another(known, work.account, work.now)
    if known is not None and known.account == work.account:
        if known.until > work.now:
            return HoldView(id, utc_text(known.until))
        _refuse_again(known, work.now)
    mine = queries.holds(work.session, account=work.account, now=work.now)
    if not may_do(work.session, work.caller, work.now, kind, about):
        raise CantrailError(
            Kind.FORBIDDEN,
            "not_your_work",
            f"{id} is for somebody else: it is your own, or you have a hand or an interest in it.",
        )
    if len(mine) >= MOST_HELD:
        raise CantrailError(
            Kind.CONFLICT,
            "too_many_held",
            f"You hold {len(mine)} pieces of work. Do one of them, or release it, and then take another.",
        )
    until = work.now + HELD_FOR
    stores.hold(work.session, kind=kind, about=about, account=work.account, until=until)
    return HoldView(id, utc_text(until))


def may_do(session: AnySession, caller: Caller, now: datetime, kind: WorkKind, about: str) -> bool:
    """Whether some work is on the desk and may be done by somebody, as far as the desk knows."""
    reviewer = _reviewer(session, caller, now)
    return bool(queries.work_for(session, reviewer=reviewer, now=now, after=None, limit=1, kinds={kind}, about=about))


def shown(session: AnySession, row: DeskWork) -> WorkView:
    """One piece of work as it is sent, whoever holds it."""
    claims = [] if row.claim is None else [row.claim]
    return _shown(row, queries.citations_of(session, claims=claims).get(row.claim or "", ()), None)


def release(work: Work, id: str) -> HoldView:
    """Give a piece of work back. What one does not hold is left as it is."""
    work.require(Scope.REVIEW)
    kind, about = parsed(id)
    stores.release(work.session, kind=kind, about=about, account=work.account, now=work.now)
    return HoldView(id, utc_text(work.now))


def refuse_reading_held(work: Work, claim: str) -> None:
    """Raises where somebody else has the reading of a claim in hand; goes on holding it where it is one's own."""
    known = queries.reading_held_by(work.session, claim=claim, now=work.now)
    refuse_another(known, work.account, work.now)
    if known is not None:
        kind = WorkKind(known.kind)
        stores.hold(work.session, kind=kind, about=claim, account=work.account, until=work.now + HELD_FOR)


def let_go(work: Work, *abouts: str) -> None:
    """What is done is held no longer."""
    stores.let_go(work.session, abouts=abouts, account=work.account)


def refuse_another(known: DeskHold | None, account: str, now: datetime) -> None:
    """Raises where somebody else has work in hand."""
    if known is not None and known.account != account and known.until > now:
        raise CantrailError(
            Kind.CONFLICT,
            "held_by_another",
            f"Somebody else has this in hand until {utc_text(known.until)}. Take something else, or come back then.",
            details={"held_until": utc_text(known.until)},
        )


def _refuse_again(known: DeskHold, now: datetime) -> None:
    """Raises where somebody has just had work in hand: first it is others' for as long as they could hold it."""
    free_at = known.until + HELD_FOR
    if now < free_at:
        raise CantrailError(
            Kind.CONFLICT,
            "held_before",
            f"You have just had this in hand: until {utc_text(free_at)} it is for others to take. You may do it unheld.",
            details={"free_at": utc_text(free_at)},
        )


def _reviewer(session: AnySession, caller: Caller, now: datetime) -> Reviewer:
    declared = interests.view(session, caller.account, now).interests
    return Reviewer(caller.account, caller.role is Role.STEWARD, frozenset(each.publisher for each in declared))


def parsed(id: str) -> tuple[WorkKind, str]:
    """The kind of a piece of work and what it is about. Raises not_found for what is no reviewer's work."""
    kind, _, about = id.partition(".")
    if kind not in set(WorkKind) - FOR_AUTHORS or not about:
        raise CantrailError(Kind.NOT_FOUND, "no_such_work", f"There is no work {id!r} on the desk.")
    return WorkKind(kind), about


def _named(session: AnySession, id: str) -> tuple[WorkKind, str]:
    kind, about = parsed(id)
    if not rows.waits(session, kind=kind, about=about):
        raise CantrailError(Kind.NOT_FOUND, "no_such_work", f"There is no work {id!r} on the desk: it may be done.")
    return kind, about


def _shown(row: DeskWork, cited: Sequence[Citation], held: DeskHold | None) -> WorkView:
    kind = WorkKind(row.kind)
    if kind is WorkKind.NEAR_COPY:
        places = [PlaceCited(document, None, None) for document in row.about.split(".")]
    else:
        places = [PlaceCited(each.document, each.page, each.locator) for each in cited]
    return WorkView(
        id=work_id(kind, row.about),
        kind=kind,
        since=row.since,
        asked=row.asked,
        lowers=None if kind in READINGS else row.lowers,
        subject=_subject(row),
        quantity=row.quantity,
        claim=row.claim,
        dispute=row.about if kind is WorkKind.SETTLEMENT else None,
        reading=row.about if kind is WorkKind.MISMATCH else None,
        documents=places,
        held_until=None if held is None else utc_text(held.until),
    )


def _subject(row: DeskWork) -> Subject | None:
    if row.subject_kind is None or row.subject_id is None:
        return None
    return Subject(row.subject_kind, row.subject_id)


def _next(found: list[DeskWork], limit: int) -> str | None:
    if len(found) <= limit:
        return None
    last = found[limit - 1]
    return _CURSOR.join((str(last.turn), last.stands_at, last.kind, last.about))


def _after(cursor: str | None) -> After | None:
    if cursor is None:
        return None
    turn, *rest = cursor.split(_CURSOR, 3)
    if turn not in _TURNS or len(rest) != 3:
        raise invalid("/cursor", "bad_cursor", "Use the cursor that the page before gave in `next`, as it is.")
    return After(Place(_TURNS[turn], rest[0]), rest[1], rest[2])
