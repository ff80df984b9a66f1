"""Declared interests: nobody decides on what they have an interest in, and what they enter says so."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import msgspec
import pytest

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError
from app.core.evidence import PublisherKind
from app.services import claims, interests, subjects
from app.services.inputs import NewPublisher
from app.services.interests import DROPPED_FOR, InterestsView
from app.services.people_inputs import Interests
from tests.services.placed import ONE, Desk
from tests.services.trade import VEHICLE, Trade


def declare(trade: Trade, who: str, *declared: tuple[str, str]) -> InterestsView:
    body = {"interests": [{"publisher": publisher, "kind": kind} for publisher, kind in declared]}
    new = msgspec.convert(body, Interests)
    return trade.do(who, lambda work: interests.declare(work.session, work.account, new, work.now))


def in_force(trade: Trade, who: str) -> list[tuple[str, str]]:
    with trade.database.read() as session:
        shown = interests.view(session, trade.account(who), trade.now)
    return [(each.publisher, each.kind) for each in shown.interests]


def refused(attempt: Callable[[], Any]) -> str:
    with pytest.raises(CantrailError) as error:
        attempt()
    return error.value.code


@pytest.mark.parametrize("kind", ["employer", "sells"])
def test_nobody_reads_or_decides_on_what_their_publisher_says(trade: Trade, kind: str) -> None:
    claim = trade.claim()
    reading = trade.read("first", claim)
    declare(trade, "first", ("orrin", kind))
    assert refused(lambda: trade.decide("first", claim, "approve", reading=reading)) == "interest_declared"
    assert refused(lambda: trade.decide("first", claim, "ask_evidence")) == "interest_declared"
    assert refused(lambda: trade.read("first", trade.claim(condition="parked"))) == "interest_declared"
    trade.approve(claim, "second", "third")


def test_it_reaches_to_claims_on_the_maker_s_things_that_others_publish(trade: Trade) -> None:
    claim = trade.claim(source_type="unverified")
    declare(trade, "first", ("orrin", "employer"))
    declare(trade, "second", ("pellwick", "employer"))
    assert refused(lambda: trade.decide("first", claim, "reject", code="other")) == "interest_declared"
    trade.decide("second", claim, "reject", code="other")


def test_nobody_settles_or_confirms_where_they_have_an_interest(trade: Trade) -> None:
    claim = trade.approve(trade.claim())
    dispute = trade.dispute("third", claim, document=trade.paper())
    declare(trade, "fourth", ("orrin", "sells"))
    assert refused(lambda: trade.settle("fourth", dispute, "uphold")) == "interest_declared"
    assert refused(lambda: trade.confirm("fourth")) == "interest_declared"
    trade.settle("steward", dispute, "uphold")
    trade.confirm("first")


def test_what_somebody_enters_carries_their_interest(trade: Trade) -> None:
    declare(trade, "writer", ("orrin", "sells"), ("orrin", "employer"))
    assert trade.view(trade.claim()).interest == "employer"
    assert trade.view(trade.claim(condition="parked", interest="owns")).interest == "owns"
    assert trade.view(trade.claim("other writer", condition="off_road")).interest == "none"
    claim = trade.approve(trade.claim("other writer"))
    dispute = trade.dispute("writer", claim)
    with trade.database.read() as session:
        facts, _ = claims.claim_and_facts(session, claim)
    assert {each.id: each.interest for each in facts.disputes} == {dispute: "employer"}


def test_one_that_is_dropped_stays_in_force_for_a_while(trade: Trade) -> None:
    claim = trade.claim()
    declare(trade, "first", ("orrin", "employer"))
    shown = declare(trade, "first")
    assert shown.interests[0].until is not None
    trade.now += DROPPED_FOR - timedelta(minutes=5)
    assert in_force(trade, "first") == [("orrin", "employer")]
    assert refused(lambda: trade.read("first", claim)) == "interest_declared"
    declare(trade, "first")
    trade.now += timedelta(minutes=5)
    assert in_force(trade, "first") == []
    trade.approve(claim, "first", "second")


def test_dropping_it_again_does_not_draw_it_out_and_declaring_it_again_does(trade: Trade) -> None:
    declare(trade, "first", ("orrin", "employer"))
    until = declare(trade, "first").interests[0].until
    trade.now += timedelta(days=30)
    assert declare(trade, "first").interests[0].until == until
    assert declare(trade, "first", ("orrin", "employer")).interests[0].until is None


def test_an_interest_in_a_maker_that_was_entered_twice_outlives_a_merger(trade: Trade) -> None:
    stewards = Desk(trade)
    again = NewPublisher("Orrin Works", PublisherKind.VEHICLE_MAKER, distinct_from=["orrin"])
    trade.do("writer", lambda work: subjects.add_publisher(work, again))
    twice = Subject(SubjectKind.VEHICLE, trade.vehicle(maker="orrin-works"))
    declare(trade, "first", ("orrin-works", "employer"))
    stewards.merge(twice, ONE)
    claim = trade.claim()
    assert refused(lambda: trade.read("first", claim)) == "interest_declared"
    assert refused(lambda: stewards.confirm_record(ONE, "first")) == "interest_declared"
    trade.read("second", claim)


def test_interests_are_kept_out_of_the_ledger_and_outlive_a_rebuild(trade: Trade) -> None:
    from app.persistence import ledger
    from app.services import rebuilding

    with trade.database.read() as session:
        before = ledger.head(session)
    declare(trade, "first", ("orrin", "employer"))
    with trade.database.write() as session:
        assert ledger.head(session) == before
        rebuilding.rebuild(session)
    assert in_force(trade, "first") == [("orrin", "employer")]


def test_an_interest_is_in_somebody_that_there_is(trade: Trade) -> None:
    assert refused(lambda: declare(trade, "first", ("nobody", "employer"))) == "no_such_publisher"
    assert VEHICLE.startswith("orrin")
