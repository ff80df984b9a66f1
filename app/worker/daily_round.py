"""What is done once a day: what time has done is entered, what nobody needs any more is removed."""

import logging
from datetime import UTC, datetime, timedelta
from typing import Final

from app.bootstrap import Registry
from app.core.errors import CantrailError
from app.services import daily, outbox, taking_down
from app.services.daily import Daily
from app.services.outbox import JobKind, Outcome
from app.services.work import Work

_log: Final = logging.getLogger(__name__)


def begun(registry: Registry) -> Outcome:
    """Remove what nobody needs any more. The outcome enters what time has done, and asks for the round of tomorrow."""
    removed = tidy(registry)
    _log.info("The daily round has removed %d unclaimed files", removed)

    def enter(work: Work) -> None:
        _tell(daily.run(work))
        outbox.ask(work, JobKind.DAILY, outbox.WHOLE, after=_midnight_after(work.now) - work.now)

    return enter


def tidy(registry: Registry) -> int:
    """Remove the files that nothing speaks of. Gives how many."""
    return taking_down.sweep(registry.database, registry.store)


def publish(registry: Registry) -> None:
    """Have a checkpoint of what was entered since the last one kept. What keeps it from being kept is told, and tried
    again later."""
    try:
        # Not only where entries were added: a second place that failed is tried again, too.
        registry.checkpoints.publish()
    except CantrailError as error:
        _log.warning("No checkpoint could be kept: %s", error.message)


def _midnight_after(moment: datetime) -> datetime:
    today = moment.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    return today + timedelta(days=1)


def _tell(done: Daily) -> None:
    _log.info(
        "The daily run has entered %d claims aged, %d disputes lapsed, %d enquiries unanswered",
        done.aged,
        done.lapsed,
        done.unanswered,
    )
