"""What the ledger shows to those who check it: its entries as they are stored, and proofs of what is in it."""

from typing import Any

import msgspec

from app.core import entries
from app.core.errors import CantrailError, Fault, Kind
from app.core.merkle import leaf_hash
from app.persistence import ledger, tree
from app.persistence.session import AnySession


class KeyView(msgspec.Struct, frozen=True):
    """The key that checkpoints are signed with: the verifier key's line (C2SP signed-note), its name, its id in
    hexadecimal."""

    key: str
    origin: str
    id: str


class StoredEntryView(msgspec.Struct, frozen=True):
    """An entry exactly as it is stored: canonical JSON (RFC 8785) of `entry` gives the bytes that were hashed, and
    `leaf_hash` is SHA-256 of a zero byte and these, in hexadecimal (RFC 6962)."""

    entry: dict[str, Any]
    leaf_hash: str


class StoredEntries(msgspec.Struct, frozen=True):
    """Some of the ledger; `next` goes on from there, and is null when nothing more is there yet."""

    items: list[StoredEntryView]
    next: str | None
    head: int


class InclusionView(msgspec.Struct, frozen=True):
    """That entry `seq` stands in the ledger of `size` entries: RFC 6962 section 2.1.1, for the leaf with index `seq` − 1.
    Hashes are in hexadecimal, from the leaf up."""

    seq: int
    size: int
    leaf_hash: str
    root: str
    hashes: list[str]


class ConsistencyView(msgspec.Struct, frozen=True, rename={"earlier": "from", "size": "to"}):
    """That the ledger of `to` entries begins with that of `from`: RFC 6962 section 2.1.2. Hashes are in hexadecimal."""

    earlier: int
    size: int
    from_root: str
    to_root: str
    hashes: list[str]


class _Raw(msgspec.Struct, frozen=True):
    """A stored entry for sending: its very bytes."""

    entry: msgspec.Raw
    leaf_hash: str


class _RawEntries(msgspec.Struct, frozen=True):
    items: list[_Raw]
    next: str | None
    head: int


def stored_entries(session: AnySession, *, after: int, limit: int) -> _RawEntries:
    """The entries that follow one, as `StoredEntries` has them. Raises `ledger_damaged` where one cannot be read."""
    head = ledger.head(session)
    items: list[_Raw] = []
    last = after
    for seq, body, hash in ledger.bodies_after(session, after=after, limit=limit):
        if leaf_hash(body) != hash or not _is_entry(body):
            raise tree.damaged(seq)
        items.append(_Raw(msgspec.Raw(body), hash.hex()))
        last = seq
    return _RawEntries(items, str(last) if items and last < head else None, head)


def _is_entry(body: bytes) -> bool:
    try:
        entries.read(body)
    except msgspec.MsgspecError:
        return False
    return True


def inclusion(session: AnySession, *, seq: int, size: int | None) -> InclusionView:
    """A proof that an entry stands in the ledger of some size, the present one if none is given. Raises bad input
    `no_such_size` and `no_such_entry`, and `ledger_damaged`."""
    of = _size(session, size, "/size")
    if seq > of:
        raise _no_such("/seq", "no_such_entry", f"The ledger of {of} entries has no entry {seq}.")
    hashes = tree.inclusion_proof(session, seq=seq, size=of)
    leaf = tree.leaf(session, seq=seq)
    return InclusionView(seq, of, leaf.hex(), tree.root(session, size=of).hex(), [each.hex() for each in hashes])


def consistency(session: AnySession, *, earlier: int, size: int | None) -> ConsistencyView:
    """A proof that the ledger of some size, the present one if none is given, begins with an earlier one. Raises as
    `inclusion` does."""
    of = _size(session, size, "/to")
    if earlier > of:
        raise _no_such("/from", "no_such_size", f"The ledger of {of} entries does not begin with one of {earlier}.")
    hashes = tree.consistency_proof(session, earlier=earlier, size=of)
    roots = [tree.root(session, size=each).hex() for each in (earlier, of)]
    return ConsistencyView(earlier, of, roots[0], roots[1], [each.hex() for each in hashes])


def _size(session: AnySession, size: int | None, pointer: str) -> int:
    head = ledger.head(session)
    if size is not None and size > head:
        raise _no_such(pointer, "no_such_size", f"The ledger has {head} entries.")
    return head if size is None else size


def _no_such(pointer: str, code: str, message: str) -> CantrailError:
    return CantrailError(Kind.INVALID, code, message, faults=(Fault(pointer, code, message),))
