"""A registry made large: vehicles with claims that nobody asks about, written in bulk by the ledger's own encoding."""

import random
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import rfc8785
from sqlalchemy import insert, update

from app.core import entries
from app.core.claim import Basis, Condition, Interest, Quantity, SourceType, Statement, Subject, SubjectKind
from app.core.entries import Entry, Payload
from app.core.mass import Per, Stated, Unit
from app.core.merkle import leaf_hash
from app.core.scope import Scope, Years
from app.persistence import ledger, tree
from app.persistence.base import table_of, utc_text
from app.persistence.models import LedgerEntry, LedgerHead, LedgerStream
from app.persistence.session import Database

CLAIMS_A_VEHICLE = 25
AT_ONCE = 20_000


def weigh_down(database: Database, claims: int) -> None:
    """Add so many claims on vehicles of their own."""
    with database.read() as session:
        first = ledger.head(session) + 1
    now = utc_text(datetime.now(UTC))
    rng = random.Random(7)
    batch: list[Entry] = []
    for seq, (streams, payload) in enumerate(_told(claims, first, rng), start=first):
        batch.append(Entry(seq, now, entries.SYSTEM, streams, payload))
        if len(batch) == AT_ONCE:
            _write(database, batch)
            batch = []
    if batch:
        _write(database, batch)


def _told(claims: int, first: int, rng: random.Random) -> Iterator[tuple[tuple[str, ...], Payload]]:
    seq = first
    for number in range(-(-claims // CLAIMS_A_VEHICLE)):
        slug = f"ballast-{number}"
        stream = f"vehicle:{slug}"
        years = Years(2010, 2020)
        yield (stream,), entries.VehicleAdded(slug, "orrin", f"Ballast {number}", None, years, None, None, None, ())
        seq += 1
        for _ in range(min(CLAIMS_A_VEHICLE, claims - number * CLAIMS_A_VEHICLE)):
            said = Statement(
                Quantity.ROOF_LIMIT,
                Stated(str(rng.randint(30, 120)), Unit.KG),
                rng.choice(list(Condition)),
                Per.TOTAL,
                Basis.INCLUDES_CARRIER,
                scope=Scope(years=Years(2012, 2015)),
            )
            subject = Subject(SubjectKind.VEHICLE, slug)
            yield (
                (f"claim:C{seq}", stream),
                entries.ClaimSubmitted(subject, said, SourceType.UNVERIFIED, None, Interest.NONE, None, None, None),
            )
            seq += 1


def _write(database: Database, batch: list[Entry]) -> None:
    rows: list[dict[str, Any]] = []
    streams: list[dict[str, Any]] = []
    for entry in batch:
        body = rfc8785.dumps(entries.members(entry))
        rows.append(
            {
                "seq": entry.seq,
                "at": entry.at,
                "actor": entry.actor,
                "type": entry.payload.type,
                "version": entry.payload.version,
                "body": body,
                "leaf_hash": leaf_hash(body),
            }
        )
        streams.extend({"stream": stream, "seq": entry.seq} for stream in entry.streams)
    with database.write() as session:
        connection = session.connection()
        connection.execute(insert(table_of(LedgerEntry)), rows)
        tops = None
        for row in rows:
            tops = tree.grow(connection, seq=row["seq"], leaf=row["leaf_hash"], tops=tops)
        connection.execute(insert(table_of(LedgerStream)), streams)
        connection.execute(update(table_of(LedgerHead)).values(seq=batch[-1].seq, at=batch[-1].at, tops=tops))
