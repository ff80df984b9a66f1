"""Long and varied histories, and receipts that are taken all along them: whoever changes how a registry is kept, backed
up or answered from asks them all again."""

import random
from collections import defaultdict
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import timedelta
from typing import Any

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError
from app.persistence import ledger
from app.persistence.session import Database
from app.services import enquiries, looking, reviewing, subjects
from app.services.answering import Answers
from app.services.asked import BudgetIn, LimitIn
from app.services.inputs import EnquiryOutcomeIn, NewEnquiry, NewGear, NewReading
from app.services.views.answers import Receipt
from app.services.views.claims import ClaimView
from tests.services.outdoors import Outdoors
from tests.services.test_random_histories import Life

REVIEWERS = ("first", "second", "third", "fourth", "steward", "other steward")
SAID_OF_READINGS = ("stated", "per", "condition", "basis", "excluded_mass", "bound", "applies_to", "scope")


class WideLife(Life):
    """A life with many vehicles and carriers, with papers that are read, copied and taken down, with enquiries, and
    with figures that are worked back."""

    trade: Outdoors

    def __init__(self, trade: Outdoors, rng: random.Random, name: str, *, vehicles: int = 3, carriers: int = 2) -> None:
        super().__init__(trade, rng, another=name)
        # The first is everybody's.
        self.vehicles = self.vehicles[1:]
        self.carriers: list[Subject] = []
        self.gear: list[Subject] = []
        self.put: list[str] = []
        self.seen: dict[str, ClaimView] = {}
        self.readers: defaultdict[str, set[str]] = defaultdict(set)
        known = {kind: self._known(kind) for kind in (SubjectKind.VEHICLE, SubjectKind.CARRIER, SubjectKind.GEAR)}
        for number in range(vehicles - 1):
            new: dict[str, Any] = {"model": f"{name} Rill {number}", "distinct_from": known[SubjectKind.VEHICLE]}
            self.vehicles.append(self.desk.another(**new))
            known[SubjectKind.VEHICLE].append(self.vehicles[-1].id)
        for number in range(carriers):
            new = {"model": f"{name} Trestle {number}", "bars": 2, "distinct_from": known[SubjectKind.CARRIER]}
            self.carriers.append(trade.carrier(**new))
            known[SubjectKind.CARRIER].append(self.carriers[-1].id)
        self.gear.append(self._gear(f"{name} Dormelle", known[SubjectKind.GEAR]))
        # A newcomer may submit so many things a day.
        trade.now += timedelta(days=1)

    def _known(self, kind: SubjectKind) -> list[str]:
        with self.trade.database.read() as session:
            return [each.id for each in looking.records(session, kind, cursor=None, limit=50).items]

    def _gear(self, model: str, known: list[str]) -> Subject:
        said = {"maker": "pellwick", "model": model, "category": "rooftop_tent", "distinct_from": known}
        body = msgspec.convert(said, NewGear)
        return Subject(SubjectKind.GEAR, self.trade.do("writer", lambda work: subjects.add_gear(work, body)))

    def acts(self) -> list[tuple[Callable[[], None], int]]:
        """What may happen next, and how often."""
        return [
            (self.submit, 8),
            (self.approve, 4),
            (self.approve_newest, 20),
            (self.rate, 6),
            (self.work_back, 5),
            (self.file, 4),
            (self.dispute, 5),
            (self.settle, 5),
            (self.reject, 2),
            (self.supersede, 2),
            (self.fit, 8),
            (self.confirm, 8),
            (self.copy, 8),
            (self.take_down, 1),
            (self.ask, 34),
            (self.close, 26),
            (self.wait, 1),
            (self.judge, 1),
            (self.drain, 2),
            (self.correct, 1),
            (self.correct_carrier, 1),
            (self.propose, 1),
            (self.agree, 1),
            (self.undo, 1),
        ]

    def step(self) -> None:
        """One more thing that people do; what is not allowed is refused."""
        acts = self.acts()
        (act,) = self.rng.choices([each for each, _ in acts], [often for _, often in acts])
        act()

    def some_claim(self) -> str:
        """Mostly of the newer ones, which are not decided yet."""
        return self.rng.choice(self.claims[-25:] if self.rng.random() < 0.7 else self.claims)

    def person(self) -> str:
        return self.rng.choice(["writer", "first", "second", "third", "fourth", "steward", "other steward"])

    def view(self, claim: str) -> ClaimView:
        """A claim as it was first seen: what it states never changes."""
        if claim not in self.seen:
            self.seen[claim] = self.trade.view(claim)
        return self.seen[claim]

    def approve_newest(self) -> None:
        """Two who have not read it yet, one after the other."""
        claim = self.some_claim()
        view = self.view(claim)
        said = msgspec.to_builtins({each: getattr(view, each) for each in SAID_OF_READINGS})
        if view.derivation is not None:
            takes = [each.claim for each in view.derivation.takes]
            derivation = {"method": view.derivation.method, "takes": takes, "multiple": view.derivation.multiple}
            said |= {"stated": None, "derivation": derivation}
        new = msgspec.convert(said, NewReading)
        fresh = [each for each in REVIEWERS if self.trade.account(each) not in {view.author, *self.readers[claim]}]
        for by in self.rng.sample(fresh, min(2, len(fresh))):
            self.readers[claim].add(self.trade.account(by))
            reading = self.trade.do(by, lambda work: reviewing.read(work, claim, new))
            self.trade.decide(by, claim, "approve", reading=reading)

    def rate(self) -> None:
        """A rating, own mass or factor of a carrier, often the very figure that a vehicle's maker states."""
        rng = self.rng
        value = rng.choice(["40", "75", "100", "165"])
        about = rng.choice(self.carriers)
        quantity = rng.choice(["load_rating", "load_rating", "load_rating", "own_mass", "off_road_factor"])
        said: dict[str, Any] = {"condition": None, "basis": None, "scope": {}, "bound": "exact"}
        if quantity == "load_rating":
            said |= {"stated": {"value": value, "unit": "kg"}, "condition": "on_road", "basis": "includes_carrier"}
            said |= {"per": rng.choice(["total", "total", "bar"])}
        elif quantity == "own_mass":
            said |= {"stated": {"value": rng.choice(["12", "25"]), "unit": "kg"}, "basis": "includes_fixing"}
        else:
            said |= {"stated": {"value": rng.choice(["2/3", "0.8"]), "unit": "factor"}, "applies_to": "both"}
        said |= {"subject": {"kind": "carrier", "id": about.id}, "quantity": quantity}
        if rng.random() < 0.3:
            self.papers[2] = self.trade.paper("pellwick", "catalogue")
        paper = self.papers[2]
        self.claims.append(self.trade.claim(self.person(), paper=paper, source_type="maker_statement", **said))

    def work_back(self) -> None:
        """A sister vehicle's limit, or a parked multiple of one's own."""
        taken = self.view(self.rng.choice(self._limits()))
        method = self.rng.choice(["sister_vehicle", "sister_vehicle", "parked_multiple"])
        onto = taken.subject.id if method == "parked_multiple" else self.rng.choice(self.vehicles).id
        derivation: dict[str, Any] = {"method": method, "takes": [taken.id]}
        said: dict[str, Any] = {"condition": str(taken.condition), "scope": msgspec.to_builtins(taken.scope)}
        if method == "parked_multiple":
            derivation["multiple"] = 2
            said["condition"] = "parked"
        subject = {"kind": "vehicle", "id": onto}
        body: dict[str, Any] = {
            "source_type": "accessory_derived",
            "stated": None,
            "basis": None,
            "citations": [],
            "subject": subject,
        }
        self.claims.append(self.trade.claim(self.person(), derivation=derivation, **body, **said))

    def supersede(self) -> None:
        old = self.view(self.rng.choice(self._limits()))
        self.submit(supersedes=old.id, condition=str(old.condition), scope={}, subject=msgspec.to_builtins(old.subject))

    def _limits(self) -> list[str]:
        return [id for id in self.claims[-25:] if self.view(id).condition is not None and self._on_vehicle(id)]

    def _on_vehicle(self, id: str) -> bool:
        return self.view(id).subject.kind is SubjectKind.VEHICLE

    def file(self) -> None:
        """Other papers, with words that may be the same as another's."""
        words = self.rng.choice(["On sealed roads the roof may carry 75 kg.", "Roof load 100 kg, parked 165 kg."])
        place = self.rng.randrange(2)
        kind = ["handbook", "maker_page"][place]
        self.papers[place] = self.trade.written(f"{words} {self.rng.randrange(200)}", kind=kind, by=self.person())

    def documents(self) -> list[str]:
        some = self.rng.sample(self.claims, min(8, len(self.claims)))
        return [*self.papers, *(citation.document for id in some for citation in self.view(id).citations)]

    def copy(self) -> None:
        one, other = self.rng.choice(self.documents()), self.rng.choice(self.documents())
        self.trade.judge(self.person(), one, other, copied=self.rng.random() < 0.7)

    def take_down(self) -> None:
        taken = self.rng.choice(self.documents())
        self.trade.take_down("steward", taken)
        if taken == self.papers[2]:
            self.papers[2] = self.trade.paper("pellwick", "catalogue")
        self.file()

    def drain(self) -> None:
        self.trade.work()

    def fit(self) -> None:
        vehicle, carrier = self.rng.choice(self.vehicles), self.rng.choice(self.carriers)
        self.fitments.append(self.trade.fitment(vehicle=vehicle.id, carrier=carrier.id))

    def correct_carrier(self) -> None:
        carrier = self.rng.choice(self.carriers)
        if self.rng.random() < 0.5:
            self.desk.confirm_record(carrier, self.rng.choice(["first", "second"]))
        else:
            self.desk.correct(carrier, model=carrier.id, bars=self.rng.choice([2, 3]))

    def ask(self) -> None:
        new = {
            "subject": {"kind": "vehicle", "id": self.rng.choice(self.vehicles).id},
            "asked": "orrin",
            "quantity": "roof_limit",
            "conditions": [self.rng.choice(["on_road", "parked"])],
            "channel": "letter",
            "questions": "What may the roof carry?",
            "asked_on": self.trade.now.date().isoformat(),
        }
        body = msgspec.convert(new, NewEnquiry)
        self.put.append(self.trade.do("first", lambda work: enquiries.put(work, body)))

    def close(self) -> None:
        enquiry = self.rng.choice(self.put)
        body = msgspec.convert({"outcome": self.rng.choice(["declined", "did_not_know"])}, EnquiryOutcomeIn)
        self.trade.do("first", lambda work: enquiries.close(work, enquiry, body))


