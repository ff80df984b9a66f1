from base64 import b64encode
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.core.checkpoint import Checkpoint, checkpoint_in
from app.core.errors import CantrailError
from app.core.signed_note import (
    Note,
    Signature,
    VerifierKey,
    formatted,
    is_key_name,
    is_signed_by,
    parsed,
    verifier_key,
)

KEY = VerifierKey("roofs.example.org/ledger", bytes(range(32)))
TEXT = Checkpoint(KEY.name, 1187, bytes(range(32))).text
GOOD = Signature(KEY.name, KEY.id, b"g" * 64)


def believes(public: bytes, message: bytes, signature: bytes) -> bool:
    """Takes one signature for good."""
    return public == KEY.public and signature == b"g" * 64


def test_a_checkpoint_is_three_lines() -> None:
    assert TEXT == "roofs.example.org/ledger\n1187\nAAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8=\n"
    assert checkpoint_in(TEXT) == checkpoint_in(f"{TEXT}an extension\n") == Checkpoint(KEY.name, 1187, bytes(range(32)))


@given(st.integers(min_value=0, max_value=2**31 - 1), st.binary(min_size=32, max_size=32))
def test_a_checkpoint_is_read_back(size: int, root: bytes) -> None:
    checkpoint = Checkpoint("a", size, root)
    assert checkpoint_in(checkpoint.text) == checkpoint


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\n1\n" + "A" * 43 + "=\n",
        "a\n01\n" + "A" * 43 + "=\n",
        "a\n-1\n" + "A" * 43 + "=\n",
        "a\n+1\n" + "A" * 43 + "=\n",
        "a\n\u0661\n" + "A" * 43 + "=\n",
        "a\n2147483648\n" + "A" * 43 + "=\n",
        "a\n1\n" + "A" * 42 + "B=\n",
        "a\n1\n" + "A" * 44 + "\n",
        "a\n1\nAAAA\n",
        "a\n1\n",
        "a\n1" + "0" * 400 + "\n" + "A" * 43 + "=\n",
    ],
)
def test_what_is_no_checkpoint_is_refused(text: str) -> None:
    with pytest.raises(CantrailError, match="not a checkpoint") as refused:
        checkpoint_in(text)
    assert refused.value.code == "bad_checkpoint"


def test_a_note_has_its_signatures_below_an_empty_line() -> None:
    said = formatted(Note(TEXT, (GOOD,)))
    assert said == f"{TEXT}\n— {KEY.name} {b64encode(KEY.id + b'g' * 64).decode()}\n"
    assert parsed(said) == Note(TEXT, (GOOD,))
    assert parsed("a\n\nb\n\n" + said.rpartition("\n\n")[2]).text == "a\n\nb\n"


@pytest.mark.parametrize(
    "said",
    [
        "",
        "text\n",
        "text\n\n",
        "text\n\n— name AAAAAAA=",
        "text\n\nname AAAAAAA=\n",
        "text\n\n— name\n",
        "text\n\n— na+me AAAAAAA=\n",
        "text\n\n— name AAAAAA==\n",
        "text\n\n— name AAAAAAAB\n\n",
        "text\n\n— name AAAAAAAB\n— name\n",
        "text\n\n— name AAAAAAB=\n",
        "text\n\n— name AAAA AAAB\n",
        "te\x00xt\n\n— name AAAAAAAB\n",
        "text\r\n\n— name AAAAAAAB\n",
        "text\n\n" + "— name AAAAAAAB\n" * 101,
    ],
)
def test_what_is_no_note_is_refused(said: str) -> None:
    with pytest.raises(CantrailError, match="not a signed note") as refused:
        parsed(said)
    assert refused.value.code == "bad_note"


@given(st.text(max_size=200))
def test_nothing_breaks_the_readers_but_what_they_refuse(said: str) -> None:
    for read in (parsed, checkpoint_in, verifier_key):
        with suppress(CantrailError):
            read(said)


@pytest.mark.parametrize(
    ("signatures", "signed"),
    [
        ((GOOD,), True),
        ((Signature("other", b"1234", b"x" * 64), GOOD), True),
        ((), False),
        ((Signature(KEY.name, KEY.id, b"b" * 64),), False),
        ((GOOD, Signature(KEY.name, KEY.id, b"b" * 64)), False),
        ((Signature(KEY.name, b"1234", b"g" * 64),), False),
        ((Signature("other", KEY.id, b"g" * 64),), False),
        ((Signature(KEY.name, KEY.id, b"g" * 63),), False),
    ],
)
def test_whose_note_it_is(signatures: tuple[Signature, ...], *, signed: bool) -> None:
    assert is_signed_by(Note(TEXT, signatures), KEY, believes) is signed


def test_a_verifier_key_is_one_line_that_checks_itself() -> None:
    assert verifier_key(f" {KEY.text}\n") == KEY
    name, id, key = KEY.text.split("+", 2)
    for broken in (
        "",
        name,
        f"{name}+{id}",
        f"+{id}+{key}",
        f"other+{id}+{key}",
        f"{name}+00000000+{key}",
        f"{name}+{id.upper()}x+{key}",
        f"{name}+{id}+{key[:-1]}",
        f"{name}+{id}+{b64encode(bytes([2]) + KEY.public).decode()}",
    ):
        with pytest.raises(CantrailError, match="not a verifier key"):
            verifier_key(broken)


@pytest.mark.parametrize(
    ("name", "good"),
    [
        ("a", True),
        ("", False),
        ("a b", False),
        ("a+b", False),
        ("a\n", False),
        ("a\x1b[2J", False),
        ("a\x9b2J", False),
        ("a\u202eb", False),
    ],
)
def test_how_keys_are_named(name: str, *, good: bool) -> None:
    assert is_key_name(name) is good
