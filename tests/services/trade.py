"""A small registry of the test's own, and people who work in it, through the services."""

import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from app.adapters.evidence_store import FolderEvidenceStore
from app.core.claim import Subject, SubjectKind
from app.core.permissions import MAY, Role
from app.persistence.session import Database
from app.services import accounts, claims, daily, disputing, documents, looking, rebuilding, reviewing, subjects
from app.services.answering import Answers
from app.services.asked import LimitIn
from app.services.inputs import (
    Confirmation,
    NewCarrier,
    NewClaim,
    NewDecision,
    NewDispute,
    NewDocument,
    NewFitment,
    NewPublisher,
    NewReading,
    NewSettlement,
    NewVehicle,
)
from app.services.views.claims import ClaimView
from app.services.work import Caller, Work

Done = TypeVar("Done")

VEHICLE = "orrin-tarn-t2-2019"
PDF = b"%PDF-1.4\n% "
PEOPLE = {
    "writer": Role.CONTRIBUTOR,
    "other writer": Role.CONTRIBUTOR,
    "first": Role.REVIEWER,
    "second": Role.REVIEWER,
    "third": Role.REVIEWER,
    "fourth": Role.REVIEWER,
    "steward": Role.STEWARD,
    "other steward": Role.STEWARD,
}
SAID: dict[str, Any] = {
    "stated": {"value": "75", "unit": "kg"},
    "condition": "on_road",
    "basis": "includes_carrier",
    "scope": {"bodies": ["dual_cab"], "roofs": "all", "years": {"from": 2019, "to": 2024}},
}


def furnished_like(trade: "Trade", database: Database) -> bool:
    """Make a database that nobody has opened yet what a trade's is, where both are SQLite's."""
    if not database.is_sqlite:
        return False
    mine, theirs = (Path(each.url.removeprefix("sqlite:///")) for each in (database, trade.database))
    assert not Path(f"{mine}-wal").exists(), "it is open"
    shutil.copyfile(theirs, mine)
    return True