class BusyLife(WideLife):
    """A life in which hardly anything happens that does not change a figure."""

    def acts(self) -> list[tuple[Callable[[], None], int]]:
        """What may happen next, and how often."""
        return [
            (self.submit, 8),
            (self.approve_newest, 22),
            (self.approve, 3),
            (self.rate, 6),
            (self.work_back, 8),
            (self.fit, 4),
            (self.file, 2),
            (self.dispute, 6),
            (self.settle, 10),
            (self.copy, 6),
            (self.take_down, 2),
            (self.drain, 2),
            (self.supersede, 4),
            (self.confirm, 4),
            (self.wait, 2),
            (self.correct_carrier, 3),
            (self.correct, 1),
            (self.propose, 3),
            (self.agree, 3),
            (self.undo, 2),
            (self.reject, 1),
        ]


class Region:
    """Several lives beside one another in one registry, so that it grows wide and not only deep."""

    def __init__(
        self, trade: Outdoors, rng: random.Random, names: Sequence[str], kind: type[WideLife] = WideLife
    ) -> None:
        self.trade = trade
        self.rng = rng
        self.lives = [kind(trade, rng, name) for name in names]

    def live(self, entries: int, after_each: Callable[[WideLife], None] = lambda _: None) -> None:
        """Go on until the ledger has so many entries."""
        while self.trade.database.probe() < entries:
            life = self.rng.choice(self.lives)
            with suppress(CantrailError, IndexError):
                life.step()
            after_each(life)


