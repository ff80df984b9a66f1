"""Look at what is in the registry: records, claims, their histories and confidences, in pages."""

from collections.abc import Iterable
from itertools import islice
from typing import Any

import msgspec

from app.core import entries
from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError, Kind, invalid
from app.core.gear import Category
from app.core.mass import Unit, allowed_in, carried_in
from app.core.plate import plate
from app.core.scoring import score_one
from app.core.wording import CAUTIONS
from app.persistence import ledger
from app.persistence.models import Vehicle
from app.persistence.queries import claims as claim_queries
from app.persistence.queries import documents as document_queries
from app.persistence.queries import placements
from app.persistence.queries import subjects as queries
from app.persistence.session import AnySession
from app.services.facts import facts_about, load, not_found
from app.services.finding import Found
from app.services.views.claims import (
    ClaimView,
    ConfidenceView,
    DisputeView,
    ReadingOutcome,
    claim_view,
    confidence_of,
    scored_claim,
    shown_claims,
)
from app.services.views.plates import PlateFieldView, plate_field_view
from app.services.views.records import (
    DocumentView,
    Page,
    PublisherView,
    RecordView,
    publisher_view,
    record_view,
    record_views,
    shown_documents,
    shown_publishers,
)


class EntryView(msgspec.Struct, frozen=True):
    """A ledger entry, as it is stored."""

    seq: int
    at: str
    actor: str
    type: str
    version: int
    streams: tuple[str, ...]
    payload: dict[str, Any]


def claim(session: AnySession, id: str) -> ClaimView:
    """One claim. Raises not_found."""
    return claim_view(session, id)


def reading_outcome(session: AnySession, claim_id: str, reading_id: str) -> ReadingOutcome:
    """A blind reading just keyed, with the claim beside it."""
    view = claim_view(session, claim_id)
    keyed = next(each for each in view.readings if each.id == reading_id)
    return ReadingOutcome(keyed.id, keyed.matches, keyed.differences, view)


def dispute(session: AnySession, dispute_id: str) -> DisputeView:
    """One dispute. Raises not_found."""
    return disputed(session, dispute_id)[0]


def disputed(session: AnySession, dispute_id: str) -> tuple[DisputeView, ClaimView]:
    """One dispute, and its claim. Raises not_found."""
    row = claim_queries.dispute(session, id=dispute_id)
    if row is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_dispute", f"There is no dispute {dispute_id!r}.")
    claim = claim_view(session, row.claim)
    return next(each for each in claim.disputes if each.id == dispute_id), claim


def confidence(session: AnySession, id: str) -> ConfidenceView:
    """A claim's confidence, point by point. Raises not_found."""
    scored, facts = scored_claim(session, id)
    return confidence_of(scored, facts)


def history(session: AnySession, id: str, *, after: int, limit: int) -> Page[EntryView]:
    """The entries that happened to a claim, oldest first. Raises not_found."""
    scored_claim(session, id)
    following = [
        entry for entry in ledger.entries_of(session, streams=[f"claim:{id}"], up_to=None) if entry.seq > after
    ]
    shown = [entry_view(entry) for entry in following[:limit]]
    return Page(shown, str(shown[-1].seq) if len(following) > limit else None)


def entry_view(entry: entries.Entry) -> EntryView:
    """An entry as it is sent."""
    said = entries.members(entry)
    return EntryView(entry.seq, entry.at, entry.actor, said["type"], said["version"], entry.streams, said["payload"])


def claims_on(session: AnySession, subject: Subject, *, after: int, limit: int) -> Page[ClaimView]:
    """Every claim on a subject, whatever its state, oldest first. Raises not_found."""
    facts, _ = facts_about(session, subject)
    if subject not in facts.records:
        raise not_found(subject)
    subject = facts.in_force(subject)
    rows = claim_queries.claims_of(session, subject=subject, after_seq=after, limit=limit + 1)
    shown = shown_claims(session, [score_one(facts.claims[row.id], facts) for row in rows[:limit]], facts)
    return Page(shown, str(rows[limit - 1].seq) if len(rows) > limit else None)


class PlatedRecord(RecordView, frozen=True, kw_only=True):
    """A vehicle's record with its plate: every cell of its scope in every condition, at 0.80. Masses in kg."""

    unit: str
    plate: list[PlateFieldView]
    cautions: tuple[str, ...]


def record(session: AnySession, subject: Subject) -> RecordView:
    """One subject's record; a vehicle's with its plate. Raises not_found."""
    plain = record_view(session, subject)
    if subject.kind is not SubjectKind.VEHICLE:
        return plain
    loaded = load(session, subject)
    fields = [] if loaded is None else [plate_field_view(field, Unit.KG) for field in plate(loaded.dossier)]
    said = {name: getattr(plain, name) for name in plain.__struct_fields__}
    return PlatedRecord(**said, unit=Unit.KG, plate=fields, cautions=CAUTIONS)


