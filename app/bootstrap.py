"""The composition root: from settings to a registry whose parts know each other."""

from collections.abc import Callable
from contextvars import ContextVar
from pathlib import Path
from typing import Final

from app.adapters.checkpoint_file import CheckpointFile
from app.adapters.clock import SystemClock
from app.adapters.evidence_store import FolderEvidenceStore
from app.adapters.sealing import FileSealer
from app.adapters.signing_key import FileSigningKey
from app.core.errors import CantrailError, Kind
from app.persistence import migrate
from app.persistence.session import Database, WriteSession
from app.services import rebuilding
from app.services.answering import Answers
from app.services.checkpoints import Checkpoints
from app.services.demand import Bookkeeper
from app.services.desk_figures import Figures
from app.services.finding import Finder
from app.services.news import News
from app.services.passwords import Passwords
from app.services.ports import Clock, EvidenceStore, Fetcher, PageReader
from app.services.signing_in import SigningIn
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
        self.figures = Figures()
        self.news = News()
        self.bookkeeper = Bookkeeper(self.answers.demand, database)
        self.checkpoints = checkpoints_of(settings, database)
        self.sealer = FileSealer(settings.sealing_key)
        self.signing_in = SigningIn(database, self.sealer, Passwords())

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
    `checkpoints=False`. Raises `not_ready` where its database is not there or not up to date. Where its ledger does not go
    on from what was published, everything can be read and nothing be written."""
    named = settings or Settings()
    if database is None and not is_there(named):
        raise _not_ready(f"There is no registry in {_file(named.url).parent} yet")
    opened = database or Database(named.url, checkpoints=checkpoints)
    if not migrate.is_current(opened):
        opened.dispose()
        raise _not_ready("This registry's database is new, or older than this program")
    registry = Registry(
        named,
        opened,
        store or FolderEvidenceStore(named.evidence_dir),
        clock or SystemClock(),
        fetcher=fetcher,
        reader=reader,
    )
    registry.checkpoints.guard()
    return registry


def checkpoints_of(settings: Settings, database: Database) -> Checkpoints:
    """The checkpoints of a registry's ledger, in that database or in one that is to take its place."""
    files = [path for path in (settings.checkpoint, settings.checkpoint_copy) if path is not None]
    return Checkpoints(database, FileSigningKey(settings.signing_key), *map(CheckpointFile, files))


def is_there(settings: Settings) -> bool:
    """Whether there is a database, as far as one can tell without opening it: opening a SQLite file makes it."""
    return not settings.url.startswith(_FILE) or _file(settings.url).exists()


def sqlite_file(settings: Settings) -> Path | None:
    """The SQLite file that the settings name; None where they name PostgreSQL."""
    return _file(settings.url) if settings.url.startswith(_FILE) else None


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
    _make_key(settings)
    database = Database(settings.url)
    if not migrate.is_current(database):
        migrate.upgrade(database)
        with database.write() as session:
            rebuilding.rebuild(session, progress=progress)
    checkpoints_of(settings, database).guard()
    return database


def _make_key(settings: Settings) -> None:
    """Make the key that signs checkpoints, where there was never one. A key that was lost is not replaced in silence:
    whoever follows the ledger would see another."""
    key = FileSigningKey(settings.signing_key)
    kept = [path for path in (settings.checkpoint, settings.checkpoint_copy) if path is not None and path.exists()]
    if kept and not key.exists():
        raise CantrailError(
            Kind.UNAVAILABLE,
            "signing_key_lost",
            f"{kept[0]} was signed with a key that is not in {settings.signing_key} any more: put the key back. "
            "docs/running.md, under Proof, says what to do where it is lost for good.",
        )
    key.make(settings.origin)
    FileSealer(settings.sealing_key).make()


def _not_ready(why: str) -> CantrailError:
    return CantrailError(Kind.UNAVAILABLE, "not_ready", f"{why}: run `cantrail init` first.")
