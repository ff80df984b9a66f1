"""The composition root: from settings to a registry whose parts know each other."""

from contextvars import ContextVar
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
    settings: Settings, *, database: Database | None = None, clock: Clock | None = None, checkpoints: bool = True
) -> Registry:
    """Open a registry; beside a running server, say `checkpoints=False`. Raises `not_ready` where its database is not
    there or not up to date."""
    opened = database or Database(settings.url, checkpoints=checkpoints)
    if not migrate.is_current(opened):
        opened.dispose()
        raise CantrailError(
            Kind.UNAVAILABLE,
            "not_ready",
            "This registry's database is new, or older than this program. Run `cantrail init` first.",
        )
    return Registry(settings, opened, FolderEvidenceStore(settings.evidence_dir), clock or SystemClock())


def prepare(settings: Settings) -> Database:
    """Make a registry's folder and bring its database up to date, for `init`."""
    settings.data_dir.mkdir(parents=True, exist_ok=True)
    database = Database(settings.url)
    migrate.upgrade(database)
    return database
