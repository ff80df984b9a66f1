"""What happens to one claim (section 2.7), folded from its entries."""

import pytest

from app.core import entries
from app.core.claim import Interest, SourceType
from app.core.entries import Entry
from app.core.errors import CantrailError
from app.core.lifecycle import State
from app.core.review import (
    ClaimFacts,
    DisputeState,
    Review,
    Vote,
    begun,
    claim_facts,
    claim_named_by,
    years_after,
)
from tests.core.builders import HASH, VEHICLE, History, roof_limit

DAY = "2024-03-01T12:00:00Z"


def claimed(source: SourceType = SourceType.MANUAL_PAGE) -> tuple[History, str]:
    """A document, and a claim that cites it."""
    history = History()
    return history, history.claim(source=source, cites=[history.document()])


def approved(source: SourceType = SourceType.MANUAL_PAGE) -> tuple[History, str]:
    history, claim = claimed(source)
    history.approve(claim)
    return history, claim


def test_a_claim_begins_as_it_is_entered() -> None:
    history, claim = claimed()

    found = history.of(claim)

    assert claim == "C2"
    assert found == ClaimFacts(
        id="C2",
        seq=2,
        subject=VEHICLE,
        statement=roof_limit(),
        source_type=SourceType.MANUAL_PAGE,
        publisher="maker",
        author="author",
        interest=Interest.NONE,
        submitted_at=DAY,
        supersedes=None,
        answers_rejection=None,
        answer_sha256=None,
        citations=found.citations,
    )
    assert [(each.id, each.document, each.page, each.by) for each in found.citations] == [("T3", "D1", "214", "author")]
    assert (found.state, found.binds, found.review_by) == (State.SUBMITTED, False, None)


def test_a_history_that_does_not_begin_with_a_claim_is_refused() -> None:
    history, _ = claimed()

    with pytest.raises(ValueError, match="entry 3 does not begin a claim"):
        begun(history.entries[2])
    with pytest.raises(ValueError, match="begins with the claim"):
        claim_facts([])


def test_an_entry_names_the_claim_that_it_happens_to() -> None:
    history, claim = approved()

    assert [claim_named_by(entry.payload) for entry in history.entries] == [None, None, claim, claim, claim]


def test_one_approval_binds_and_two_set_the_review_by_date() -> None:
    history, claim = claimed()
    history.approve(claim, "first")
    once = history.of(claim)
    history.approve(claim, "second", at="2025-06-30T23:59:59Z")
    twice = history.of(claim)
    history.approve(claim, "third", at="2026-01-01T00:00:00Z")
    thrice = history.of(claim)

    assert (once.approvals, once.binds, once.review_by) == (("first",), True, None)
    assert (twice.approvals, twice.binds, twice.review_by) == (("first", "second"), True, "2030-06-30")
    assert (thrice.approvals, thrice.review_by) == (("first", "second", "third"), "2030-06-30")


@pytest.mark.parametrize(
    ("source", "review_by"),
    [
        (SourceType.MANUAL_PAGE, "2029-03-01"),
        (SourceType.MAKER_STATEMENT, "2026-03-01"),
        (SourceType.ACCESSORY_DERIVED, "2026-03-01"),
    ],
)
def test_a_manual_lasts_five_years_and_the_rest_two(source: SourceType, review_by: str) -> None:
    history, claim = approved(source)

    assert history.of(claim).review_by == review_by


@pytest.mark.parametrize(
    ("at", "years", "day"),
    [
        ("2024-02-29T08:00:00Z", 5, "2029-02-28"),
        ("2024-02-29T08:00:00Z", 2, "2026-02-28"),
        ("2024-02-29T08:00:00Z", 4, "2028-02-29"),
        ("2024-12-31T23:59:59Z", 5, "2029-12-31"),
    ],
)
def test_the_29th_of_february_falls_back_to_the_28th(at: str, years: int, day: str) -> None:
    assert years_after(at, years) == day


