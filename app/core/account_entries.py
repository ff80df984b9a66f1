"""The ledger's entries on accounts: who was trusted with what, since when, and who is no more. Pseudonyms only."""

from typing import ClassVar, Final

from app.core.payload import Payload

OPERATOR: Final = "operator"
"""The actor of what is done on the command line of the registry's own machine."""


class RoleGiven(Payload, frozen=True):
    """An account was given a role. `record` is the digest of the track record that was shown before, where one was."""

    type: ClassVar[str] = "role_given"
    account: str
    role: str
    record: str | None


class AccountDisabled(Payload, frozen=True):
    """An account may do nothing more."""

    type: ClassVar[str] = "account_disabled"
    account: str


class AccountEnabled(Payload, frozen=True):
    """A disabled account may do again what its role may."""

    type: ClassVar[str] = "account_enabled"
    account: str


class AccountReset(Payload, frozen=True):
    """Somebody was given a code with which an account gets a new password: whoever did this could have used it."""

    type: ClassVar[str] = "account_reset"
    account: str
