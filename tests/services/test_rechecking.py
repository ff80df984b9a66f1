"""Mismatches and what stewards make of them, renewals, allowances, and the lines of section 2.7 that have no other test."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import msgspec
import pytest

from app.core import entries
from app.core.allowance import A_DAY, Submitted
from app.core.desk import KNOWN_FROM, WorkKind
from app.core.errors import CantrailError, Kind
from app.core.pages import PageOutcome
from app.core.review import RejectionCode
from app.services import allowance, claims, daily, mismatches, subjects
from app.services.inputs import NewMismatchJudgement, NewVehicle
from app.services.work import Work
from tests.services.test_desk import claims_seen, refused, seen
from tests.services.trade import VEHICLE, Trade


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here follows from the rules; histories of all of it are lived on PostgreSQL too."""
    return sqlite_url


def judge(trade: Trade, by: str, reading: str, finding: str = "reading_mistaken") -> None:
    new = msgspec.convert({"finding": finding, "reason": "The next line is meant."}, NewMismatchJudgement)
    trade.do(by, lambda work: mismatches.judge(work, reading, new))


def mismatched(trade: Trade, by: str = "first") -> tuple[str, str]:
    claim = trade.claim()
    return claim, trade.read(by, claim, stated={"value": "60", "unit": "kg"})


def test_a_mismatch_goes_to_stewards_and_no_finding_takes_its_points_away(trade: Trade) -> None:
    claim, reading = mismatched(trade)
    assert seen(trade, "second", kind=WorkKind.MISMATCH) == []
    (work,) = seen(trade, "steward", kind=WorkKind.MISMATCH)
    assert (work.claim, work.reading) == (claim, reading)
    trade.approve(claim, "second", "third")
    before = trade.view(claim).confidence
    judge(trade, "steward", reading)
    assert trade.view(claim).confidence == before
    assert seen(trade, "steward", kind=WorkKind.MISMATCH) == []
    assert refused(lambda: judge(trade, "steward", reading)) == "already_judged"


def test_who_read_it_otherwise_does_not_approve_it_whatever_a_steward_finds(trade: Trade) -> None:
    claim, reading = mismatched(trade)
    judge(trade, "steward", reading)
    assert refused(lambda: trade.decide("first", claim, "approve", reading=reading)) == "reading_differs"


def test_a_claim_that_goes_beyond_is_approved_no_further_and_may_be_rejected(trade: Trade) -> None:
    claim, reading = mismatched(trade)
    judge(trade, "steward", reading, "claim_goes_beyond")
    assert claims_seen(trade, "second") == []
    assert refused(lambda: trade.approve(claim, "second")) == "goes_beyond"
    trade.decide("steward", claim, "reject", code="misread")
    assert trade.view(claim).state == "rejected"


def test_what_was_approved_once_goes_on_lowering_when_a_steward_stops_it(trade: Trade) -> None:
    trade.approve(trade.claim(stated={"value": "90", "unit": "kg"}))
    low = trade.claim()
    trade.approve(low, "first")
    reading = trade.read("second", low, stated={"value": "60", "unit": "kg"})
    assert trade.gross() == 75.0
    judge(trade, "steward", reading, "claim_goes_beyond")
    assert trade.gross() == 75.0
    assert refused(lambda: trade.approve(low, "third")) == "goes_beyond"


def test_a_steward_who_judged_is_involved(trade: Trade) -> None:
    claim, reading = mismatched(trade)
    judge(trade, "steward", reading)
    own = trade.read("steward", claim)
    assert refused(lambda: trade.decide("steward", claim, "approve", reading=own)) == "involved"
    trade.approve(claim, "second", "third")
    dispute = trade.dispute("other writer", claim, document=trade.paper())
    assert refused(lambda: trade.settle("steward", dispute, "uphold")) == "involved"
    assert seen(trade, "steward", kind=WorkKind.SETTLEMENT) == []


