"""One family of errors: a kind that the edges translate, a stable code, and a sentence that says what to do."""

from collections.abc import Mapping, Sequence
from enum import StrEnum

import msgspec


class Kind(StrEnum):
    """What sort of refusal an error is. The web maps kinds to statuses, the command line to exit codes."""

    INVALID = "invalid"
    UNAUTHENTICATED = "unauthenticated"
    FORBIDDEN = "forbidden"
    NOT_FOUND = "not_found"
    CONFLICT = "conflict"
    TOO_LARGE = "too_large"
    UNSUPPORTED = "unsupported"
    TOO_MANY = "too_many"
    UNAVAILABLE = "unavailable"


class Fault(msgspec.Struct, frozen=True):
    """One thing wrong with an input: where (an RFC 6901 pointer), a stable code, and a sentence."""

    pointer: str
    code: str
    message: str


class CantrailError(Exception):
    """Something that was asked for and is refused; nothing has changed."""

    def __init__(
        self,
        kind: Kind,
        code: str,
        message: str,
        *,
        faults: Sequence[Fault] = (),
        details: Mapping[str, object] | None = None,
    ) -> None:
        super().__init__(message)
        self.kind = kind
        self.code = code
        self.message = message
        self.faults = tuple(faults)
        self.details = dict(details or {})


def invalid(pointer: str, code: str, message: str) -> CantrailError:
    """Bad input with one fault."""
    return CantrailError(Kind.INVALID, code, message, faults=(Fault(pointer, code, message),))
