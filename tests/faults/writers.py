"""Writers in processes of their own, forked from a clean one that has imported all this."""

from multiprocessing import get_context
from typing import Final

from app.adapters.clock import SystemClock
from app.core import entries
from app.core.entries import SYSTEM
from app.core.errors import CantrailError, Kind
from app.persistence import projection
from app.persistence.session import Database

CONTEXT: Final = get_context("forkserver")
CONTEXT.set_forkserver_preload([__name__])

PATIENCE: Final = 10


def write_at_once(writers: int, url: str, appends: int) -> None:
    """So many processes that each append so many entries, and come to a good end."""
    writing = [CONTEXT.Process(target=_append, args=(url, number, appends)) for number in range(writers)]
    for writer in writing:
        writer.start()
    for writer in writing:
        writer.join(300)
    assert [writer.exitcode for writer in writing] == [0] * writers


def _append(url: str, number: int, appends: int) -> None:
    database = Database(url, checkpoints=False)
    for each in range(appends):
        slug = f"forum-{number}-{each}"
        payload = entries.PublisherAdded(slug, "forum", slug, None, (), ())
        # On a machine that has too much to do somebody may have waited too long: they are told so, and try again.
        for patience in range(PATIENCE - 1, -1, -1):
            try:
                with database.write() as session:
                    projection.record(
                        session, actor=SYSTEM, now=SystemClock().now(), streams=[f"publisher:{slug}"], payload=payload
                    )
                break
            except CantrailError as error:
                if error.kind is not Kind.UNAVAILABLE or not patience:
                    raise
    database.dispose()