@pytest.mark.parametrize(
    ("by", "code"), [("writer", "role_too_low"), ("second", "role_too_low"), ("first", "role_too_low")]
)
def test_only_stewards_judge(trade: Trade, by: str, code: str) -> None:
    _, reading = mismatched(trade)
    assert refused(lambda: judge(trade, by, reading)) == code


def test_a_steward_does_not_judge_their_own_reading_or_claim(trade: Trade) -> None:
    _, reading = mismatched(trade, "steward")
    assert seen(trade, "steward", kind=WorkKind.MISMATCH) == []
    assert refused(lambda: judge(trade, "steward", reading)) == "involved"
    own = trade.claim("steward")
    of_own = trade.read("first", own, stated={"value": "60", "unit": "kg"})
    assert refused(lambda: judge(trade, "steward", of_own)) == "own_claim"


def test_what_is_no_mismatch_is_not_judged(trade: Trade) -> None:
    claim = trade.claim()
    matching = trade.read("first", claim)
    assert refused(lambda: judge(trade, "steward", matching)) == "not_now"
    assert refused(lambda: judge(trade, "steward", "R9999")) == "no_such_reading"


# Review-by dates


def aged(trade: Trade) -> str:
    """A claim two reviewers approved, past its review-by date by more than a year."""
    claim = trade.approve(trade.claim())
    trade.daily(days=365 * 5 + 2)
    trade.daily(days=370)
    assert trade.view(claim).overdue_years == 1
    return claim


def test_a_claim_past_its_date_comes_to_the_desk_and_two_fresh_readings_renew_it(trade: Trade) -> None:
    claim = aged(trade)
    assert trade.limit()["refusal"]["kind"] == "stale"
    assert claims_seen(trade, "first", WorkKind.REVIEW_DUE) == []
    assert claims_seen(trade, "third", WorkKind.REVIEW_DUE) == [claim]
    trade.approve(claim, "third")
    assert trade.view(claim).overdue_years == 1
    assert trade.limit()["refusal"]["kind"] == "stale"
    before = trade.limit()["receipt"]
    trade.approve(claim, "fourth")
    found = trade.view(claim)
    assert (found.overdue_years, found.review_by, trade.gross()) == (None, "2037-01-11", 75.0)
    assert claims_seen(trade, "steward", WorkKind.REVIEW_DUE) == []
    assert trade.daily(days=1).aged == 0
    assert trade.limit(as_of=before["as_of"])["receipt"] == before


def test_who_approved_on_the_day_on_which_the_page_changed_is_no_fresh_reader(trade: Trade) -> None:
    paper = trade.paper()
    claim = trade.approve(trade.claim(paper=paper))
    changed = entries.EvidenceChanged(claim=claim, document=paper, sha256="0" * 64, outcome=PageOutcome.NOT_FOUND)
    with trade.database.write() as session:
        daily.system_work(session, trade.now, trade.store).enter(changed, [f"claim:{claim}", f"vehicle:{VEHICLE}"])
    trade.daily(days=1)
    assert trade.view(claim).overdue_years == 0
    trade.approve(claim, "third")
    assert trade.view(claim).overdue_years == 0
    trade.approve(claim, "fourth")
    assert trade.view(claim).overdue_years is None


def test_a_fresh_reading_that_differs_does_not_renew(trade: Trade) -> None:
    claim = aged(trade)
    trade.approve(claim, "third")
    reading = trade.read("fourth", claim, stated={"value": "60", "unit": "kg"})
    assert refused(lambda: trade.decide("fourth", claim, "approve", reading=reading)) == "reading_differs"
    assert trade.view(claim).overdue_years == 1


@pytest.mark.parametrize(
    ("kind", "source", "due"),
    [("handbook", "manual_page", "2031-01-05"), ("letter", "maker_statement", "2028-01-05"),
     ("maker_page", "maker_statement", "2028-01-05")],
)  # fmt: skip
def test_review_by_dates(trade: Trade, kind: str, source: str, due: str) -> None:
    claim = trade.approve(trade.claim(paper=trade.paper(kind=kind), source_type=source))
    assert trade.view(claim).review_by == due


