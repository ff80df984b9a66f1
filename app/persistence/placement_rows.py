"""The rows of corrections and placements, and the rows that these change: records, and where claims and fitments are."""

from collections.abc import Collection, Iterable
from typing import Any, Final

import msgspec
from sqlalchemy import delete, select, update

from app.core import entries
from app.core.claim import Subject, SubjectKind
from app.core.desk import WorkKind
from app.core.entries import Entry, named
from app.core.placement import PlacementKind, PlacementState
from app.core.record import CONFIRMATIONS
from app.core.review import ClaimFacts
from app.persistence import desk_rows, ledger
from app.persistence.base import adding_to, table_of
from app.persistence.models import (
    Carrier,
    Claim,
    Correction,
    DeskWork,
    Fitment,
    Fixing,
    Gear,
    Placement,
    Row,
    StandingConfirmation,
    Vehicle,
)
from app.persistence.queries import placements as queries
from app.persistence.session import WriteSession

Placing = (
    entries.RecordCorrected
    | entries.MergerProposed
    | entries.SplitProposed
    | entries.UndoingProposed
    | entries.PlacementDropped
    | entries.SubjectsMerged
    | entries.ClaimsPlaced
    | entries.PlacementUndone
)
"""What is said of which subjects are one, and of what their records say."""

RECORDS: Final[dict[SubjectKind, tuple[type[Row], str]]] = {
    SubjectKind.VEHICLE: (Vehicle, "slug"),
    SubjectKind.CARRIER: (Carrier, "slug"),
    SubjectKind.FIXING: (Fixing, "slug"),
    SubjectKind.GEAR: (Gear, "slug"),
    SubjectKind.FITMENT: (Fitment, "id"),
}
"""The table of each kind of record, and the column of its ids."""

_JOINS: Final = {SubjectKind.VEHICLE: "vehicle", SubjectKind.CARRIER: "carrier", SubjectKind.FIXING: "fixing"}


def write(session: WriteSession, entry: Entry, payload: Placing) -> None:
    """Bring the tables up to one entry, the last of the ledger or the next of a rebuild."""
    match payload:
        case entries.RecordCorrected():
            _correct(session, entry, payload)
        case entries.MergerProposed(subject=subject, into=other):
            _propose(session, entry, PlacementKind.MERGER, subject, other, payload.reason_sha256)
        case entries.SplitProposed(subject=subject, onto=other):
            moved = {"claims": payload.claims, "fitments": payload.fitments}
            _propose(session, entry, PlacementKind.SPLIT, subject, other, payload.reason_sha256, **moved)
        case entries.UndoingProposed():
            _propose_undoing(session, entry, payload)
        case entries.PlacementDropped():
            state = PlacementState.REFUSED if payload.refused else PlacementState.WITHDRAWN
            _decide(session, entry, payload.placement, state, payload.reason_sha256)
        case entries.SubjectsMerged():
            _decide(session, entry, payload.placement, PlacementState.IN_FORCE)
            _merge(session, entry, payload)
        case entries.ClaimsPlaced():
            _decide(session, entry, payload.placement, PlacementState.IN_FORCE)
            _move_claims(session, payload.onto.id, table_of(Claim).c.id.in_(payload.claims), payload.claims)
            column = _JOINS.get(payload.onto.kind)
            if column is not None:
                _move_fitments(session, column, payload.onto.id, table_of(Fitment).c.id.in_(payload.fitments))
        case entries.PlacementUndone():
            _decide(session, entry, payload.placement, PlacementState.IN_FORCE)
            _undo(session, entry, payload)


