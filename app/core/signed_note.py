"""Signed notes and verifier keys, in the form of C2SP signed-note: text that says who signed it.

Only the form is known here; what signs and verifies is given. An Ed25519 key has the algorithm byte 01.
"""

import re
from base64 import b64decode, b64encode
from binascii import Error as Base64Error
from collections.abc import Callable
from hashlib import sha256
from typing import Final

import msgspec

from app.core.errors import CantrailError, invalid

ED25519: Final = b"\x01"
KEY_SIZE: Final = 32
SIGNATURE_SIZE: Final = 64
ID_SIZE: Final = 4
MOST_SIGNATURES: Final = 100
"""Readers of notes may refuse more; nobody is made to try a million."""

_NAME: Final = re.compile(r"[^\s+]{1,200}")
_HEX_ID: Final = re.compile(r"[0-9a-f]{8}")
_LINE: Final = "— "

Verifies = Callable[[bytes, bytes, bytes], bool]
"""Whether, under a public Ed25519 key, a message has a signature."""


class VerifierKey(msgspec.Struct, frozen=True):
    """Whose signature is looked for: a name and a public Ed25519 key of 32 bytes."""

    name: str
    public: bytes

    @property
    def id(self) -> bytes:
        """The four bytes that signatures name the key by."""
        return sha256(self.name.encode() + b"\n" + ED25519 + self.public).digest()[:ID_SIZE]

    @property
    def text(self) -> str:
        """The key as one line: name, id and key."""
        return f"{self.name}+{self.id.hex()}+{b64encode(ED25519 + self.public).decode()}"


class Signature(msgspec.Struct, frozen=True):
    """One signature line: a name, the key's id, and the signature."""

    name: str
    key_id: bytes
    signature: bytes


class Note(msgspec.Struct, frozen=True):
    """A text that ends with a line's end, and its signatures."""

    text: str
    signatures: tuple[Signature, ...]


def is_key_name(name: str) -> bool:
    """Whether a key may be named so: no white space, no plus sign, and nothing that a terminal would obey."""
    return _NAME.fullmatch(name) is not None and name.isprintable()


def verifier_key(text: str) -> VerifierKey:
    """A verifier key from its line. Raises `bad_verifier_key`."""
    name, _, rest = text.strip().partition("+")
    id, _, key = rest.partition("+")
    raw = _decoded(key)
    if not is_key_name(name) or _HEX_ID.fullmatch(id) is None or raw is None:
        raise _bad_key()
    if len(raw) != 1 + KEY_SIZE or raw[:1] != ED25519:
        raise _bad_key()
    made = VerifierKey(name, raw[1:])
    if made.id.hex() != id:
        raise _bad_key()
    return made


def formatted(note: Note) -> str:
    """A note as it is sent and kept."""
    lines = (f"{_LINE}{each.name} {b64encode(each.key_id + each.signature).decode()}\n" for each in note.signatures)
    return f"{note.text}\n{''.join(lines)}"


def parsed(said: str) -> Note:
    """A note from its text. Raises `bad_note` where it is none."""
    text, between, tail = said.rpartition("\n\n")
    if not between or not tail.endswith("\n") or any(ord(each) < 0x20 and each != "\n" for each in said):
        raise _bad_note("it is not a text, an empty line, and signatures")
    lines = tail.removesuffix("\n").split("\n")
    if len(lines) > MOST_SIGNATURES:
        raise _bad_note(f"it has more than {MOST_SIGNATURES} signatures")
    return Note(f"{text}\n", tuple(_signature(line) for line in lines))


def _signature(line: str) -> Signature:
    name, _, encoded = line.removeprefix(_LINE).partition(" ")
    raw = _decoded(encoded)
    if not line.startswith(_LINE) or not is_key_name(name) or raw is None or len(raw) <= ID_SIZE:
        raise _bad_note("one of its signature lines is not one")
    return Signature(name, raw[:ID_SIZE], raw[ID_SIZE:])


def is_signed_by(note: Note, key: VerifierKey, verifies: Verifies) -> bool:
    """Whether a note has a good signature by a key, and none by it that is bad. Others' signatures are passed over."""
    own = [each for each in note.signatures if (each.name, each.key_id) == (key.name, key.id)]
    return bool(own) and all(
        len(each.signature) == SIGNATURE_SIZE and verifies(key.public, note.text.encode(), each.signature)
        for each in own
    )


def _decoded(encoded: str) -> bytes | None:
    """What standard base64 says, or None. Only its one canonical spelling is taken."""
    try:
        raw = b64decode(encoded, validate=True)
    except (Base64Error, ValueError):
        return None
    return raw if b64encode(raw).decode() == encoded else None


def _bad_key() -> CantrailError:
    return invalid(
        "/key", "bad_verifier_key", "This is not a verifier key: give the whole line, as in `NAME+1a2b3c4d+AQ…=`."
    )


def _bad_note(why: str) -> CantrailError:
    return invalid("", "bad_note", f"This is not a signed note: {why}.")
