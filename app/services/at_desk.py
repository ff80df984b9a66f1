"""The desk as somebody sits at it: what waits and why it stands where it does, what is in their own hands, and one piece
of work with what keeps them from it."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import datetime
from enum import StrEnum
from typing import Final

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.desk import FOR_AUTHORS, READINGS, WorkKind
from app.core.errors import CantrailError
from app.core.permissions import Scope, require
from app.persistence.base import utc_text
from app.persistence.models import DeskWork, Fitment
from app.persistence.queries import desk as rows
from app.persistence.queries import desk_work as queries
from app.persistence.queries import subjects
from app.persistence.session import AnySession
from app.services import desk, interests
from app.services.desk import ListDesk, WorkView
from app.services.interests import InterestView
from app.services.views.records import Page
from app.services.work import Caller, Work

MOST_TRIED: Final = 25
"""How many pieces of work are tried for the next one to take: some may have just been in the same hands."""

MOST_UNFINISHED: Final = 10


class Line(msgspec.Struct, frozen=True):
    """A piece of work with what its subject is called, and whether a newcomer brought it."""

    work: WorkView
    name: str | None
    newcomer: bool


class InHand(msgspec.Struct, frozen=True):
    """A piece of work in one's own hands, and until when."""

    id: str
    kind: WorkKind
    name: str | None
    until: str


class Unfinished(msgspec.Struct, frozen=True):
    """A claim that one has read and not decided on."""

    id: str
    claim: str
    name: str | None


class Open(StrEnum):
    """Whether somebody may do a piece of work."""

    YES = "yes"
    HELD = "held"
    NOT_YOURS = "not_yours"
    GONE = "gone"


class Piece(msgspec.Struct, frozen=True, kw_only=True):
    """One piece of work: whether it may be done by who asks, until when it is held, and by whom. Of work that is not
    on the desk (any more), `instead` names what waits on the same claim."""

    id: str
    kind: WorkKind
    about: str
    open: Open
    work: WorkView | None
    name: str | None
    mine_until: str | None
    held_until: str | None
    instead: str | None


def lines(
    session: AnySession,
    caller: Caller,
    now: datetime,
    kinds: Collection[WorkKind] | None,
    cursor: str | None,
    limit: int,
) -> Page[Line]:
    """The work that a reviewer may do, in order; of some kinds or of all."""
    page = desk.waiting(session, caller, now, ListDesk(cursor=cursor, limit=limit), kinds)
    names = called(session, [each.subject for each in page.items if each.subject is not None])
    shown = [
        Line(each, names.get(each.subject) if each.subject else None, _newcomer(session, each)) for each in page.items
    ]
    return Page(shown, page.next)


def _newcomer(session: AnySession, work: WorkView) -> bool:
    row = rows.one(session, kind=work.kind, about=work.id.partition(".")[2])
    return row is not None and row.newcomer


def in_hand(session: AnySession, caller: Caller, now: datetime) -> list[InHand]:
    """What somebody holds, what is given up soonest first."""
    require(caller.role, caller.scopes, Scope.REVIEW)
    held = sorted(queries.holds(session, account=caller.account, now=now), key=lambda each: each.until)
    known = [(each, rows.one(session, kind=WorkKind(each.kind), about=each.about)) for each in held]
    names = called(session, [subject for _, row in known if row is not None and (subject := _subject(row)) is not None])
    return [
        InHand(
            desk.work_id(WorkKind(each.kind), each.about),
            WorkKind(each.kind),
            None if (subject := _subject(row)) is None else names.get(subject),
            utc_text(each.until),
        )
        for each, row in known
        if row is not None
    ]


def unfinished(session: AnySession, caller: Caller) -> list[Unfinished]:
    """What somebody has read and not decided on, the last first."""
    require(caller.role, caller.scopes, Scope.REVIEW)
    found = queries.read_undecided(session, reviewer=caller.account, limit=MOST_UNFINISHED)
    names = called(session, [subject for row in found if (subject := _subject(row)) is not None])
    return [
        Unfinished(
            desk.work_id(WorkKind(row.kind), row.about),
            row.about,
            None if (subject := _subject(row)) is None else names.get(subject),
        )
        for row in found
    ]


