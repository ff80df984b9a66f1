"""The life of a claim: its states, and the one table of what may happen in each."""

from enum import StrEnum

from app.core.errors import CantrailError, Kind


class State(StrEnum):
    """Where a claim stands."""

    SUBMITTED = "submitted"
    NEEDS_EVIDENCE = "needs_evidence"
    APPROVED = "approved"
    DISPUTED = "disputed"
    SUPERSEDED = "superseded"
    REJECTED = "rejected"
    WITHDRAWN = "withdrawn"


class Event(StrEnum):
    """What may happen to a claim."""

    ADD_EVIDENCE = "add_evidence"
    ASK_EVIDENCE = "ask_evidence"
    APPROVE = "approve"
    REJECT = "reject"
    WITHDRAW = "withdraw"
    DISPUTE = "dispute"
    UPHOLD = "uphold"
    REFUTE = "refute"
    SUPERSEDE = "supersede"
    REVIVE = "revive"


TRANSITIONS: dict[State, dict[Event, State]] = {
    State.SUBMITTED: {
        Event.ADD_EVIDENCE: State.SUBMITTED,
        Event.ASK_EVIDENCE: State.NEEDS_EVIDENCE,
        Event.APPROVE: State.APPROVED,
        Event.REJECT: State.REJECTED,
        Event.WITHDRAW: State.WITHDRAWN,
    },
    State.NEEDS_EVIDENCE: {
        Event.ADD_EVIDENCE: State.SUBMITTED,
        Event.REJECT: State.REJECTED,
        Event.WITHDRAW: State.WITHDRAWN,
    },
    State.APPROVED: {
        Event.APPROVE: State.APPROVED,
        Event.DISPUTE: State.DISPUTED,
        Event.SUPERSEDE: State.SUPERSEDED,
    },
    State.DISPUTED: {
        Event.UPHOLD: State.APPROVED,
        Event.REFUTE: State.REJECTED,
        Event.SUPERSEDE: State.SUPERSEDED,
    },
    State.SUPERSEDED: {Event.REVIVE: State.APPROVED},
    State.REJECTED: {},
    State.WITHDRAWN: {},
}

UNDECIDED = frozenset({State.SUBMITTED, State.NEEDS_EVIDENCE})
DEAD = frozenset({State.REJECTED, State.WITHDRAWN, State.SUPERSEDED})
BINDING = frozenset({State.APPROVED, State.DISPUTED})


def after(state: State, event: Event) -> State:
    """The state that follows. Raises a conflict, `not_now`, where the event cannot happen in this state."""
    following = TRANSITIONS[state].get(event)
    if following is None:
        possible = ", ".join(TRANSITIONS[state]) or "nothing"
        raise CantrailError(
            Kind.CONFLICT,
            "not_now",
            f"This claim is {state}: {event} cannot happen to it now. What can: {possible}.",
            details={"state": state, "event": event},
        )
    return following
