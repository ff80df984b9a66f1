"""The Merkle tree over the ledger's entries, as RFC 6962 section 2.1 has it, and the verifiers of RFC 9162.

A tree's inner nodes are taken from whoever keeps them: `Nodes` gives the hash of the complete subtree over the
2**level leaves that end before leaf `end`. Any root or proof needs a few dozen of these at most, whatever the size.
"""

from collections.abc import Callable, Iterator, Sequence
from hashlib import sha256
from typing import Final, TypeAlias

LEAF_PREFIX: Final = b"\x00"
NODE_PREFIX: Final = b"\x01"
"""RFC 6962 tells leaves from nodes by their first byte."""

EMPTY_ROOT: Final = sha256(b"").digest()
HASH_SIZE: Final = 32

Nodes: TypeAlias = Callable[[int, int], bytes]
"""From (end, level) to the hash of the complete subtree over the 2**level leaves that end with leaf number `end`,
counted from 1. Level 0 is the leaf's own hash."""


def leaf_hash(body: bytes) -> bytes:
    """The hash of a leaf: an entry's canonical JSON."""
    return sha256(LEAF_PREFIX + body).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """The hash of a node over its two children."""
    return sha256(NODE_PREFIX + left + right).digest()


# Building


def completed_levels(end: int) -> int:
    """How many inner nodes leaf number `end` completes: one for each time that 2 divides it."""
    return (end & -end).bit_length() - 1


def completed(end: int, leaf: bytes, left: Sequence[bytes]) -> Iterator[tuple[int, bytes]]:
    """The inner nodes that a leaf completes, as (level, hash) from the lowest, given their left children in the same
    order."""
    right = leaf
    for level, sibling in zip(range(1, completed_levels(end) + 1), left, strict=True):
        right = node_hash(sibling, right)
        yield level, right


def tops(size: int) -> list[tuple[int, int]]:
    """The largest complete subtrees that `size` leaves are made of, from the left, as (end, level): one for each bit."""
    found: list[tuple[int, int]] = []
    end = 0
    for level in reversed(range(size.bit_length())):
        if size >> level & 1:
            end += 1 << level
            found.append((end, level))
    return found


class Tree:
    """A tree that grows by a leaf at a time, and remembers no more than its complete subtrees' tops."""

    def __init__(self) -> None:
        self.size = 0
        self._tops: list[bytes] = []

    def add(self, leaf: bytes) -> list[tuple[int, bytes]]:
        """Add a leaf. Gives the inner nodes that it completes, as (level, hash)."""
        self.size += 1
        count = completed_levels(self.size)
        left = [self._tops.pop() for _ in range(count)]
        nodes = list(completed(self.size, leaf, left))
        self._tops.append(nodes[-1][1] if nodes else leaf)
        return nodes

    def tops(self) -> bytes:
        """The hashes of its largest complete subtrees, from the left, one after another."""
        return b"".join(self._tops)

    def root(self) -> bytes:
        """The tree's root."""
        if not self._tops:
            return EMPTY_ROOT
        *rest, root = self._tops
        for top in reversed(rest):
            root = node_hash(top, root)
        return root


# Roots and proofs


def root(size: int, nodes: Nodes) -> bytes:
    """The root over the first `size` leaves: MTH of RFC 6962 section 2.1."""
    return EMPTY_ROOT if size == 0 else _hash_of(0, size, nodes)


def inclusion_proof(index: int, size: int, nodes: Nodes) -> list[bytes]:
    """The path from leaf `index`, counted from 0, to the root over `size` leaves: PATH of RFC 6962 section 2.1.1."""
    if not 0 <= index < size:
        raise ValueError(f"a tree of {size} has no leaf {index}")
    path: list[bytes] = []
    start, end = 0, size
    while end - start > 1:
        split = start + _split(end - start)
        if index < split:
            path.append(_hash_of(split, end, nodes))
            end = split
        else:
            path.append(_hash_of(start, split, nodes))
            start = split
    return path[::-1]


def consistency_proof(earlier: int, size: int, nodes: Nodes) -> list[bytes]:
    """What shows that the tree of `size` leaves begins with that of `earlier`: PROOF of RFC 6962 section 2.1.2.

    Empty where both are the same.
    """
    if not 0 < earlier <= size:
        raise ValueError(f"a tree of {size} does not begin with one of {earlier}")
    path: list[bytes] = []
    start, end, whole = 0, size, True
    while earlier != end:
        split = start + _split(end - start)
        if earlier <= split:
            path.append(_hash_of(split, end, nodes))
            end = split
        else:
            path.append(_hash_of(start, split, nodes))
            start = split
            whole = False
    if not whole:
        path.append(_hash_of(start, end, nodes))
    return path[::-1]


def _split(count: int) -> int:
    """The largest power of two below a number of leaves."""
    return 1 << (count - 1).bit_length() - 1


def _hash_of(start: int, end: int, nodes: Nodes) -> bytes:
    """The hash over the leaves from `start` to before `end`: every split of a tree begins where a subtree does."""
    count = end - start
    if count & (count - 1) == 0:
        return nodes(end, count.bit_length() - 1)
    split = start + _split(count)
    return node_hash(_hash_of(start, split, nodes), _hash_of(split, end, nodes))


# Verifying


def inclusion_holds(*, index: int, size: int, leaf: bytes, proof: Sequence[bytes], root: bytes) -> bool:
    """Whether a proof shows that a leaf stands at `index`, counted from 0, in the tree with this size and root.

    RFC 9162 section 2.1.3.2, step by step.
    """
    if not 0 <= index < size:
        return False
    fn, sn, r = index, size - 1, leaf
    for p in proof:
        if sn == 0:
            return False
        if fn & 1 or fn == sn:
            r = node_hash(p, r)
            while not fn & 1 and fn != 0:
                fn, sn = fn >> 1, sn >> 1
        else:
            r = node_hash(r, p)
        fn, sn = fn >> 1, sn >> 1
    return sn == 0 and r == root


def consistency_holds(*, earlier: int, earlier_root: bytes, size: int, root: bytes, proof: Sequence[bytes]) -> bool:
    """Whether a proof shows that the tree of `size` leaves begins with the tree of `earlier` leaves.

    RFC 9162 section 2.1.4.2, step by step. Every tree begins with the empty one, and is its own beginning: then the
    proof is empty.
    """
    if earlier == size:
        return not proof and earlier_root == root
    if earlier == 0:
        return size > 0 and not proof and earlier_root == EMPTY_ROOT
    if not 0 < earlier < size or not proof:
        return False
    path = list(proof)
    if earlier & (earlier - 1) == 0:
        path.insert(0, earlier_root)
    fn, sn = earlier - 1, size - 1
    while fn & 1:
        fn, sn = fn >> 1, sn >> 1
    fr = sr = path[0]
    for c in path[1:]:
        if sn == 0:
            return False
        if fn & 1 or fn == sn:
            fr, sr = node_hash(c, fr), node_hash(c, sr)
            while not fn & 1 and fn != 0:
                fn, sn = fn >> 1, sn >> 1
        else:
            sr = node_hash(sr, c)
        fn, sn = fn >> 1, sn >> 1
    return sn == 0 and fr == earlier_root and sr == root
