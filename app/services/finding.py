"""Find subjects by name, typing errors forgiven, best first."""

from bisect import bisect_left
from threading import Lock
from typing import Final

import msgspec
from rapidfuzz import fuzz, process, utils

from app.core.claim import SubjectKind
from app.persistence import ledger
from app.persistence.queries import placements
from app.persistence.queries import subjects as queries
from app.persistence.session import Database
from app.services.name_index import NameIndex

GOOD_ENOUGH: Final = 60


class Found(msgspec.Struct, frozen=True):
    """A subject that was found, and how well it answers the words asked for, out of 100."""

    id: str
    maker: str
    model: str
    series: str | None
    first_year: int | None
    score: float


class Finder:
    """The names of all subjects in memory, kept up with the registry as it grows. A correction may change a name: that
    one is read again."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._lock = Lock()
        self._rows: dict[SubjectKind, list[queries.NameRow]] = {}
        self._names: dict[SubjectKind, NameIndex] = {}
        self._as_of: dict[SubjectKind, int] = {}

    def find(self, kind: SubjectKind, words: str, *, maker: str | None = None, limit: int = 50) -> list[Found]:
        """The subjects of one kind whose names are like some words, best first."""
        rows, names = self._caught_up(kind)
        among = None if maker is None else [place for place, row in enumerate(rows) if row.maker == maker]
        places = names.near(words, among)
        matches = process.extract(
            utils.default_process(words),
            [names[place] for place in places],
            scorer=fuzz.WRatio,
            limit=limit,
            score_cutoff=GOOD_ENOUGH,
        )
        return [_found(rows[places[at]], score) for _, score, at in matches]

    def _caught_up(self, kind: SubjectKind) -> tuple[list[queries.NameRow], NameIndex]:
        with self._lock:
            if self._database.probe() == self._as_of.get(kind):
                return self._rows[kind], self._names[kind]
            rows = self._rows.setdefault(kind, [])
            names = self._names.setdefault(kind, NameIndex())
            with self._database.read() as session:
                head = ledger.head(session)
                corrected = placements.corrected_since(session, kind=kind, after=self._as_of.get(kind, 0))
                again = queries.names(session, kind=kind, ids=corrected) if rows and corrected else []
                new = queries.names(session, kind=kind, after_seq=rows[-1].seq if rows else 0)
            for row in again:
                place = bisect_left(rows, row.seq, key=lambda each: each.seq)
                if place < len(rows):
                    rows[place] = row
                    names.rename(place, _called(row))
            for row in new:
                rows.append(row)
                names.add(_called(row))
            self._as_of[kind] = head
            return rows, names


def _called(row: queries.NameRow) -> str:
    return " ".join(str(part) for part in (row.maker_name, row.model, row.series, row.first_year) if part is not None)


def _found(row: queries.NameRow, score: float) -> Found:
    return Found(row.slug, row.maker, row.model, row.series, row.first_year, round(score, 1))
