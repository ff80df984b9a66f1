"""Begin a registry, and make its tables again from the ledger."""

from collections.abc import Callable
from datetime import datetime

from app.core import entries
from app.core.confidence import CURRENT
from app.core.entries import METHOD_STREAM, SYSTEM
from app.persistence import ledger, projection
from app.persistence.session import WriteSession
from app.services import desk_order


def begin(session: WriteSession, *, now: datetime) -> bool:
    """Adopt the method as the ledger's first entry; False where the ledger has begun already."""
    if ledger.head(session) > 0:
        return False
    projection.record(
        session, actor=SYSTEM, now=now, streams=[METHOD_STREAM], payload=entries.MethodAdopted(method=CURRENT.version)
    )
    return True


def rebuild(session: WriteSession, *, progress: Callable[[int, int], None] | None = None) -> int:
    """Drop every projected row and replay the ledger; gives how many entries there are."""
    projection.rebuild(session, progress=progress)
    desk_order.after_rebuild(session)
    return ledger.head(session)
