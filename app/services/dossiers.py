"""Dossiers in memory, kept by version: the ledger's head is looked at for every answer, and what a newer entry touches
is dropped before anything is answered from it."""

from collections import OrderedDict, defaultdict
from collections.abc import Callable, Iterable, Sequence
from threading import Lock
from typing import Final

from app.core.claim import Subject
from app.core.scoring import Dossier
from app.persistence import ledger
from app.persistence.session import AnySession, Database, ReadSession
from app.services.facts import Loaded, Surrounded, load, load_around, not_found

ENTRIES_LOOKED_THROUGH: Final = 10_000
"""Behind by more entries than this, forgetting everything is cheaper than finding out what they touch."""

MOST_SURROUNDED: Final = 100
"""Of so many subjects, those that were looked at last, all the facts are in memory too: they are several times as large."""


Further = Callable[[list[Dossier]], list[Subject]]
"""What else is to be read once some dossiers are."""


class Dossiers:
    """The dossiers of a registry, the most recently used of them in memory, all of them as of one entry."""

    def __init__(self, database: Database, capacity: int) -> None:
        self._database = database
        self._capacity = capacity
        self._lock = Lock()
        self._version = 0
        self._loaded: OrderedDict[Subject, Loaded] = OrderedDict()
        self._surrounded: OrderedDict[Subject, Surrounded] = OrderedDict()
        self._depending: defaultdict[str, set[Subject]] = defaultdict(set)

    def at_hand(self, subjects: Sequence[Subject]) -> list[Dossier] | None:
        """The dossiers of some subjects, if all are in memory and nothing was written since; else None."""
        head = self._database.probe()
        if head != self._version:
            return None
        loaded = self._loaded
        found = []
        for subject in subjects:
            one = loaded.get(subject)
            if one is None:
                return None
            found.append(one.dossier)
        # Another thread may have moved on to a newer entry meanwhile: then these may not be as of the same one.
        return found if self._version == head else None

    def get(self, subjects: Sequence[Subject], further: Further | None = None) -> list[Dossier]:
        """The dossiers of some subjects, and of others that follow from those, all as of the same entry, read from the
        database where they are not in memory. Raises not_found for what is not in the registry."""
        wanted = list(subjects)
        with self._lock, self._database.read() as session:
            self._catch_up(session, ledger.head(session))
            self._read(session, wanted)
            if further is not None:
                wanted += further([self._loaded[subject].dossier for subject in wanted])
                self._read(session, wanted)
            found = [self._loaded[subject].dossier for subject in wanted]
            self._make_room()
        return found

    def around(self, session: ReadSession, subject: Subject) -> Surrounded:
        """The dossier of a subject with the facts around it, as a session sees them. Raises not_found."""
        with self._lock:
            head = ledger.head(session)
            if head >= self._version:
                self._catch_up(session, head)
                return self._read_around(session, subject)
        # Others have read on since this session began.
        return load_around(session, subject)[0]

    def _read_around(self, session: AnySession, subject: Subject) -> Surrounded:
        found = self._surrounded.get(subject)
        if found is None:
            found, streams = load_around(session, subject)
            self._drop(subject)
            self._keep(subject, Loaded(found.dossier, streams))
            self._make_room()
        self._surrounded[subject] = found
        self._surrounded.move_to_end(subject)
        if len(self._surrounded) > MOST_SURROUNDED:
            self._surrounded.popitem(last=False)
        return found

    def _catch_up(self, session: AnySession, head: int) -> None:
        if head != self._version:
            self._forget_since(
                self._touched(ledger.streams_since(session, after=self._version, limit=ENTRIES_LOOKED_THROUGH))
            )
            self._version = head

    def _read(self, session: AnySession, subjects: Sequence[Subject]) -> None:
        for subject in dict.fromkeys(subjects):
            if subject in self._loaded:
                self._loaded.move_to_end(subject)
                continue
            one = load(session, subject, self._version)
            if one is None:
                raise not_found(subject)
            self._keep(subject, one)

    def as_of(self, subjects: Sequence[Subject], up_to: int, further: Further | None = None) -> list[Dossier]:
        """The dossiers of some subjects, and of others that follow from those, as they were after an entry. Raises
        not_found for what was not there yet."""
        wanted = list(subjects)
        with self._database.read() as session:
            held = _AsOf(session, up_to)
            if further is not None:
                wanted += further([held.dossier(subject) for subject in wanted])
            return [held.dossier(subject) for subject in wanted]

    def _touched(self, streams: set[str] | None) -> Iterable[Subject]:
        if streams is None:
            return list(self._loaded)
        return {subject for stream in streams for subject in self._depending.get(stream, ())}

    def _forget_since(self, subjects: Iterable[Subject]) -> None:
        for subject in list(subjects):
            self._drop(subject)

    def _keep(self, subject: Subject, one: Loaded) -> None:
        self._loaded[subject] = one
        for stream in one.streams:
            self._depending[stream].add(subject)

    def _drop(self, subject: Subject) -> None:
        self._surrounded.pop(subject, None)
        one = self._loaded.pop(subject, None)
        for stream in one.streams if one else ():
            depending = self._depending[stream]
            depending.discard(subject)
            if not depending:
                del self._depending[stream]

    def _make_room(self) -> None:
        while len(self._loaded) > self._capacity:
            self._drop(next(iter(self._loaded)))


class _AsOf:
    """Dossiers as they were after an entry, each read once."""

    def __init__(self, session: AnySession, up_to: int) -> None:
        self._session = session
        self._up_to = up_to
        self._found: dict[Subject, Dossier] = {}

    def dossier(self, subject: Subject) -> Dossier:
        if subject not in self._found:
            one = load(self._session, subject, self._up_to)
            if one is None:
                raise not_found(subject)
            self._found[subject] = one.dossier
        return self._found[subject]
