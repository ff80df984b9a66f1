"""The desk: who sees what, in which order, and who holds it."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import timedelta
from typing import Any

import msgspec
import pytest
from sqlalchemy import event, insert
from sqlmodel import select

from app.core.claim import Interest
from app.core.desk import HELD_FOR, MOST_HELD, WorkKind
from app.core.errors import CantrailError
from app.persistence import projection
from app.persistence.base import table_of
from app.persistence.models import AskedCount, DeclaredInterest, DeskWork
from app.persistence.session import Database
from app.services import claims, desk, desk_order, rebuilding
from app.services.desk import ListDesk, OwnWorkView, WorkView
from app.services.inputs import NewCitation
from app.services.work import Work
from tests.services.outdoors import Outdoors
from tests.services.placed import ONE, Desk
from tests.services.test_derived_claims import SISTER, approve_derived, derived
from tests.services.trade import VEHICLE, Trade

READING_FIELDS = {"stated", "condition", "basis", "scope", "bound", "per", "excluded_mass", "grams", "source_type"}


def seen(trade: Trade, by: str, **asked: Any) -> list[WorkView]:
    """All that somebody sees, page by page."""
    found: list[WorkView] = []
    cursor = None
    while True:
        with trade.database.read() as session:
            caller = trade._callers[by]
            page = desk.waiting(session, caller, trade.now, ListDesk(cursor=cursor, **asked))
        found += page.items
        cursor = page.next
        if cursor is None:
            return found


def claims_seen(trade: Trade, by: str, kind: WorkKind = WorkKind.FIRST_READING) -> list[str | None]:
    return [each.claim for each in seen(trade, by, kind=kind)]


def own(trade: Trade, by: str) -> list[OwnWorkView]:
    with trade.database.read() as session:
        return desk.own(session, trade._callers[by], ListDesk()).items


def hold(trade: Trade, by: str, work: str) -> str:
    return trade.do(by, lambda doing: desk.hold(doing, work)).until


def refused(attempt: Callable[[], Any]) -> str:
    with pytest.raises(CantrailError) as error:
        attempt()
    return error.value.code


def ask(trade: Trade, unmet: int, quantity: str = "roof_limit", vehicle: str = VEHICLE) -> None:
    """A figure was asked for in vain so many times."""
    row = {"subject_kind": "vehicle", "subject_id": vehicle, "quantity": quantity, "condition": "on_road"}
    with trade.database.write() as session:
        session.connection().execute(insert(table_of(AskedCount)), {**row, "asked": unmet, "unmet": unmet})
        desk_order.every_day(session)


def test_a_claim_waits_for_its_readings_and_the_desk_does_not_show_what_it_says(trade: Trade) -> None:
    claim = trade.claim()
    (work,) = seen(trade, "first", kind=WorkKind.FIRST_READING)
    told = msgspec.to_builtins(work)
    assert (work.claim, work.subject and work.subject.id, work.quantity) == (claim, VEHICLE, "roof_limit")
    assert [each.document for each in work.documents] == [trade.view(claim).citations[0].document]
    assert not READING_FIELDS & told.keys()
    assert work.lowers is None
    assert "75" not in msgspec.json.encode({**told, "since": "", "claim": "", "id": ""}).decode()
    trade.approve(claim, "first")
    assert claims_seen(trade, "second") == []
    assert claims_seen(trade, "second", WorkKind.SECOND_READING) == [claim]
    assert claims_seen(trade, "first", WorkKind.SECOND_READING) == []
    trade.approve(claim, "second")
    assert claims_seen(trade, "third", WorkKind.SECOND_READING) == []


def test_contributors_have_no_desk_but_see_what_waits_for_them(trade: Trade) -> None:
    claim = trade.claim()
    assert refused(lambda: seen(trade, "writer")) == "role_too_low"
    trade.decide("first", claim, "ask_evidence", reason="The page shows another body.")
    assert [(each.claim, each.asked_for) for each in own(trade, "writer")] == [(claim, "The page shows another body.")]
    assert own(trade, "other writer") == []
    assert claim not in {each.claim for each in seen(trade, "second")}
    paper = trade.paper()
    trade.do("writer", lambda work: claims.cite(work, claim, NewCitation(paper, page="9")))
    assert own(trade, "writer") == []
    (back,) = seen(trade, "second", kind=WorkKind.EVIDENCE_BROUGHT)
    assert (back.claim, len(back.documents)) == (claim, 2)
    trade.approve(claim, "second")
    assert trade.view(claim).state == "approved"


def test_nobody_is_shown_their_own_or_what_they_have_read_or_have_an_interest_in(trade: Trade) -> None:
    claim = trade.claim("first")
    assert claims_seen(trade, "first") == []
    assert claims_seen(trade, "second") == [claim]
    trade.read("second", claim)
    assert claims_seen(trade, "second") == []
    row = {"account_id": trade.account("third"), "publisher": "orrin", "kind": Interest.EMPLOYER}
    with trade.database.write() as session:
        session.connection().execute(insert(table_of(DeclaredInterest)), {**row, "declared_at": trade.now})
    assert [each for each in seen(trade, "third") if each.subject is not None and each.subject.id == VEHICLE] == []
    assert claims_seen(trade, "fourth") == [claim]
    assert refused(lambda: hold(trade, "third", f"first_reading.{claim}")) == "not_your_work"


def test_a_dispute_is_for_fresh_reviewers(trade: Trade) -> None:
    claim = trade.approve(trade.claim())
    dispute = trade.dispute("fourth", claim, document=trade.paper())
    for by in ("first", "second", "fourth"):
        assert seen(trade, by, kind=WorkKind.SETTLEMENT) == []
    (work,) = seen(trade, "third", kind=WorkKind.SETTLEMENT)
    assert (work.claim, work.dispute) == (claim, dispute)
    trade.settle("third", dispute, "refute", code="misread")
    assert seen(trade, "third", kind=WorkKind.SETTLEMENT) == []
    assert [each.dispute for each in seen(trade, "steward", kind=WorkKind.SETTLEMENT)] == [dispute]
    trade.settle("steward", dispute, "uphold")
    assert seen(trade, "steward", kind=WorkKind.SETTLEMENT) == []


def test_a_dispute_without_evidence_is_nobodys_work(trade: Trade) -> None:
    claim = trade.approve(trade.claim())
    trade.dispute("fourth", claim)
    assert seen(trade, "third", kind=WorkKind.SETTLEMENT) == []


def test_a_record_waits_until_two_have_confirmed_it(trade: Trade) -> None:
    about = f"record.vehicle.{VEHICLE}"
    assert about in {each.id for each in seen(trade, "first")}
    trade.confirm("first")
    assert about not in {each.id for each in seen(trade, "first")}
    assert about in {each.id for each in seen(trade, "second")}
    trade.confirm("second")
    assert about not in {each.id for each in seen(trade, "third")}


def test_near_copies_wait_to_be_judged(outdoors: Outdoors) -> None:
    words = " ".join(f"word{number}" for number in range(60))
    one, other = outdoors.written(words), outdoors.written(words + " more")
    outdoors.work()
    (work,) = seen(outdoors, "first", kind=WorkKind.NEAR_COPY)
    assert [each.document for each in work.documents] == [one, other]
    outdoors.judge("writer", one, other)
    assert len(seen(outdoors, "first", kind=WorkKind.NEAR_COPY)) == 1
    outdoors.judge("first", other, one)
    assert seen(outdoors, "second", kind=WorkKind.NEAR_COPY) == []


def test_what_is_worked_back_from_a_claim_that_is_doubted_is_to_be_looked_at_again(outdoors: Outdoors) -> None:
    outdoors.vehicle(model="Fellwater")
    source = outdoors.approve(outdoors.claim())
    derivation = {"method": "sister_vehicle", "takes": [source]}
    claim = derived(outdoors, derivation, subject={"kind": "vehicle", "id": SISTER})
    approve_derived(outdoors, claim, derivation)
    assert seen(outdoors, "third", kind=WorkKind.DERIVED_AGAIN) == []
    dispute = outdoors.dispute("other writer", source, document=outdoors.paper())
    assert claims_seen(outdoors, "third", WorkKind.DERIVED_AGAIN) == [claim]
    since = [each.since for each in seen(outdoors, "third", kind=WorkKind.DERIVED_AGAIN)]
    with outdoors.database.write() as session:
        rebuilding.rebuild(session)
    assert [each.since for each in seen(outdoors, "third", kind=WorkKind.DERIVED_AGAIN)] == since
    outdoors.settle("third", dispute, "uphold")
    assert seen(outdoors, "third", kind=WorkKind.DERIVED_AGAIN) == []


def test_what_lowers_comes_first_then_what_is_asked_for_then_age(trade: Trade) -> None:
    heron = trade.vehicle(model="Heron")
    vetted = trade.approve(trade.claim())
    early = trade.claim(subject={"kind": "vehicle", "id": heron})
    trade.now += timedelta(days=1)
    high = trade.claim(stated={"value": "90", "unit": "kg"})
    low = trade.claim(stated={"value": "60", "unit": "kg"})
    assert claims_seen(trade, "third") == [low, early, high]
    ask(trade, 5)
    assert claims_seen(trade, "third") == [low, high, early]
    assert trade.view(vetted).state == "approved"


def test_a_claim_lowers_once_what_it_is_below_was_approved_twice(trade: Trade) -> None:
    high = trade.claim()
    trade.now += timedelta(days=1)
    low = trade.claim(stated={"value": "60", "unit": "kg"})
    assert claims_seen(trade, "third") == [high, low]
    trade.approve(high, "first")
    other = trade.claim(stated={"value": "95", "unit": "kg"})
    assert claims_seen(trade, "third") == [low, other]
    trade.approve(high, "second")
    assert claims_seen(trade, "third") == [low, other]
    with trade.database.read() as session:
        marked = {each.claim for each in session.exec(select(DeskWork)) if each.lowers}
    assert marked == {low}


def test_known_hands_come_before_newcomers(trade: Trade) -> None:
    for number in range(5):
        trade.approve(trade.claim(stated={"value": str(70 + number), "unit": "kg"}), "first", "second")
    heron = trade.vehicle(model="Heron", by="other writer")
    newcomers = trade.claim("other writer", subject={"kind": "vehicle", "id": heron})
    trade.now += timedelta(days=6)
    known = trade.claim("writer", subject={"kind": "vehicle", "id": heron})
    assert claims_seen(trade, "third") == [known, newcomers]


def test_pages_miss_nothing_and_repeat_nothing(trade: Trade) -> None:
    wanted = [trade.claim(stated={"value": str(40 + number), "unit": "kg"}) for number in range(7)]
    whole = [each.id for each in seen(trade, "first")]
    assert [each.id for each in seen(trade, "first", limit=2)] == whole
    assert [each.id for each in seen(trade, "first", limit=1)] == whole
    assert set(claims_seen(trade, "first")) == set(wanted)
    for cursor in ("", "1", "2~x~y~z", "1~x~y"):
        with trade.database.read() as session, pytest.raises(CantrailError) as error:
            desk.waiting(session, trade._callers["first"], trade.now, ListDesk(cursor=cursor))
        assert error.value.code == "bad_cursor"


def test_work_is_held_for_a_while_and_then_anybodys(trade: Trade) -> None:
    claim = trade.claim()
    work = f"first_reading.{claim}"
    hold(trade, "first", work)
    assert claims_seen(trade, "second") == []
    assert [each.held_until is not None for each in seen(trade, "first", kind=WorkKind.FIRST_READING)] == [True]
    assert refused(lambda: hold(trade, "second", work)) == "held_by_another"
    assert refused(lambda: trade.read("second", claim)) == "held_by_another"
    trade.now += timedelta(minutes=20)
    # A hold is in the table, not in a process: another registry over the same database knows it too.
    again = Database(trade.database.url)
    with again.write() as session:
        other = Work(session, trade._callers["second"], trade.now, trade.store)
        assert refused(lambda: desk.hold(other, work)) == "held_by_another"
    again.dispose()
    trade.now += HELD_FOR
    hold(trade, "second", work)
    trade.read("second", claim)


def test_nobody_keeps_others_from_reading_by_holding_on(trade: Trade) -> None:
    claim = trade.claim()
    work = f"first_reading.{claim}"
    until = hold(trade, "first", work)
    trade.now += timedelta(minutes=20)
    assert hold(trade, "first", work) == until
    trade.now += timedelta(minutes=20)
    assert refused(lambda: hold(trade, "first", work)) == "held_before"
    trade.read("second", claim)
    trade.now += HELD_FOR
    hold(trade, "first", work)
    # Giving it back and taking it again draws it out no more than holding on.
    trade.do("first", lambda doing: desk.release(doing, work))
    assert refused(lambda: hold(trade, "first", work)) == "held_before"
    hold(trade, "third", work)


def test_a_hold_that_is_over_is_forgotten_once_others_had_their_time(trade: Trade) -> None:
    claim = trade.claim()
    hold(trade, "first", f"first_reading.{claim}")
    trade.daily(minutes=35)
    assert refused(lambda: hold(trade, "first", f"first_reading.{claim}")) == "held_before"
    trade.daily(minutes=30)
    hold(trade, "first", f"first_reading.{claim}")


def test_a_record_that_was_corrected_waits_for_those_too_who_confirmed_it_before(trade: Trade) -> None:
    stewards = Desk(trade)
    stewards.confirm_record(ONE)
    stewards.correct(ONE, model="Tern")
    assert ONE in [each.subject for each in seen(trade, "first", kind=WorkKind.RECORD)]
    stewards.confirm_record(ONE, "first")
    assert ONE not in [each.subject for each in seen(trade, "first", kind=WorkKind.RECORD)]


def test_the_record_of_what_is_merged_waits_for_nobody(trade: Trade) -> None:
    stewards = Desk(trade)
    one, other = stewards.another(), stewards.another(model="Loch")
    merger = stewards.merge(one, other)
    onward = stewards.merge(other, ONE)
    stewards.undo(merger)
    assert other not in [each.subject for each in seen(trade, "fourth", kind=WorkKind.RECORD)]
    stewards.undo(onward)
    assert other in [each.subject for each in seen(trade, "fourth", kind=WorkKind.RECORD)]


def test_work_is_given_back(trade: Trade) -> None:
    claim = trade.claim()
    work = f"first_reading.{claim}"
    hold(trade, "first", work)
    trade.do("second", lambda doing: desk.release(doing, work))
    assert refused(lambda: hold(trade, "second", work)) == "held_by_another"
    trade.do("first", lambda doing: desk.release(doing, work))
    hold(trade, "second", work)
    trade.approve(claim, "second")
    trade.read("third", claim)


def test_what_cannot_be_held(trade: Trade) -> None:
    found = [trade.claim(stated={"value": str(40 + each), "unit": "kg"}) for each in range(MOST_HELD + 1)]
    for claim in found[:MOST_HELD]:
        hold(trade, "first", f"first_reading.{claim}")
    assert refused(lambda: hold(trade, "first", f"first_reading.{found[-1]}")) == "too_many_held"
    hold(trade, "first", f"first_reading.{found[0]}")
    for unknown in ("first_reading.C9999", "", "nothing", "evidence_wanted.C1", "first_reading."):
        assert refused(lambda unknown=unknown: hold(trade, "second", unknown)) == "no_such_work"  # type: ignore[misc]
    assert refused(lambda: hold(trade, "writer", f"first_reading.{found[0]}")) == "role_too_low"


def test_of_many_at_once_one_gets_it(trade: Trade) -> None:
    claim = trade.claim()
    callers = [trade._callers[each] for each in ("first", "second", "third", "fourth")] * 8

    def attempt(place: int) -> str:
        try:
            with trade.database.write() as session:
                desk.hold(Work(session, callers[place], trade.now, trade.store), f"first_reading.{claim}")
        except CantrailError as error:
            return error.code
        return callers[place].account

    with ThreadPoolExecutor(32) as threads:
        outcomes = list(threads.map(attempt, range(32)))
    assert len(set(outcomes) - {"held_by_another"}) == 1
    assert outcomes.count("held_by_another") == 24


@contextmanager
def counted(database: Database) -> Iterator[list[str]]:
    statements: list[str] = []

    def note(_c: Any, _cursor: Any, statement: str, *_: Any) -> None:
        statements.append(statement)

    event.listen(database._reader, "before_cursor_execute", note)
    yield statements
    event.remove(database._reader, "before_cursor_execute", note)


def test_a_page_takes_as_many_statements_whatever_waits(trade: Trade) -> None:
    taken = []
    for more in (1, 12):
        for each in range(more):
            trade.claim(stated={"value": str(40 + each + more), "unit": "kg"})
        with counted(trade.database) as statements:
            seen(trade, "first", kind=WorkKind.FIRST_READING)
        taken.append(len([each for each in statements if each.lstrip().upper().startswith("SELECT")]))
    assert taken[0] == taken[1] <= 5


def desk_rows(trade: Trade) -> list[tuple[Any, ...]]:
    with trade.database.read() as session:
        found = session.connection().execute(table_of(DeskWork).select())
        return sorted(tuple(str(each) for each in row) for row in found)


def test_a_rebuild_puts_the_same_on_the_desk_in_the_same_order(trade: Trade) -> None:
    trade.approve(trade.claim())
    trade.claim(stated={"value": "60", "unit": "kg"})
    mismatched = trade.claim(stated={"value": "90", "unit": "kg"})
    trade.read("third", mismatched, stated={"value": "80", "unit": "kg"})
    asked = trade.claim(stated={"value": "95", "unit": "kg"})
    trade.decide("third", asked, "ask_evidence")
    trade.fitment()
    ask(trade, 3)
    before = desk_rows(trade)
    with trade.database.write() as session:
        rebuilding.rebuild(session)
    assert desk_rows(trade) == before
    with trade.database.write() as session:
        projection.rebuild(session)
    assert [row[:2] for row in desk_rows(trade)] == [row[:2] for row in before]
