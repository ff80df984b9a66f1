"""Answers come from memory, are never older than the last write, and can be had again."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import msgspec
import pytest
from sqlalchemy import event
from sqlalchemy.engine import Engine

from app.core.claim import Condition, Subject, SubjectKind
from app.core.errors import CantrailError
from app.persistence.session import Database
from app.services.answering import Answers
from app.services.asked import BudgetIn, BudgetsIn, LimitIn
from app.services.changes import changes
from tests.services.trade import VEHICLE, Trade

ROOF = Subject(SubjectKind.VEHICLE, VEHICLE)
ON_ROAD = LimitIn(condition=Condition.ON_ROAD)


def budget(**more: Any) -> BudgetIn:
    body = {
        "vehicle": VEHICLE,
        "condition": "on_road",
        "context": {"year": 2021, "body": "dual_cab", "roofs": ["bare"], "market": "NZ"},
        "carriers": [{"given": {"own_mass": 25, "load_rating": 100, "rating_basis": "excludes_carrier"}}],
        **more,
    }
    return msgspec.convert(body, BudgetIn, strict=False)


@contextmanager
def counted() -> Iterator[list[str]]:
    """The statements that are sent to any database meanwhile."""
    sent: list[str] = []

    def note(_connection: Any, _cursor: Any, statement: str, *_: Any) -> None:
        sent.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    try:
        yield sent
    finally:
        event.remove(Engine, "before_cursor_execute", note)


def test_what_is_at_hand_needs_no_query(trade: Trade) -> None:
    trade.approve(trade.claim())
    assert trade.answers.ready_limit(ROOF, ON_ROAD) is None
    with counted() as cold:
        trade.answers.limit(ROOF, ON_ROAD)
    # The head, what changed since, the subject's own stream and the method's, and what that links to.
    assert len(cold) <= 6, cold
    with counted() as warm:
        assert trade.answers.ready_limit(ROOF, ON_ROAD) is not None
        assert trade.answers.ready_budget(budget()) is not None
    assert warm == []


def test_a_write_by_another_process_is_in_the_next_answer(trade: Trade) -> None:
    trade.approve(trade.claim())
    low = trade.claim(stated={"value": "50", "unit": "kg"})
    assert trade.gross() == 75.0
    other = Database(trade.database.url, checkpoints=False)
    here, trade.database = trade.database, other
    trade.approve(low, "third")
    trade.database = here
    other.dispose()
    assert trade.answers.ready_limit(ROOF, ON_ROAD) is None
    assert trade.gross() == 50.0


def test_a_write_elsewhere_leaves_an_answer_as_it_is(trade: Trade) -> None:
    trade.approve(trade.claim())
    before = trade.answers.limit(ROOF, ON_ROAD)
    trade.vehicle(model="Ghyllet")
    assert trade.answers.limit(ROOF, ON_ROAD) == before


def test_a_budget_of_then_can_be_had_by_number_and_by_time(trade: Trade) -> None:
    trade.approve(trade.claim())
    then = msgspec.json.decode(trade.answers.budget(budget()).body)
    at = trade.now.isoformat()
    trade.approve(trade.claim(stated={"value": "50", "unit": "kg"}), "third")
    now = msgspec.json.decode(trade.answers.budget(budget()).body)
    assert (then["allowed_cargo"], now["allowed_cargo"]) == (50.0, 25.0)
    for as_of in (then["receipt"]["as_of"], at):
        assert msgspec.json.decode(trade.answers.budget(budget(as_of=as_of)).body) == then


@pytest.mark.parametrize(
    ("as_of", "code"), [(10**9, "not_yet"), ("yesterday", "bad_time"), ("2026-01-05T09:00:00", "bad_time")]
)
def test_a_time_that_is_none_is_refused(trade: Trade, as_of: int | str, code: str) -> None:
    with pytest.raises(CantrailError) as refused:
        trade.answers.limit(ROOF, LimitIn(condition=Condition.ON_ROAD, as_of=as_of))
    assert refused.value.code == code
    assert refused.value.faults[0].pointer == "/as_of"


def test_before_the_vehicle_was_entered_there_was_none(trade: Trade) -> None:
    with pytest.raises(CantrailError) as refused:
        trade.answers.limit(ROOF, LimitIn(condition=Condition.ON_ROAD, as_of=1))
    assert refused.value.code == "no_such_vehicle"


def test_pounds_are_rounded_to_the_safe_side(trade: Trade) -> None:
    trade.approve(trade.claim())
    shown = msgspec.json.decode(
        trade.answers.budget(budget(unit="lb", carriers=[], gear=[{"name": "awning", "mass": 14}])).body
    )
    # 75 kg are 165.34669… lb; 14 lb are 6,350.29… g, of which no gram may be lost: 6,351 g are 14.00155… lb.
    assert (shown["allowed_cargo"], shown["cargo"]) == (165.346, 14.002)
    assert shown["remaining"] == 151.345


def test_what_is_wrong_in_one_of_many_is_said_with_its_place(trade: Trade) -> None:
    many = BudgetsIn([budget(), budget(carriers=[{"id": "nothing"}])])
    with pytest.raises(CantrailError) as refused:
        trade.answers.budgets(many)
    assert [fault.pointer for fault in refused.value.faults] == ["/budgets/1/carriers/0/id"]


def test_the_feed_tells_what_each_entry_did_to_the_plate(trade: Trade) -> None:
    high = trade.claim()
    trade.approve(high)
    trade.approve(trade.claim(stated={"value": "50", "unit": "kg"}), "third")
    dispute = trade.dispute("other writer", high, document=trade.paper())
    trade.settle("fourth", dispute, "uphold")
    with trade.database.read() as session:
        feed = changes(session, after=0, limit=200)
    told = [
        (item.entry.type, plate.effect, plate.after and plate.after["gross"])
        for item in feed.items
        for plate in item.plates
        if plate.condition == "on_road"
    ]
    assert told == [
        ("claim_decided", "set", 75.0),
        ("claim_decided", "lowered", 50.0),
        ("claim_disputed", "emptied", None),
        ("dispute_settled", "set", 50.0),
    ]
    assert feed.next is None


def test_answers_of_a_small_memory_are_the_same(trade: Trade) -> None:
    trade.approve(trade.claim())
    slugs = [trade.vehicle(model=name, series=None) for name in ("Ghyllet", "Skarrow", "Whinfell")]
    small = Answers(trade.database, 1)
    for slug in [*slugs, VEHICLE, *slugs, VEHICLE]:
        subject = Subject(SubjectKind.VEHICLE, slug)
        assert small.limit(subject, ON_ROAD) == trade.answers.limit(subject, ON_ROAD)
