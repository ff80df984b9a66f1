"""What is asked for is counted at next to no cost, written down apart, and orders the desk and coverage."""

import time
from collections.abc import Callable
from typing import Any

import msgspec
import pytest
from sqlalchemy import text

from app.core.claim import Subject, SubjectKind
from app.core.desk import WorkKind
from app.core.errors import CantrailError, Kind
from app.persistence import desk_stores
from app.services.asked import BudgetIn, BudgetsIn, LimitIn
from app.services.coverage import LackingView, ListCoverage, lacking
from app.services.demand import MOST_A_MINUTE, MOST_FIGURES, Bookkeeper, Demand
from tests.services.test_desk import claims_seen, refused
from tests.services.trade import VEHICLE, Trade


def counts(trade: Trade) -> dict[tuple[str, str, str], tuple[int, int]]:
    with trade.database.read() as session:
        rows = session.connection().execute(
            text("SELECT subject_id, quantity, condition, asked, unmet FROM asked_count")
        )
        return {(row[0], row[1], row[2]): (row[3], row[4]) for row in rows}


def write_down(trade: Trade) -> None:
    Bookkeeper(trade.answers.demand, trade.database).write()


def budget(trade: Trade, **asked: Any) -> None:
    body = {"condition": "on_road", "vehicle": VEHICLE, **asked}
    trade.answers.budget(msgspec.convert(body, BudgetIn, strict=False))


def covered(trade: Trade, **asked: Any) -> list[tuple[str, str]]:
    found: list[LackingView] = []
    cursor = None
    while True:
        with trade.database.read() as session:
            page = lacking(session, msgspec.convert({"cursor": cursor, **asked}, ListCoverage, strict=False))
        found += page.items
        cursor = page.next
        if cursor is None:
            return [(each.vehicle, each.condition) for each in found]


def test_what_is_asked_for_is_counted_with_whether_it_was_in_vain(trade: Trade) -> None:
    trade.limit()
    trade.limit(condition="parked")
    claim = trade.claim()
    trade.limit()
    trade.approve(claim)
    trade.limit()
    write_down(trade)
    assert counts(trade) == {
        (VEHICLE, "roof_limit", "on_road"): (3, 2),
        (VEHICLE, "roof_limit", "parked"): (1, 1),
    }
    trade.limit()
    write_down(trade)
    assert counts(trade)[VEHICLE, "roof_limit", "on_road"] == (4, 2)


def test_an_undecided_claim_that_would_lower_a_figure_counts_as_in_vain(trade: Trade) -> None:
    trade.approve(trade.claim())
    trade.claim(stated={"value": "60", "unit": "kg"})
    trade.limit()
    write_down(trade)
    assert counts(trade) == {(VEHICLE, "roof_limit", "on_road"): (1, 1)}


def test_budgets_count_what_they_lack(trade: Trade) -> None:
    one = {"carriers": [{"id": "pellwick-slatten"}], "gear": [{"name": "boards"}]}
    budget(trade, **one)
    many = {"budgets": [{"condition": "on_road", "vehicle": VEHICLE, **one}] * 2}
    trade.answers.budgets(msgspec.convert(many, BudgetsIn, strict=False))
    write_down(trade)
    assert counts(trade) == {
        (VEHICLE, "roof_limit", "on_road"): (3, 3),
        ("pellwick-slatten", "load_rating", "on_road"): (3, 3),
        ("pellwick-slatten", "own_mass", ""): (3, 3),
    }


def test_a_budget_may_call_its_gear_what_it_likes(trade: Trade) -> None:
    budget(trade, carriers=[{"id": "pellwick-slatten"}], gear=[{"name": "pellwick-slatten"}, {"name": "a|b|c"}])
    write_down(trade)
    assert (VEHICLE, "roof_limit", "on_road") in counts(trade)


def test_what_was_known_then_is_not_asked_for_now(trade: Trade) -> None:
    trade.limit(as_of=5)
    budget(trade, as_of=5)
    write_down(trade)
    assert counts(trade) == {}


def test_one_caller_cannot_drive_the_order() -> None:
    demand = Demand()
    for _ in range(1000):
        demand.note(("vehicle|a|roof_limit|on_road|1",))
    assert demand.taken() == {"vehicle|a|roof_limit|on_road|1": MOST_A_MINUTE}
    assert demand.taken() == {}
    for number in range(MOST_FIGURES + 500):
        demand.note((str(number),))
    demand.note(("0",))
    found = demand.taken()
    assert (len(found), found["0"]) == (MOST_FIGURES, 2)