class Taken(msgspec.Struct, frozen=True):
    """What was asked, and what the answer was."""

    subject: Subject | None
    asked: LimitIn | BudgetIn
    receipt: Receipt
    body: bytes


class Receipts:
    """Answers that were taken, to be asked again."""

    def __init__(self) -> None:
        self.taken: list[Taken] = []

    def take(self, answers: Answers, life: WideLife, rng: random.Random) -> Taken:
        """Ask something of a registry as it is now, and remember the answer."""
        asked: LimitIn | BudgetIn
        subject = None
        if rng.random() < 0.5:
            subject, asked = self._limit(life, rng)
            body = answers.limit(subject, asked).body
        else:
            asked = self._budget(life, rng)
            body = answers.budget(asked).body
        self.taken.append(Taken(subject, asked, msgspec.json.decode(body, type=_Answered).receipt, body))
        return self.taken[-1]

    def check(self, database: Database) -> int:
        """Ask everything again as of then, of a memory that has never seen the registry: each answer is what it was, to
        the byte. Gives how many there were."""
        afresh = Answers(database, 5)
        for each in self.taken:
            asked = msgspec.structs.replace(each.asked, as_of=each.receipt.as_of)
            if isinstance(asked, BudgetIn):
                again = afresh.budget(asked).body
            else:
                assert each.subject is not None
                again = afresh.limit(each.subject, asked).body
            assert msgspec.json.decode(again, type=_Answered).receipt == each.receipt, each.asked
            assert again == each.body
        return len(self.taken)

    def _limit(self, life: WideLife, rng: random.Random) -> tuple[Subject, LimitIn]:
        subject = rng.choice([*life.vehicles, *life.carriers, *life.gear, *map(_fitment, life.fitments)])
        said: dict[str, Any] = {"unit": rng.choice(["kg", "lb"])}
        if subject.kind is not SubjectKind.GEAR:
            said["condition"] = rng.choice(["on_road", "off_road", "parked"])
        if subject.kind is SubjectKind.VEHICLE:
            said["context"] = rng.choice([{}, _KNOWN, {"roofs": ["track", "bare"]}])
        if subject.kind is SubjectKind.CARRIER and rng.random() < 0.4:
            said = {"quantity": rng.choice(["own_mass", "off_road_factor"])}
        said["min_confidence"] = rng.choice([0.8, 0.8, 0.5, 0.95])
        return subject, msgspec.convert(said, LimitIn, strict=False)

    def _budget(self, life: WideLife, rng: random.Random) -> BudgetIn:
        said = {
            "vehicle": rng.choice(life.vehicles).id,
            "condition": rng.choice(["on_road", "off_road", "parked"]),
            "context": rng.choice([{}, _KNOWN]),
            "carriers": [{"id": rng.choice(life.carriers).id}] if rng.random() < 0.7 else [],
            "gear": [{"name": "awning", "mass": 14, "tolerance": 1}, {"id": rng.choice(life.gear).id}],
            "min_confidence": rng.choice([0.8, 0.8, 0.5]),
        }
        return msgspec.convert(said, BudgetIn, strict=False)


class _Answered(msgspec.Struct, frozen=True):
    receipt: Receipt


_KNOWN = {"year": 2021, "body": "dual_cab", "roofs": ["bare"], "market": "NZ"}


def _fitment(id: str) -> Subject:
    return Subject(SubjectKind.FITMENT, id)


def types_entered(database: Database) -> set[str]:
    """The types of all entries of a ledger."""
    with database.read() as session:
        return {entry.payload.type for entry in ledger.every_entry(session)}
