"""Who may do what: a role, an action, and what stands between this person and this claim."""

from enum import StrEnum

from app.core.claim import Interest, SourceType
from app.core.errors import CantrailError, Kind
from app.core.review import ClaimFacts


class Role(StrEnum):
    """What an account is trusted with."""

    CONTRIBUTOR = "contributor"
    REVIEWER = "reviewer"
    STEWARD = "steward"


class Scope(StrEnum):
    """What a token lets its bearer do, within the account's role."""

    SUBMIT = "submit"
    REVIEW = "review"


MAY: dict[Role, frozenset[Scope]] = {
    Role.CONTRIBUTOR: frozenset({Scope.SUBMIT}),
    Role.REVIEWER: frozenset({Scope.SUBMIT, Scope.REVIEW}),
    Role.STEWARD: frozenset({Scope.SUBMIT, Scope.REVIEW}),
}


def _forbidden(code: str, message: str) -> CantrailError:
    return CantrailError(Kind.FORBIDDEN, code, message)


def require(role: Role, held: frozenset[Scope], needed: Scope) -> None:
    """Raises where an account's role, or the token it came with, does not reach to an action."""
    if needed not in MAY[role]:
        raise _forbidden("role_too_low", f"This needs the scope {needed}, which a {role} does not have.")
    if needed not in held:
        raise _forbidden("token_scope", f"This token was issued without the scope {needed}. Issue one that has it.")


def may_withdraw(account: str, claim: ClaimFacts) -> None:
    """A claim is withdrawn by its author."""
    if claim.author != account:
        raise _forbidden("not_the_author", f"Only who entered {claim.id} may withdraw it. You may dispute it.")


def may_confirm(account: str, author: str) -> None:
    """A record is confirmed by others than who entered it."""
    if account == author:
        raise _forbidden("own_record", "You entered this record. Two other reviewers confirm it.")


def may_read(account: str, claim: ClaimFacts) -> None:
    """Nobody reviews their own claim."""
    if claim.author == account:
        raise _forbidden("own_claim", f"You entered {claim.id}. Somebody else decides on it.")


def may_decide(account: str, claim: ClaimFacts, interest: Interest, *, approving: bool) -> None:
    """Nobody decides on their own claim or one in which they declare an interest, or approves twice; an unverified
    claim is approved by nobody."""
    may_read(account, claim)
    if interest is not Interest.NONE or has_interest(account, claim):
        raise _forbidden("interest_declared", "You declared an interest in this figure. Somebody else decides on it.")
    if approving and claim.source_type is SourceType.UNVERIFIED:
        raise _forbidden(
            "unverified_cannot_be_approved",
            "An unverified claim cannot be approved. Find the evidence and enter it as a claim of another source type.",
        )
    if approving and account in claim.approvals:
        raise CantrailError(
            Kind.CONFLICT, "already_approved", f"You have approved {claim.id}. The second approval is somebody else's."
        )


def has_interest(account: str, claim: ClaimFacts) -> bool:
    """Whether somebody has declared an interest in a claim before, deciding on it or disputing it."""
    declared = [
        *(review.interest for review in claim.reviews if review.reviewer == account),
        *(dispute.interest for dispute in claim.disputes if dispute.by == account),
    ]
    return any(interest is not Interest.NONE for interest in declared)


def may_settle(account: str, claim: ClaimFacts) -> None:
    """Nobody settles a dispute on a claim that they entered, decided on or disputed."""
    involved = {
        claim.author,
        *(review.reviewer for review in claim.reviews),
        *(dispute.by for dispute in claim.disputes),
    }
    if account in involved:
        raise _forbidden(
            "involved", f"You entered, decided on or disputed {claim.id}. A fresh reviewer settles its disputes."
        )


def may_take_down(role: Role) -> None:
    """Raises for everybody but stewards: what is taken down can be cited no more."""
    if role is not Role.STEWARD:
        raise _forbidden("role_too_low", "Only a steward takes documents down. Ask one, and say why.")
