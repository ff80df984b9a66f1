"""Who may do what (section 2.7)."""

import pytest

from app.core import entries
from app.core.claim import Interest, SourceType
from app.core.errors import CantrailError, Kind
from app.core.permissions import (
    Role,
    Scope,
    may_confirm,
    may_decide,
    may_read,
    may_settle,
    may_withdraw,
    require,
)
from app.core.review import ClaimFacts
from tests.core.builders import History

BOTH = frozenset(Scope)


def claimed(source: SourceType = SourceType.MANUAL_PAGE) -> ClaimFacts:
    history = History()
    claim = history.claim(source=source)
    return history.of(claim)


def refusal(attempt: pytest.ExceptionInfo[CantrailError]) -> str:
    assert attempt.value.kind in {Kind.FORBIDDEN, Kind.CONFLICT}
    return attempt.value.code


@pytest.mark.parametrize("role", Role)
def test_everyone_may_submit(role: Role) -> None:
    require(role, BOTH, Scope.SUBMIT)


@pytest.mark.parametrize(
    ("role", "held", "code"),
    [
        (Role.CONTRIBUTOR, BOTH, "role_too_low"),
        (Role.REVIEWER, frozenset({Scope.SUBMIT}), "token_scope"),
        (Role.STEWARD, frozenset(), "token_scope"),
    ],
)
def test_reviewing_takes_the_role_and_the_token(role: Role, held: frozenset[Scope], code: str) -> None:
    with pytest.raises(CantrailError) as refused:
        require(role, held, Scope.REVIEW)

    assert (refused.value.kind, refused.value.code) == (Kind.FORBIDDEN, code)


@pytest.mark.parametrize("role", [Role.REVIEWER, Role.STEWARD])
def test_reviewers_and_stewards_may_review(role: Role) -> None:
    require(role, frozenset({Scope.REVIEW}), Scope.REVIEW)


def test_a_claim_is_withdrawn_by_its_author() -> None:
    may_withdraw("author", claimed())
    with pytest.raises(CantrailError) as refused:
        may_withdraw("first", claimed())

    assert refusal(refused) == "not_the_author"


def test_a_record_is_confirmed_by_others() -> None:
    may_confirm("first", {"author"})
    with pytest.raises(CantrailError) as refused:
        may_confirm("author", {"author"})

    assert refusal(refused) == "own_record"


def test_nobody_reviews_their_own_claim() -> None:
    may_read("first", claimed())
    with pytest.raises(CantrailError) as refused:
        may_read("author", claimed())
    with pytest.raises(CantrailError) as decided:
        may_decide("author", claimed(), Interest.NONE, approving=False)

    assert refusal(refused) == refusal(decided) == "own_claim"


@pytest.mark.parametrize("interest", [Interest.EMPLOYER, Interest.SELLS, Interest.OWNS])
@pytest.mark.parametrize("approving", [True, False])
def test_nobody_decides_where_they_have_a_stake(interest: Interest, approving: bool) -> None:
    with pytest.raises(CantrailError) as refused:
        may_decide("first", claimed(), interest, approving=approving)

    assert refusal(refused) == "interest_declared"


def test_an_unverified_claim_is_approved_by_nobody() -> None:
    unverified = claimed(SourceType.UNVERIFIED)
    may_decide("first", unverified, Interest.NONE, approving=False)
    with pytest.raises(CantrailError) as refused:
        may_decide("first", unverified, Interest.NONE, approving=True)

    assert refusal(refused) == "unverified_cannot_be_approved"


def test_the_second_approval_is_somebody_else_s() -> None:
    history = History()
    claim = history.claim()
    history.approve(claim, "first")
    may_decide("second", history.of(claim), Interest.NONE, approving=True)
    with pytest.raises(CantrailError) as refused:
        may_decide("first", history.of(claim), Interest.NONE, approving=True)

    assert (refused.value.kind, refusal(refused)) == (Kind.CONFLICT, "already_approved")


@pytest.mark.parametrize("account", ["author", "first", "second", "doubter"])
def test_nobody_settles_what_they_had_a_part_in(account: str) -> None:
    history = History()
    claim = history.claim()
    history.approve(claim)
    history.dispute(claim)
    with pytest.raises(CantrailError) as refused:
        may_settle(account, history.of(claim))

    assert refusal(refused) == "involved"


def test_a_fresh_reviewer_settles() -> None:
    history = History()
    claim = history.claim()
    history.approve(claim)
    history.settle(claim, history.dispute(claim), "refute", "third")

    may_settle("third", history.of(claim))
    may_settle("fourth", history.of(claim))


def test_an_interest_once_declared_is_not_forgotten() -> None:
    history = History()
    claim = history.claim()
    history.tell("rival", entries.ClaimDisputed(claim, None, None, "a" * 64, Interest.SELLS))

    with pytest.raises(CantrailError):
        may_decide("rival", history.of(claim), Interest.NONE, approving=True)