def found_records(
    session: AnySession,
    kind: SubjectKind,
    found: Iterable[Found],
    *,
    year: int | None,
    category: str | None,
    limit: int,
) -> Page[RecordView]:
    """The records of what was found, in the order of finding; of one model year, in one category."""
    ids = [each.id for each in found]
    rows = queries.recorded_by_id(session, kind=kind, ids=ids)
    wanted = (
        rows[id]
        for id in ids
        if id in rows and _made_in(rows[id], year) and category in {None, getattr(rows[id], "category", None)}
    )
    return Page(record_views(session, kind, list(islice(wanted, limit))), None)


def _made_in(row: queries.Recorded, year: int | None) -> bool:
    if year is None:
        return True
    if isinstance(row, Vehicle):
        return row.first_year <= year and (row.last_year is None or year <= row.last_year)
    first = getattr(row, "first_year", None)
    return first is None or first <= year


def publisher(session: AnySession, slug: str) -> PublisherView:
    """One publisher. Raises not_found."""
    return publisher_view(session, slug)


class CategoryView(msgspec.Struct, frozen=True):
    """A category of gear, and what such things usually weigh in kg: common practice, no source."""

    id: str
    name: str
    usual_low: float
    usual_high: float


class Categories(msgspec.Struct, frozen=True):
    """The categories of gear."""

    unit: str
    source: str
    items: list[CategoryView]


def categories(found: Iterable[Category]) -> Categories:
    """Categories as they are sent."""
    items = [
        CategoryView(each.id, each.name, allowed_in(Unit.KG, each.low), carried_in(Unit.KG, each.high))
        for each in found
    ]
    return Categories(Unit.KG, "common practice, no source", items)


def records(
    session: AnySession,
    kind: SubjectKind,
    *,
    cursor: str | None,
    limit: int,
    maker: str | None = None,
    year: int | None = None,
    category: str | None = None,
) -> Page[RecordView]:
    """The records of one kind by slug; of one maker; vehicles of one model year; gear in one category."""
    rows: list[Any]
    match kind:
        case SubjectKind.VEHICLE:
            rows = list(queries.vehicles(session, after=cursor, limit=limit + 1, maker=maker, year=year))
        case SubjectKind.CARRIER:
            rows = list(queries.carriers(session, after=cursor, limit=limit + 1, maker=maker))
        case SubjectKind.FIXING:
            rows = list(queries.fixings(session, after=cursor, limit=limit + 1, maker=maker))
        case SubjectKind.GEAR:
            rows = list(queries.gear(session, after=cursor, limit=limit + 1, maker=maker, category=category))
        case SubjectKind.FITMENT:
            return fitments(session, cursor=cursor, limit=limit)
    shown = record_views(session, kind, rows[:limit])
    return Page(shown, rows[limit - 1].slug if len(rows) > limit else None)


def fitments(
    session: AnySession,
    *,
    cursor: str | None,
    limit: int,
    vehicle: str | None = None,
    carrier: str | None = None,
) -> Page[RecordView]:
    """What fits what, oldest first."""
    of = {SubjectKind.VEHICLE: vehicle, SubjectKind.CARRIER: carrier}
    wanted = {
        str(kind): None if id is None else placements.answered_as(session, subject=Subject(kind, id)).id
        for kind, id in of.items()
    }
    rows = queries.fitments(session, after_seq=number(cursor), limit=limit + 1, **wanted)
    shown = record_views(session, SubjectKind.FITMENT, rows[:limit])
    return Page(shown, str(rows[limit - 1].seq) if len(rows) > limit else None)


def publishers(session: AnySession, *, cursor: str | None, limit: int) -> Page[PublisherView]:
    """Publishers by slug."""
    rows = queries.publishers(session, after=cursor, limit=limit + 1)
    shown = shown_publishers(session, rows[:limit])
    return Page(shown, rows[limit - 1].slug if len(rows) > limit else None)


def documents(
    session: AnySession, *, cursor: str | None, limit: int, publisher: str | None = None
) -> Page[DocumentView]:
    """Documents, oldest first; of one publisher."""
    rows = document_queries.documents(session, after_seq=number(cursor), limit=limit + 1, publisher=publisher)
    shown = shown_documents(session, rows[:limit])
    return Page(shown, str(rows[limit - 1].seq) if len(rows) > limit else None)


def number(cursor: str | None) -> int:
    """A cursor that is an entry's number. Raises bad input for anything else."""
    if cursor is None:
        return 0
    if not cursor.isascii() or not cursor.isdigit() or len(cursor) > 15:
        raise invalid("/cursor", "bad_cursor", "Use the cursor that the page before gave in `next`, as it is.")
    return int(cursor)
