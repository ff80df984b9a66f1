"""A registry, and a budget request over it, told again in the oracle's words: claims, records, cargo."""

from typing import Any, NamedTuple

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.derived import Derivation
from app.core.dossier import ClaimFacts, Facts
from app.core.entries import CarrierAdded, FitmentAdded, FixingAdded, GearAdded, VehicleAdded
from app.core.gear import CATEGORIES
from app.core.scoring import Dossier
from tests.oracle.confidence import Registry, confidence, today
from tests.oracle.figures import UNCOUNTED, exact, own_mass

Case = dict[str, Any]
Claims = dict[str, list[Case]]


class Known(NamedTuple):
    """The dossiers of a registry, and its claims by subject as the oracle of confidence scores them."""

    dossiers: dict[Subject, Dossier]
    claims: Claims


def case_of(request: Case, known: Known) -> Case:
    """The case that the oracle works out."""
    vehicle = known.dossiers[Subject(SubjectKind.VEHICLE, request["vehicle"])]
    carriers = [_part(part, SubjectKind.CARRIER, known) for part in request["carriers"]]
    fixing = request["fixing"]
    named = _part(fixing, SubjectKind.FIXING, known) if isinstance(fixing, dict) else None
    return {
        "vehicle": {"record": _vehicle_record(vehicle), "claims": _claims(known, vehicle.subject)},
        "carriers": carriers,
        "fixing": named,
        "fixing_said": named is not None or _built_in(request, known),
        "fitments": list(_fitments(request, vehicle, known)),
        "given_roof": request["given_roof"],
        "condition": request["condition"],
        "context": request["context"],
        "min_confidence": request["min_confidence"],
        "gear": [_gear(item, known, request["min_confidence"]) for item in request["gear"]],
    }


def _part(part: Case, kind: SubjectKind, known: Known) -> Case:
    if "given" in part:
        return {"given": part["given"]}
    dossier = known.dossiers[Subject(kind, part["id"])]
    payload = dossier.record.payload
    record: Case = {"confirmed": dossier.record.confirmed}
    if isinstance(payload, CarrierAdded):
        record |= {"bars": payload.bars, "fixing": payload.fixing}
    if isinstance(payload, FixingAdded):
        record |= {"feet": payload.feet}
    return {"record": record, "claims": _claims(known, dossier.subject)}


def _vehicle_record(vehicle: Dossier) -> Case:
    payload = vehicle.record.payload
    assert isinstance(payload, VehicleAdded)
    names = {key: getattr(payload, key) for key in ("bodies", "roofs", "markets")}
    return {
        "confirmed": vehicle.record.confirmed,
        "years": [payload.years.first, payload.years.last],
        **{key: None if found is None else list(found) for key, found in names.items()},
    }


def _claims(known: Known, subject: Subject) -> list[Case]:
    return known.claims.get(subject.stream, [])


def _built_in(request: Case, known: Known) -> bool:
    lowest: Case = request["carriers"][0] if request["carriers"] else {"given": None}
    if "given" in lowest:
        return False
    record = known.dossiers[Subject(SubjectKind.CARRIER, str(lowest["id"]))].record
    return record.confirmed and getattr(record.payload, "fixing", None) == "built_in"


def _fitments(request: Case, vehicle: Dossier, known: Known) -> Any:
    """Every fitment of these carriers on this vehicle that goes with what is said of roof and fixing."""
    roofs, fixing = request["context"].get("roofs"), request["fixing"]
    for place, part in enumerate(request["carriers"]):
        for fitment in vehicle.fitments:
            payload = FitmentAdded(vehicle.subject.id, fitment.carrier, fitment.fixing, fitment.roofs, ())
            if payload.carrier != part.get("id"):
                continue
            if payload.roofs and roofs and not set(payload.roofs) & set(roofs):
                continue
            if payload.fixing and fixing == "built_in" and _built_in(request, known):
                continue
            if payload.fixing and isinstance(fixing, dict) and fixing.get("id", payload.fixing) != payload.fixing:
                continue
            yield {"carrier": place, "claims": _claims(known, Subject(SubjectKind.FITMENT, fitment.id))}


def _gear(item: Case, known: Known, demand: float) -> Case:
    told: Case = {"quantity": item["quantity"], "mass": None, "tolerance": None, "range": None}
    if "mass" in item:
        return told | {"mass": str(item["mass"]), "tolerance": str(item["tolerance"])}
    category = item.get("category")
    if "id" in item:
        dossier = known.dossiers[Subject(SubjectKind.GEAR, item["id"])]
        assert isinstance(dossier.record.payload, GearAdded)
        category = dossier.record.payload.category
        grams = own_mass(_claims(known, dossier.subject), exact(demand), UNCOUNTED)
        if grams is not None:
            return told | {"mass": str(grams / 1000)}
    found = CATEGORIES[str(category)]
    return told | {"range": [str(found.low / 1000), str(found.high / 1000)]}


def registry_of(facts: Facts) -> Registry:
    """All that some facts hold, as the oracle of confidence takes it."""
    return {
        "claims": {id: _told(claim) for id, claim in facts.claims.items()},
        "documents": {
            id: {"seq": each.seq, "file": each.sha256, "held": each.held} for id, each in facts.documents.items()
        },
        "judgements": [
            {"pair": sorted(pair), "copied": len(judged.copied), "apart": len(judged.apart)}
            for pair, judged in facts.judgements.items()
        ],
        "counts": {
            subject.stream: (facts.counts_for(subject).bars, facts.counts_for(subject).feet)
            for subject in facts.records
        },
        "fits": {
            subject.stream: [
                f"carrier:{getattr(each.payload, 'carrier', '')}" for each in facts.fitments_of(subject.id)
            ]
            for subject in facts.records
            if subject.kind is SubjectKind.VEHICLE
        },
    }


def _told(claim: ClaimFacts) -> Case:
    said: Case = msgspec.to_builtins(claim.statement)
    return {
        **dict.fromkeys(("condition", "basis", "excluded_mass", "applies_to")),
        **said,
        "scope": said.get("scope") or {},
        "id": claim.id,
        "publisher": claim.publisher or claim.id,
        "state": str(claim.state),
        "approvals": len(claim.approvals),
        "subject": claim.subject.stream,
        "kind": str(claim.subject.kind),
        "source_type": str(claim.source_type),
        "citations": [
            {"document": each.document, "outcome": None if each.outcome is None else str(each.outcome)}
            for each in claim.citations
        ],
        "readings": [reading.matches for reading in claim.readings],
        "overdue_years": claim.overdue_years,
        "superseded_by": claim.superseded_by,
        "derivation": None if claim.derivation is None else _derivation(claim.derivation),
    }


def _derivation(derivation: Derivation) -> Case:
    told: Case = msgspec.to_builtins(derivation)
    for row, accessory in zip(told["rows"], derivation.rows, strict=True):
        row["subject"] = None if accessory.subject is None else accessory.subject.stream
    return told | {"takes": [each.claim for each in derivation.takes]}


def scored(registry: Registry) -> Claims:
    """Every claim by subject, with the figure that it has today and how certain the oracle holds it to be."""
    found: Claims = {}
    for claim in registry["claims"].values():
        found.setdefault(claim["subject"], []).append(
            today(registry, claim) | {"confidence": confidence(registry, claim)}
        )
    return found