# Rejections, disputes, withdrawal, supersession


@pytest.mark.parametrize("code", RejectionCode)
def test_every_code_says_why(trade: Trade, code: str) -> None:
    claim = trade.claim()
    trade.decide("first", claim, "reject", code=code)
    assert [each.code for each in trade.view(claim).decisions] == [code]
    assert refused(lambda: trade.decide("second", claim, "reject", code=code)) == "not_now"


def test_a_refuted_figure_is_not_entered_again_unless_the_reason_is_answered(trade: Trade) -> None:
    paper = trade.paper()
    claim = trade.approve(trade.claim(paper=paper))
    dispute = trade.dispute("other writer", claim, document=trade.paper())
    assert refused(lambda: trade.settle("third", dispute, "refute")) == "code_missing"
    assert refused(lambda: trade.settle("third", dispute, "uphold", code="misread")) == "no_code_here"
    for by in ("third", "fourth"):
        trade.settle(by, dispute, "refute", code="carrier_rating_quoted")
    assert refused(lambda: trade.claim(paper=paper)) == "rejected_before"
    assert refused(lambda: trade.claim(paper=paper, stated={"value": "165.35", "unit": "lb"})) == "rejected_before"
    assert refused(lambda: trade.claim(paper=paper, answers_rejection=claim)) == "answer_missing"
    assert refused(lambda: trade.claim(paper=trade.paper(), answers_rejection=claim, answer="So.")) == "not_rejected"
    trade.claim(paper=paper, stated={"value": "70", "unit": "kg"})
    trade.claim(paper=paper, answers_rejection=claim, answer="The table's heading says the roof.")


@pytest.mark.parametrize("by", ["writer", "first", "second", "other writer"])
def test_nobody_with_a_hand_in_a_claim_settles_its_dispute(trade: Trade, by: str) -> None:
    claim = trade.approve(trade.claim())
    dispute = trade.dispute("other writer", claim, document=trade.paper())
    assert refused(lambda: trade.settle(by, dispute, "uphold")) in {"involved", "role_too_low"}


def test_a_reviewer_who_disputed_does_not_settle(trade: Trade) -> None:
    claim = trade.approve(trade.claim())
    dispute = trade.dispute("third", claim, document=trade.paper())
    assert refused(lambda: trade.settle("third", dispute, "refute", code="misread")) == "involved"


def test_a_dispute_with_evidence_does_not_lapse(trade: Trade) -> None:
    claim = trade.approve(trade.claim())
    trade.dispute("other writer", claim, document=trade.paper())
    assert trade.daily(days=60).lapsed == 0
    assert trade.view(claim).state == "disputed"


def test_an_approved_claim_is_withdrawn_by_nobody(trade: Trade) -> None:
    claim = trade.claim()
    trade.approve(claim, "first")
    assert refused(lambda: trade.do("writer", lambda work: claims.withdraw(work, claim))) == "not_now"
    other = trade.claim()
    trade.decide("first", other, "ask_evidence")
    trade.do("writer", lambda work: claims.withdraw(work, other))
    assert trade.view(other).state == "withdrawn"


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"paper": "another publisher's", "source_type": "unverified"}, "not_the_same_figure"),
        (
            {"subject": {"kind": "carrier", "id": "pellwick-slatten"}, "quantity": "load_rating", "scope": {}},
            "no_such_claim",
        ),
    ],
)
def test_only_the_like_is_superseded(trade: Trade, more: dict[str, Any], code: str) -> None:
    old = trade.approve(trade.claim())
    sheet = trade.paper("pellwick", "instruction_sheet")
    attempt: Callable[[], str] = lambda: trade.claim(supersedes=old, **{**more, "paper": sheet})  # noqa: E731
    assert refused(attempt) == code


