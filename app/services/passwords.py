"""Passwords: which are taken, and hashing them with argon2id, a few at once."""

import secrets
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import cached_property
from threading import BoundedSemaphore
from typing import Final, NamedTuple

from pwdlib import PasswordHash

from app.core.errors import CantrailError, Kind, invalid

LEAST: Final = 12
MOST: Final = 128
GUESSES: Final = 10**8
"""What can be guessed with fewer tries, words and common passwords first, is refused."""

REGISTRY: Final = "cantrail"
AT_ONCE: Final = 2
WAIT_S: Final = 0.5
"""How long a hashing waits for its turn. Each takes 64 MiB, and a thread that serves."""

_LOOKED_AT: Final = 72
"""How much of a password its guessing is worked out from: what begins well only gets better."""

_SHORTEST_WORD: Final = 4


class Checked(NamedTuple):
    """Whether a password is the right one, and its hash made anew where it was made in an older way."""

    right: bool
    rehashed: str | None = None


class Passwords:
    """Hashes passwords and checks them, a few at once: each takes a lot of memory, on purpose."""

    def __init__(self, hasher: PasswordHash | None = None, *, at_once: int = AT_ONCE, wait_s: float = WAIT_S) -> None:
        self._hasher = hasher or PasswordHash.recommended()
        self._turns = BoundedSemaphore(at_once)
        self._wait_s = wait_s

    def hashed(self, password: str) -> str:
        """A password's hash, with its salt and parameters. Raises `signing_in_busy`."""
        with self._turn():
            return self._hasher.hash(password)

    def check(self, password: str, kept: str | None) -> Checked:
        """Whether a hash is of this password. Where there is none to check against it takes as long, and the answer is
        no. Raises `signing_in_busy`."""
        stand_in = self._stand_in
        with self._turn():
            right, rehashed = self._hasher.verify_and_update(password, kept or stand_in)
        return Checked(right and kept is not None, rehashed if right and kept is not None else None)

    @cached_property
    def _stand_in(self) -> str:
        """The hash of what nobody knows."""
        return self.hashed(secrets.token_urlsafe())

    @contextmanager
    def _turn(self) -> Iterator[None]:
        if not self._turns.acquire(timeout=self._wait_s):
            raise CantrailError(
                Kind.UNAVAILABLE,
                "signing_in_busy",
                "Too many are signing in at this moment. Try again in a few seconds.",
            )
        try:
            yield
        finally:
            self._turns.release()


def refuse_weak(password: str, own: Iterable[str], *, pointer: str = "/password") -> None:
    """Raises bad input for a password that is too short or too long, has a word of the account's own in it, or would soon
    be guessed. Nothing else is asked of it, and it is kept as it is."""
    if len(password) < LEAST:
        raise invalid(
            pointer,
            "password_too_short",
            f"A password has at least {LEAST} characters. Several words in a row do well.",
        )
    if len(password) > MOST:
        raise invalid(pointer, "password_too_long", f"A password has at most {MOST} characters.")
    words = [REGISTRY, *own]
    folded = password.casefold()
    if any(len(word) >= _SHORTEST_WORD and word.casefold() in folded for word in words):
        raise invalid(pointer, "password_has_name", "Leave your own name and the registry's out of the password.")
    # Its lists take a while to read, and are needed only where somebody chooses a password.
    from zxcvbn import zxcvbn

    if zxcvbn(password[:_LOOKED_AT], user_inputs=words)["guesses"] < GUESSES:
        raise invalid(
            pointer,
            "password_common",
            "This password, or what it is made of, is among the most common ones. Choose another: four or five words that "
            "have nothing to do with one another.",
        )
