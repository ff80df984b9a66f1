"""The life of a claim (section 2.7): every state with every event, by the table and by the fold."""

import pytest

from app.core.errors import CantrailError, Kind
from app.core.lifecycle import BINDING, DEAD, TRANSITIONS, UNDECIDED, Event, State, after
from tests.core.builders import History

S, E = State, Event

# The table of section 2.7, written out again by hand.
FOLLOWS = {
    (S.SUBMITTED, E.ADD_EVIDENCE): S.SUBMITTED,
    (S.SUBMITTED, E.ASK_EVIDENCE): S.NEEDS_EVIDENCE,
    (S.SUBMITTED, E.APPROVE): S.APPROVED,
    (S.SUBMITTED, E.REJECT): S.REJECTED,
    (S.SUBMITTED, E.WITHDRAW): S.WITHDRAWN,
    (S.NEEDS_EVIDENCE, E.ADD_EVIDENCE): S.SUBMITTED,
    (S.NEEDS_EVIDENCE, E.REJECT): S.REJECTED,
    (S.NEEDS_EVIDENCE, E.WITHDRAW): S.WITHDRAWN,
    (S.APPROVED, E.APPROVE): S.APPROVED,
    (S.APPROVED, E.DISPUTE): S.DISPUTED,
    (S.APPROVED, E.SUPERSEDE): S.SUPERSEDED,
    (S.DISPUTED, E.UPHOLD): S.APPROVED,
    (S.DISPUTED, E.REFUTE): S.REJECTED,
    (S.DISPUTED, E.SUPERSEDE): S.SUPERSEDED,
    (S.SUPERSEDED, E.REVIVE): S.APPROVED,
}

EVERY_PAIR = [(state, event) for state in State for event in Event]


def test_the_table_covers_every_state() -> None:
    assert set(TRANSITIONS) == set(State)
    assert len(EVERY_PAIR) == 70


@pytest.mark.parametrize(("state", "event"), EVERY_PAIR)
def test_the_table(state: State, event: Event) -> None:
    expected = FOLLOWS.get((state, event))
    if expected is not None:
        assert after(state, event) is expected
        return
    with pytest.raises(CantrailError) as refused:
        after(state, event)
    assert refused.value.kind is Kind.CONFLICT
    assert refused.value.code == "not_now"
    assert refused.value.details == {"state": state, "event": event}
    assert state in refused.value.message


def test_what_is_final_says_that_nothing_can_happen() -> None:
    with pytest.raises(CantrailError, match="What can: nothing"):
        after(State.WITHDRAWN, Event.APPROVE)


def test_states_are_undecided_binding_or_dead() -> None:
    assert sorted([*UNDECIDED, *BINDING, *DEAD]) == sorted(State)


# The same by the fold: what is refused changes nothing


def in_state(state: State) -> tuple[History, str, str]:
    """A history that has brought a claim into a state, the claim, and a dispute that one reviewer wants to refute."""
    history = History()
    document = history.document()
    claim = history.claim(cites=[document])
    dispute = history.dispute(claim, None)
    match state:
        case State.SUBMITTED:
            pass
        case State.NEEDS_EVIDENCE:
            history.decide(claim, "ask_evidence")
        case State.APPROVED:
            history.approve(claim, "first")
        case State.DISPUTED:
            history.approve(claim)
            dispute = history.dispute(claim, document)
            history.settle(claim, dispute, "refute", "third")
        case State.SUPERSEDED:
            history.approve(claim)
            history.supersede(claim, "C99")
        case State.REJECTED:
            history.decide(claim, "reject", code="misread")
        case State.WITHDRAWN:
            history.withdraw(claim)
    return history, claim, dispute


def happen(history: History, claim: str, dispute: str, event: Event) -> None:
    match event:
        case Event.ADD_EVIDENCE:
            history.cite(claim, "D1", later=True)
        case Event.APPROVE | Event.REJECT | Event.ASK_EVIDENCE:
            history.decide(claim, event, "second")
        case Event.WITHDRAW:
            history.withdraw(claim)
        case Event.DISPUTE:
            history.dispute(claim, "D1")
        case Event.UPHOLD:
            history.settle(claim, dispute, "uphold", "fourth")
        case Event.REFUTE:
            history.settle(claim, dispute, "refute", "fourth")
        case Event.SUPERSEDE:
            history.supersede(claim, "C99")
        case Event.REVIVE:
            history.revive(claim, "C99")


@pytest.mark.parametrize("state", State)
def test_a_history_leads_into_every_state(state: State) -> None:
    history, claim, _ = in_state(state)

    assert history.of(claim).state is state


@pytest.mark.parametrize(("state", "event"), EVERY_PAIR)
def test_the_fold_follows_the_table(state: State, event: Event) -> None:
    history, claim, dispute = in_state(state)
    before = history.facts
    happen(history, claim, dispute, event)
    expected = FOLLOWS.get((state, event))

    if expected is not None:
        assert history.of(claim).state is expected
        return
    stood = before.claims[claim]
    with pytest.raises(CantrailError) as refused:
        for entry in history.entries[before.seq :]:
            before.apply(entry)
    assert refused.value.code == "not_now"
    assert before.claims[claim].state is stood.state
    assert before.claims[claim].approvals == stood.approvals
