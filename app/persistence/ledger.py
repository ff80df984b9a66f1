"""The ledger: `append` is the only writer of entries; the rest reads them."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Final

import rfc8785
from sqlalchemy import bindparam, func, update
from sqlalchemy import select as pick
from sqlmodel import col, select

from app.core import entries
from app.core.entries import Entry, Payload
from app.core.errors import CantrailError, Kind
from app.core.merkle import leaf_hash
from app.persistence import tree
from app.persistence.base import adding_to, table_of, utc_text
from app.persistence.batches import in_batches
from app.persistence.models import MAX_BODY, LedgerEntry, LedgerHead, LedgerStream
from app.persistence.session import AnySession, WriteSession

_HEAD: Final = pick(table_of(LedgerHead).c.seq, table_of(LedgerHead).c.at, table_of(LedgerHead).c.tops)
_HEAD_SEQ: Final = pick(table_of(LedgerHead).c.seq)
_LAST: Final = pick(func.max(table_of(LedgerEntry).c.seq))
_ADD_ENTRY: Final = adding_to(LedgerEntry)
_ADD_STREAM: Final = adding_to(LedgerStream)
_BUMP_HEAD: Final = update(table_of(LedgerHead))

_LAST_POSSIBLE: Final = 2**31 - 1
"""The largest number of an entry that PostgreSQL's INTEGER holds, and takes as a parameter."""

_ENTRIES_OF: Final = (
    pick(table_of(LedgerEntry).c.seq, table_of(LedgerEntry).c.body)
    .join(table_of(LedgerStream), table_of(LedgerStream).c.seq == table_of(LedgerEntry).c.seq)
    .where(
        table_of(LedgerStream).c.stream.in_(bindparam("streams", expanding=True)),
        table_of(LedgerStream).c.seq <= bindparam("up_to"),
    )
)
"""Made once: every answer that is not at hand begins with it, and building it takes longer than running it."""

_BODIES: Final = (
    pick(table_of(LedgerEntry).c.seq, table_of(LedgerEntry).c.body, table_of(LedgerEntry).c.leaf_hash)
    .where(table_of(LedgerEntry).c.seq > bindparam("after"))
    .order_by(table_of(LedgerEntry).c.seq)
    .limit(bindparam("most"))
)

_ENTRIES_AT_ONCE: Final = 1000


def append(session: WriteSession, *, actor: str, now: datetime, streams: Sequence[str], payload: Payload) -> Entry:
    """Write the next entry with what it completes of the tree, and bump the head that every answer looks at.

    Its number is the head's and one: nobody else can write until this session ends. Its time is `now`, or the time of
    the entry before where the clock has gone back. Raises `entry_too_large`, and `ledger_damaged`.
    """
    connection = session.connection()
    before = connection.execute(_HEAD).one()
    entry = Entry(
        seq=before.seq + 1,
        at=max(utc_text(now), before.at),
        actor=actor,
        streams=tuple(dict.fromkeys(streams)),
        payload=payload,
    )
    body = rfc8785.dumps(entries.members(entry))
    if len(body) > MAX_BODY:
        raise CantrailError(
            Kind.TOO_LARGE, "entry_too_large", f"This comes to {len(body)} bytes; an entry holds {MAX_BODY} at most."
        )
    # An entry that could not be read again would stop every fold and every rebuild, for ever.
    written = entries.read(body)
    leaf = leaf_hash(body)
    row = {
        "seq": entry.seq,
        "at": entry.at,
        "actor": actor,
        "type": payload.type,
        "version": payload.version,
        "body": body,
        "leaf_hash": leaf,
    }
    connection.execute(_ADD_ENTRY, row)
    tops = tree.grow(connection, seq=entry.seq, leaf=leaf, tops=before.tops)
    connection.execute(_ADD_STREAM, [{"stream": stream, "seq": entry.seq} for stream in entry.streams])
    connection.execute(_BUMP_HEAD, {"seq": entry.seq, "at": entry.at, "tops": tops})
    return written


def head(session: AnySession) -> int:
    """The number of the last entry; 0 before the first."""
    seq: int = session.connection().execute(_HEAD_SEQ).scalar_one()
    return seq


def last_seq(session: AnySession) -> int:
    """The number of the last entry by the entries themselves: the head says the same, unless something is broken."""
    return session.connection().execute(_LAST).scalar_one_or_none() or 0


def next_seq(session: WriteSession) -> int:
    """The number that the next entry will have: its id, and its own stream, can be named before it is written."""
    return head(session) + 1


def entries_of(session: AnySession, *, streams: Sequence[str], up_to: int | None) -> list[Entry]:
    """Every entry that touches one of the streams, once each, oldest first, up to an entry or to the last."""
    bodies: dict[int, bytes] = {}
    wanted = list(dict.fromkeys(streams))
    last = _LAST_POSSIBLE if up_to is None else min(up_to, _LAST_POSSIBLE)
    connection = session.connection()
    for some in in_batches(wanted):
        found = connection.execute(_ENTRIES_OF, {"streams": some, "up_to": last})
        bodies.update((seq, body) for seq, body in found)
    return [entries.read(bodies[seq]) for seq in sorted(bodies)]


def entries_after(session: AnySession, *, after: int, limit: int) -> list[Entry]:
    """The entries that follow one, in order, `limit` at most."""
    following = (
        select(LedgerEntry.body)
        .where(LedgerEntry.seq > min(after, _LAST_POSSIBLE))
        .order_by(col(LedgerEntry.seq))
        .limit(limit)
    )
    return [entries.read(body) for body in session.exec(following)]


def bodies_after(session: AnySession, *, after: int, limit: int) -> list[tuple[int, bytes, bytes]]:
    """The entries that follow one as they are stored, `limit` at most: number, canonical JSON, leaf hash."""
    found = session.connection().execute(_BODIES, {"after": min(after, _LAST_POSSIBLE), "most": limit})
    return [(seq, bytes(body), bytes(hash)) for seq, body, hash in found]


def every_entry(session: AnySession) -> Iterator[Entry]:
    """The whole ledger in order, some entries at a time."""
    after = 0
    while some := entries_after(session, after=after, limit=_ENTRIES_AT_ONCE):
        yield from some
        after = some[-1].seq


def streams_since(session: AnySession, *, after: int, limit: int) -> set[str] | None:
    """The streams that entries after one touch, or None where there are more than `limit` such entries."""
    if head(session) - after > limit:
        return None
    return set(
        session.exec(select(LedgerStream.stream).where(LedgerStream.seq > min(after, _LAST_POSSIBLE)).distinct())
    )


def seq_at(session: AnySession, *, at: str) -> int:
    """The last entry at or before a time, as the ledger writes times (`base.utc_text`); 0 if there is none."""
    last = select(LedgerEntry.seq).where(LedgerEntry.at <= at).order_by(col(LedgerEntry.seq).desc()).limit(1)
    return session.exec(last).first() or 0