def test_what_is_asked_for_comes_first_on_the_desk(trade: Trade) -> None:
    heron = trade.vehicle(model="Heron")
    early = trade.claim(subject={"kind": "vehicle", "id": heron})
    late = trade.claim()
    assert claims_seen(trade, "first", WorkKind.FIRST_READING) == [early, late]
    for _ in range(3):
        trade.limit()
    write_down(trade)
    assert claims_seen(trade, "first", WorkKind.FIRST_READING) == [late, early]


def test_the_bookkeeper_writes_by_itself_and_when_it_stops(trade: Trade) -> None:
    keeper = Bookkeeper(trade.answers.demand, trade.database, every_s=0.01)
    keeper.start()
    trade.limit()
    until = time.monotonic() + 120
    while not counts(trade) and time.monotonic() < until:
        time.sleep(0.01)
    assert counts(trade) == {(VEHICLE, "roof_limit", "on_road"): (1, 1)}
    keeper.stop()
    slow = Bookkeeper(trade.answers.demand, trade.database, every_s=3600)
    slow.start()
    trade.limit()
    slow.stop()
    assert counts(trade) == {(VEHICLE, "roof_limit", "on_road"): (2, 2)}


def test_storage_that_fails_costs_counts_and_nothing_else(trade: Trade, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: Any, **__: Any) -> None:
        raise CantrailError(Kind.UNAVAILABLE, "storage_unavailable", "The disk is full.")

    trade.limit()
    with monkeypatch.context() as patched:
        patched.setattr(desk_stores, "count_asked", fails)
        write_down(trade)
    assert counts(trade) == {}
    trade.limit()
    write_down(trade)
    assert counts(trade) == {(VEHICLE, "roof_limit", "on_road"): (1, 1)}


def test_counting_costs_an_answer_next_to_nothing() -> None:
    """Less than two microseconds; measured at about a fifth of one on an idle machine."""
    demand = Demand()
    keys = ("vehicle|orrin-tarn-t2-2019|roof_limit|on_road|0",)
    best = min(_timed(lambda: demand.note(keys)) for _ in range(7))
    assert best < 2e-6


def _timed(what: Callable[[], None], times: int = 5_000) -> float:
    begun = time.thread_time()
    for _ in range(times):
        what()
    return (time.thread_time() - begun) / times


def test_coverage_lists_what_is_lacking_by_how_often_it_is_asked_for(trade: Trade) -> None:
    heron = trade.vehicle(model="Heron")
    assert covered(trade) == [
        (slug, condition) for slug in (heron, VEHICLE) for condition in ("off_road", "on_road", "parked")
    ]
    for _ in range(2):
        trade.limit(condition="parked")
    trade.answers.limit(Subject(SubjectKind.VEHICLE, heron), LimitIn(condition="on_road"))  # type: ignore[arg-type]
    write_down(trade)
    ordered = [(VEHICLE, "parked"), (heron, "on_road")]
    assert covered(trade)[:2] == ordered
    assert len(covered(trade)) == len(set(covered(trade))) == 6
    for limit in (1, 2, 3):
        assert covered(trade, limit=limit) == covered(trade)
    trade.approve(trade.claim(condition="parked"))
    assert covered(trade)[0] == ordered[1]
    assert (VEHICLE, "parked") not in covered(trade)
    assert covered(trade, condition="parked") == [(heron, "parked")]
    assert covered(trade, condition="on_road") == [(heron, "on_road"), (VEHICLE, "on_road")]
    assert covered(trade, maker="pellwick") == []
    assert len(covered(trade, maker="orrin")) == 5


def test_what_is_disputed_is_lacking_again(trade: Trade) -> None:
    claim = trade.approve(trade.claim())
    assert (VEHICLE, "on_road") not in covered(trade)
    trade.dispute("other writer", claim, document=trade.paper())
    assert (VEHICLE, "on_road") in covered(trade)
    waiting = trade.claim()
    with trade.database.read() as session:
        (found,) = lacking(session, ListCoverage(condition="on_road", maker="orrin")).items  # type: ignore[arg-type]
    assert (found.undecided, trade.view(waiting).state) == (1, "submitted")


@pytest.mark.parametrize("cursor", ["", "n", "n~x", "a~1~2~x", "a~-1~2~x~y", "a~1~9999999999~x~y", "z~a~b"])
def test_cursors_that_are_none(trade: Trade, cursor: str) -> None:
    def look() -> None:
        with trade.database.read() as session:
            lacking(session, ListCoverage(cursor=cursor))

    assert refused(look) == "bad_cursor"