class Trade:
    """People, a clock that is set by hand, and what they may do."""

    def __init__(self, database: Database, folder: Path, *, like: "Trade | None" = None) -> None:
        """`like` is the trade whose database this one's is a copy of."""
        self.database = database
        self.store = FolderEvidenceStore(folder)
        self.now: datetime = datetime(2026, 1, 5, 9, tzinfo=UTC) if like is None else like.now
        self.answers = Answers(database, 50)
        self._callers: dict[str, Caller] = {} if like is None else dict(like._callers)
        self._papers = 0
        if like is not None:
            return
        with database.write() as session:
            rebuilding.begin(session, now=self.now)
            for name, role in PEOPLE.items():
                added = accounts.add(session, name=name, role=role, now=self.now)
                self._callers[name] = Caller(added.id, role, MAY[role])

    def account(self, name: str) -> str:
        return self._callers[name].account

    def do(self, by: str, what: Callable[[Work], Done]) -> Done:
        """One transaction by somebody, a minute after the last."""
        self.now += timedelta(minutes=1)
        with self.database.write() as session:
            return what(Work(session, self._callers[by], self.now, self.store))

    def furnish(self) -> None:
        """A maker of vehicles with one, and a maker of carriers with one."""
        self.do("writer", lambda work: subjects.add_publisher(work, NewPublisher("Orrin", "vehicle_maker")))  # type: ignore[arg-type]
        self.do("writer", lambda work: subjects.add_publisher(work, NewPublisher("Pellwick", "carrier_maker")))  # type: ignore[arg-type]
        self.vehicle()
        body = {"maker": "pellwick", "model": "Slatten", "kind": "platform", "bars": 3}
        self.do("writer", lambda work: subjects.add_carrier(work, msgspec.convert(body, NewCarrier)))

    def vehicle(self, by: str = "writer", **other: Any) -> str:
        body = {"maker": "orrin", "model": "Tarn", "series": "T2", "years": {"from": 2019, "to": 2024}, **other}
        return self.do(by, lambda work: subjects.add_vehicle(work, msgspec.convert(body, NewVehicle)))

    def carrier(self, **other: Any) -> Subject:
        body = {"maker": "pellwick", "model": "Slatten", "kind": "platform", **other}
        added = self.do("writer", lambda work: subjects.add_carrier(work, msgspec.convert(body, NewCarrier)))
        return Subject(SubjectKind.CARRIER, added)

    def fitment(self, vehicle: str = VEHICLE, carrier: str = "pellwick-slatten") -> str:
        return self.do("writer", lambda work: subjects.add_fitment(work, NewFitment(vehicle, carrier)))

    def paper(self, publisher: str = "orrin", kind: str = "handbook") -> str:
        """A document with a file of its own."""
        self._papers += 1
        content = PDF + str(self._papers).encode()
        new = msgspec.convert({"publisher": publisher, "kind": kind}, NewDocument)
        return self.do("writer", lambda work: documents.add_document(work, new, "paper.pdf", content))

    def claim(self, by: str = "writer", *, paper: str | None = None, **other: Any) -> str:
        """A claim on the vehicle's roof, or whatever else is said."""
        cited = (
            [] if other.get("source_type") == "unverified" and paper is None else [{"document": paper or self.paper()}]
        )
        body = {
            "subject": {"kind": "vehicle", "id": VEHICLE},
            "quantity": "roof_limit",
            "source_type": "manual_page",
            "citations": cited,
            **SAID,
            **other,
        }
        return self.do(by, lambda work: claims.submit(work, msgspec.convert(body, NewClaim)))

    def read(self, by: str, claim: str, **other: Any) -> str:
        """A reading that is what the claim says, but for what differs."""
        view = self.view(claim)
        said = msgspec.to_builtins(view)
        fields = ("stated", "per", "condition", "basis", "excluded_mass", "bound", "applies_to", "scope")
        new = msgspec.convert({**{each: said[each] for each in fields}, **other}, NewReading)
        return self.do(by, lambda work: reviewing.read(work, claim, new))

    def decide(self, by: str, claim: str, decision: str, **other: Any) -> None:
        new = msgspec.convert({"decision": decision, "reason": "As the page has it.", **other}, NewDecision)
        self.do(by, lambda work: reviewing.decide(work, claim, new))

    def approve(self, claim: str, *by: str) -> str:
        for each in by or ("first", "second"):
            self.decide(each, claim, "approve", reading=self.read(each, claim))
        return claim

    def dispute(self, by: str, claim: str, **other: Any) -> str:
        new = msgspec.convert({"reason": "The newer page has less.", **other}, NewDispute)
        return self.do(by, lambda work: disputing.dispute(work, claim, new))

    def settle(self, by: str, dispute: str, settlement: str, **other: Any) -> None:
        new = msgspec.convert({"settlement": settlement, "reason": "As I read it.", **other}, NewSettlement)
        self.do(by, lambda work: disputing.settle(work, dispute, new))

    def confirm(self, *by: str, vehicle: str = VEHICLE) -> None:
        subject = Subject(SubjectKind.VEHICLE, vehicle)
        for each in by:
            self.do(each, lambda work: subjects.confirm(work, subject, Confirmation()))

    def daily(self, **later: float) -> daily.Daily:
        """Some time passes, and the daily run enters it."""
        self.now += timedelta(**later)
        with self.database.write() as session:
            return daily.run(daily.system_work(session, self.now, self.store))

    def view(self, claim: str) -> ClaimView:
        with self.database.read() as session:
            return looking.claim(session, claim)

    def limit(self, **asked: Any) -> Any:
        """The vehicle's limit for a known car, as it is sent."""
        context = {"year": 2021, "body": "dual_cab", "roofs": ["bare"], "market": "NZ"}
        question = msgspec.convert({"condition": "on_road", "context": context, **asked}, LimitIn, strict=False)
        return msgspec.json.decode(self.answers.limit(Subject(SubjectKind.VEHICLE, VEHICLE), question).body)

    def gross(self, **asked: Any) -> float | None:
        figure = self.limit(**asked)["figure"]
        return None if figure is None else figure["gross"]["value"]
