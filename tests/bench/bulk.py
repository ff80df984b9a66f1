"""A pen that writes very much at once: entries by the ledger's own encoding, and the rows of the tables beside them."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any, Final

import rfc8785
from sqlalchemy import insert, update

from app.core import entries, merkle
from app.core.entries import Entry, Payload
from app.persistence import ledger
from app.persistence.base import table_of, utc_text
from app.persistence.models import LedgerEntry, LedgerHead, LedgerNode, LedgerStream, Row
from app.persistence.session import Database

AT_ONCE: Final = 20_000


class Pen:
    """Writes after what a registry has already. Nothing is there for sure before `close`."""

    def __init__(self, database: Database) -> None:
        self._database = database
        with database.read() as session:
            self.seq = ledger.head(session)
            table = table_of(LedgerHead)
            tops = session.connection().execute(table.select()).one().tops
        size = merkle.HASH_SIZE
        self._tops = [tops[start : start + size] for start in range(0, len(tops), size)]
        self._begun = datetime.now(UTC)
        self._waiting: defaultdict[type[Row], list[dict[str, Any]]] = defaultdict(list)
        self._last = ""

    def enter(self, actor: str, streams: Iterable[str], payload: Payload) -> Entry:
        """Write the next entry, some microseconds after the one before."""
        self.seq += 1
        at = utc_text(self._begun + timedelta(microseconds=self.seq))
        entry = Entry(self.seq, at, actor, tuple(streams), payload)
        body = rfc8785.dumps(entries.members(entry))
        leaf = merkle.leaf_hash(body)
        self.row(
            LedgerEntry, seq=entry.seq, at=at, actor=actor, type=payload.type, version=payload.version, body=body,
            leaf_hash=leaf,
        )  # fmt: skip
        for stream in entry.streams:
            self.row(LedgerStream, stream=stream, seq=entry.seq)
        self._grow(leaf)
        self._last = at
        if len(self._waiting[LedgerEntry]) >= AT_ONCE:
            self.close()
        return entry

    def row(self, of: type[Row], **said: Any) -> None:
        """Write a row of a table."""
        self._waiting[of].append(said)

    def close(self) -> None:
        """Write what waits."""
        with self._database.write() as session:
            connection = session.connection()
            for table in table_of(LedgerEntry).metadata.sorted_tables:
                for row, rows in self._waiting.items():
                    if table_of(row) is table and rows:
                        connection.execute(insert(table), rows)
            head = {"seq": self.seq, "at": self._last, "tops": b"".join(self._tops)}
            connection.execute(update(table_of(LedgerHead)).values(head))
        self._waiting.clear()

    def _grow(self, leaf: bytes) -> None:
        count = merkle.completed_levels(self.seq)
        nodes = list(merkle.completed(self.seq, leaf, self._tops[: -count - 1 : -1]))
        for level, hash in nodes:
            self.row(LedgerNode, seq=self.seq, level=level, hash=hash)
        self._tops = [*self._tops[: len(self._tops) - count], nodes[-1][1] if nodes else leaf]
