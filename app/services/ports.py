"""What services need from the world outside; adapters give it."""

from datetime import datetime
from typing import Protocol


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
