"""Examples for the OpenAPI document: written by hand for what people send, made from the types for what is answered."""

from enum import Enum
from typing import Any, Final

from msgspec import inspect

from app.services import asked, inputs, kept, people_inputs, placing_inputs
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
    placing_inputs.CorrectedVehicle: {
        "model": "Tarn",
        "series": "T2",
        "years": {"from": 2019, "to": 2023},
        "bodies": ["wagon", "dual_cab"],
        "roofs": ["raised_rail"],
        "markets": ["NZ"],
        "reason": "D1017 says on page 3 that the T2 ended in 2023.",
    },
    placing_inputs.CorrectedCarrier: {
        "model": "Slatten",
        "series": "P1",
        "kind": "platform",
        "first_year": 2018,
        "bars": 2,
        "fixing": "built_in",
        "reason": "The drawing in D1017 shows two bars.",
    },
    placing_inputs.CorrectedFixing: {
        "model": "Cleft",
        "series": "C1",
        "first_year": 2019,
        "feet": 4,
        "holds": ["gutter"],
        "reason": "A set has four feet.",
    },
    placing_inputs.CorrectedGear: {
        "model": "Dormelle",
        "series": "D2",
        "first_year": 2020,
        "category": "awning",
        "reason": "It is an awning, not a tent.",
    },
    placing_inputs.CorrectedFitment: {
        "fixing": "pellwick-cleft",
        "roofs": ["gutter"],
        "reason": "The instruction shows a gutter.",
    },
    placing_inputs.NewMerger: {
        "kind": "vehicle",
        "subject": "orrin-tarn-2019",
        "into": "orrin-tarn-t2-2019",
        "reason": "The same vehicle, entered twice.",
    },
    placing_inputs.NewSplit: {
        "kind": "vehicle",
        "subject": "orrin-tarn-t2-2019",
        "onto": "orrin-tarn-t3-2024",
        "claims": ["C1042"],
        "reason": "D1017 is the handbook of the T3.",
    },
    placing_inputs.NewUndoing: {"reason": "They are two vehicles after all: see D1017, page 3."},
    placing_inputs.Agreement: {},
    placing_inputs.Drop: {"reason": "They differ in their roofs."},
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
    inputs.NewMismatchJudgement: {"finding": "claim_goes_beyond", "reason": "The row is that of the wagon."},
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
    people_inputs.NewAccount: {"name": "oxbow", "password": "five words in a row"},
    people_inputs.SignIn: {"name": "oxbow", "password": "five words in a row", "code": "123456"},
    people_inputs.PasswordReset: {
        "name": "oxbow",
        "reset": "abcdef-abcdef-abcdef-abcdef",
        "password": "other words in a row",
    },
    people_inputs.NewPassword: {
        "current": "five words in a row",
        "password": "other words in a row",
        "code": "123456",
    },
    people_inputs.Proof: {"password": "five words in a row", "code": "123456"},
    people_inputs.Confirmed: {"code": "123456"},
    people_inputs.NewToken: {
        "name": "counter program",
        "password": "five words in a row",
        "code": "123456",
        "scopes": ["submit"],
        "days": 90,
    },
    people_inputs.Interests: {"interests": [{"publisher": "orrin", "kind": "employer"}]},
    people_inputs.NewReset: {"one_time_password": False},
    people_inputs.NewRole: {
        "role": "reviewer",
        "record": "sha256:9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
    },
    asked.BudgetIn: {
        "vehicle": "orrin-tarn-t2-2019",
        "context": {"year": 2021, "body": "dual_cab", "roofs": ["raised_rail"], "market": "NZ"},
        "condition": "off_road",
        "carriers": [{"id": "pellwick-slatten-rough-p2-2021"}],
        "gear": [{"name": "awning", "mass": 14, "tolerance": 1}, {"category": "recovery_boards"}],
    },
    asked.OptionsIn: {
        "vehicle": "orrin-tarn-t2-2019",
        "condition": "on_road",
        "carriers": [{"id": "pellwick-slatten-p1-2018"}],
        "gear": [{"name": "tent", "mass": 48, "stays": True}, {"name": "can", "mass": 20, "quantity": 2}],
    },
    kept.NewKept: {
        "budget": {
            "vehicle": "orrin-tarn-t2-2019",
            "condition": "on_road",
            "carriers": [{"id": "pellwick-slatten-rough-p2-2021"}],
            "gear": [{"name": "awning", "mass": 14}],
        }
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
    "leaf_hash": "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "root": "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
    "from_root": "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "to_root": "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
    "hashes": ["5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e"],
    "origin": "roofs.example.org/ledger",
    "key": "roofs.example.org/ledger+1ac8d7ee+AdHY1/HNyNNH9wJPkZrWDPxkFC3zJk6rTIAXyh9dVZnn",
    "warnings": [],
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
