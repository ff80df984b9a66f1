"""All that is shown about one subject beside its answers, from one reading of the ledger: its record and name, the whole
plate, its claims with the papers that they rest on, and what nobody has claimed yet."""

from collections.abc import Collection, Iterable, Sequence

import msgspec

from app.core.claim import LIMITS, QUANTITIES, Condition, Quantity, SourceType, Statement, Subject, SubjectKind
from app.core.lifecycle import BINDING, State
from app.core.mass import Unit
from app.core.plate import plate
from app.core.scoring import Dossier, ScoredClaim
from app.persistence.models import Fitment
from app.persistence.queries import claims as claim_queries
from app.persistence.queries import documents as document_queries
from app.persistence.queries import subjects as queries
from app.persistence.session import AnySession
from app.services.calling import called
from app.services.facts import not_found
from app.services.views.plates import PlateFieldView, plate_field_view
from app.services.views.records import Page, RecordView, publisher_names, publisher_view, record_view, texts_of

_LIVE = frozenset({*BINDING, State.SUBMITTED, State.NEEDS_EVIDENCE})


class PaperView(msgspec.Struct, frozen=True):
    """A document as a claim names it: what it is, and whose."""

    id: str
    kind: str
    title: str | None
    edition: str | None
    publisher: str
    publisher_name: str | None


class CitedView(msgspec.Struct, frozen=True):
    """The place in a document on which a claim rests, with the words quoted."""

    document: str
    page: str | None
    locator: str | None
    quote: str | None


class LineView(msgspec.Struct, frozen=True, kw_only=True):
    """A claim as a list shows it: what it states, where it stands, how certain it is, and on how many independent roots
    and which places it rests."""

    id: str
    subject: Subject
    said: Statement
    source_type: SourceType
    state: State
    approvals: int
    confidence: float
    sets: bool
    roots: int
    citations: list[CitedView]


class Gap(msgspec.Struct, frozen=True):
    """A figure for which no claim stands or waits."""

    quantity: Quantity
    condition: Condition | None


class Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """One subject. `named` are the claims that were asked for by id, `papers` the documents that all the claims here
    cite."""

    name: str
    maker_name: str | None
    record: RecordView
    plate: list[PlateFieldView]
    named: dict[str, LineView]
    claims: Page[LineView]
    papers: dict[str, PaperView]
    gaps: list[Gap]


def sheet(
    session: AnySession, dossier: Dossier, *, unit: Unit, named: Collection[str] = (), after: int = 0, limit: int = 20
) -> Sheet:
    """The subject that was asked for and has this dossier, with some of its claims by id, and a page of all its claims,
    oldest first. Raises not_found."""
    subject = dossier.asked_as
    record = record_view(session, subject)
    rows = claim_queries.claims_of(session, subject=dossier.subject, after_seq=after, limit=limit + 1)
    wanted = [row.id for row in rows[:limit]]
    shown = _lines(session, [dossier.scored[id] for id in dict.fromkeys([*named, *wanted]) if id in dossier.scored])
    maker = record.maker if isinstance(record.maker, str) else None
    return Sheet(
        name=called(session, [subject])[subject],
        maker_name=None if maker is None else publisher_view(session, maker).name,
        record=record,
        plate=_plate(dossier, unit),
        named={id: shown[id] for id in named if id in shown},
        claims=Page(
            [shown[id] for id in wanted if id in shown], str(rows[limit - 1].seq) if len(rows) > limit else None
        ),
        papers=_papers(session, shown.values()),
        gaps=list(_gaps(subject.kind, dossier.scored.values())),
    )


def _plate(dossier: Dossier, unit: Unit) -> list[PlateFieldView]:
    if dossier.subject.kind is not SubjectKind.VEHICLE:
        return []
    return [plate_field_view(field, unit) for field in plate(dossier)]


