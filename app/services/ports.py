"""What services need from the world outside; adapters give it."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Protocol

import msgspec

from app.core.pages import Page


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

    def picture(self, content: bytes, media_type: str, page: int) -> bytes:
        """A page (from 1) as PNG, drawn again. Raises as `look` does, and not_found `no_such_page`."""
