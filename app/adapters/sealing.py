"""Secrets that the database may hold only sealed, and the key they are sealed with: a file that only its owner can read.

Every server of a registry needs the same key. Without it nobody's one-time passwords can be checked any more.
"""

import secrets
from base64 import urlsafe_b64decode, urlsafe_b64encode
from functools import cached_property
from hashlib import sha256
from hmac import digest
from pathlib import Path
from typing import Final

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from app.adapters.safe_writing import create_file
from app.core.errors import CantrailError, Kind

KEY_BYTES: Final = 32
_NONCE_BYTES: Final = 12


class FileSealer:
    """A key that is read when it is first needed, and kept in memory from then on."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def make(self) -> bool:
        """Make the key, unless there is one: then this gives False. Raises `storage_unavailable`."""
        try:
            return create_file(self._path, f"{secrets.token_hex(KEY_BYTES)}\n".encode())
        except OSError as error:
            raise CantrailError(
                Kind.UNAVAILABLE,
                "storage_unavailable",
                f"The key of secrets cannot be written to {self._path}: {error.strerror}.",
            ) from error

    def exists(self) -> bool:
        """Whether there is a key."""
        return self._path.exists()

    def seal(self, secret: str, about: str) -> str:
        """A secret sealed (AES-256-GCM), so that it can be opened for whom it is about and for nobody else."""
        nonce = secrets.token_bytes(_NONCE_BYTES)
        return urlsafe_b64encode(nonce + self._cipher.encrypt(nonce, secret.encode(), about.encode())).decode()

    def unseal(self, sealed: str, about: str) -> str:
        """The secret. Raises `secret_unreadable` where it was sealed with another key, for somebody else, or is damaged."""
        try:
            raw = urlsafe_b64decode(sealed)
            return self._cipher.decrypt(raw[:_NONCE_BYTES], raw[_NONCE_BYTES:], about.encode()).decode()
        except (InvalidTag, ValueError) as error:
            raise CantrailError(
                Kind.UNAVAILABLE,
                "secret_unreadable",
                f"A secret cannot be opened with the key in {self._path}. Put the key back that this registry was kept "
                "with, or let whose secret it is begin again.",
            ) from error

    def mark(self, text: str) -> str:
        """A keyed hash (HMAC-SHA-256) in hexadecimal: the same for the same text, and nobody without the key can tell
        which text that is."""
        return digest(self._marking, text.encode(), "sha256").hex()

    @cached_property
    def _key(self) -> bytes:
        try:
            key = bytes.fromhex(self._path.read_text(encoding="ascii").strip())
        except (OSError, ValueError) as error:
            raise self._missing() from error
        if len(key) != KEY_BYTES:
            raise self._missing()
        return key

    @cached_property
    def _cipher(self) -> AESGCM:
        return AESGCM(sha256(b"sealing" + self._key).digest())

    @cached_property
    def _marking(self) -> bytes:
        return sha256(b"marking" + self._key).digest()

    def _missing(self) -> CantrailError:
        return CantrailError(
            Kind.UNAVAILABLE,
            "no_sealing_key",
            f"There is no key of secrets in {self._path} that can be read: put it back from where it is kept safe, or run "
            "`cantrail init` where the registry never had one.",
        )