def stand_behind(session: WriteSession, subject: Subject, reviewers: Iterable[str]) -> None:
    """These reviewers, and no others, have checked what a record says now."""
    table = table_of(StandingConfirmation)
    connection = session.connection()
    connection.execute(delete(table).where(table.c.subject_kind == subject.kind, table.c.subject_id == subject.id))
    rows = [{"subject_kind": subject.kind, "subject_id": subject.id, "reviewer": each} for each in reviewers]
    if rows:
        connection.execute(adding_to(StandingConfirmation), rows)
    _set_record(session, subject, {"confirmed": len(rows) >= CONFIRMATIONS})


def standing_behind(session: WriteSession, subject: Subject) -> list[str]:
    """Who has checked what a record says now."""
    table = table_of(StandingConfirmation)
    wanted = select(table.c.reviewer).where(table.c.subject_kind == subject.kind, table.c.subject_id == subject.id)
    return list(session.connection().execute(wanted).scalars())


def at_home(session: WriteSession, claim: ClaimFacts) -> ClaimFacts:
    """A claim on the subject that it is on now; what its own stream says is on which it was entered."""
    if not queries.ever_placed(session, subject=claim.subject):
        return claim
    placed = queries.in_force(session, kinds=[claim.subject.kind])
    return msgspec.structs.replace(claim, subject=placed.home(claim.id, claim.subject))


# Records


def _set_record(session: WriteSession, subject: Subject, said: dict[str, Any]) -> None:
    row, key = RECORDS[subject.kind]
    table = table_of(row)
    session.connection().execute(update(table).where(table.c[key] == subject.id).values(said))


def _correct(session: WriteSession, entry: Entry, payload: entries.RecordCorrected) -> None:
    subject, said = payload.subject, payload.record
    session.connection().execute(
        adding_to(Correction),
        {
            "seq": entry.seq,
            "subject_kind": subject.kind,
            "subject_id": subject.id,
            "reason_sha256": payload.reason_sha256,
            "by": entry.actor,
            "at": entry.at,
        },
    )
    columns = {name: getattr(said, name) for name in said.__struct_fields__ if name != "years"}
    if isinstance(said, entries.VehicleSaid):
        columns |= {"first_year": said.years.first, "last_year": said.years.last}
    _set_record(session, subject, columns)
    stand_behind(session, subject, ())
    desk_rows.keep_record(session, subject, since=entry.at, author=entry.actor)


# Placements


def _propose(
    session: WriteSession,
    entry: Entry,
    kind: PlacementKind,
    subject: Subject,
    other: Subject,
    reason_sha256: str,
    **more: Any,
) -> None:
    row = {
        "id": named(entries.PLACEMENT, entry.seq),
        "seq": entry.seq,
        "kind": kind,
        "subject_kind": subject.kind,
        "subject_id": subject.id,
        "other_id": other.id,
        "claims": (),
        "fitments": (),
        "reason_sha256": reason_sha256,
        "by": entry.actor,
        "at": entry.at,
        "state": PlacementState.PROPOSED,
        **more,
    }
    session.connection().execute(adding_to(Placement), row)


def _propose_undoing(session: WriteSession, entry: Entry, payload: entries.UndoingProposed) -> None:
    table = table_of(Placement)
    undone = session.connection().execute(select(table).where(table.c.id == payload.undoes)).one()
    subject, other = Subject(undone.subject_kind, undone.subject_id), Subject(undone.subject_kind, undone.other_id)
    _propose(session, entry, PlacementKind.UNDOING, subject, other, payload.reason_sha256, undoes=payload.undoes)


def _decide(
    session: WriteSession, entry: Entry, id: str, state: PlacementState, reason_sha256: str | None = None
) -> None:
    table = table_of(Placement)
    decided = {
        "state": state,
        "decided": entry.seq,
        "decided_by": entry.actor,
        "decided_at": entry.at,
        "decided_reason_sha256": reason_sha256,
    }
    session.connection().execute(update(table).where(table.c.id == id).values(decided))