def declared(session: AnySession, caller: Caller, now: datetime) -> list[InterestView]:
    """The interests for which some work is others'."""
    return interests.view(session, caller.account, now).interests


def piece(session: AnySession, caller: Caller, now: datetime, id: str) -> Piece:
    """One piece of work. Raises not_found for what is none."""
    require(caller.role, caller.scopes, Scope.REVIEW)
    kind, about = desk.parsed(id)
    row = rows.one(session, kind=kind, about=about)
    if kind in READINGS:
        known = queries.reading_held_by(session, claim=about, now=now)
    else:
        known = queries.hold(session, kind=kind, about=about)
    live = known if known is not None and known.until > now else None
    mine = live is not None and live.account == caller.account
    until = None if live is None else utc_text(live.until)
    subject = None if row is None else _subject(row)
    name = None if subject is None else called(session, [subject]).get(subject)
    return Piece(
        id=id,
        kind=kind,
        about=about,
        open=_open(session, caller, now, row, held=live is not None and not mine),
        work=None if row is None else desk.shown(session, row),
        name=name,
        mine_until=until if mine else None,
        held_until=None if mine else until,
        instead=_instead(session, caller, row, about),
    )


def _open(session: AnySession, caller: Caller, now: datetime, row: DeskWork | None, *, held: bool) -> Open:
    if row is None:
        return Open.GONE
    if held:
        return Open.HELD
    may = desk.may_do(session, caller, now, WorkKind(row.kind), row.about)
    return Open.YES if may else Open.NOT_YOURS


def _instead(session: AnySession, caller: Caller, row: DeskWork | None, about: str) -> str | None:
    if row is not None:
        return None
    others = sorted(rows.rows(session, claim=about), key=lambda each: (each.turn, each.stands_at))
    kinds = READINGS | {WorkKind.FIND_EVIDENCE}
    wanted = [each for each in others if each.kind in kinds - FOR_AUTHORS and each.author != caller.account]
    return desk.work_id(WorkKind(wanted[0].kind), wanted[0].about) if wanted else None


def take_next(work: Work, kinds: Collection[WorkKind] | None, *, but: Collection[str] = ()) -> str | None:
    """Take in hand the first piece of work that may be had, of some kinds or of any. Gives its id, or None where there is
    none. What one holds already comes first."""
    work.require(Scope.REVIEW)
    held = [
        each
        for each in in_hand(work.session, work.caller, work.now)
        if each.id not in but
        and (kinds is None or each.kind in kinds)
        and desk.may_do(work.session, work.caller, work.now, *desk.parsed(each.id))
    ]
    if held:
        return held[0].id
    page = desk.waiting(work.session, work.caller, work.now, ListDesk(limit=MOST_TRIED), kinds)
    for each in page.items:
        if each.id in but:
            continue
        try:
            return desk.hold(work, each.id).work
        except CantrailError as error:
            if error.code != "held_before":
                raise
    return None


def called(session: AnySession, wanted: Iterable[Subject]) -> dict[Subject, str]:
    """What some subjects are called: a fitment by its carrier and its vehicle."""
    fitted: dict[Subject, Fitment] = {}
    ids: defaultdict[SubjectKind, set[str]] = defaultdict(set)
    for subject in wanted:
        row = subjects.recorded(session, subject=subject) if subject.kind is SubjectKind.FITMENT else None
        if isinstance(row, Fitment):
            fitted[subject] = row
            ids[SubjectKind.VEHICLE].add(row.vehicle)
            ids[SubjectKind.CARRIER].add(row.carrier)
        else:
            ids[subject.kind].add(subject.id)
    names = {kind: subjects.called(session, kind=kind, ids=sorted(some)) for kind, some in ids.items()}
    made = {Subject(kind, id): name for kind, found in names.items() for id, name in found.items()}
    vehicles, carriers = names.get(SubjectKind.VEHICLE, {}), names.get(SubjectKind.CARRIER, {})
    joined = {
        subject: f"{carriers.get(row.carrier, row.carrier)} on {vehicles.get(row.vehicle, row.vehicle)}"
        for subject, row in fitted.items()
    }
    return made | joined


def _subject(row: DeskWork) -> Subject | None:
    if row.subject_kind is None or row.subject_id is None:
        return None
    return Subject(row.subject_kind, row.subject_id)
