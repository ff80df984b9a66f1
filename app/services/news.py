"""The change feed from its end: the latest entries first, each with what it did to plates.

What an entry did never changes. It is worked out once and kept, so that whoever looks at the latest page waits for new
entries only.
"""

from collections import OrderedDict
from threading import Lock
from typing import Final

import msgspec

from app.core.mass import Unit
from app.persistence import ledger
from app.persistence.session import AnySession
from app.services.changes import Changes, ChangeView, changes

MOST_KEPT: Final = 2000
"""How many entries a process keeps at hand, with what they did."""

_TRIES: Final = 3
"""An entry that touches very many plates ends a page of the feed. What follows it is then asked for apart, so many times;
after that, only the last of all."""


class Latest(msgspec.Struct, frozen=True):
    """Some entries, the latest first. Asked for before the entry `older`, earlier ones follow; null at the beginning."""

    items: list[ChangeView]
    older: int | None
    unit: Unit
    head: int


class News:
    """The latest changes of one registry."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._kept: OrderedDict[tuple[int, Unit], ChangeView] = OrderedDict()

    def latest(self, session: AnySession, *, before: int | None, limit: int, unit: Unit) -> Latest:
        """The entries before one (None: the latest of all), so many at most."""
        head = ledger.head(session)
        last = head if before is None else min(before - 1, head)
        first = max(0, last - limit)
        kept = self._at_hand(range(last, first, -1), unit)
        end = last - len(kept)
        further = _ending(session, after=first, last=end, unit=unit) if end > first else []
        self._keep(further, unit)
        items = [*kept, *reversed(further)]
        beginning = items[-1].entry.seq if items else 0
        return Latest(items, beginning if beginning > 1 else None, unit, head)

    def _at_hand(self, wanted: range, unit: Unit) -> list[ChangeView]:
        """Those at hand, from the latest on, up to the first that is not."""
        found: list[ChangeView] = []
        with self._lock:
            for seq in wanted:
                view = self._kept.get((seq, unit))
                if view is None:
                    break
                found.append(view)
        return found

    def _keep(self, views: list[ChangeView], unit: Unit) -> None:
        with self._lock:
            for view in views:
                self._kept[view.entry.seq, unit] = view
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)


def _ending(session: AnySession, *, after: int, last: int, unit: Unit) -> list[ChangeView]:
    """The entries up to one, oldest first, from as far back as can be worked out in a bounded time."""
    begins = after
    for _ in range(_TRIES):
        page = changes(session, after=begins, limit=last - begins, unit=unit)
        if _reaches(page, last):
            return page.items
        begins = page.items[-1].entry.seq
    return changes(session, after=last - 1, limit=1, unit=unit).items


def _reaches(page: Changes, last: int) -> bool:
    return not page.items or page.items[-1].entry.seq >= last
