"""The ledger's bytes and hashes against published vectors: RFC 8785 and RFC 6962."""

import hashlib
import json
from pathlib import Path
from typing import Any

import msgspec
import pytest
import rfc8785

from app.core.entries import members, read
from app.core.merkle import LEAF_PREFIX, leaf_hash
from tests.core.builders import History

VECTORS: dict[str, Any] = json.loads(
    (Path(__file__).parent.parent / "vectors" / "ledger.json").read_text(encoding="utf-8")
)
LEAVES = [bytes.fromhex(leaf) for leaf in VECTORS["rfc6962"]["leaves_hex"]]
ROOTS = [bytes.fromhex(root) for root in VECTORS["rfc6962"]["roots_by_size"]]


# The Merkle tree


def node(left: bytes, right: bytes) -> bytes:
    """RFC 6962 section 2.1: a node's hash is that of 01, its left child and its right child."""
    return hashlib.sha256(b"\x01" + left + right).digest()


def root(hashes: list[bytes]) -> bytes:
    """RFC 6962 section 2.1: split at the largest power of two below the number of leaves."""
    if not hashes:
        return hashlib.sha256(b"").digest()
    if len(hashes) == 1:
        return hashes[0]
    split = 1 << (len(hashes) - 1).bit_length() - 1
    return node(root(hashes[:split]), root(hashes[split:]))


def test_the_first_leaf_is_the_root_of_a_tree_of_one() -> None:
    """RFC 6962 section 2.1, leaves and roots as published in the constants of transparency-dev/merkle."""
    assert leaf_hash(LEAVES[0]) == ROOTS[1]
    assert LEAF_PREFIX == b"\x00"


@pytest.mark.parametrize("size", range(len(ROOTS)))
def test_the_roots_of_the_eight_standard_leaves(size: int) -> None:
    """RFC 6962 section 2.1, roots as published in the constants of transparency-dev/merkle."""
    assert root([leaf_hash(leaf) for leaf in LEAVES[:size]]) == ROOTS[size]


@pytest.mark.parametrize("leaf", LEAVES)
def test_a_leaf_s_hash_is_the_plain_hash_of_a_zero_and_the_leaf(leaf: bytes) -> None:
    """RFC 6962 section 2.1: MTH({d(0)}) = SHA-256(0x00 || d(0)), by hashlib."""
    assert leaf_hash(leaf) == hashlib.sha256(b"\x00" + leaf).digest()
    assert leaf_hash(leaf) != hashlib.sha256(leaf).digest()


def test_leaf_hashes_begin_the_published_proofs() -> None:
    """RFC 6962 section 2.1.1, proofs as published in the constants of transparency-dev/merkle."""
    inclusion = VECTORS["rfc6962"]["inclusion"]

    assert leaf_hash(LEAVES[1]).hex() == inclusion["0 of 8"][0]
    assert leaf_hash(LEAVES[4]).hex() == inclusion["5 of 8"][0]
    assert leaf_hash(LEAVES[0]).hex() == inclusion["1 of 5"][0]


# Canonical JSON

# The input of RFC 8785 section 3.2.2, from memory; its output and the output's hash are the published ones.
INPUT = r"""
{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}
"""


def test_the_example_of_canonical_json() -> None:
    """RFC 8785 section 3.2.3; cyberphone/json-canonicalization, values.json."""
    canonical = rfc8785.dumps(json.loads(INPUT))

    assert canonical.decode() == VECTORS["rfc8785"]["output"]
    assert hashlib.sha256(canonical).hexdigest() == VECTORS["rfc8785"]["sha256"]


def test_members_are_sorted_by_their_utf_16_units() -> None:
    """RFC 8785 section 3.2.3, the example of sorting; from memory."""
    sorted_keys = ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33"]
    canonical = rfc8785.dumps(dict.fromkeys(reversed(sorted_keys), 0))

    assert list(json.loads(canonical)) == sorted_keys
    # Python's own sorting goes by code points, and puts the last two the other way round.
    assert sorted(sorted_keys) != sorted_keys


def test_an_entry_s_canonical_form_is_stable_and_read_back() -> None:
    """RFC 8785 section 3.2: no white space, members sorted; so that an entry has one form and one hash."""
    history = History()
    history.vehicle()
    history.claim(cites=[history.document()])
    for entry in history.entries:
        body = rfc8785.dumps(members(entry))
        assert read(body) == entry
        assert rfc8785.dumps(json.loads(body)) == body
        assert rfc8785.dumps(members(read(body))) == body
        assert list(json.loads(body)) == ["actor", "at", "payload", "seq", "streams", "type", "version"]
        assert body == msgspec.json.format(body, indent=-1)
