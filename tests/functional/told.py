"""A budget request over a registry, told again in the oracle's words: claims with their confidences, records, cargo."""

from typing import Any

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.entries import CarrierAdded, FitmentAdded, FixingAdded, GearAdded, VehicleAdded
from app.core.gear import CATEGORIES
from app.core.scoring import Dossier, ScoredClaim
from tests.oracle.figures import UNCOUNTED, exact, own_mass

Case = dict[str, Any]
Known = dict[Subject, Dossier]


def case_of(request: Case, known: Known) -> Case:
    """The case that the oracle works out."""
    vehicle = known[Subject(SubjectKind.VEHICLE, request["vehicle"])]
    carriers = [_part(part, SubjectKind.CARRIER, known) for part in request["carriers"]]
    fixing = request["fixing"]
    named = _part(fixing, SubjectKind.FIXING, known) if isinstance(fixing, dict) else None
    return {
        "vehicle": {"record": _vehicle_record(vehicle), "claims": _claims(vehicle, vehicle.subject)},
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
    dossier = known[Subject(kind, part["id"])]
    payload = dossier.record.payload
    record: Case = {"confirmed": dossier.record.confirmed}
    if isinstance(payload, CarrierAdded):
        record |= {"bars": payload.bars, "fixing": payload.fixing}
    if isinstance(payload, FixingAdded):
        record |= {"feet": payload.feet}
    return {"record": record, "claims": _claims(dossier, dossier.subject)}


def _vehicle_record(vehicle: Dossier) -> Case:
    payload = vehicle.record.payload
    assert isinstance(payload, VehicleAdded)
    names = {key: getattr(payload, key) for key in ("bodies", "roofs", "markets")}
    return {
        "confirmed": vehicle.record.confirmed,
        "years": [payload.years.first, payload.years.last],
        **{key: None if found is None else list(found) for key, found in names.items()},
    }


def _claims(dossier: Dossier, subject: Subject) -> list[Case]:
    return [_claim(each) for each in dossier.scored.values() if each.claim.subject == subject]


def _claim(scored: ScoredClaim) -> Case:
    claim = scored.claim
    said: Case = msgspec.to_builtins(claim.statement)
    return {
        **said,
        "scope": said.get("scope") or {},
        "id": claim.id,
        "publisher": claim.publisher or claim.id,
        "state": str(claim.state),
        "approvals": len(claim.approvals),
        "confidence": scored.explanation.confidence,
    }


def _built_in(request: Case, known: Known) -> bool:
    lowest: Case = request["carriers"][0] if request["carriers"] else {"given": None}
    if "given" in lowest:
        return False
    record = known[Subject(SubjectKind.CARRIER, str(lowest["id"]))].record
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
            yield {"carrier": place, "claims": _claims(vehicle, Subject(SubjectKind.FITMENT, fitment.id))}


def _gear(item: Case, known: Known, demand: float) -> Case:
    told: Case = {"quantity": item["quantity"], "mass": None, "tolerance": None, "range": None}
    if "mass" in item:
        return told | {"mass": str(item["mass"]), "tolerance": str(item["tolerance"])}
    category = item.get("category")
    if "id" in item:
        dossier = known[Subject(SubjectKind.GEAR, item["id"])]
        assert isinstance(dossier.record.payload, GearAdded)
        category = dossier.record.payload.category
        grams = own_mass(_claims(dossier, dossier.subject), exact(demand), UNCOUNTED)
        if grams is not None:
            return told | {"mass": str(grams / 1000)}
    found = CATEGORIES[str(category)]
    return told | {"range": [str(found.low / 1000), str(found.high / 1000)]}
