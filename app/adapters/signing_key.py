"""The registry's Ed25519 key, in a file of its own that only its owner can read. It is never in the database.

The library is imported when it is first needed: most commands sign nothing.
"""

import secrets
from base64 import b64decode, b64encode
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Final

from app.adapters.safe_writing import create_file
from app.core.errors import CantrailError, Kind
from app.core.signed_note import ED25519, VerifierKey, is_key_name

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

_MARK: Final = "PRIVATE+KEY+"
_SEED_SIZE: Final = 32


class FileSigningKey:
    """A key that is read when it is first needed, and kept in memory from then on. It is shown to nobody."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def make(self, origin: str | None) -> bool:
        """Make the key under a name, a random one if none is given. One that is there already stays as it is, with its
        name: then this gives False. Raises `storage_unavailable`."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        if self._path.exists():
            return False
        name = origin or f"cantrail.local/{secrets.token_hex(8)}"
        if not is_key_name(name):
            raise ValueError("a key's name has no white space and no plus sign")
        key = Ed25519PrivateKey.generate()
        verifier = VerifierKey(name, key.public_key().public_bytes_raw())
        seed = b64encode(ED25519 + key.private_bytes_raw()).decode()
        try:
            return create_file(self._path, f"{_MARK}{name}+{verifier.id.hex()}+{seed}\n".encode())
        except OSError as error:
            raise CantrailError(
                Kind.UNAVAILABLE,
                "storage_unavailable",
                f"The signing key cannot be written to {self._path}: {error.strerror}.",
            ) from error

    def exists(self) -> bool:
        """Whether there is a key."""
        return self._path.exists()

    def verifier(self) -> VerifierKey:
        """What others verify with. Raises `no_signing_key`."""
        name, key = self._key
        return VerifierKey(name, key.public_key().public_bytes_raw())

    def sign(self, message: bytes) -> bytes:
        """The key's signature of a message. Raises `no_signing_key`."""
        return self._key[1].sign(message)

    def verifies(self, public: bytes, message: bytes, signature: bytes) -> bool:
        """Whether a message has a signature under a public key."""
        return verifies(public, message, signature)

    @cached_property
    def _key(self) -> "tuple[str, Ed25519PrivateKey]":
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        try:
            line = self._path.read_text(encoding="ascii").strip()
        except (OSError, ValueError) as error:
            raise _none(f"There is no signing key in {self._path} that can be read") from error
        name, _, rest = line.removeprefix(_MARK).partition("+")
        id, _, encoded = rest.partition("+")
        try:
            raw = b64decode(encoded, validate=True)
        except ValueError as error:
            raise _none(f"The signing key in {self._path} is damaged") from error
        if not line.startswith(_MARK) or len(raw) != 1 + _SEED_SIZE or raw[:1] != ED25519:
            raise _none(f"The signing key in {self._path} is damaged")
        key = Ed25519PrivateKey.from_private_bytes(raw[1:])
        # The id is a sum over name and key: a bit that has flipped in either shows.
        if VerifierKey(name, key.public_key().public_bytes_raw()).id.hex() != id:
            raise _none(f"The signing key in {self._path} is damaged")
        return name, key


class Verifier:
    """What tells whether a key has signed something, for those who have no key of their own."""

    def verifies(self, public: bytes, message: bytes, signature: bytes) -> bool:
        """Whether a message has a signature under a public key."""
        return verifies(public, message, signature)


def verifies(public: bytes, message: bytes, signature: bytes) -> bool:
    """Whether a message has an Ed25519 signature (RFC 8032) under a public key."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        Ed25519PublicKey.from_public_bytes(public).verify(signature, message)
    except (InvalidSignature, ValueError):
        return False
    return True


def _none(why: str) -> CantrailError:
    return CantrailError(
        Kind.UNAVAILABLE,
        "no_signing_key",
        f"{why}: put it back from where it is kept safe, or run `cantrail init` where the registry never had one.",
    )
