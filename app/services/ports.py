"""What services need from the world outside; adapters give it."""

from collections.abc import Iterator
from contextlib import AbstractContextManager
from datetime import datetime, timedelta
from typing import Protocol

import msgspec

from app.core.pages import Page
from app.core.signed_note import VerifierKey


class Clock(Protocol):
    """Tells the time, so that tests can."""

    def now(self) -> datetime:
        """The time, aware, in UTC."""


class EvidenceStore(Protocol):
    """Keeps files by the SHA-256 of their bytes."""

    def put(self, content: bytes) -> str:
        """Keep a file safely, once, and give the hexadecimal SHA-256 of its bytes."""

    def get(self, digest: str) -> bytes:
        """The bytes of a held file, checked. Raises not_found where it is not held."""

    def exists(self, digest: str) -> bool:
        """Whether a file is held."""

    def remove(self, digest: str) -> None:
        """Hold a file no more."""

    def older_than(self, age: timedelta) -> Iterator[str]:
        """The hashes of the files that were put there longer ago than some time."""


class Verifier(Protocol):
    """Tells whether a key has signed something."""

    def verifies(self, public: bytes, message: bytes, signature: bytes) -> bool:
        """Whether a message has an Ed25519 signature under a public key."""


class SigningKey(Verifier, Protocol):
    """The registry's own key."""

    def exists(self) -> bool:
        """Whether there is a key."""

    def verifier(self) -> VerifierKey:
        """What others verify with. Raises unavailable `no_signing_key`."""

    def sign(self, message: bytes) -> bytes:
        """The key's Ed25519 signature. Raises unavailable `no_signing_key`."""


class Sealer(Protocol):
    """Seals what the database may not hold in clear, with a key that is kept elsewhere."""

    def seal(self, secret: str, about: str) -> str:
        """A secret, sealed for whom it is about. Raises unavailable `no_sealing_key`."""

    def unseal(self, sealed: str, about: str) -> str:
        """The secret again. Raises unavailable `no_sealing_key`, or `secret_unreadable`."""

    def mark(self, text: str) -> str:
        """A keyed hash of a text, in hexadecimal. Raises unavailable `no_sealing_key`."""


class CheckpointPlace(Protocol):
    """Where the last published checkpoint is kept: one file, which is replaced whole."""

    @property
    def name(self) -> str:
        """Where that is, for people."""

    def read(self) -> str | None:
        """What is kept; None where nothing is yet. Raises unavailable `checkpoint_unreadable`."""

    def write(self, note: str) -> None:
        """Keep this instead, safely. Raises unavailable `checkpoint_not_kept`."""

    def alone(self) -> AbstractContextManager[None]:
        """Keeps every other process from publishing meanwhile. Raises unavailable `checkpoint_not_kept`."""


class RemoteLedger(Protocol):
    """Another registry's ledger, over the network. What it says may be anything, up to a size.

    Each raises unavailable with a code of its own (`registry_…`) where it cannot be had.
    """

    def key(self) -> str:
        """The verifier key that it names."""

    def checkpoint(self) -> str:
        """Its present checkpoint, as a signed note."""

    def consistency(self, earlier: int, size: int) -> list[bytes]:
        """What it says shows that one of its sizes begins with an earlier one."""

    def entries(self, after: int) -> list[tuple[int, bytes]]:
        """Some entries that follow one: their numbers and canonical JSON."""


class Fetched(msgspec.Struct, frozen=True):
    """What an address gave: the bytes, the media type that the server named (without parameters, lower case; "" where
    it named none), and the address where it was in the end."""

    content: bytes
    media_type: str
    address: str


class Fetcher(Protocol):
    """Fetches what is published at an address, and nothing from inside the network that the registry runs in."""

    def check(self, address: str) -> None:
        """Raises bad input `address_refused` for an address that is never fetched, as far as it shows by itself."""

    def fetch(self, address: str) -> Fetched:
        """What the address gives. Raises CantrailError: bad input `address_refused` for an address that is never
        fetched; unavailable with a code of its own (`fetch_…`) where this one could not be had."""

    def close(self) -> None:
        """Fetch nothing more."""


class Looked(msgspec.Struct, frozen=True):
    """What a first look at a file shows: how many pages it has, and what is odd about it, as codes."""

    pages: int
    flags: tuple[str, ...] = ()


class ReadText(msgspec.Struct, frozen=True):
    """A file read: its pages, and where the text came from: its own `layer`, `ocr`, or `none`."""

    pages: tuple[Page, ...]
    source: str


class PageReader(Protocol):
    """Reads files in a process of their own, with little memory, little time and no network."""

    def look(self, content: bytes, media_type: str) -> Looked:
        """A first look. Raises CantrailError unsupported with a code of its own (`file_…`) where it cannot be read."""

    def read(self, content: bytes, media_type: str) -> ReadText:
        """All its pages' text. Raises as `look` does."""

    def picture(self, content: bytes, media_type: str, page: int, width: int | None = None) -> bytes:
        """A page (from 1) as PNG, drawn again; no wider than `width`, and then in few colours. Raises as `look` does,
        and not_found `no_such_page`."""
