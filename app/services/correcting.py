"""A steward replaces what a record says. Its confirmation starts again; nothing that was entered is lost."""

from app.core import entries
from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError, Kind, invalid
from app.core.gear import CATEGORIES
from app.core.permissions import Scope, may_govern
from app.core.placement_entries import CarrierSaid, FitmentSaid, FixingSaid, GearSaid, RecordSaid, VehicleSaid
from app.core.record import Record, corrected
from app.persistence.queries import subjects as queries
from app.services.facts import facts_about, not_found, refuse_merged
from app.services.naming import Named, refuse_near_duplicates
from app.services.placing_inputs import (
    CorrectedCarrier,
    CorrectedFitment,
    CorrectedFixing,
    CorrectedGear,
    CorrectedVehicle,
)
from app.services.stating import years
from app.services.subjects import as_answered, full_name, in_order, like_years, overlapping
from app.services.work import Work

Corrected = CorrectedVehicle | CorrectedCarrier | CorrectedFixing | CorrectedGear | CorrectedFitment


def correct(work: Work, subject: Subject, new: Corrected) -> None:
    """Replace what a record says. Raises not_found, and where that is what it says already."""
    work.require(Scope.SUBMIT)
    may_govern(work.caller.role)
    facts, _ = facts_about(work.session, subject)
    record = facts.records.get(subject)
    if record is None:
        raise not_found(subject)
    refuse_merged(work.session, subject)
    said = _said(work, new)
    if corrected(record.payload, said) == record.payload:
        raise CantrailError(Kind.CONFLICT, "nothing_corrected", "The record says this already. Nothing was changed.")
    distinct = () if isinstance(new, CorrectedFitment) else tuple(new.distinct_from)
    if not isinstance(said, FitmentSaid):
        _check_name(work, record, said, distinct)
    work.enter(
        entries.RecordCorrected(
            subject=subject, record=said, distinct_from=distinct, reason_sha256=work.text(new.reason) or ""
        ),
        work.streams_of(subject),
    )


def _said(work: Work, new: Corrected) -> RecordSaid:
    match new:
        case CorrectedVehicle():
            span = years(new.years, "/years")
            dimensions = (in_order(new.bodies), in_order(new.roofs), in_order(new.markets))
            return VehicleSaid(new.model, new.series, span, *dimensions)
        case CorrectedCarrier():
            return CarrierSaid(new.model, new.series, new.kind, new.first_year, new.bars, new.fixing)
        case CorrectedFixing():
            return FixingSaid(new.model, new.series, new.first_year, new.feet, in_order(new.holds) or ())
        case CorrectedGear():
            if new.category not in CATEGORIES:
                raise invalid("/category", "no_such_category", f"Choose one of: {', '.join(CATEGORIES)}.")
            return GearSaid(new.model, new.series, new.first_year, new.category)
        case CorrectedFitment():
            if new.fixing is not None:
                fixing = Subject(SubjectKind.FIXING, new.fixing)
                if not queries.exists(work.session, subject=fixing):
                    raise invalid("/fixing", "no_such_fixing", f"There is no fixing {new.fixing!r}.")
                refuse_merged(work.session, fixing)
            return FitmentSaid(new.fixing, in_order(new.roofs))


def _check_name(
    work: Work, record: Record, said: VehicleSaid | CarrierSaid | FixingSaid | GearSaid, distinct: tuple[str, ...]
) -> None:
    """Raises where a record would be called like another one of the same maker, unless that is said to be distinct."""
    if isinstance(record.payload, entries.FitmentAdded):
        return
    maker, kind = record.payload.maker, record.subject.kind
    like = (
        overlapping(work, maker, said.years)
        if isinstance(said, VehicleSaid)
        else like_years(work, kind, maker, said.first_year)
    )
    others = [each for each in as_answered(work, kind, like) if each.id != record.subject.id]
    known = {*distinct, *record.payload.distinct_from}
    if (said.model, said.series) != (record.payload.model, record.payload.series):
        refuse_near_duplicates(full_name(said.model, said.series), _each_once(others), known)


def _each_once(named: list[Named]) -> list[Named]:
    return list(dict.fromkeys(named))
