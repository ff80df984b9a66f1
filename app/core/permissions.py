"""Who may do what: a role, an action, and what stands between this person and this claim."""

from collections.abc import Collection
from enum import StrEnum

from app.core.claim import Interest, SourceType
from app.core.errors import CantrailError, Kind
from app.core.review import ClaimFacts, Reading


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


def may_confirm(account: str, authors: Collection[str], *, interested: bool = False) -> None:
    """A record is confirmed by others than who entered or corrected it, and by nobody with an interest in its maker."""
    if account in authors:
        raise _forbidden("own_record", "You entered or corrected this record. Two other reviewers confirm it.")
    if interested:
        raise _forbidden("interest_declared", "You declared an interest in this maker. Somebody else confirms it.")


def may_read(account: str, claim: ClaimFacts, *, interested: bool = False) -> None:
    """Nobody reviews their own claim, or one that their declared interests are about."""
    if claim.author == account:
        raise _forbidden("own_claim", f"You entered {claim.id}. Somebody else decides on it.")
    if interested:
        raise _interest()


def may_decide(
    account: str, claim: ClaimFacts, interest: Interest, *, approving: bool, interested: bool = False
) -> None:
    """Nobody decides on their own claim or one in which they have declared an interest, now, before or on their
    account (`interested`), or approves twice; an unverified claim is approved by nobody."""
    may_read(account, claim, interested=interested)
    if interest is not Interest.NONE or has_interest(account, claim):
        raise _interest()
    if approving and claim.source_type is SourceType.UNVERIFIED:
        raise _forbidden(
            "unverified_cannot_be_approved",
            "An unverified claim cannot be approved. Find the evidence and enter it as a claim of another source type.",
        )
    if approving and any(each.steward == account for each in claim.judgements):
        raise _forbidden("involved", f"You judged a reading of {claim.id}. Somebody else approves it.")
    if approving and account in claim.approvals:
        raise CantrailError(
            Kind.CONFLICT, "already_approved", f"You have approved {claim.id}. The second approval is somebody else's."
        )


def _interest() -> CantrailError:
    return _forbidden("interest_declared", "You declared an interest in this figure. Somebody else decides on it.")


def has_interest(account: str, claim: ClaimFacts) -> bool:
    """Whether somebody has declared an interest in a claim before, deciding on it or disputing it."""
    declared = [
        *(review.interest for review in claim.reviews if review.reviewer == account),
        *(dispute.interest for dispute in claim.disputes if dispute.by == account),
    ]
    return any(interest is not Interest.NONE for interest in declared)


def may_settle(account: str, claim: ClaimFacts, *, interested: bool = False) -> None:
    """Nobody settles a dispute on a claim that they entered, decided on or disputed, or in which they have an
    interest."""
    involved = {
        claim.author,
        *(review.reviewer for review in claim.reviews),
        *(dispute.by for dispute in claim.disputes),
        *(judgement.steward for judgement in claim.judgements),
    }
    if account in involved:
        raise _forbidden(
            "involved", f"You entered, decided on or disputed {claim.id}. A fresh reviewer settles its disputes."
        )
    if interested:
        raise _interest()


def may_judge(role: Role) -> None:
    """Raises for everybody but stewards: a reading that a claim goes beyond is looked at by one of them."""
    if role is not Role.STEWARD:
        raise _forbidden("role_too_low", "Only a steward judges where a claim and a reading differ. Leave it to one.")


def may_judge_reading(account: str, claim: ClaimFacts, reading: Reading, *, interested: bool = False) -> None:
    """A mismatch is judged by a steward who did not enter the claim, key that reading, decide on the claim or dispute it,
    and has no interest in it."""
    may_read(account, claim, interested=interested)
    if has_interest(account, claim):
        raise _interest()
    involved = {reading.reviewer, *(each.reviewer for each in claim.reviews), *(each.by for each in claim.disputes)}
    if account in involved:
        raise _forbidden("involved", f"You read, decided on or disputed {claim.id}. Another steward looks at it.")


def may_govern(role: Role) -> None:
    """Raises for everybody but stewards: they alone see accounts by name, and say who is trusted."""
    if role is not Role.STEWARD:
        raise _forbidden("role_too_low", "Only a steward does this. Ask one.")


def may_take_down(role: Role) -> None:
    """Raises for everybody but stewards: what is taken down can be cited no more."""
    if role is not Role.STEWARD:
        raise _forbidden("role_too_low", "Only a steward takes documents down. Ask one, and say why.")