def test_readings_and_decisions_are_kept_with_who_and_when() -> None:
    history, claim = claimed()
    matching = history.read(claim, "first")
    off = history.read(claim, "second", "figure", "bound")
    history.decide(claim, "ask_evidence", "first")
    history.decide(claim, "reject", "second", code="no_evidence")

    found = history.of(claim)

    assert found.reading_by("first") is not None and found.reading_by("third") is None
    assert [(each.id, each.reviewer, each.matches, each.differences) for each in found.readings] == [
        (matching, "first", True, ()),
        (off, "second", False, ("figure", "bound")),
    ]
    assert found.reviews == (
        Review("R6", "first", None, "ask_evidence", None, HASH, Interest.NONE, DAY),
        Review("R7", "second", None, "reject", "no_evidence", HASH, Interest.NONE, DAY),
    )
    assert (found.state, found.approvals, found.binds) == (State.REJECTED, (), False)


def test_evidence_that_comes_later_brings_a_claim_back_to_the_desk() -> None:
    history, claim = claimed()
    history.decide(claim, "ask_evidence")
    history.cite(claim, "D9", later=True)

    assert history.of(claim).state is State.SUBMITTED
    assert [each.document for each in history.of(claim).citations] == ["D1", "D9"]


def test_a_withdrawn_claim_does_nothing() -> None:
    history, claim = claimed()
    history.withdraw(claim)

    assert (history.of(claim).state, history.of(claim).binds) == (State.WITHDRAWN, False)


# Disputes


def test_a_dispute_with_held_evidence_suspends_at_once() -> None:
    history, claim = approved()
    dispute = history.dispute(claim, "D1")

    found = history.of(claim)
    challenge = found.dispute(dispute)

    assert (found.state, found.binds) == (State.DISPUTED, True)
    assert challenge is not None
    assert (challenge.by, challenge.document, challenge.suspends, challenge.state) == (
        "doubter",
        "D1",
        True,
        DisputeState.OPEN,
    )
    assert found.dispute("P999") is None


def test_a_dispute_without_evidence_is_shown_and_lapses() -> None:
    history, claim = approved()
    dispute = history.dispute(claim, None)
    shown = history.of(claim)
    history.lapse(claim, dispute)
    lapsed = history.of(claim)

    assert shown.state is lapsed.state is State.APPROVED
    assert [(each.state, each.suspends) for each in shown.disputes] == [(DisputeState.OPEN, False)]
    assert [(each.state, each.suspends) for each in lapsed.disputes] == [(DisputeState.LAPSED, False)]


def test_one_reviewer_upholds() -> None:
    history, claim = approved()
    dispute = history.dispute(claim)
    history.settle(claim, dispute, "uphold", "third")

    found = history.of(claim)

    assert (found.state, found.binds, found.approvals) == (State.APPROVED, True, ("first", "second"))
    assert found.disputes[0].state is DisputeState.UPHELD
    assert found.disputes[0].votes == (Vote("R7", "third", "uphold", "misread", HASH, DAY),)
    assert not found.disputes[0].suspends


def test_two_reviewers_refute() -> None:
    history, claim = approved()
    dispute = history.dispute(claim)
    history.settle(claim, dispute, "refute", "third")
    after_one = history.of(claim)
    history.settle(claim, dispute, "refute", "fourth")
    after_two = history.of(claim)

    assert (after_one.state, after_one.binds, after_one.disputes[0].state) == (
        State.DISPUTED,
        True,
        DisputeState.OPEN,
    )
    assert (after_two.state, after_two.binds, after_two.disputes[0].state) == (
        State.REJECTED,
        False,
        DisputeState.REFUTED,
    )
    assert [vote.reviewer for vote in after_two.disputes[0].votes] == ["third", "fourth"]


def test_one_vote_to_refute_does_not_outweigh_one_to_uphold() -> None:
    history, claim = approved()
    dispute = history.dispute(claim)
    history.settle(claim, dispute, "refute", "third")
    history.settle(claim, dispute, "uphold", "fourth")

    assert history.of(claim).state is State.APPROVED
    assert history.of(claim).disputes[0].state is DisputeState.UPHELD


