"""Publishers and subjects: by slug, in lists, by what fits what, and the names to search in."""

from collections.abc import Collection, Sequence
from typing import Any, Final, NamedTuple, TypeVar

import msgspec
from sqlalchemy import BindParameter, bindparam
from sqlalchemy import select as pick
from sqlmodel import col, func, select
from sqlmodel.sql.expression import SelectOfScalar

from app.core.claim import Subject, SubjectKind
from app.persistence.base import table_of
from app.persistence.models import (
    Carrier,
    Fitment,
    Fixing,
    Gear,
    Publisher,
    StandingConfirmation,
    SubjectConfirmation,
    Vehicle,
)
from app.persistence.queries.placements import merged_away
from app.persistence.session import AnySession

Recorded = Vehicle | Carrier | Fixing | Gear | Fitment
Slugged = TypeVar("Slugged", Publisher, Vehicle, Carrier, Fixing, Gear)
Made = TypeVar("Made", Vehicle, Carrier, Fixing, Gear)

MADE: dict[SubjectKind, type[Vehicle] | type[Carrier] | type[Fixing] | type[Gear]] = {
    SubjectKind.VEHICLE: Vehicle,
    SubjectKind.CARRIER: Carrier,
    SubjectKind.FIXING: Fixing,
    SubjectKind.GEAR: Gear,
}
"""The kinds of subject that a maker makes, and their tables."""


_PUBLISHER: Final = table_of(Publisher).c
_STANDING: Final = table_of(StandingConfirmation).c
_IDS: Final[BindParameter[Any]] = bindparam("ids", expanding=True)
_RECORDED: Final[dict[SubjectKind, Any]] = {
    kind: select(table).where(col(table.slug).in_(_IDS)) for kind, table in MADE.items()
}
_PUBLISHERS: Final = select(Publisher).where(col(Publisher.slug).in_(_IDS))
_CALLED: Final = {
    kind: pick(table.slug, func.coalesce(_PUBLISHER.name, _PUBLISHER.slug), table.model, table.series)
    .join(table_of(Publisher), table.maker == _PUBLISHER.slug)
    .where(table.slug.in_(_IDS))
    for kind, table in ((kind, table_of(made).c) for kind, made in MADE.items())
}
_CONFIRMED: Final = (
    pick(_STANDING.subject_id, func.count())
    .where(_STANDING.subject_kind == bindparam("of"), _STANDING.subject_id.in_(_IDS))
    .group_by(_STANDING.subject_id)
)
"""Made once: nearly every page asks these, and building them takes longer than running them."""


class NameRow(msgspec.Struct, frozen=True, gc=False):
    """What a subject is found by. A maker without a name of its own here is known by its slug. All names are in memory: a
    collector of cycles that went through them would hold every answer up for tenths of a second."""

    slug: str
    maker: str
    maker_name: str
    model: str
    series: str | None
    first_year: int | None
    seq: int


class MadeRow(NamedTuple):
    """What one of a maker's things is called, and when it was made: `last_year` is a vehicle's."""

    slug: str
    model: str
    series: str | None
    first_year: int | None
    last_year: int | None


def publisher(session: AnySession, *, slug: str) -> Publisher | None:
    """One publisher."""
    return session.get(Publisher, slug)


def publishers_by_slug(session: AnySession, *, slugs: Collection[str]) -> list[Publisher]:
    """Some publishers; those that are not there are left out."""
    return list(session.exec(_PUBLISHERS, params={"ids": list(slugs)})) if slugs else []


def vehicle(session: AnySession, *, slug: str) -> Vehicle | None:
    """One vehicle."""
    return session.get(Vehicle, slug)


def carrier(session: AnySession, *, slug: str) -> Carrier | None:
    """One carrier."""
    return session.get(Carrier, slug)


def fixing(session: AnySession, *, slug: str) -> Fixing | None:
    """One fixing."""
    return session.get(Fixing, slug)


def gear_item(session: AnySession, *, slug: str) -> Gear | None:
    """One gear item."""
    return session.get(Gear, slug)


def fitment(session: AnySession, *, id: str) -> Fitment | None:
    """One fitment."""
    return session.get(Fitment, id)


def recorded(session: AnySession, *, subject: Subject) -> Recorded | None:
    """One subject's record, of whatever kind."""
    if subject.kind is SubjectKind.FITMENT:
        return session.get(Fitment, subject.id)
    found: Vehicle | Carrier | Fixing | Gear | None = session.get(MADE[subject.kind], subject.id)  # type: ignore[assignment]
    return found


def recorded_by_id(session: AnySession, *, kind: SubjectKind, ids: Collection[str]) -> dict[str, Recorded]:
    """Some subjects' records of one kind that somebody makes, by slug; those that are not there are left out."""
    found = session.exec(_RECORDED[kind], params={"ids": list(ids)})
    return {row.slug: row for row in found}


def exists(session: AnySession, *, subject: Subject) -> bool:
    """Whether there is such a subject."""
    return recorded(session, subject=subject) is not None


def confirmation_counts(session: AnySession, *, kind: SubjectKind, ids: Sequence[str]) -> dict[str, int]:
    """How many reviewers have checked what each of some records of one kind says now; those that nobody has are left
    out."""
    found = session.connection().execute(_CONFIRMED, {"of": kind, "ids": list(ids)})
    return dict(found.all())


def publishers(session: AnySession, *, after: str | None, limit: int) -> list[Publisher]:
    """Publishers by slug, those that follow one."""
    return _page(session, Publisher, select(Publisher), after, limit)


