"""Proofs, signatures and notes against published vectors: RFC 6962, RFC 9162, RFC 8032 and C2SP signed-note."""

import json
from base64 import b64decode
from pathlib import Path
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from app.adapters.signing_key import verifies
from app.core.merkle import (
    EMPTY_ROOT,
    Tree,
    consistency_holds,
    consistency_proof,
    inclusion_holds,
    inclusion_proof,
    leaf_hash,
    root,
)
from app.core.signed_note import Note, Signature, VerifierKey, formatted, is_signed_by, parsed, verifier_key

VECTORS: dict[str, Any] = json.loads(
    (Path(__file__).parent.parent / "vectors" / "ledger.json").read_text(encoding="utf-8")
)
LEAVES = [leaf_hash(bytes.fromhex(leaf)) for leaf in VECTORS["rfc6962"]["leaves_hex"]]
ROOTS = [bytes.fromhex(each) for each in VECTORS["rfc6962"]["roots_by_size"]]
INCLUSION = [
    (*map(int, name.split(" of ")), [bytes.fromhex(each) for each in proof])
    for name, proof in VECTORS["rfc6962"]["inclusion"].items()
]
CONSISTENCY = [
    (*map(int, name.split(" to ")), [bytes.fromhex(each) for each in proof])
    for name, proof in VECTORS["rfc6962"]["consistency"].items()
]
NOTE = VECTORS["c2sp_signed_note"]
ED25519 = VECTORS["rfc8032"]


def kept() -> dict[tuple[int, int], bytes]:
    """The nodes of the tree of the eight standard leaves, by where they end and their level."""
    tree = Tree()
    nodes: dict[tuple[int, int], bytes] = {}
    for end, leaf in enumerate(LEAVES, start=1):
        nodes[end, 0] = leaf
        nodes |= {(end, level): hash for level, hash in tree.add(leaf)}
    return nodes


NODES = kept()


def node(end: int, level: int) -> bytes:
    return NODES[end, level]


@pytest.mark.parametrize("size", range(9))
def test_the_roots_of_the_eight_standard_leaves(size: int) -> None:
    """RFC 6962 section 2.1, roots as published in the constants of transparency-dev/merkle."""
    tree = Tree()
    for leaf in LEAVES[:size]:
        tree.add(leaf)
    assert root(size, node) == tree.root() == ROOTS[size]
    assert ROOTS[0] == EMPTY_ROOT


@pytest.mark.parametrize(("index", "size", "proof"), INCLUSION)
def test_the_published_inclusion_proofs(index: int, size: int, proof: list[bytes]) -> None:
    """RFC 6962 section 2.1.1, proofs as published in the constants of transparency-dev/merkle; verified by RFC 9162
    section 2.1.3.2."""
    assert inclusion_proof(index, size, node) == proof
    assert inclusion_holds(index=index, size=size, leaf=LEAVES[index], proof=proof, root=ROOTS[size])


@pytest.mark.parametrize(("earlier", "size", "proof"), CONSISTENCY)
def test_the_published_consistency_proofs(earlier: int, size: int, proof: list[bytes]) -> None:
    """RFC 6962 section 2.1.2, proofs as published in the constants of transparency-dev/merkle; verified by RFC 9162
    section 2.1.4.2."""
    assert consistency_proof(earlier, size, node) == proof
    assert consistency_holds(earlier=earlier, earlier_root=ROOTS[earlier], size=size, root=ROOTS[size], proof=proof)


def test_a_key_signs_as_published() -> None:
    """RFC 8032 section 7.1, TEST 1."""
    key = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(ED25519["seed"]))
    public, signature = bytes.fromhex(ED25519["public"]), bytes.fromhex(ED25519["signature"])
    message = bytes.fromhex(ED25519["message"])
    assert key.public_key().public_bytes_raw() == public
    assert key.sign(message) == signature
    assert verifies(public, message, signature)
    assert not verifies(public, message + b"\0", signature)


def test_the_published_note_is_read_and_verified() -> None:
    """C2SP signed-note; the example of golang.org/x/mod/sumdb/note."""
    key = verifier_key(NOTE["vkey"])
    raw = b64decode(NOTE["signature"])
    note = Note(NOTE["text"], (Signature(key.name, raw[:4], raw[4:]),))
    assert key.text == NOTE["vkey"]
    assert (key.name, key.id.hex()) == ("example.com/foo", "530d903a")
    assert formatted(note) == f"{NOTE['text']}\n— example.com/foo {NOTE['signature']}\n"
    assert parsed(formatted(note)) == note
    assert is_signed_by(note, key, verifies)
    assert not is_signed_by(Note("This is another message.\n", note.signatures), key, verifies)
    assert not is_signed_by(note, VerifierKey("example.com/bar", key.public), verifies)
