"""What stewards do, in few words."""

from datetime import UTC, datetime
from typing import Any

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.evidence import PublisherKind
from app.core.mass import Unit
from app.core.plate import changes
from app.core.scoring import Dossier
from app.persistence.models import Placement
from app.persistence.queries import placements as queries
from app.services import correcting, placing, subjects
from app.services.asked import BudgetIn, LimitIn
from app.services.facts import load
from app.services.foreseeing_placements import PlacementForeseen, Placing, foresee
from app.services.inputs import Confirmation, NewGear, NewPublisher
from app.services.placing_inputs import (
    CorrectedCarrier,
    CorrectedFitment,
    CorrectedGear,
    CorrectedVehicle,
    Drop,
    NewMerger,
    NewSplit,
    NewUndoing,
)
from app.services.views.plates import changed_view
from tests.services.trade import VEHICLE, Trade

ONE = Subject(SubjectKind.VEHICLE, VEHICLE)
CARRIER = Subject(SubjectKind.CARRIER, "pellwick-slatten")
REASON = "As the page has it."
KNOWN = {"year": 2021, "body": "dual_cab", "roofs": ["bare"], "market": "NZ"}
CORRECTS: dict[SubjectKind, tuple[Any, dict[str, Any]]] = {
    SubjectKind.VEHICLE: (
        CorrectedVehicle,
        {
            "model": "Tarn",
            "series": "T2",
            "years": {"from": 2019, "to": 2024},
            "bodies": None,
            "roofs": None,
            "markets": None,
        },
    ),
    SubjectKind.CARRIER: (
        CorrectedCarrier,
        {"model": "Slatten", "series": None, "kind": "platform", "first_year": None, "bars": 3, "fixing": None},
    ),
    SubjectKind.GEAR: (
        CorrectedGear,
        {"model": "Dormelle", "series": None, "first_year": None, "category": "rooftop_tent"},
    ),
    SubjectKind.FITMENT: (CorrectedFitment, {"fixing": None, "roofs": None}),
}


