"""The composition root: from settings to a registry whose parts know each other."""

from collections.abc import Callable
from contextvars import ContextVar
from pathlib import Path
from typing import Final

from app.adapters.clock import SystemClock
from app.adapters.evidence_store import FolderEvidenceStore
from app.core.errors import CantrailError, Kind
from app.persistence import migrate
from app.persistence.session import Database, WriteSession
from app.services import rebuilding
from app.services.answering import Answers
from app.services.finding import Finder
from app.services.ports import Clock, EvidenceStore, Fetcher, PageReader
from app.services.work import Caller, Work
from app.settings import Settings

_FILE: Final = "sqlite:///"


class Registry:
    """One registry, open: what the web and the command line are thin over."""

    def __init__(
        self,
        settings: Settings,
        database: Database,
        store: EvidenceStore,
        clock: Clock,
        *,
        fetcher: Fetcher | None = None,
        reader: PageReader | None = None,
    ) -> None:
        self.settings = settings
        self.database = database
        self.store = store
        self.clock = clock
        self._fetcher = fetcher
        self._reader = reader
        self.answers = Answers(database, settings.dossier_capacity)
        self.finder = Finder(database)

    @property
    def fetcher(self) -> Fetcher:
        """What fetches addresses. It is made when it is first needed: most commands never do."""
        if self._fetcher is None:
            from app.adapters.fetcher import HttpFetcher

            self._fetcher = HttpFetcher()
        return self._fetcher

    @property
    def reader(self) -> PageReader:
        """What reads pages, made when it is first needed."""
        if self._reader is None:
            from app.adapters.page_reader import ConfinedPageReader

            self._reader = ConfinedPageReader()
        return self._reader

    def work(self, session: WriteSession, caller: Caller) -> Work:
        """What a caller does in a session, as of now."""
        return Work(session, caller, self.clock.now(), self.store)

    def close(self) -> None:
        """Let go of every connection."""
        if self._fetcher is not None:
            self._fetcher.close()
        self.database.dispose()


SERVED: Final[ContextVar[Registry | None]] = ContextVar("served", default=None)
"""The registry that this process serves, where whoever starts the server has opened it already."""


def open_registry(
    settings: Settings | None = None,
    *,
    database: Database | None = None,
    store: EvidenceStore | None = None,
    clock: Clock | None = None,
    fetcher: Fetcher | None = None,
    reader: PageReader | None = None,
    checkpoints: bool = True,
) -> Registry:
    """Open the registry that the settings name, over other parts where they are given; beside a running server, say
    `checkpoints=False`. Raises `not_ready` where its database is not there or not up to date."""
    named = settings or Settings()
    if database is None and not is_there(named):
        raise _not_ready(f"There is no registry in {_file(named.url).parent} yet")
    opened = database or Database(named.url, checkpoints=checkpoints)
    if not migrate.is_current(opened):
        opened.dispose()
        raise _not_ready("This registry's database is new, or older than this program")
    return Registry(
        named,
        opened,
        store or FolderEvidenceStore(named.evidence_dir),
        clock or SystemClock(),
        fetcher=fetcher,
        reader=reader,
    )


def is_there(settings: Settings) -> bool:
    """Whether there is a database, as far as one can tell without opening it: opening a SQLite file makes it."""
    return not settings.url.startswith(_FILE) or _file(settings.url).exists()


def _file(url: str) -> Path:
    return Path(url.partition("?")[0].removeprefix(_FILE))


def prepare(settings: Settings, progress: Callable[[int, int], None] | None = None) -> Database:
    """Make a registry's folders and bring its database up to date, for `init`. A migration may leave tables empty that
    the ledger gives: they are made again from it. `progress` is told entries done, and of how many."""
    try:
        settings.evidence_dir.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CantrailError(
            Kind.UNAVAILABLE,
            "storage_unavailable",
            f"The folder {settings.data_dir} cannot be made or used: {error.strerror}.",
        ) from error
    database = Database(settings.url)
    if not migrate.is_current(database):
        migrate.upgrade(database)
        with database.write() as session:
            rebuilding.rebuild(session, progress=progress)
    return database


def _not_ready(why: str) -> CantrailError:
    return CantrailError(Kind.UNAVAILABLE, "not_ready", f"{why}: run `cantrail init` first.")
