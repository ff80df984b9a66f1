"""Placements: by id, in lists, what is in force, and which subjects were ever one; and corrections."""

from collections.abc import Collection
from typing import Final

from sqlalchemy import bindparam
from sqlalchemy import select as pick
from sqlmodel import col, or_, select
from sqlmodel.sql.expression import SelectOfScalar

from app.core.claim import Subject, SubjectKind
from app.core.placement import Placed, PlacementKind, Placements, PlacementState
from app.persistence.base import table_of
from app.persistence.models import Claim, Correction, Placement
from app.persistence.session import AnySession

EVER = (PlacementState.IN_FORCE, PlacementState.UNDONE)

_PLACED: Final = table_of(Placement).c
_MERGED: Final = pick(_PLACED.subject_id, _PLACED.other_id).where(
    _PLACED.subject_kind == bindparam("of"),
    _PLACED.kind == PlacementKind.MERGER,
    _PLACED.state == PlacementState.IN_FORCE,
    _PLACED.subject_id.in_(bindparam("ids", expanding=True)),
)
_EVER_PLACED: Final = (
    pick(_PLACED.id)
    .where(_PLACED.subject_kind == bindparam("of"), _PLACED.subject_id == bindparam("id"), _PLACED.state.in_(EVER))
    .limit(1)
)
"""Made once: every answer and every entry asks these, and building them takes longer than running them."""


def placement(session: AnySession, *, id: str) -> Placement | None:
    """One placement."""
    return session.get(Placement, id)


def placements(
    session: AnySession,
    *,
    after_seq: int,
    limit: int,
    newest_first: bool = False,
    state: PlacementState | None = None,
    subject: Subject | None = None,
) -> list[Placement]:
    """Placements, oldest first, those that follow an entry, or newest first, those that come before one (0: all); in one
    state, or of one subject."""
    wanted = select(Placement)
    if after_seq:
        wanted = wanted.where(Placement.seq < after_seq if newest_first else Placement.seq > after_seq)
    if state is not None:
        wanted = wanted.where(Placement.state == state)
    if subject is not None:
        either = or_(col(Placement.subject_id) == subject.id, col(Placement.other_id) == subject.id)
        wanted = wanted.where(Placement.subject_kind == subject.kind, either)
    order = col(Placement.seq).desc() if newest_first else col(Placement.seq)
    return list(session.exec(wanted.order_by(order).limit(limit)))


def proposed(session: AnySession, *, subject: Subject, other: Subject, kind: PlacementKind) -> Placement | None:
    """What is proposed already of two subjects, whichever comes first."""
    pair = [subject.id, other.id]
    wanted = select(Placement).where(
        Placement.state == PlacementState.PROPOSED,
        Placement.kind == kind,
        Placement.subject_kind == subject.kind,
        col(Placement.subject_id).in_(pair),
        col(Placement.other_id).in_(pair),
    )
    return session.exec(wanted.order_by(col(Placement.seq))).first()


def in_force(session: AnySession, *, kinds: Collection[SubjectKind] = tuple(SubjectKind)) -> Placements:
    """The placements of some kinds of subject that are in force, in the order in which they came into force."""
    rows = session.exec(
        select(Placement)
        .where(
            Placement.state == PlacementState.IN_FORCE,
            Placement.kind != PlacementKind.UNDOING,
            col(Placement.subject_kind).in_(kinds),
        )
        .order_by(col(Placement.decided))
    )
    return Placements(
        Placed(
            row.id,
            Subject(row.subject_kind, row.subject_id),
            Subject(row.subject_kind, row.other_id),
            None if row.kind is PlacementKind.MERGER else (*row.claims, *row.fitments),
        )
        for row in rows
    )


def ever_placed(session: AnySession, *, subject: Subject) -> bool:
    """Whether claims that were entered on a subject may be on another one."""
    asked = {"of": subject.kind, "id": subject.id}
    return session.connection().execute(_EVER_PLACED, asked).first() is not None


