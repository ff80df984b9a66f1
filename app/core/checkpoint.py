"""A checkpoint of the ledger: the text that is signed, in the form of C2SP tlog-checkpoint."""

import re
from base64 import b64decode, b64encode
from typing import Final

import msgspec

from app.core.errors import CantrailError, invalid
from app.core.merkle import HASH_SIZE

MOST_ENTRIES: Final = 2**31 - 1
"""The largest ledger that the databases number."""

_SIZE: Final = re.compile(r"0|[1-9][0-9]{0,18}")
_ROOT: Final = re.compile(r"[A-Za-z0-9+/]{43}=")


class Checkpoint(msgspec.Struct, frozen=True):
    """How many entries a ledger had, and the root of the tree over them."""

    origin: str
    size: int
    root: bytes

    @property
    def text(self) -> str:
        """What is signed."""
        return f"{self.origin}\n{self.size}\n{b64encode(self.root).decode()}\n"


def checkpoint_in(text: str) -> Checkpoint:
    """The checkpoint that a note's text is; lines after its three are passed over. Raises `bad_checkpoint`."""
    origin, _, rest = text.partition("\n")
    size, _, rest = rest.partition("\n")
    root, _, _ = rest.partition("\n")
    if not origin or _SIZE.fullmatch(size) is None or _ROOT.fullmatch(root) is None:
        raise _bad("it does not say origin, size and root, each on a line")
    decoded = b64decode(root)
    if int(size) > MOST_ENTRIES or len(decoded) != HASH_SIZE or b64encode(decoded).decode() != root:
        raise _bad("its size or root is none that a ledger can have")
    return Checkpoint(origin, int(size), decoded)


def _bad(why: str) -> CantrailError:
    return invalid("", "bad_checkpoint", f"This is not a checkpoint: {why}.")
