"""What people send about themselves and others: one type for each body. Passwords and codes are in no other."""

from typing import Annotated, Literal

from msgspec import Meta

from app.core.permissions import Role, Scope
from app.services.inputs import Input, Name, Slug

Password = Annotated[str, Meta(min_length=1, max_length=200)]
"""As sent. What may be chosen is judged apart, with a sentence for each reason."""

Code = Annotated[str, Meta(min_length=1, max_length=60)]
LONGEST_DAYS = 366


class NewAccount(Input, frozen=True):
    """Somebody who lets themselves in, as a contributor."""

    name: Name
    password: Password


class SignIn(Input, frozen=True):
    """Who signs in. Where one-time passwords are on, `code` is one, or a recovery code."""

    name: Name
    password: Password
    code: Code | None = None


class PasswordReset(Input, frozen=True):
    """A new password for a forgotten one. `reset` is the code that an operator or steward has given, or a recovery code;
    where one-time passwords are on, `code` is one, or another recovery code."""

    name: Name
    reset: Code
    password: Password
    code: Code | None = None


class NewPassword(Input, frozen=True):
    """Another password for one's own account."""

    current: Password
    password: Password
    code: Code | None = None


class Proof(Input, frozen=True):
    """That it is still who signed in: the password, and where one-time passwords are on, a code."""

    password: Password
    code: Code | None = None


class Confirmed(Input, frozen=True):
    """The first code of a new secret."""

    code: Code


class NewToken(Input, frozen=True):
    """A token for a program: what it is for, what it may do, for how many days."""

    name: Name
    password: Password
    scopes: Annotated[list[Scope], Meta(min_length=1, max_length=2)]
    days: Annotated[int, Meta(ge=1, le=LONGEST_DAYS)] = 90
    code: Code | None = None


class InterestIn(Input, frozen=True):
    """Whose employee somebody is, or whose things they sell."""

    publisher: Slug
    kind: Literal["employer", "sells"]


class Interests(Input, frozen=True):
    """All the interests that somebody has now. One that is left out is dropped, and stays in force for a while."""

    interests: Annotated[list[InterestIn], Meta(max_length=50)]


class NewReset(Input, frozen=True):
    """A code for a new password; whether it is to end one-time passwords as well, because the authenticator is lost."""

    one_time_password: bool = False


class NewRole(Input, frozen=True):
    """Another role for somebody. `record` is the digest of the track record that was shown."""

    role: Role
    record: Annotated[str, Meta(pattern="^sha256:[0-9a-f]{64}$")]
