"""Find subjects by name, typing errors forgiven, best first."""

from bisect import bisect_left
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from threading import Lock, Thread
from typing import Final

import msgspec
from rapidfuzz import fuzz, process, utils

from app.core.claim import SubjectKind
from app.core.errors import CantrailError
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
        """The subjects of one kind whose names are like some words, best first: of those that are alike by a part of
        their name, as by a maker's, those that are by the whole of it."""
        rows, names = self._caught_up(kind)
        among = None if maker is None else [place for place, row in enumerate(rows) if row.maker == maker]
        places = names.near(words, among)
        choices = [names[place] for place in places]
        wanted = utils.default_process(words)
        by_part = process.extract(wanted, choices, scorer=fuzz.WRatio, limit=limit, score_cutoff=GOOD_ENOUGH)
        by_all = process.extract(wanted, choices, scorer=fuzz.token_sort_ratio, limit=limit, score_cutoff=GOOD_ENOUGH)
        scores = {at: score for _, score, at in by_part}
        for name, _, at in by_all:
            scores.setdefault(at, fuzz.WRatio(wanted, name))
        # Sorting keeps the order of what is alike in both ways.
        ranked = sorted(scores, key=lambda at: -(scores[at] + fuzz.token_sort_ratio(wanted, choices[at])))
        return [_found(rows[places[at]], scores[at]) for at in ranked[:limit] if scores[at] >= GOOD_ENOUGH]

    def read_all(self) -> None:
        """Read every name now, as far as storage lets: it is no answer that fails."""
        with suppress(CantrailError):
            for kind in queries.MADE:
                self._caught_up(kind)

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


@contextmanager
def reading_ahead(finder: Finder) -> Iterator[None]:
    """Read every name beside what else is done, so that whoever searches first does not wait for it."""
    thread = Thread(target=finder.read_all, name="names", daemon=True)
    thread.start()
    try:
        yield
    finally:
        thread.join()


def _called(row: queries.NameRow) -> str:
    return " ".join(str(part) for part in (row.maker_name, row.model, row.series, row.first_year) if part is not None)


def _found(row: queries.NameRow, score: float) -> Found:
    return Found(row.slug, row.maker, row.model, row.series, row.first_year, round(score, 1))