class Desk:
    """Two stewards at work in a trade."""

    def __init__(self, trade: Trade) -> None:
        self.trade = trade

    def another(self, **other: Any) -> Subject:
        """A second vehicle, which is said to be distinct."""
        body = {"model": "Mere", "series": None, **other}
        return Subject(SubjectKind.VEHICLE, self.trade.vehicle(**body))

    def gear(self, category: str = "rooftop_tent") -> Subject:
        maker = NewPublisher("Bivvenholt", PublisherKind.GEAR_MAKER)
        self.trade.do("writer", lambda work: subjects.add_publisher(work, maker))
        body = {"maker": "bivvenholt", "model": "Dormelle", "category": category}
        return Subject(
            SubjectKind.GEAR,
            self.trade.do("writer", lambda work: subjects.add_gear(work, msgspec.convert(body, NewGear))),
        )

    def correct(self, subject: Subject, by: str = "steward", **changed: Any) -> None:
        wanted, said = CORRECTS[subject.kind]
        new = msgspec.convert({**said, **changed, "reason": REASON}, wanted)
        self.trade.do(by, lambda work: correcting.correct(work, subject, new))

    def confirm_record(self, subject: Subject, *by: str) -> None:
        for each in by or ("first", "second"):
            self.trade.do(each, lambda work: subjects.confirm(work, subject, Confirmation()))

    def propose(self, subject: Subject, into: Subject, by: str = "steward") -> str:
        new = NewMerger(subject.kind.value, subject.id, into.id, REASON)  # type: ignore[arg-type]
        return self.trade.do(by, lambda work: placing.propose_merger(work, new))

    def merge(self, subject: Subject, into: Subject) -> str:
        id = self.propose(subject, into)
        self.agree_as_foreseen(id)
        return id

    def agree(self, id: str, by: str = "third") -> None:
        self.trade.do(by, lambda work: placing.confirm(work, id))

    def agree_as_foreseen(self, id: str, by: str = "third") -> PlacementForeseen:
        """Agree with a proposal: what was foreseen of it comes about, on both plates and with every claim."""
        row = self.placement(id)
        pair = [Subject(row.subject_kind, each) for each in (row.subject_id, row.other_id)]
        foreseen, before = self.foreseen(row, by), self.standing(pair)
        self.agree(id, by)
        now = self.standing(pair)
        assert [each for each in foreseen.changed.plates if Subject(SubjectKind.VEHICLE, each.vehicle) in pair] == [
            changed_view(each.id, changed, Unit.KG)
            for each in pair
            if each.kind is SubjectKind.VEHICLE
            for changed in changes(before[each], now[each])
        ]
        was, is_now = (
            {id: one.claim for each in found.values() for id, one in each.scored.items()} for found in (before, now)
        )
        assert set(foreseen.moved) == {
            id for id, claim in was.items() if id not in is_now or claim.subject != is_now[id].subject
        }
        changed_state = {id for id, claim in is_now.items() if claim.state is not was[id].state}
        assert {*foreseen.revived, *foreseen.superseded} == changed_state
        return foreseen

    def foreseen(self, row: Placement, by: str) -> PlacementForeseen:
        placing_so = Placing(
            row.kind,
            Subject(row.subject_kind, row.subject_id),
            Subject(row.subject_kind, row.other_id),
            row.claims,
            row.fitments,
            row.undoes,
        )
        with self.trade.database.read() as session:
            return foresee(session, placing_so, by, datetime.now(UTC), Unit.KG)

    def standing(self, subjects: list[Subject]) -> dict[Subject, Dossier]:
        with self.trade.database.read() as session:
            found = {each: load(session, each) for each in subjects}
        return {each: loaded.dossier for each, loaded in found.items() if loaded is not None}

    def propose_split(
        self, subject: Subject, onto: Subject, *claims: str, fitments: tuple[str, ...] = (), by: str = "steward"
    ) -> str:
        new = NewSplit(subject.kind.value, subject.id, onto.id, REASON, list(claims), list(fitments))  # type: ignore[arg-type]
        return self.trade.do(by, lambda work: placing.propose_split(work, new))

    def split(self, subject: Subject, onto: Subject, *claims: str, fitments: tuple[str, ...] = ()) -> str:
        id = self.propose_split(subject, onto, *claims, fitments=fitments)
        self.agree_as_foreseen(id)
        return id

    def propose_undoing(self, id: str, by: str = "steward") -> str:
        return self.trade.do(by, lambda work: placing.propose_undoing(work, id, NewUndoing(REASON)))

    def undo(self, id: str) -> str:
        undoing = self.propose_undoing(id)
        self.agree_as_foreseen(undoing)
        return undoing

    def withdraw(self, id: str, by: str = "steward") -> None:
        self.trade.do(by, lambda work: placing.withdraw(work, id, Drop()))

    def refuse(self, id: str, by: str = "third", reason: str | None = REASON) -> None:
        self.trade.do(by, lambda work: placing.refuse(work, id, Drop(reason)))

    def placement(self, id: str) -> Placement:
        with self.trade.database.read() as session:
            found = queries.placement(session, id=id)
        assert found is not None
        return found

    def body(self, subject: Subject, **asked: Any) -> bytes:
        """What is answered about a subject, as it is sent."""
        said = {"condition": "on_road"} if subject.kind is not SubjectKind.GEAR else {}
        context = KNOWN if subject.kind is SubjectKind.VEHICLE else {}
        question = msgspec.convert({**said, "context": context, **asked}, LimitIn, strict=False)
        return self.trade.answers.limit(subject, question).body

    def answer(self, subject: Subject, **asked: Any) -> Any:
        return msgspec.json.decode(self.body(subject, **asked))

    def gross(self, subject: Subject, **asked: Any) -> float | None:
        figure = self.answer(subject, **asked)["figure"]
        return None if figure is None or figure["gross"] is None else figure["gross"]["value"]

    def budget(self, **asked: Any) -> Any:
        said = {"vehicle": VEHICLE, "condition": "on_road", "context": KNOWN, **asked}
        return msgspec.json.decode(self.trade.answers.budget(msgspec.convert(said, BudgetIn, strict=False)).body)