def merged_into(session: AnySession, *, kind: SubjectKind, ids: Collection[str]) -> dict[str, str]:
    """The subjects as which some of one kind are answered; those that were not merged are left out."""
    found: dict[str, str] = {}
    wanted = set(ids)
    steps: dict[str, str] = {}
    connection = session.connection()
    while wanted:
        step = dict(connection.execute(_MERGED, {"of": kind, "ids": list(wanted)}).all())
        steps |= step
        wanted = set(step.values()) - steps.keys()
    for id in ids:
        last = id
        while last in steps:
            last = steps[last]
        if last != id:
            found[id] = last
    return found


def merged_away(kind: SubjectKind) -> SelectOfScalar[str]:
    """The subjects of one kind that are answered as others, for leaving them out of a list."""
    return select(Placement.subject_id).where(
        Placement.subject_kind == kind,
        Placement.kind == PlacementKind.MERGER,
        Placement.state == PlacementState.IN_FORCE,
    )


def answered_as(session: AnySession, *, subject: Subject) -> Subject:
    """The subject as which a subject is answered today: itself, unless it was merged."""
    into = merged_into(session, kind=subject.kind, ids=[subject.id])
    return Subject(subject.kind, into.get(subject.id, subject.id))


def joined_with(session: AnySession, *, subject: Subject) -> list[Subject]:
    """The subjects that were ever merged with one or split from it, by way of others too, and the one itself."""
    found = {subject.id}
    wanted = {subject.id}
    while wanted:
        rows = session.exec(
            select(Placement.subject_id, Placement.other_id).where(
                Placement.subject_kind == subject.kind,
                col(Placement.state).in_(EVER),
                or_(col(Placement.subject_id).in_(wanted), col(Placement.other_id).in_(wanted)),
            )
        )
        wanted = {id for pair in rows for id in pair} - found
        found |= wanted
    return [Subject(subject.kind, id) for id in sorted(found)]


def answered_alike(session: AnySession, *, subject: Subject) -> list[str]:
    """The subjects that are answered as the same one as a subject is, that one among them."""
    one = answered_as(session, subject=subject)
    ids = [each.id for each in joined_with(session, subject=subject)]
    into = merged_into(session, kind=subject.kind, ids=ids)
    return [id for id in ids if into.get(id, id) == one.id]


def parted(session: AnySession, *, subject: Subject) -> list[Claim]:
    """The superseded claims on a subject whose successors are on another one, oldest first."""
    with_others = select(Claim.id).where(
        or_(col(Claim.subject_kind) != subject.kind, col(Claim.subject_id) != subject.id)
    )
    wanted = select(Claim).where(
        Claim.subject_kind == subject.kind,
        Claim.subject_id == subject.id,
        col(Claim.superseded_by).in_(with_others),
    )
    return list(session.exec(wanted.order_by(col(Claim.seq))))


def corrected_since(session: AnySession, *, kind: SubjectKind, after: int) -> list[str]:
    """The subjects of one kind whose records were corrected after an entry."""
    wanted = select(Correction.subject_id).where(Correction.subject_kind == kind, Correction.seq > after)
    return list(session.exec(wanted.distinct()))


def that_moved(session: AnySession, *, claim: str, subject: Subject, after: int) -> list[Placement]:
    """The placements since an entry that ever put a claim, entered on a subject, on another one, and their undoing; in
    the order in which they came into force."""
    ids = [each.id for each in joined_with(session, subject=subject)]
    rows = session.exec(
        select(Placement)
        .where(
            Placement.subject_kind == subject.kind,
            col(Placement.state).in_(EVER),
            col(Placement.decided) > after,
            col(Placement.subject_id).in_(ids),
        )
        .order_by(col(Placement.decided))
    )
    found: dict[str, Placement] = {}
    been = {subject.id}
    for row in rows:
        merged = row.kind is PlacementKind.MERGER and row.subject_id in been
        if merged or claim in row.claims or row.undoes in found:
            found[row.id] = row
            been.add(row.other_id)
    return list(found.values())
