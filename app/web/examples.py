"""Examples for the OpenAPI document: written by hand for what people send, made from the types for what is answered."""

from enum import Enum
from typing import Any, Final

from msgspec import inspect

from app.services import asked, inputs
from app.services.faults import values_of

EXAMPLES: Final[dict[type, Any]] = {
    inputs.NewPublisher: {"name": "Orrin", "kind": "vehicle_maker"},
    inputs.NewVehicle: {
        "maker": "orrin",
        "model": "Tarn",
        "series": "T2",
        "years": {"from": 2019, "to": 2024},
        "bodies": ["wagon", "dual_cab"],
        "roofs": None,
        "markets": None,
    },
    inputs.NewCarrier: {
        "maker": "pellwick",
        "model": "Slatten",
        "series": "P1",
        "first_year": 2018,
        "kind": "platform",
        "bars": 3,
        "fixing": "built_in",
    },
    inputs.NewFixing: {"maker": "pellwick", "model": "Cleft", "holds": ["gutter"], "feet": 4},
    inputs.NewGear: {"maker": "bivvenholt", "model": "Dormelle", "category": "rooftop_tent"},
    inputs.NewFitment: {"vehicle": "orrin-tarn-t2-2019", "carrier": "pellwick-slatten-p1-2018", "roofs": ["gutter"]},
    inputs.Confirmation: {"document": "D1017"},
    inputs.NewClaim: {
        "subject": {"kind": "vehicle", "id": "orrin-tarn-t2-2019"},
        "quantity": "roof_limit",
        "condition": "on_road",
        "stated": {"value": "75", "unit": "kg"},
        "per": "total",
        "basis": "includes_carrier",
        "bound": "exact",
        "scope": {"years": {"from": 2019, "to": 2023}, "bodies": ["dual_cab"], "roofs": "all"},
        "source_type": "manual_page",
        "citations": [{"document": "D1017", "page": "214", "quote": "the words on the page"}],
        "interest": "none",
    },
    inputs.NewDerivation: {
        "method": "accessory_pages",
        "vehicle": "orrin-tarn-t2-2019",
        "condition": "on_road",
        "rows": [
            {
                "accessory": "Slatten platform",
                "mass": {"value": "24", "unit": "kg"},
                "load": {"value": "76", "unit": "kg"},
                "leaves_out": True,
                "document": "D1017",
                "page": "1",
            },
            {
                "accessory": "Lattice bars",
                "mass": {"value": "5.2", "unit": "kg"},
                "load": {"value": "95", "unit": "kg"},
                "rating": {"value": "100", "unit": "kg"},
                "leaves_out": True,
            },
        ],
    },
    inputs.NewCopyJudgement: {"of": "D1009", "copied": True},
    inputs.NewTakedown: {"code": "rights", "reason": "The publisher has asked for it on 2 March 2026."},
    inputs.NewCitation: {"document": "D1017", "page": "215", "quote": "the words on the page"},
    inputs.NewReading: {
        "stated": {"value": "75", "unit": "kg"},
        "per": "total",
        "condition": "on_road",
        "basis": "includes_carrier",
        "bound": "exact",
        "scope": {"roofs": "all"},
    },
    inputs.NewDecision: {"decision": "approve", "reading": "R1049", "reason": "Page 214, table, third row"},
    inputs.NewDispute: {"document": "D1020", "page": "3", "reason": "The newer edition has 60 kg."},
    inputs.NewSettlement: {"settlement": "refute", "code": "superseded_edition", "reason": "The newer edition rules."},
    inputs.NewEnquiry: {
        "subject": {"kind": "vehicle", "id": "orrin-tarn-t2-2019"},
        "asked": "orrin",
        "quantity": "roof_limit",
        "conditions": ["off_road", "parked"],
        "channel": "letter",
        "questions": "What may the roof carry off road, and what while parked? Is the carrier counted?",
        "asked_on": "2026-03-02",
        "answer_by": "2026-03-30",
        "language": "en",
    },
    inputs.EnquiryOutcomeIn: {
        "outcome": "answered",
        "document": "D1017",
        "note": "A letter, with a table.",
        "answered_on": "2026-03-20",
        "ask_again": "2027-03-20",
    },
    asked.BudgetIn: {
        "vehicle": "orrin-tarn-t2-2019",
        "context": {"year": 2021, "body": "dual_cab", "roofs": ["raised_rail"], "market": "NZ"},
        "condition": "off_road",
        "carriers": [{"id": "pellwick-slatten-rough-p2-2021"}],
        "gear": [{"name": "awning", "mass": 14, "tolerance": 1}, {"category": "recovery_boards"}],
    },
    asked.BudgetsIn: {
        "budgets": [
            {"vehicle": "orrin-tarn-t2-2019", "condition": "on_road"},
            {"condition": "on_road", "given_roof": {"limit": 70, "basis": "includes_carrier"}},
        ]
    },
}

