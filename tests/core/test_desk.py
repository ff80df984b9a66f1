"""The desk's order, and what is on it."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.core import entries
from app.core.allowance import A_DAY, Submitted, allowance
from app.core.claim import Bound, SourceType, Statement
from app.core.desk import (
    DAYS_BEHIND,
    KNOWN_FROM,
    MOST_DAYS_AHEAD,
    Due,
    WorkKind,
    lowers,
    place,
    renewed_by,
    work_on,
)
from app.core.mismatch import Finding, Judgement, stops_approval
from app.core.scope import Scope
from tests.core.builders import (
    AT_LEAST,
    HASH,
    OFF_ROAD,
    PARKED,
    History,
    factor,
    roof_limit,
)

NOW = datetime(2026, 3, 1, tzinfo=UTC)
ASKED = st.integers(0, 2**40)


def ago(days: float) -> str:
    return (NOW - timedelta(days=days)).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def test_what_keeps_most_askers_waiting_comes_first_then_age_then_newcomers() -> None:
    days = place(ago(3), asked=0, newcomer=False, lowers=False)
    assert place(ago(3), asked=4, newcomer=False, lowers=False) < days
    assert place(ago(4), asked=0, newcomer=False, lowers=False) < days
    assert days < place(ago(3), asked=0, newcomer=True, lowers=False)
    assert place(ago(0), asked=0, newcomer=True, lowers=True) < place(ago(3000), asked=9, newcomer=False, lowers=False)


@settings(derandomize=True, database=None, deadline=None)
@given(ASKED, st.booleans(), ASKED, st.booleans(), st.floats(0, 4000), st.booleans())
def test_age_wins_in_the_end(
    asked: int, newcomer: bool, others: int, other_newcomer: bool, age: float, turn: bool
) -> None:
    """Whatever has waited longer than all that can be put ahead of it comes before everything that arrives now."""
    waited = age + MOST_DAYS_AHEAD + DAYS_BEHIND
    old = place(ago(waited), asked=asked, newcomer=newcomer, lowers=turn)
    assert old <= place(ago(0), asked=others, newcomer=other_newcomer, lowers=turn)


@settings(derandomize=True, database=None, deadline=None)
@given(st.lists(st.tuples(st.booleans(), ASKED), max_size=60), ASKED, st.booleans())
def test_nothing_starves_however_many_come_after(arrivals: list[tuple[bool, int]], asked: int, newcomer: bool) -> None:
    """One piece of work a day is done, and one that is asked for more arrives each day: the first is done in time."""
    own = (place(ago(0), asked=asked, newcomer=newcomer, lowers=False), -1)
    waiting = [own]
    for day, (by_newcomer, asks) in enumerate(arrivals):
        waiting.append((place(ago(-day), asked=asks, newcomer=by_newcomer, lowers=False), day))
        done = min(waiting)
        waiting.remove(done)
        if done is own:
            break
    assert own not in waiting or len(arrivals) <= MOST_DAYS_AHEAD + DAYS_BEHIND + 1


@settings(derandomize=True, database=None, deadline=None)
@given(ASKED, ASKED, st.booleans())
def test_more_askers_never_put_work_back(one: int, other: int, newcomer: bool) -> None:
    few, many = sorted((one, other))
    of = {"newcomer": newcomer, "lowers": False}
    assert place(ago(1), asked=many, **of) <= place(ago(1), asked=few, **of)


def kinds(history: History, claim: str) -> list[tuple[WorkKind, str]]:
    return [(each.kind, each.about) for each in work_on(history.of(claim))]


def begun(source: SourceType = SourceType.MANUAL_PAGE) -> tuple[History, str]:
    history = History()
    return history, history.claim(source=source, cites=[history.document()])


def test_a_claim_goes_over_the_desk() -> None:
    history, claim = begun()
    assert kinds(history, claim) == [(WorkKind.FIRST_READING, claim)]
    history.decide(claim, "ask_evidence")
    assert kinds(history, claim) == [(WorkKind.EVIDENCE_WANTED, claim)]
    history.cite(claim, history.document(), later=True)
    found = work_on(history.of(claim))
    assert [each.kind for each in found] == [WorkKind.EVIDENCE_BROUGHT]
    assert found[0].since == history.of(claim).citations[-1].at
    history.approve(claim, "first")
    assert kinds(history, claim) == [(WorkKind.SECOND_READING, claim)]
    history.approve(claim, "second")
    assert kinds(history, claim) == []


def test_an_unverified_claim_wants_evidence_found() -> None:
    history, claim = begun(source=SourceType.UNVERIFIED)
    assert kinds(history, claim) == [(WorkKind.FIND_EVIDENCE, claim)]


def judgement(reading: str, steward: str, finding: Finding) -> Judgement:
    return Judgement("R9", reading, steward, finding, HASH, ago(0))


@pytest.mark.parametrize(
    ("findings", "stops"),
    [
        ([], False),
        ([("R1", "a", Finding.READING_MISTAKEN)], False),
        ([("R1", "a", Finding.PAGE_UNCLEAR)], False),
        ([("R1", "a", Finding.CLAIM_GOES_BEYOND)], True),
        ([("R1", "a", Finding.CLAIM_GOES_BEYOND), ("R1", "b", Finding.READING_MISTAKEN)], True),
        ([("R1", "a", Finding.CLAIM_GOES_BEYOND), *[("R1", "b", Finding.READING_MISTAKEN)] * 2], True),
        ([("R1", "a", Finding.CLAIM_GOES_BEYOND), *[("R1", by, Finding.READING_MISTAKEN) for by in "bc"]], False),
        ([("R1", "a", Finding.CLAIM_GOES_BEYOND), *[("R2", by, Finding.READING_MISTAKEN) for by in "bc"]], True),
    ],
)
def test_one_steward_stops_approvals_and_two_others_let_them_go_on(
    findings: list[tuple[str, str, Finding]], stops: bool
) -> None:
    assert stops_approval(judgement(*each) for each in findings) is stops


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (roof_limit("74"), True),
        (roof_limit("75"), False),
        (roof_limit("80"), False),
        (roof_limit("74", OFF_ROAD), True),
        (roof_limit("74", PARKED), False),
        (roof_limit("74", bound=AT_LEAST), False),
        (roof_limit("74", bound=Bound.AT_MOST), True),
        (roof_limit("74", scope=Scope(bodies=("van",))), False),
        (factor("2/3"), True),
    ],
)
def test_what_would_lower_a_vetted_figure(said: Statement, expected: bool) -> None:
    history = History()
    vetted = history.claim(roof_limit("75", scope=Scope(bodies=("wagon",))), cites=[history.document()])
    history.approve(vetted)
    undecided = history.claim(said, cites=[history.document()])
    assert lowers(history.of(undecided), history.facts) is expected


def test_what_only_one_reviewer_approved_is_not_lowered() -> None:
    history = History()
    once = history.claim(cites=[history.document()])
    history.approve(once, "first")
    undecided = history.claim(roof_limit("50"), cites=[history.document()])
    assert not lowers(history.of(undecided), history.facts)
    history.approve(once, "second")
    assert lowers(history.of(undecided), history.facts)
    assert not lowers(history.of(once), history.facts)


LATER = "2031-05-01T12:00:00Z"


def read_again(history: History, claim: str, *reviewers: str, read_at: str = LATER) -> None:
    for reviewer in reviewers:
        history.tell(reviewer, entries.ReadingKeyed(claim, roof_limit(), ()), at=read_at)
        history.approve(claim, reviewer, at=LATER)


def test_two_who_read_it_after_its_date_renew_a_claim() -> None:
    history, claim = begun()
    history.read_and_approve(claim)
    assert kinds(history, claim) == []
    history.age(claim, 2)
    assert work_on(history.of(claim)) == (Due(WorkKind.REVIEW_DUE, claim, "2029-03-01T00:00:00.000000Z"),)
    read_again(history, claim, "third")
    assert not renewed_by(history.of(claim))
    read_again(history, claim, "fourth")
    assert renewed_by(history.of(claim))
    history.tell("fourth", entries.ClaimRenewed(claim), at=LATER)
    found = history.of(claim)
    assert (found.overdue_years, found.review_by, work_on(found)) == (None, "2036-05-01", ())


@pytest.mark.parametrize("spoilt", ["not overdue", "read before its date", "one reviewer", "disputed"])
def test_what_does_not_renew_a_claim(spoilt: str) -> None:
    history, claim = begun()
    history.read_and_approve(claim)
    if spoilt != "not overdue":
        history.age(claim, 2)
    if spoilt == "one reviewer":
        read_again(history, claim, "third", "third")
    elif spoilt == "read before its date":
        read_again(history, claim, "third", "fourth", read_at="2029-02-28T12:00:00Z")
    else:
        read_again(history, claim, "third", "fourth")
    if spoilt == "disputed":
        history.dispute(claim)
    assert not renewed_by(history.of(claim))


def test_the_allowance_rises_with_every_approved_claim_and_ends() -> None:
    for what in Submitted:
        rising = [allowance(what, approved) for approved in range(KNOWN_FROM)]
        assert rising == [A_DAY[what] * (1 + approved) for approved in range(KNOWN_FROM)]
        assert allowance(what, KNOWN_FROM) is None


def test_work_is_in_a_fixed_order() -> None:
    assert Due(WorkKind.FIRST_READING, "C1", ago(1)) < Due(WorkKind.SECOND_READING, "C1", ago(2))
