"""Whatever happens, in whatever order: the tables are what the ledger says, and every answer can be had again."""

import random
from pathlib import Path
from typing import Any

import msgspec
import pytest
from sqlalchemy import text
from sqlmodel import select

from app.core.claim import Subject, SubjectKind
from app.core.dossier import Facts
from app.core.entries import DocumentAdded
from app.core.errors import CantrailError
from app.core.mismatch import Finding
from app.core.plate import changes, may_move
from app.core.scoring import dossier_of
from app.persistence import ledger, projection
from app.persistence.base import table_of
from app.persistence.models import Claim, DeskWork
from app.persistence.projection import PROJECTED
from app.persistence.session import Database
from app.services import mismatches
from app.services.answering import Answers
from app.services.asked import LimitIn
from app.services.facts import entries_about, facts_about
from app.services.inputs import NewMismatchJudgement
from tests.services.placed import Desk
from tests.services.trade import VEHICLE, Trade

HISTORIES = 3
STEPS = 70
ROOF = Subject(SubjectKind.VEHICLE, VEHICLE)
ASKED = [LimitIn(condition=condition) for condition in ("on_road", "off_road", "parked")]  # type: ignore[arg-type]


class Life:
    """Things that people may do next, most of them allowed."""

    def __init__(self, trade: Trade, rng: random.Random, another: str = "Mere") -> None:
        self.trade = trade
        self.rng = rng
        self.claims: list[str] = []
        self.disputes: list[str] = []
        self.desk = Desk(trade)
        self.placements: list[str] = []
        self.vehicles = [ROOF, self.desk.another(model=another)]
        self.fitments: list[str] = []
        self.papers = [trade.paper(), trade.paper(kind="maker_page"), trade.paper("pellwick", "catalogue")]

    def step(self) -> None:
        acts = [self.submit, self.approve, self.approve, self.approve, self.reject, self.dispute, self.settle]
        placing = [self.correct, self.propose, self.agree, self.agree, self.undo]
        self.rng.choice([*acts, self.supersede, self.wait, self.fit, self.confirm, self.judge, *placing])()

    def person(self) -> str:
        return self.rng.choice(["writer", "other writer", "first", "second", "third", "fourth"])

    def submit(self, **more: Any) -> None:
        rng = self.rng
        scopes = [
            {},
            {"roofs": ["bare"]},
            {"roofs": "all", "bodies": ["dual_cab"]},
            {"years": {"from": 2019, "to": 2021}},
        ]
        kind, paper = rng.choice([("manual_page", 0), ("manual_page", 0), ("maker_statement", 1), ("unverified", 2)])
        said = {
            "stated": {"value": rng.choice(["40", "75", "75.4", "100", "165"]), "unit": rng.choice(["kg", "kg", "lb"])},
            "condition": rng.choice(["on_road", "on_road", "off_road", "parked"]),
            "bound": rng.choice(["exact", "exact", "exact", "at_least", "at_most"]),
            "scope": rng.choice(scopes),
        }
        about = {"kind": "vehicle", "id": rng.choice(self.vehicles).id}
        said |= {"subject": about, **more}
        self.claims.append(self.trade.claim(self.person(), paper=self.papers[paper], source_type=kind, **said))

    def some_claim(self) -> str:
        return self.rng.choice(self.claims)

    def approve(self) -> None:
        by, claim = self.person(), self.some_claim()
        account = self.trade.account(by)
        own = [each.id for each in self.trade.view(claim).readings if each.reviewer == account]
        differs = {"stated": {"value": "30", "unit": "kg"}} if self.rng.random() < 0.1 else {}
        reading = own[0] if own else self.trade.read(by, claim, **differs)
        self.trade.decide(by, claim, "approve", reading=reading)

    def reject(self) -> None:
        if self.rng.random() < 0.5:
            self.trade.decide(self.person(), self.some_claim(), "reject", code="misread")
        else:
            self.trade.decide(self.person(), self.some_claim(), "ask_evidence")

    def dispute(self) -> None:
        held = self.rng.choice([None, self.papers[0]])
        self.disputes.append(self.trade.dispute(self.person(), self.some_claim(), document=held))

    def judge(self) -> None:
        """A steward looks at a reading beyond which a claim goes."""
        readings = self.trade.view(self.some_claim()).readings
        new = {"finding": self.rng.choice(list(Finding)), "reason": "As the page has it."}
        body = msgspec.convert(new, NewMismatchJudgement)
        reading = self.rng.choice([each.id for each in readings if not each.matches])
        self.trade.do("steward", lambda work: mismatches.judge(work, reading, body))

    def settle(self) -> None:
        how = self.rng.choice([("uphold", {}), ("refute", {"code": "misread"}), ("refute", {"code": "misread"})])
        self.trade.settle(self.person(), self.rng.choice(self.disputes), how[0], **how[1])

    def supersede(self) -> None:
        old = self.trade.view(self.some_claim())
        self.submit(supersedes=old.id, condition=str(old.condition), scope={}, subject=msgspec.to_builtins(old.subject))

    def wait(self) -> None:
        self.trade.daily(days=self.rng.choice([1, 20, 400]))

    def fit(self) -> None:
        self.fitments.append(self.trade.fitment(vehicle=self.rng.choice(self.vehicles).id))

    def confirm(self) -> None:
        self.trade.confirm(self.person(), vehicle=self.rng.choice(self.vehicles).id)

    def correct(self) -> None:
        bodies = self.rng.choice([None, ["dual_cab"], ["dual_cab", "wagon"]])
        self.desk.correct(self.rng.choice(self.vehicles), bodies=bodies, years={"from": 2018, "to": 2025})

    def propose(self) -> None:
        one, other = self.rng.sample(self.vehicles, 2)
        if self.rng.random() < 0.5:
            self.placements.append(self.desk.propose(one, other))
        else:
            moved = self.rng.sample(self.fitments, min(1, len(self.fitments)))
            claims = self.rng.sample(self.claims, min(2, len(self.claims)))
            self.placements.append(self.desk.propose_split(one, other, *claims, fitments=tuple(moved)))

    def agree(self) -> None:
        placement = self.rng.choice(self.placements)
        if self.rng.random() < 0.2:
            self.desk.refuse(placement, by=self.person())
        else:
            self.desk.agree(placement, by=self.person())

    def undo(self) -> None:
        self.placements.append(self.desk.propose_undoing(self.rng.choice(self.placements)))


