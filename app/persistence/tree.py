"""The Merkle tree over the ledger as it is stored: grown with each entry, read a few nodes at a time."""

from collections.abc import Callable
from typing import Any, Final

from sqlalchemy import Connection, bindparam
from sqlalchemy import select as pick

from app.core import merkle
from app.core.errors import CantrailError, Kind
from app.core.merkle import HASH_SIZE
from app.persistence.base import adding_to, table_of
from app.persistence.models import LedgerEntry, LedgerNode
from app.persistence.session import AnySession

_ENTRY: Final = table_of(LedgerEntry).c
_NODE: Final = table_of(LedgerNode).c
_ADD_NODE: Final = adding_to(LedgerNode)

_LEAF: Final = pick(_ENTRY.leaf_hash).where(_ENTRY.seq == bindparam("end"))
_INNER: Final = pick(_NODE.hash).where(_NODE.seq == bindparam("end"), _NODE.level == bindparam("level"))
"""Made once: building a statement takes longer than running it."""


def grow(connection: Connection, *, seq: int, leaf: bytes, tops: bytes | None) -> bytes:
    """Write the inner nodes that an entry completes, in the transaction that appends it: every second entry completes
    none, and on average it is one.

    `tops` are the hashes of the largest complete subtrees before it, from the left, as the head keeps them so that none
    of them need be looked up; gives those after it. Raises `ledger_damaged`.
    """
    before = _tops_before(connection, seq, tops)
    count = merkle.completed_levels(seq)
    if count == 0:
        return b"".join([*before, leaf])
    nodes = list(merkle.completed(seq, leaf, before[: -count - 1 : -1]))
    rows = [{"seq": seq, "level": level, "hash": hash} for level, hash in nodes]
    connection.execute(_ADD_NODE, rows if count > 1 else rows[0])
    return b"".join([*before[:-count], nodes[-1][1]])


def _tops_before(connection: Connection, seq: int, tops: bytes | None) -> list[bytes]:
    size = seq - 1
    if tops is not None and len(tops) == HASH_SIZE * size.bit_count():
        return [tops[start : start + HASH_SIZE] for start in range(0, len(tops), HASH_SIZE)]
    # A head that was written by other means does not have them.
    node = _nodes_of(connection)
    return [node(end, level) for end, level in merkle.tops(size)]


def root(session: AnySession, *, size: int) -> bytes:
    """The root over the first `size` entries. Raises `ledger_damaged`."""
    return merkle.root(size, _nodes_of(session.connection()))


def inclusion_proof(session: AnySession, *, seq: int, size: int) -> list[bytes]:
    """The path from an entry to the root over the first `size` entries."""
    return merkle.inclusion_proof(seq - 1, size, _nodes_of(session.connection()))


def consistency_proof(session: AnySession, *, earlier: int, size: int) -> list[bytes]:
    """What shows that the tree over `size` entries begins with that over `earlier`."""
    return merkle.consistency_proof(earlier, size, _nodes_of(session.connection()))


def leaf(session: AnySession, *, seq: int) -> bytes:
    """The stored hash of an entry. Raises `ledger_damaged`."""
    return _nodes_of(session.connection())(seq, 0)


def _nodes_of(connection: Connection) -> Callable[[int, int], bytes]:
    def node(end: int, level: int) -> bytes:
        named: dict[str, Any] = {"end": end} if level == 0 else {"end": end, "level": level}
        hash = connection.execute(_LEAF if level == 0 else _INNER, named).scalar_one_or_none()
        if hash is None:
            raise damaged(end)
        return bytes(hash)

    return node


def damaged(seq: int) -> CantrailError:
    """The one error for a ledger in which something is missing."""
    return CantrailError(
        Kind.UNAVAILABLE,
        "ledger_damaged",
        f"The ledger is damaged at entry {seq}. Run `cantrail verify`, and restore the registry from a backup.",
    )