def test_a_settlement_touches_its_own_dispute_only() -> None:
    history, claim = approved()
    aside = history.dispute(claim, None)
    dispute = history.dispute(claim)
    history.settle(claim, dispute, "uphold", "third")

    assert [(each.id, each.state) for each in history.of(claim).disputes] == [
        (aside, DisputeState.OPEN),
        (dispute, DisputeState.UPHELD),
    ]


def test_a_claim_upheld_may_be_disputed_again() -> None:
    history, claim = approved()
    history.settle(claim, history.dispute(claim), "uphold", "third")
    history.dispute(claim, "D1")

    assert history.of(claim).state is State.DISPUTED


# Superseding


def test_what_is_superseded_neither_binds_nor_sets_until_it_is_revived() -> None:
    history, claim = approved()
    history.supersede(claim, "C99")
    gone = history.of(claim)
    history.revive(claim, "C99")
    back = history.of(claim)

    assert (gone.state, gone.superseded_by, gone.binds) == (State.SUPERSEDED, "C99", False)
    assert (back.state, back.superseded_by, back.binds) == (State.APPROVED, None, True)
    assert back.approvals == ("first", "second")


def test_a_claim_that_was_disputed_comes_back_disputed() -> None:
    history, claim = approved()
    dispute = history.dispute(claim)
    history.supersede(claim, "C99")
    history.revive(claim, "C99")

    assert history.of(claim).state is State.DISPUTED
    history.settle(claim, dispute, "uphold", "third")
    assert history.of(claim).state is State.APPROVED


def test_a_dispute_without_evidence_does_not_suspend_what_is_revived() -> None:
    history, claim = approved()
    history.dispute(claim, None)
    history.settle(claim, history.dispute(claim), "uphold", "third")
    history.supersede(claim, "C99")
    history.revive(claim, "C99")

    assert history.of(claim).state is State.APPROVED


def test_age_is_what_the_daily_run_says() -> None:
    history, claim = approved()
    assert history.of(claim).overdue_years is None
    history.age(claim, 0)
    assert history.of(claim).overdue_years == 0
    history.age(claim, 3)
    assert history.of(claim).overdue_years == 3


def test_what_is_not_about_the_claim_leaves_it_as_it_is() -> None:
    history, claim = approved()
    own = history.entries[1:]
    other = Entry(9, DAY, "system", ("method",), entries.MethodAdopted("m1"))

    assert claim_facts([*own, other]) == claim_facts(own) == history.of(claim)


# No fewer people than the rules ask for, and no decision without a page


def test_one_reviewer_does_not_refute_twice() -> None:
    history, claim = approved()
    dispute = history.dispute(claim)
    history.settle(claim, dispute, "refute", "third", "third")

    assert history.of(claim).state is State.DISPUTED


def test_one_reviewer_does_not_approve_twice() -> None:
    history, claim = claimed()
    history.approve(claim, "first", "first")

    assert len(set(history.of(claim).approvals)) == len(history.of(claim).approvals)


@pytest.mark.parametrize("settlement", ["uphold", "refute"])
def test_a_dispute_without_evidence_settles_nothing(settlement: str) -> None:
    history, claim = approved()
    empty = history.dispute(claim, None)
    history.dispute(claim, "D1")
    history.settle(claim, empty, settlement, "third")

    with pytest.raises(CantrailError, match="does not suspend") as refused:
        history.of(claim)

    assert refused.value.code == "not_now"


def test_a_vote_to_refute_what_is_not_disputed_is_refused() -> None:
    history, claim = approved()
    history.settle(claim, history.dispute(claim, None), "refute", "third")

    with pytest.raises(CantrailError):
        history.of(claim)


def test_what_happens_to_another_claim_does_not_happen_to_this_one() -> None:
    history, claim = approved()
    own = history.entries[1:]
    history.supersede("C99", claim)

    assert claim_facts([*own, history.entries[-1]]).state is State.APPROVED
