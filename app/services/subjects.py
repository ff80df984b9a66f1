"""Enter publishers and subjects, and confirm what their records say."""

from collections.abc import Callable, Iterable

from app.core import entries
from app.core.allowance import Submitted
from app.core.claim import Interest, Subject, SubjectKind
from app.core.entries import Payload, named
from app.core.errors import CantrailError, Kind, invalid
from app.core.evidence import MAKERS, PublisherKind
from app.core.gear import CATEGORIES
from app.core.permissions import Scope, may_confirm
from app.core.scope import Years
from app.persistence import ledger
from app.persistence.queries import documents as document_queries
from app.persistence.queries import placements
from app.persistence.queries import subjects as queries
from app.services import interests
from app.services.facts import facts_about, makers_of, not_found, refuse_merged
from app.services.inputs import (
    Confirmation,
    NewCarrier,
    NewFitment,
    NewFixing,
    NewGear,
    NewPublisher,
    NewVehicle,
)
from app.services.naming import Named, free, refuse_near_duplicates, slug
from app.services.stating import years
from app.services.work import Work


def add_publisher(work: Work, new: NewPublisher) -> str:
    """Enter a publisher and give its slug. A person's name is kept outside the ledger, and is no part of the slug."""
    work.require(Scope.SUBMIT)
    if new.importer_of and new.kind is not PublisherKind.IMPORTER:
        raise invalid("/importer_of", "not_an_importer", "Only a publisher of kind importer imports for makers.")
    for place, maker in enumerate(new.importer_of):
        if queries.publisher(work.session, slug=maker) is None:
            raise invalid(f"/importer_of/{place}", "no_such_publisher", f"There is no publisher {maker!r}.")
    private = new.kind is PublisherKind.PERSON
    if not private:
        known = (Named(row.slug, row.name or row.slug) for row in queries.publisher_names(work.session))
        refuse_near_duplicates(new.name, known, new.distinct_from)
    wanted = f"person-{ledger.next_seq(work.session)}" if private else slug(new.name)
    made = free(wanted, lambda each: queries.publisher(work.session, slug=each) is not None)
    work.enter(
        entries.PublisherAdded(
            slug=made,
            kind=new.kind,
            name=None if private else new.name,
            name_sha256=work.text(new.name) if private else None,
            importer_of=tuple(new.importer_of),
            distinct_from=tuple(new.distinct_from),
        ),
        [f"publisher:{made}"],
    )
    return made


def add_vehicle(work: Work, new: NewVehicle) -> str:
    """Enter a vehicle and give its slug. One of the same maker and a like name whose years overlap is a near-duplicate."""
    span = years(new.years, "/years")
    return _add(
        work,
        SubjectKind.VEHICLE,
        new,
        span.first,
        overlapping(work, new.maker, span),
        lambda made: entries.VehicleAdded(
            slug=made,
            maker=new.maker,
            model=new.model,
            series=new.series,
            years=span,
            bodies=in_order(new.bodies),
            roofs=in_order(new.roofs),
            markets=in_order(new.markets),
            distinct_from=tuple(new.distinct_from),
        ),
    )


def add_carrier(work: Work, new: NewCarrier) -> str:
    """Enter a carrier and give its slug."""
    return _add(
        work,
        SubjectKind.CARRIER,
        new,
        new.first_year,
        like_years(work, SubjectKind.CARRIER, new.maker, new.first_year),
        lambda made: entries.CarrierAdded(
            slug=made,
            maker=new.maker,
            model=new.model,
            series=new.series,
            kind=new.kind,
            first_year=new.first_year,
            bars=new.bars,
            fixing=new.fixing,
            distinct_from=tuple(new.distinct_from),
        ),
    )


def add_fixing(work: Work, new: NewFixing) -> str:
    """Enter a fixing and give its slug."""
    return _add(
        work,
        SubjectKind.FIXING,
        new,
        new.first_year,
        like_years(work, SubjectKind.FIXING, new.maker, new.first_year),
        lambda made: entries.FixingAdded(
            slug=made,
            maker=new.maker,
            model=new.model,
            series=new.series,
            first_year=new.first_year,
            feet=new.feet,
            holds=tuple(sorted(set(new.holds))),
            distinct_from=tuple(new.distinct_from),
        ),
    )


def add_gear(work: Work, new: NewGear) -> str:
    """Enter a gear item and give its slug."""
    if new.category not in CATEGORIES:
        raise invalid("/category", "no_such_category", f"Choose one of: {', '.join(CATEGORIES)}.")
    return _add(
        work,
        SubjectKind.GEAR,
        new,
        new.first_year,
        like_years(work, SubjectKind.GEAR, new.maker, new.first_year),
        lambda made: entries.GearAdded(
            slug=made,
            maker=new.maker,
            model=new.model,
            series=new.series,
            first_year=new.first_year,
            category=new.category,
            distinct_from=tuple(new.distinct_from),
        ),
    )