def rows(database: Database) -> dict[str, list[Any]]:
    """Everything in the tables that the ledger gives."""
    with database.read() as session:
        return {
            table_of(row).name: sorted(
                map(repr, session.connection().execute(text(f"SELECT * FROM {table_of(row).name}")))
            )
            for row in PROJECTED
        }


def on_the_desk(database: Database) -> list[tuple[str, str, str, str | None]]:
    """What waits, about what, since when; its order also follows from what no entry tells."""
    with database.read() as session:
        return sorted((each.kind, each.about, each.since, each.subject_id) for each in session.exec(select(DeskWork)))


def nothing_moves_unseen(database: Database) -> None:
    """What is said to move no plate leaves the roof's as it was."""
    with database.read() as session:
        history, _ = entries_about(session, ROOF)
    facts, still = Facts(), 0
    for entry in history:
        if may_move(entry, facts) or isinstance(entry.payload, DocumentAdded):
            facts.apply(entry)
            continue
        before = dossier_of(facts, ROOF)
        facts.apply(entry)
        after = dossier_of(facts, ROOF)
        assert after is None or before is None or changes(before, after) == (), entry
        still += before is not None
    assert still


@pytest.mark.parametrize("history", range(HISTORIES))
def test_any_history_holds_together(history: int, database: Database, tmp_path: Path) -> None:
    rng = random.Random(f"history {history}")
    trade = Trade(database, tmp_path / "evidence")
    trade.furnish()
    life = Life(trade, rng)
    told: dict[int, list[bytes]] = {}
    refused = 0
    for _ in range(STEPS):
        try:
            life.step()
        except (CantrailError, IndexError):
            refused += 1
        with database.read() as session:
            head = ledger.head(session)
        told[head] = [trade.answers.limit(subject, asked).body for subject in life.vehicles for asked in ASKED]
    assert refused < STEPS

    # Every answer that was ever given can be had again, from a memory that has never seen the registry.
    afresh = Answers(database, 5)
    for head, bodies in told.items():
        again = [
            afresh.limit(subject, LimitIn(condition=asked.condition, as_of=head)).body
            for subject in life.vehicles
            for asked in ASKED
        ]
        assert again == bodies, f"as of {head}"

    if database.is_sqlite:
        nothing_moves_unseen(database)

    # The tables are what the ledger says, made one by one or all at once.
    before, desk = rows(database), on_the_desk(database)
    with database.write() as session:
        projection.rebuild(session)
    assert rows(database) == before
    assert on_the_desk(database) == desk
    with database.read() as session:
        facts, _ = facts_about(session, ROOF, beside=life.vehicles)
        homes = {row.id: Subject(row.subject_kind, row.subject_id) for row in session.exec(select(Claim))}
    states = {claim.id: (claim.state, len(claim.approvals)) for claim in facts.claims.values()}
    assert {id: (trade.view(id).state, trade.view(id).approvals) for id in life.claims} == states
    assert homes == {claim.id: claim.subject for claim in facts.claims.values()}