_BY_NAME: Final[dict[str, Any]] = {
    "id": "C1042",
    "claim": "C1042",
    "document": "D1017",
    "asked": "orrin",
    "publisher": "orrin",
    "asked_on": "2026-03-02",
    "answer_by": "2026-03-30",
    "closed_on": "2026-03-30",
    "on": "2026-03-30",
    "ask_again": "2027-03-20",
    "outcome": "no_answer",
    "reading": "R1049",
    "slug": "orrin",
    "maker": "orrin",
    "model": "Tarn",
    "series": "T2",
    "subject": "orrin-tarn-t2-2019",
    "vehicle": "orrin-tarn-t2-2019",
    "by": "orrin-tarn-t2-2019",
    "author": "a-1f0c9be2a4d35f77",
    "reviewer": "a-93b1d0c4e8a2f615",
    "digest": "sha256:9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
    "sha256": "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
    "unit": "kg",
    "value": 75.0,
    "confidence": 0.93,
    "quantity": "roof_limit",
    "condition": "on_road",
    "basis": "includes_carrier",
    "bound": "exact",
    "state": "approved",
    "stated": {"value": "75", "unit": "kg"},
    "verdict": "within",
    "reasons": [],
    "claims": ["C1042"],
    "next": "1187",
    "at": "2026-03-02T09:30:00.000000Z",
    "submitted_at": "2026-03-02T09:30:00.000000Z",
    "review_by": "2031-03-02",
    "media_type": "application/pdf",
    "kind": "vehicle_maker",
    "sentence": "A sentence in plain words.",
    "payload": {"claim": "C1042"},
    "streams": ["claim:C1042", "vehicle:orrin-tarn-t2-2019"],
    "binding": ["vehicle_roof"],
    "scope": {"roofs": "all"},
    "takes": [],
    "multiple": 2,
    "rows": [],
}


def example_of(shown: Any) -> Any:
    """An example of a type, made from its fields' names and types."""
    return _made("", inspect.type_info(shown))


def _made(name: str, of: inspect.Type) -> Any:
    match of:
        case inspect.StructType():
            if of.cls in EXAMPLES:
                return EXAMPLES[of.cls]
            return {field.encode_name: _member(field) for field in of.fields}
        case inspect.UnionType():
            return _made(name, next(each for each in of.types if not isinstance(each, inspect.NoneType)))
        case inspect.Metadata():
            return _made(name, of.type)
        case inspect.ListType() | inspect.VarTupleType() | inspect.CollectionType():
            return [_made(name, of.item_type)]
        case inspect.EnumType():
            first = next(iter(of.cls))
            return first.value if isinstance(first, Enum) else first
        case inspect.LiteralType():
            return of.values[0]
        case inspect.IntType():
            return 1187
        case inspect.FloatType() | inspect.DecimalType():
            return 25.0
        case inspect.BoolType():
            return True
        case inspect.DictType() | inspect.AnyType():
            return {}
        case _:
            return "text"


def _member(field: inspect.Field) -> Any:
    if field.encode_name in _BY_NAME:
        named = _BY_NAME[field.encode_name]
        made = _made(field.encode_name, field.type)
        # A name may stand for something else in another answer: only an example of the same type is taken.
        fits = made is None or isinstance(named, type(made))
        choices = values_of(field.type)
        return named if fits and (not choices or named in choices) else made
    return _made(field.encode_name, field.type)
