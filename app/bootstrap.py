"""The composition root: from settings to a registry whose parts know each other."""

from contextvars import ContextVar
from pathlib import Path
from typing import Final

from app.adapters.clock import SystemClock
from app.adapters.evidence_store import FolderEvidenceStore
from app.core.errors import CantrailError, Kind
from app.persistence import migrate
from app.persistence.session import Database, WriteSession
from app.services.answering import Answers
from app.services.finding import Finder
from app.services.ports import Clock, EvidenceStore
from app.services.work import Caller, Work
from app.settings import Settings

_FILE: Final = "sqlite:///"


class Registry:
    """One registry, open: what the web and the command line are thin over."""

    def __init__(self, settings: Settings, database: Database, store: EvidenceStore, clock: Clock) -> None:
        self.settings = settings
        self.database = database
        self.store = store
        self.clock = clock
        self.answers = Answers(database, settings.dossier_capacity)
        self.finder = Finder(database)

    def work(self, session: WriteSession, caller: Caller) -> Work:
        """What a caller does in a session, as of now."""
        return Work(session, caller, self.clock.now(), self.store)

    def close(self) -> None:
        """Let go of every connection."""
        self.database.dispose()


SERVED: Final[ContextVar[Registry | None]] = ContextVar("served", default=None)
"""The registry that this process serves, where whoever starts the server has opened it already."""


def open_registry(
    settings: Settings | None = None,
    *,
    database: Database | None = None,
    store: EvidenceStore | None = None,
    clock: Clock | None = None,
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
    return Registry(named, opened, store or FolderEvidenceStore(named.evidence_dir), clock or SystemClock())


def is_there(settings: Settings) -> bool:
    """Whether there is a database, as far as one can tell without opening it: opening a SQLite file makes it."""
    return not settings.url.startswith(_FILE) or _file(settings.url).exists()


def _file(url: str) -> Path:
    return Path(url.partition("?")[0].removeprefix(_FILE))


def prepare(settings: Settings) -> Database:
    """Make a registry's folders and bring its database up to date, for `init`."""
    try:
        settings.evidence_dir.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CantrailError(
            Kind.UNAVAILABLE,
            "storage_unavailable",
            f"The folder {settings.data_dir} cannot be made or used: {error.strerror}.",
        ) from error
    database = Database(settings.url)
    migrate.upgrade(database)
    return database


def _not_ready(why: str) -> CantrailError:
    return CantrailError(Kind.UNAVAILABLE, "not_ready", f"{why}: run `cantrail init` first.")
