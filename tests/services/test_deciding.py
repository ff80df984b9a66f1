"""From a claim to an answer: reading blind, deciding, disputing, superseding, and what time does."""

from typing import Any

import pytest

from app.core.errors import CantrailError
from app.persistence import ledger
from app.services import claims
from app.services.inputs import NewCitation
from tests.services.trade import VEHICLE, Trade


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here follows from the rules; histories of all of it are lived on PostgreSQL too."""
    return sqlite_url


def code_of(refused: pytest.ExceptionInfo[CantrailError]) -> str:
    return refused.value.code


def test_two_approvals_on_a_page_set_and_one_only_lowers(trade: Trade) -> None:
    high = trade.claim()
    assert trade.gross() is None
    trade.approve(high, "first")
    assert trade.gross() is None
    trade.approve(high, "second")
    assert trade.gross() == 75.0

    low = trade.claim(stated={"value": "50", "unit": "kg"})
    assert trade.gross() == 75.0
    assert [each["claim"] for each in trade.limit()["unreviewed_lower"]] == [low]
    trade.approve(low, "third")
    assert trade.gross() == 50.0


def test_a_reading_is_keyed_once_and_before_the_decision(trade: Trade) -> None:
    claim = trade.claim()
    with pytest.raises(CantrailError) as unread:
        trade.decide("first", claim, "approve", reading="R1")
    assert code_of(unread) == "not_read"
    trade.read("first", claim)
    with pytest.raises(CantrailError) as again:
        trade.read("first", claim)
    assert code_of(again) == "already_read"


def test_what_goes_beyond_the_page_is_not_approved(trade: Trade) -> None:
    claim = trade.claim()
    reading = trade.read("first", claim, stated={"value": "60", "unit": "kg"}, scope={})
    with pytest.raises(CantrailError) as refused:
        trade.decide("first", claim, "approve", reading=reading)
    assert code_of(refused) == "reading_differs"
    assert refused.value.details["differences"] == ["figure", "roofs"]
    assert trade.view(claim).state == "submitted"


@pytest.mark.parametrize(
    ("by", "decision", "more", "code"),
    [
        ("first", "reject", {}, "code_missing"),
        ("first", "ask_evidence", {"code": "misread"}, "no_code_here"),
        ("first", "reject", {"code": "misread", "interest": "sells"}, "interest_declared"),
        ("other writer", "reject", {"code": "misread"}, "role_too_low"),
    ],
)
def test_decisions_that_are_refused(trade: Trade, by: str, decision: str, more: dict[str, Any], code: str) -> None:
    claim = trade.claim()
    with pytest.raises(CantrailError) as refused:
        trade.decide(by, claim, decision, **more)
    assert code_of(refused) == code


def test_nobody_decides_on_their_own_claim_or_twice(trade: Trade) -> None:
    own = trade.claim("first")
    with pytest.raises(CantrailError) as refused:
        trade.read("first", own)
    assert code_of(refused) == "own_claim"
    trade.approve(own, "second")
    with pytest.raises(CantrailError) as again:
        trade.decide("second", own, "approve", reading=trade.view(own).readings[0].id)
    assert code_of(again) == "already_approved"


def test_an_unverified_claim_is_approved_by_nobody(trade: Trade) -> None:
    claim = trade.claim(source_type="unverified")
    reading = trade.read("first", claim)
    with pytest.raises(CantrailError) as refused:
        trade.decide("first", claim, "approve", reading=reading)
    assert code_of(refused) == "unverified_cannot_be_approved"


def test_evidence_is_asked_for_and_brought(trade: Trade) -> None:
    claim = trade.claim()
    trade.decide("first", claim, "ask_evidence")
    assert trade.view(claim).state == "needs_evidence"
    with pytest.raises(CantrailError):
        trade.decide("second", claim, "approve", reading=trade.read("second", claim))
    paper = trade.paper()
    trade.do("writer", lambda work: claims.cite(work, claim, NewCitation(paper, page="3")))
    assert trade.view(claim).state == "submitted"
    trade.decide("second", claim, "approve", reading=trade.view(claim).readings[0].id)
    assert trade.view(claim).state == "approved"


def test_a_rejected_figure_is_not_entered_again_from_the_same_root_unless_answered(trade: Trade) -> None:
    paper = trade.paper()
    rejected = trade.claim(paper=paper)
    trade.decide("first", rejected, "reject", code="misread")
    with pytest.raises(CantrailError) as refused:
        trade.claim(paper=paper)
    assert code_of(refused) == "rejected_before"
    assert refused.value.details["rejected"] == [rejected]
    trade.claim(paper=trade.paper())
    answered = trade.claim(paper=paper, answers_rejection=rejected, answer="The next line is about another body.")
    assert trade.view(answered).answer == "The next line is about another body."


def test_a_dispute_with_evidence_stops_a_claim_and_two_refute_it(trade: Trade) -> None:
    claim = trade.approve(trade.claim())
    dispute = trade.dispute("other writer", claim, document=trade.paper())
    assert trade.view(claim).state == "disputed"
    assert trade.limit()["refusal"]["kind"] == "disputed"
    with pytest.raises(CantrailError) as involved:
        trade.settle("first", dispute, "uphold")
    assert code_of(involved) == "involved"
    trade.settle("third", dispute, "refute", code="misread")
    with pytest.raises(CantrailError) as twice:
        trade.settle("third", dispute, "refute", code="misread")
    assert code_of(twice) == "already_voted"
    assert trade.view(claim).state == "disputed"
    trade.settle("fourth", dispute, "refute", code="misread")
    assert trade.view(claim).state == "rejected"
    assert trade.limit()["refusal"]["kind"] == "withdrawn"


def test_one_upholds(trade: Trade) -> None:
    claim = trade.approve(trade.claim())
    dispute = trade.dispute("other writer", claim, document=trade.paper())
    trade.settle("third", dispute, "uphold")
    assert trade.gross() == 75.0


def test_a_dispute_without_evidence_changes_nothing_and_lapses(trade: Trade) -> None:
    claim = trade.approve(trade.claim())
    dispute = trade.dispute("other writer", claim)
    assert trade.gross() == 75.0
    with pytest.raises(CantrailError) as refused:
        trade.settle("third", dispute, "uphold")
    assert code_of(refused) == "no_held_evidence"
    assert trade.daily(days=13).lapsed == 0
    assert trade.daily(days=2).lapsed == 1
    assert trade.view(claim).disputes[0].state == "lapsed"


def test_a_newer_edition_takes_the_older_one_s_place_when_it_sets_and_gives_it_back_when_refuted(trade: Trade) -> None:
    old = trade.approve(trade.claim())
    new = trade.claim(stated={"value": "90", "unit": "kg"}, supersedes=old)
    trade.approve(new, "first")
    assert (trade.view(old).state, trade.gross()) == ("approved", 75.0)
    trade.approve(new, "second")
    assert (trade.view(old).state, trade.view(old).superseded_by, trade.gross()) == ("superseded", new, 90.0)
    dispute = trade.dispute("other writer", new, document=trade.paper())
    assert trade.gross() is None
    for each in ("third", "fourth"):
        trade.settle(each, dispute, "refute", code="misread")
    assert (trade.view(old).state, trade.gross()) == ("approved", 75.0)


@pytest.mark.parametrize(
    ("more", "code"),
    [
        (
            {"scope": {"bodies": ["dual_cab"], "roofs": ["bare"], "years": {"from": 2019, "to": 2024}}},
            "scope_not_covered",
        ),
        ({"condition": "off_road"}, "not_the_same_figure"),
    ],
)
def test_supersessions_that_are_refused(trade: Trade, more: dict[str, Any], code: str) -> None:
    old = trade.approve(trade.claim())
    with pytest.raises(CantrailError) as refused:
        trade.claim(supersedes=old, **more)
    assert code_of(refused) == code
    assert refused.value.faults[0].pointer == "/supersedes"


def test_time_enters_through_the_ledger_only(trade: Trade) -> None:
    claim = trade.approve(trade.claim())
    assert trade.view(claim).review_by == "2031-01-05"
    before = trade.limit()
    assert trade.daily(days=365 * 5 + 1).aged == 0
    assert trade.daily(days=1).aged == 1
    assert trade.daily(hours=1).aged == 0
    assert trade.gross() == 75.0
    trade.daily(days=366)
    assert trade.limit()["refusal"]["kind"] == "stale"
    then = trade.limit(as_of=before["receipt"]["as_of"])
    assert then["receipt"] == before["receipt"]


def test_a_record_is_confirmed_by_two_others(trade: Trade) -> None:
    trade.confirm("first")
    with pytest.raises(CantrailError) as again:
        trade.confirm("first")
    assert code_of(again) == "already_confirmed"
    trade.confirm("second")
    with pytest.raises(CantrailError) as ruled_out:
        trade.limit(context={"year": 2010})
    assert code_of(ruled_out) == "context_ruled_out"


def test_who_entered_a_record_does_not_confirm_it(trade: Trade) -> None:
    slug = trade.vehicle("first", model="Ghyllet")
    with pytest.raises(CantrailError) as refused:
        trade.confirm("first", vehicle=slug)
    assert code_of(refused) == "own_record"


def test_a_refusal_leaves_nothing_behind(trade: Trade) -> None:
    with trade.database.read() as session:
        before = ledger.head(session)
    with pytest.raises(CantrailError):
        trade.claim(stated={"value": "seventy-five", "unit": "kg"}, paper="D9999")
    with pytest.raises(CantrailError):
        trade.claim(paper="D9999")
    with trade.database.read() as session:
        assert ledger.head(session) == before


def test_a_claim_of_a_maker_that_repeats_a_carrier_s_rating_does_not_set(trade: Trade) -> None:
    trade.fitment()
    rating = trade.claim(
        subject={"kind": "carrier", "id": "pellwick-slatten"},
        quantity="load_rating",
        paper=trade.paper("pellwick"),
        scope={},
    )
    trade.approve(rating)
    statement = trade.approve(trade.claim(paper=trade.paper(kind="maker_page"), source_type="maker_statement"))
    assert trade.view(statement).confidence == 0.6
    assert trade.limit()["refusal"]["kind"] == "below_confidence"
    assert VEHICLE in trade.limit()["subject"]