def _merge(session: WriteSession, entry: Entry, payload: entries.SubjectsMerged) -> None:
    one, into = payload.subject, payload.into
    claims = table_of(Claim)
    on_it = (claims.c.subject_kind == one.kind) & (claims.c.subject_id == one.id)
    found = list(session.connection().execute(select(claims.c.id).where(on_it)).scalars())
    _move_claims(session, into.id, on_it, found)
    column = _JOINS.get(one.kind)
    if column is not None:
        _move_fitments(session, column, into.id, table_of(Fitment).c[column] == one.id)
    stand_behind(session, into, payload.confirmed_by)
    work = table_of(DeskWork)
    of_it = (work.c.kind == WorkKind.RECORD) & (work.c.about == f"{one.kind}.{one.id}")
    session.connection().execute(delete(work).where(of_it))
    desk_rows.keep_record(session, into, since=entry.at, author=None)


def _move_claims(session: WriteSession, onto: str, which: Any, ids: Collection[str]) -> None:
    connection = session.connection()
    connection.execute(update(table_of(Claim)).where(which).values(subject_id=onto))
    work = table_of(DeskWork)
    connection.execute(update(work).where(work.c.claim.in_(ids)).values(subject_id=onto))


def _move_fitments(session: WriteSession, column: str, onto: str, which: Any) -> None:
    session.connection().execute(update(table_of(Fitment)).where(which).values({column: onto}))


def _undo(session: WriteSession, entry: Entry, payload: entries.PlacementUndone) -> None:
    """Put back what a placement moved, wherever it went from there."""
    kind = payload.subject.kind
    before = queries.in_force(session)
    places = {each for one in (payload.subject, payload.other) for each in (one.id, before.in_force(one).id)}
    table = table_of(Placement)
    undone = table.c.id == payload.undoes
    was = session.connection().execute(select(table.c.kind).where(undone)).scalar_one()
    session.connection().execute(update(table).where(undone).values(state=PlacementState.UNDONE))
    placed = queries.in_force(session)
    claims = table_of(Claim)
    on_them = (claims.c.subject_kind == kind) & claims.c.subject_id.in_(places)
    for id in list(session.connection().execute(select(claims.c.id).where(on_them)).scalars()):
        home = placed.home(id, _entered_on(session, id))
        _move_claims(session, home.id, claims.c.id == id, [id])
    column = _JOINS.get(kind)
    if column is not None:
        fitments = table_of(Fitment)
        those = select(fitments.c.id).where(fitments.c[column].in_(places))
        for id in list(session.connection().execute(those).scalars()):
            fitted = placed.fitted(id, _as_entered(session, id))
            _move_fitments(session, column, getattr(fitted, column), fitments.c.id == id)
    if was == PlacementKind.MERGER:
        stand_behind(session, payload.other, ())
        # What was merged into something else meanwhile waits for nobody: its own undoing puts it back.
        for each in (payload.subject, payload.other):
            if placed.in_force(each) == each:
                desk_rows.keep_record(session, each, since=entry.at, author=None)


def _entered_on(session: WriteSession, claim: str) -> Subject:
    first = ledger.entries_of(session, streams=[f"claim:{claim}"], up_to=int(claim[1:]))[0].payload
    if not isinstance(first, entries.ClaimSubmitted):
        raise ValueError(f"the stream of {claim} does not begin with it")
    return first.subject


def _as_entered(session: WriteSession, fitment: str) -> entries.FitmentAdded:
    """What a fitment says by itself, whatever was merged or split since."""
    said: entries.FitmentAdded | None = None
    for entry in ledger.entries_of(session, streams=[f"{SubjectKind.FITMENT}:{fitment}"], up_to=None):
        match entry.payload:
            case entries.FitmentAdded() as said:
                pass
            case entries.RecordCorrected(record=entries.FitmentSaid() as record) if said is not None:
                said = msgspec.structs.replace(said, fixing=record.fixing, roofs=record.roofs)
            case _:
                pass
    if said is None:
        raise ValueError(f"the stream of {fitment} does not begin with it")
    return said
