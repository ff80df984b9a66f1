"""Whatever one steward alone enters, no answer that was there rises: not by corrections, mergers, splits or claims."""

import random
from pathlib import Path
from typing import Any

import msgspec
import pytest

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError
from app.persistence.session import Database
from app.services import claims as claiming
from tests.services.placed import CARRIER, KNOWN, ONE, Desk
from tests.services.trade import Trade

ALONE = "other steward"
HISTORIES = 4
STEPS = 25
KIND_OF = {"vehicle": ("includes_carrier", "orrin"), "carrier": ("excludes_carrier", "pellwick")}


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here follows from the rules; histories of all of it are lived on PostgreSQL too."""
    return sqlite_url


class Beginning:
    """A registry in which everything was done by two: nothing waits for one more."""

    def __init__(self, trade: Trade, rng: random.Random) -> None:
        self.trade, self.rng, self.desk = trade, rng, Desk(trade)
        self.vehicles = [ONE, self.desk.another(bodies=["dual_cab", "wagon"]), self.desk.another(model="Loch")]
        self.carriers = [CARRIER, trade.carrier(model="Mellow", bars=2)]
        self.tent = self.desk.gear()
        self.claims: list[str] = []
        self.fitments = [
            Subject(SubjectKind.FITMENT, trade.fitment(vehicle=vehicle.id, carrier=carrier.id))
            for vehicle in self.vehicles[:2]
            for carrier in self.carriers
        ]
        self.papers = {maker: [trade.paper(maker), trade.paper(maker, "maker_page")] for maker in ("orrin", "pellwick")}
        for _ in range(14):
            claim = self.claim("writer")
            if rng.random() < 0.8:
                trade.approve(claim)
        for subject in (*self.vehicles, *self.carriers, *self.fitments, self.tent):
            if rng.random() < 0.7:
                self.desk.confirm_record(subject)
        self.placements = [self.desk.merge(self.vehicles[2], self.vehicles[1])] if rng.random() < 0.5 else []

    def claim(self, by: str) -> str:
        rng = self.rng
        kind, subject = rng.choice(
            [("vehicle", rng.choice(self.vehicles)), ("vehicle", ONE), ("carrier", rng.choice(self.carriers))]
        )
        basis, maker = KIND_OF[kind]
        paper = rng.choice([0, 0, 1])
        said: dict[str, Any] = {
            "subject": msgspec.to_builtins(subject),
            "stated": {"value": rng.choice(["25", "30", "75", "75.3", "90"]), "unit": "kg"},
            "source_type": ["manual_page", "maker_statement"][paper],
            "paper": self.papers[maker][paper],
            "bound": rng.choice(["exact", "exact", "exact", "at_least", "at_most"]),
            "basis": basis,
            "condition": rng.choice(["on_road", "on_road", "off_road"]),
        }
        if kind == "vehicle":
            said["scope"] = rng.choice(
                [{}, {"bodies": ["dual_cab"]}, {"roofs": "all"}, {"years": {"from": 2019, "to": 2022}}]
            )
        else:
            said |= {"quantity": "load_rating", "per": rng.choice(["total", "bar"]), "scope": {}}
            if rng.random() < 0.5:
                said |= {"quantity": "own_mass", "condition": None, "basis": "includes_fixing", "per": "bar"}
                said |= {"stated": {"value": rng.choice(["5", "8", "25"]), "unit": "kg"}}
        claim = self.trade.claim(by, **said)
        self.claims.append(claim)
        return claim


class Alone:
    """What one steward may try."""

    def __init__(self, begun: Beginning) -> None:
        self.begun, self.rng, self.desk, self.trade = begun, begun.rng, begun.desk, begun.trade
        self.proposed = list(begun.placements)

    def step(self) -> None:
        tries = [self.correct, self.correct, self.correct, self.propose, self.agree, self.confirm]
        self.rng.choice([*tries, self.enter, self.approve, self.dispute, self.reject, self.undo])()

    def correct(self) -> None:
        rng, begun = self.rng, self.begun
        subject = rng.choice([*begun.vehicles, *begun.carriers, *begun.carriers, *begun.fitments, begun.tent])
        choices: dict[SubjectKind, dict[str, Any]] = {
            SubjectKind.VEHICLE: {
                "bodies": rng.choice([None, ["dual_cab"], ["dual_cab", "wagon"]]),
                "roofs": rng.choice([None, ["bare"]]),
                "years": rng.choice([{"from": 2019, "to": 2022}, {"from": 2015}]),
            },
            SubjectKind.CARRIER: {"bars": rng.choice([None, 1, 2, 3, 6]), "fixing": rng.choice([None, "built_in"])},
            SubjectKind.FITMENT: {"roofs": rng.choice([None, ["gutter"], ["bare"]])},
            SubjectKind.GEAR: {"category": rng.choice(["board", "skis", "rooftop_tent", "roof_box"])},
        }
        changed = choices[subject.kind]
        if subject.kind in {SubjectKind.VEHICLE, SubjectKind.CARRIER}:
            changed |= {"model": f"Name {rng.randrange(10**6)}"}
        self.desk.correct(subject, by=ALONE, **changed)

    def propose(self) -> None:
        of = self.rng.choice([self.begun.vehicles, self.begun.carriers])
        one, other = self.rng.sample(of, 2)
        if self.rng.random() < 0.5:
            self.proposed.append(self.desk.propose(one, other, by=ALONE))
        else:
            claims = self.rng.sample(self.begun.claims, 2)
            self.proposed.append(self.desk.propose_split(one, other, *claims, by=ALONE))

    def agree(self) -> None:
        self.desk.agree(self.rng.choice(self.proposed), by=ALONE)

    def undo(self) -> None:
        self.proposed.append(self.desk.propose_undoing(self.rng.choice(self.proposed), by=ALONE))

    def confirm(self) -> None:
        begun = self.begun
        subject = self.rng.choice([*begun.vehicles, *begun.carriers, *begun.fitments, begun.tent])
        self.desk.confirm_record(subject, ALONE)

    def enter(self) -> None:
        self.begun.claim(ALONE)

    def approve(self) -> None:
        claim = self.rng.choice(self.begun.claims)
        self.trade.decide(ALONE, claim, "approve", reading=self.trade.read(ALONE, claim))

    def dispute(self) -> None:
        document = self.rng.choice([None, self.begun.papers["orrin"][0]])
        self.trade.dispute(ALONE, self.rng.choice(self.begun.claims), document=document)

    def reject(self) -> None:
        claim = self.rng.choice(self.begun.claims)
        if self.rng.random() < 0.5:
            self.trade.do(ALONE, lambda work: claiming.withdraw(work, claim))
        else:
            self.trade.decide(ALONE, claim, "reject", code="misread")


NOTHING = float("-inf")


def amounts(begun: Beginning) -> dict[Any, float]:
    """All that is allowed, whichever way it is asked for; nothing where there is no figure, or where it is refused."""
    desk = begun.desk
    found: dict[Any, float] = {}
    wagon = {**KNOWN, "body": "wagon"}
    for subject in (*begun.vehicles, *begun.carriers, *begun.fitments):
        contexts = [KNOWN, wagon, {}] if subject.kind is SubjectKind.VEHICLE else [{}]
        for context in contexts:
            for condition in ("on_road", "off_road", "parked"):
                key = (subject, str(context), condition)
                try:
                    figure = desk.answer(subject, condition=condition, context=context)["figure"]
                except CantrailError:
                    figure = None
                for side in ("gross", "net"):
                    # A side that is left open allows whatever the other one does.
                    open_side = NOTHING if figure is None else float("inf")
                    said = None if figure is None else figure[side]
                    found[*key, side] = open_side if said is None else said["value"]
    for vehicle in begun.vehicles:
        for carrier in begun.carriers:
            asked = {"vehicle": vehicle.id, "carriers": [{"id": carrier.id}], "gear": [{"id": begun.tent.id}]}
            stack = ("budget", vehicle, carrier)
            try:
                told = desk.budget(**asked, fixing="built_in")
            except CantrailError:
                told = {"allowed_cargo": None, "remaining": None, "ceiling": None, "cargo_worst": None}
            for name in ("allowed_cargo", "remaining_worst", "remaining"):
                found[*stack, name] = NOTHING if told.get(name) is None else told[name]
    return found


@pytest.mark.parametrize("history", range(HISTORIES))
def test_no_single_account_raises_anything(history: int, database: Database, tmp_path: Path) -> None:
    rng = random.Random(f"alone {history}")
    trade = Trade(database, tmp_path / "evidence")
    trade.furnish()
    begun = Beginning(trade, rng)
    alone = Alone(begun)
    before = amounts(begun)
    assert any(amount > 0 for amount in before.values())
    entered = 0
    for step in range(STEPS):
        try:
            alone.step()
        except (CantrailError, IndexError):
            continue
        entered += 1
        now = amounts(begun)
        risen = {key: (before[key], now[key]) for key in now if now[key] > before[key]}
        assert not risen, f"step {step}"
    assert entered > STEPS // 4