def publishers_like(session: AnySession, *, words: str, limit: int) -> list[Publisher]:
    """Publishers by slug that have some words in their name, or for their slug."""
    named = func.lower(Publisher.name).contains(words.lower(), autoescape=True)
    found = select(Publisher).where(named | (col(Publisher.slug) == words.lower()))
    return list(session.exec(found.order_by((col(Publisher.slug) != words.lower()), col(Publisher.slug)).limit(limit)))


def vehicles(
    session: AnySession, *, after: str | None, limit: int, maker: str | None = None, year: int | None = None
) -> list[Vehicle]:
    """Vehicles by slug, those that follow one; of one maker, made in one model year."""
    wanted = _made_by(Vehicle, maker)
    if year is not None:
        still_made = col(Vehicle.last_year).is_(None) | (col(Vehicle.last_year) >= year)
        wanted = wanted.where(Vehicle.first_year <= year, still_made)
    return _page(session, Vehicle, wanted, after, limit)


def carriers(session: AnySession, *, after: str | None, limit: int, maker: str | None = None) -> list[Carrier]:
    """Carriers by slug, those that follow one; of one maker."""
    return _page(session, Carrier, _made_by(Carrier, maker), after, limit)


def fixings(session: AnySession, *, after: str | None, limit: int, maker: str | None = None) -> list[Fixing]:
    """Fixings by slug, those that follow one; of one maker."""
    return _page(session, Fixing, _made_by(Fixing, maker), after, limit)


def gear(
    session: AnySession, *, after: str | None, limit: int, maker: str | None = None, category: str | None = None
) -> list[Gear]:
    """Gear by slug, what follows one item; of one maker, in one category."""
    wanted = _made_by(Gear, maker)
    if category is not None:
        wanted = wanted.where(Gear.category == category)
    return _page(session, Gear, wanted, after, limit)


def fitments(
    session: AnySession,
    *,
    after_seq: int,
    limit: int,
    vehicle: str | None = None,
    carrier: str | None = None,
    fixing: str | None = None,
) -> list[Fitment]:
    """Fitments, oldest first, those that follow an entry; on one vehicle, of one carrier, with one fixing."""
    wanted = select(Fitment).where(Fitment.seq > after_seq)
    if vehicle is not None:
        wanted = wanted.where(Fitment.vehicle == vehicle)
    if carrier is not None:
        wanted = wanted.where(Fitment.carrier == carrier)
    if fixing is not None:
        wanted = wanted.where(Fitment.fixing == fixing)
    return list(session.exec(wanted.order_by(col(Fitment.seq)).limit(limit)))


def confirmations(session: AnySession, *, subject: Subject) -> list[SubjectConfirmation]:
    """Who has checked a subject's record, oldest first."""
    checks = select(SubjectConfirmation).where(
        SubjectConfirmation.subject_kind == subject.kind, SubjectConfirmation.subject_id == subject.id
    )
    return list(session.exec(checks.order_by(col(SubjectConfirmation.seq))))


def names(
    session: AnySession, *, kind: SubjectKind, after_seq: int = 0, ids: Collection[str] | None = None
) -> list[NameRow]:
    """What the subjects of one kind are found by, oldest first, those that follow an entry; or some of them."""
    table = MADE[kind]
    rows = session.exec(
        select(  # type: ignore[call-overload]
            table.slug,
            table.maker,
            func.coalesce(Publisher.name, Publisher.slug),
            table.model,
            table.series,
            table.first_year,
            table.seq,
        )
        .join(Publisher, col(table.maker) == Publisher.slug)
        .where(table.seq > after_seq if ids is None else col(table.slug).in_(ids))
        .order_by(col(table.seq))
    )
    return [NameRow(*row) for row in rows]


def called(session: AnySession, *, kind: SubjectKind, ids: Collection[str]) -> dict[str, str]:
    """What some subjects of one kind are called: maker, model and series, by id. Fitments have no name."""
    if kind not in MADE or not ids:
        return {}
    rows = session.connection().execute(_CALLED[kind], {"ids": list(ids)})
    return {slug: " ".join(filter(None, parts)) for slug, *parts in rows}


def named_by_maker(session: AnySession, *, kind: SubjectKind, maker: str) -> list[MadeRow]:
    """What one maker's things of one kind are called."""
    table = MADE[kind]
    wanted: SelectOfScalar[Any] = select(table).where(table.maker == maker).order_by(col(table.slug))
    return [
        MadeRow(row.slug, row.model, row.series, row.first_year, getattr(row, "last_year", None))
        for row in session.exec(wanted)
    ]


def publisher_names(session: AnySession) -> list[Publisher]:
    """Every publisher that has a name here, by slug."""
    return list(session.exec(select(Publisher).where(col(Publisher.name).is_not(None)).order_by(col(Publisher.slug))))


def _made_by(table: type[Made], maker: str | None) -> SelectOfScalar[Made]:
    """What is listed: a subject that was merged into another is found under that one."""
    kind = next(kind for kind, made in MADE.items() if made is table)
    wanted = select(table).where(col(table.slug).not_in(merged_away(kind)))
    return wanted if maker is None else wanted.where(table.maker == maker)


def _page(
    session: AnySession, table: type[Slugged], wanted: SelectOfScalar[Slugged], after: str | None, limit: int
) -> list[Slugged]:
    if after is not None:
        wanted = wanted.where(table.slug > after)
    return list(session.exec(wanted.order_by(col(table.slug)).limit(limit)))
