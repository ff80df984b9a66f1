"""The base of every ledger entry's payload."""

from typing import ClassVar

import msgspec


class Payload(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What one type of entry says. `type` and `version` are those of the class."""

    type: ClassVar[str]
    version: ClassVar[int] = 1
