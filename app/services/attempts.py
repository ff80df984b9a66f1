"""Attempts to sign in, counted so that guessing is slow and nobody is locked out by others' guessing.

Three things are counted in windows of a quarter of an hour: tries for one account from one address, tries from one
address, and tries for one account from addresses that it never signed in from. Where an account has signed in from an
address before, only the first counts: whatever others try elsewhere, its owner gets in from there.

Names that nobody has are counted as those of accounts are, so that nothing shows which there are.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final, NamedTuple

from app.core.errors import CantrailError, Kind
from app.persistence import people_stores as stores
from app.persistence.queries import people as queries
from app.persistence.session import WriteSession
from app.services.ports import Sealer

WINDOW: Final = timedelta(minutes=15)
PAIR_TRIES: Final = 10
ADDRESS_TRIES: Final = 50
STRANGERS_TRIES: Final = 30
ADDRESSES_KNOWN: Final = 20
ADDRESS_KNOWN_FOR: Final = timedelta(days=365)

_BUCKET_DIGITS: Final = 5
"""Of a keyed hash in hexadecimal: a million counts of each sort at most, and nobody can aim at another's."""


class Attempt(NamedTuple):
    """One try, as it was counted: the pair's bucket first."""

    buckets: tuple[str, ...]
    address: str


def begin(
    session: WriteSession, sealer: Sealer, *, name: str, account: str | None, address: str, now: datetime
) -> Attempt:
    """Count a try before anything is checked. Raises `too_many_tries`, and counts nothing then."""
    marked = sealer.mark(f"address {address}")
    is_known = account is not None and queries.known_address(session, account_id=account, address=marked) is not None
    buckets = {f"pair {name}\n{address}": PAIR_TRIES}
    if not is_known:
        buckets |= {f"address {address}": ADDRESS_TRIES, f"strangers {name}": STRANGERS_TRIES}
    limits = {_bucket(sealer, said): most for said, most in buckets.items()}
    _count(session, limits, now)
    return Attempt(tuple(limits), marked)


def begin_elsewhere(session: WriteSession, sealer: Sealer, *, address: str, now: datetime) -> None:
    """Count a try that is for no account. Raises as `begin` does."""
    _count(session, {_bucket(sealer, f"address {address}"): ADDRESS_TRIES}, now)


def succeeded(session: WriteSession, attempt: Attempt, *, account: str, now: datetime) -> None:
    """The try was its owner's: it is not counted, and the address is known from now on."""
    for place, bucket in enumerate(attempt.buckets):
        kept = queries.sign_in_count(session, bucket=bucket)
        if kept is not None:
            stores.set_count(
                session, bucket=bucket, tries=0 if place == 0 else max(0, kept.tries - 1), since=kept.since
            )
    stores.know_address(session, account_id=account, address=attempt.address, now=now, most=ADDRESSES_KNOWN)


def clean(session: WriteSession, *, now: datetime) -> None:
    """Remove what is over: counts, sessions, codes, and addresses not seen for a year."""
    stores.clean(session, now=now, counts_before=now - WINDOW, addresses_before=now - ADDRESS_KNOWN_FOR)


def _bucket(sealer: Sealer, said: str) -> str:
    sort = said.partition(" ")[0]
    return f"{sort}:{sealer.mark(said)[:_BUCKET_DIGITS]}"


def _count(session: WriteSession, limits: dict[str, int], now: datetime) -> None:
    counts = list(_open_windows(session, limits, now))
    waits = [since + WINDOW - now for bucket, tries, since in counts if tries >= limits[bucket]]
    if waits:
        seconds = max(1, round(max(waits).total_seconds()))
        raise CantrailError(
            Kind.TOO_MANY,
            "too_many_tries",
            f"Too many tries. Come back in {seconds // 60 + 1} minutes, or from where you signed in before.",
            details={"retry_after": seconds},
        )
    for bucket, tries, since in counts:
        stores.set_count(session, bucket=bucket, tries=tries + 1, since=since)


def _open_windows(session: WriteSession, limits: dict[str, int], now: datetime) -> Iterator[tuple[str, int, datetime]]:
    for bucket in limits:
        kept = queries.sign_in_count(session, bucket=bucket)
        if kept is None or kept.since + WINDOW <= now:
            yield bucket, 0, now
        else:
            yield bucket, kept.tries, kept.since