def _lines(session: AnySession, scored: Sequence[ScoredClaim]) -> dict[str, LineView]:
    """Claims for a list: the words that they quote are read all at once."""
    hashes = {cited.quote_sha256 for each in scored for cited in each.claim.citations}
    quotes = texts_of(session, hashes)
    return {
        each.claim.id: LineView(
            id=each.claim.id,
            subject=each.claim.subject,
            said=each.claim.statement,
            source_type=each.claim.source_type,
            state=each.claim.state,
            approvals=len(each.claim.approvals),
            confidence=each.explanation.confidence,
            sets=each.sets,
            roots=len(each.candidate.roots),
            citations=[
                CitedView(
                    cited.document,
                    cited.page,
                    cited.locator,
                    quotes.get(cited.quote_sha256),
                )
                for cited in each.claim.citations
            ],
        )
        for each in scored
    }


def _papers(session: AnySession, lines: Iterable[LineView]) -> dict[str, PaperView]:
    ids = dict.fromkeys(cited.document for line in lines for cited in line.citations)
    found = document_queries.documents_by_id(session, ids=list(ids))
    rows = [found[id] for id in ids if id in found]
    titles = texts_of(session, (row.title_sha256 for row in rows))
    names = publisher_names(session, {row.publisher for row in rows})
    return {
        row.id: PaperView(
            row.id,
            row.kind,
            titles.get(row.title_sha256),
            row.edition,
            row.publisher,
            names[row.publisher],
        )
        for row in rows
    }


def _gaps(kind: SubjectKind, scored: Iterable[ScoredClaim]) -> Iterable[Gap]:
    standing = {
        (each.claim.statement.quantity, each.claim.statement.condition) for each in scored if each.claim.state in _LIVE
    }
    for quantity in QUANTITIES[kind]:
        for condition in Condition if quantity in LIMITS else (None,):
            if (quantity, condition) not in standing:
                yield Gap(quantity, condition)


class FitView(msgspec.Struct, frozen=True, kw_only=True):
    """What fits what, by name: a fitment, the vehicle and the carrier, the fixing if it is said, and the roofs."""

    id: str
    vehicle: str
    vehicle_name: str
    carrier: str
    carrier_name: str
    fixing: str | None
    fixing_name: str | None
    roofs: tuple[str, ...] | None
    confirmed: bool


def fits(
    session: AnySession,
    *,
    after: int,
    limit: int,
    vehicle: str | None = None,
    carrier: str | None = None,
    fixing: str | None = None,
) -> Page[FitView]:
    """What fits a vehicle, or what a carrier or fixing fits, oldest first."""
    rows = queries.fitments(session, after_seq=after, limit=limit + 1, vehicle=vehicle, carrier=carrier, fixing=fixing)
    shown = rows[:limit]
    return Page(_fits(session, shown), str(shown[-1].seq) if len(rows) > limit else None)


def fit(session: AnySession, id: str) -> FitView:
    """One fitment, by name. Raises not_found."""
    row = queries.fitment(session, id=id)
    if row is None:
        raise not_found(Subject(SubjectKind.FITMENT, id))
    return _fits(session, [row])[0]


def _fits(session: AnySession, rows: Sequence[Fitment]) -> list[FitView]:
    joined = [
        [Subject(SubjectKind.VEHICLE, row.vehicle), Subject(SubjectKind.CARRIER, row.carrier)]
        + ([] if row.fixing is None else [Subject(SubjectKind.FIXING, row.fixing)])
        for row in rows
    ]
    names = called(session, [subject for subjects in joined for subject in subjects])
    return [
        FitView(
            id=row.id,
            vehicle=row.vehicle,
            vehicle_name=names[Subject(SubjectKind.VEHICLE, row.vehicle)],
            carrier=row.carrier,
            carrier_name=names[Subject(SubjectKind.CARRIER, row.carrier)],
            fixing=row.fixing,
            fixing_name=None if row.fixing is None else names[Subject(SubjectKind.FIXING, row.fixing)],
            roofs=row.roofs,
            confirmed=row.confirmed,
        )
        for row in rows
    ]