def test_an_older_claim_goes_on_until_its_successor_sets(trade: Trade) -> None:
    old = trade.approve(trade.claim())
    new = trade.claim(supersedes=old, stated={"value": "60", "unit": "kg"})
    trade.decide("first", new, "reject", code="other")
    assert trade.view(old).state == "approved"


# A newcomer's allowance


def submit(trade: Trade, by: str, number: int) -> str:
    body = {"maker": "orrin", "model": f"{'Qu' * (number + 1)} {number}", "years": {"from": 2019}, "distinct_from": []}
    return trade.do(by, lambda work: subjects.add_vehicle(work, msgspec.convert(body, NewVehicle)))


def spend(trade: Trade, by: str, what: Submitted = Submitted.CLAIMS) -> None:
    trade.do(by, lambda work: work.spend(what))


def test_a_newcomer_has_an_allowance_that_is_free_again_the_next_day(trade: Trade) -> None:
    for _ in range(A_DAY[Submitted.CLAIMS]):
        spend(trade, "other writer")
    with pytest.raises(CantrailError) as error:
        trade.claim("other writer")
    assert (error.value.kind, error.value.code) == (Kind.TOO_MANY, "daily_allowance")
    assert error.value.details["free_at"] == "2026-01-06T00:00:00.000000Z"
    wait = error.value.details["retry_after"]
    assert isinstance(wait, int)
    assert 0 < wait <= 86_400
    trade.claim("writer")
    trade.paper()
    trade.daily(seconds=wait)
    trade.claim("other writer")


def test_every_kind_of_submission_is_counted_by_itself(trade: Trade) -> None:
    for what in Submitted:
        for _ in range(A_DAY[what]):
            spend(trade, "other writer", what)
        assert refused(lambda what=what: spend(trade, "other writer", what)) == "daily_allowance"  # type: ignore[misc]
    assert refused(lambda: submit(trade, "other writer", 1)) == "daily_allowance"


def test_the_allowance_rises_and_ends_with_a_good_record_and_never_binds_stewards(trade: Trade) -> None:
    for _ in range(A_DAY[Submitted.ENQUIRIES]):
        spend(trade, "writer", Submitted.ENQUIRIES)
    assert refused(lambda: spend(trade, "writer", Submitted.ENQUIRIES)) == "daily_allowance"
    for number in range(KNOWN_FROM):
        trade.approve(trade.claim(stated={"value": str(70 + number), "unit": "kg"}))
        spend(trade, "writer", Submitted.ENQUIRIES)
    for _ in range(6 * A_DAY[Submitted.ENQUIRIES]):
        trade.now = trade.now.replace(hour=20, minute=1)
        spend(trade, "writer", Submitted.ENQUIRIES)
        spend(trade, "steward", Submitted.ENQUIRIES)


def test_many_at_once_do_not_pass_the_allowance(trade: Trade) -> None:
    caller = trade._callers["other writer"]

    def attempt(_: int) -> str:
        try:
            with trade.database.write() as session:
                Work(session, caller, trade.now, trade.store).spend(Submitted.SUBJECTS)
        except CantrailError as error:
            return error.code
        return "done"

    with ThreadPoolExecutor(16) as threads:
        done = list(threads.map(attempt, range(A_DAY[Submitted.SUBJECTS] + 20)))
    assert done.count("done") == A_DAY[Submitted.SUBJECTS]
    assert done.count("daily_allowance") == 20


def test_a_refused_submission_spends_nothing_and_old_days_are_forgotten(trade: Trade) -> None:
    for _ in range(A_DAY[Submitted.CLAIMS] - 1):
        spend(trade, "other writer")
    assert refused(lambda: trade.claim("other writer", paper="D9999")) == "no_such_document"
    trade.claim("other writer", subject={"kind": "vehicle", "id": VEHICLE})
    trade.daily(days=5)
    with trade.database.write() as session:
        allowance.forget(session, trade.now)
    trade.claim("other writer")