def add_fitment(work: Work, new: NewFitment) -> str:
    """Enter that a carrier goes on a vehicle, and give the fitment's id. Another fitment of the two is a near-duplicate."""
    work.require(Scope.SUBMIT)
    work.spend(Submitted.SUBJECTS)
    named_subjects = [
        ("/vehicle", Subject(SubjectKind.VEHICLE, new.vehicle)),
        ("/carrier", Subject(SubjectKind.CARRIER, new.carrier)),
        *([("/fixing", Subject(SubjectKind.FIXING, new.fixing))] if new.fixing else []),
    ]
    for pointer, subject in named_subjects:
        if not queries.exists(work.session, subject=subject):
            raise invalid(pointer, f"no_such_{subject.kind}", f"There is no {subject.kind} {subject.id!r}.")
    refuse_merged(work.session, *(subject for _, subject in named_subjects))
    known = queries.fitments(work.session, after_seq=0, limit=1000, vehicle=new.vehicle, carrier=new.carrier)
    resembling = [row.id for row in known if row.id not in new.distinct_from]
    if resembling:
        raise CantrailError(
            Kind.CONFLICT,
            "near_duplicate",
            f"{', '.join(resembling)} already joins these two. If this is another way of fitting them, send it again "
            "with those ids in distinct_from.",
            details={"resembles": [{"id": id, "name": id} for id in resembling]},
        )
    id = named(entries.FITMENT, ledger.next_seq(work.session))
    subject = Subject(SubjectKind.FITMENT, id)
    fixing_stream = [f"fixing:{new.fixing}/fits"] if new.fixing else []
    work.enter(
        entries.FitmentAdded(
            vehicle=new.vehicle,
            carrier=new.carrier,
            fixing=new.fixing,
            roofs=in_order(new.roofs),
            distinct_from=tuple(new.distinct_from),
        ),
        [subject.stream, f"vehicle:{new.vehicle}", f"carrier:{new.carrier}/fits", *fixing_stream],
    )
    return subject.id


def confirm(work: Work, subject: Subject, confirmation: Confirmation) -> None:
    """One reviewer has checked a record. Two make it confirmed; who entered it is neither."""
    work.require(Scope.REVIEW)
    if confirmation.document and document_queries.document(work.session, id=confirmation.document) is None:
        raise invalid("/document", "no_such_document", f"There is no document {confirmation.document}.")
    facts, _ = facts_about(work.session, subject)
    record = facts.records.get(subject)
    if record is None:
        raise not_found(subject)
    refuse_merged(work.session, subject)
    makers = makers_of(work.session, facts, subject)
    interested = interests.interest_in(work, *makers) is not Interest.NONE
    may_confirm(work.account, record.authors, interested=interested)
    if work.account in record.confirmed_by:
        raise CantrailError(
            Kind.CONFLICT, "already_confirmed", "You have confirmed this record. The second check is somebody else's."
        )
    work.enter(entries.RecordConfirmed(subject=subject, document=confirmation.document), work.streams_of(subject))


def _add(
    work: Work,
    kind: SubjectKind,
    new: NewVehicle | NewCarrier | NewFixing | NewGear,
    first_year: int | None,
    like: Iterable[Named],
    payload: Callable[[str], Payload],
) -> str:
    work.require(Scope.SUBMIT)
    work.spend(Submitted.SUBJECTS)
    maker = queries.publisher(work.session, slug=new.maker)
    if maker is None or maker.kind not in MAKERS:
        raise invalid("/maker", "no_such_maker", f"There is no maker {new.maker!r} among the publishers. Add it first.")
    refuse_near_duplicates(full_name(new.model, new.series), as_answered(work, kind, like), new.distinct_from)
    wanted = slug(new.maker, new.model, new.series, first_year)
    made = free(wanted, lambda each: queries.exists(work.session, subject=Subject(kind, each)))
    subject = Subject(kind, made)
    work.enter(payload(made), [subject.stream])
    return subject.id


def like_years(work: Work, kind: SubjectKind, maker: str, first_year: int | None) -> Iterable[Named]:
    """A maker's things of one kind, but those that surely are of another year."""
    for row in queries.named_by_maker(work.session, kind=kind, maker=maker):
        if first_year is None or row.first_year is None or row.first_year == first_year:
            yield Named(row.slug, full_name(row.model, row.series))


def overlapping(work: Work, maker: str, span: Years) -> Iterable[Named]:
    """A maker's vehicles that were made in some of these years."""
    for row in queries.named_by_maker(work.session, kind=SubjectKind.VEHICLE, maker=maker):
        if row.first_year is not None and row.first_year <= span.end and span.first <= (row.last_year or span.end):
            yield Named(row.slug, full_name(row.model, row.series))


def as_answered(work: Work, kind: SubjectKind, known: Iterable[Named]) -> Iterable[Named]:
    """Things by their names, each under the id of what it was merged into, if it was."""
    found = list(known)
    into = placements.merged_into(work.session, kind=kind, ids=[each.id for each in found])
    return [Named(into.get(each.id, each.id), each.name) for each in found]


def full_name(model: str, series: str | None) -> str:
    """What a thing is called."""
    return model if series is None else f"{model} {series}"


def in_order(names: Iterable[str] | None) -> tuple[str, ...] | None:
    """Names once each, in order; None where nothing is said."""
    return None if names is None else tuple(sorted({str(name) for name in names}))
