"""Which vehicles lack which roof limit, those first that are asked for most."""

from typing import Annotated, Final

import msgspec
from msgspec import Meta

from app.core.claim import Condition
from app.core.errors import invalid
from app.persistence.queries import coverage as queries
from app.persistence.queries.coverage import Asked, Lacking, Unasked
from app.persistence.session import AnySession
from app.services.inputs import Input, Slug
from app.services.views.records import Page

_BAR: Final = "~"
_BIGGEST: Final = 2**31 - 1


class ListCoverage(Input, frozen=True, kw_only=True):
    """What is lacking: of one maker, in one condition."""

    maker: Slug | None = None
    condition: Condition | None = None
    cursor: Annotated[str, Meta(max_length=300, description="`next` of the page before.")] | None = None
    limit: Annotated[int, Meta(ge=1, le=200)] = 50


class LackingView(msgspec.Struct, frozen=True):
    """A vehicle of whose roof limit, in one condition, no claim stands that two reviewers approved, undisputed and in
    date: how often it was asked for, how often in vain, and how many claims wait to be decided."""

    vehicle: str
    maker: str
    model: str
    condition: str
    asked: int
    asked_in_vain: int
    undecided: int


def lacking(session: AnySession, asked: ListCoverage) -> Page[LackingView]:
    """What is lacking: first what was asked for, the most often in vain first; then what nobody asked for."""
    wanted = asked.limit + 1
    after = _after(asked.cursor)
    found: list[Lacking] = []
    if not isinstance(after, Unasked):
        found = queries.asked_for(session, after=after, limit=wanted, maker=asked.maker, condition=asked.condition)
    if len(found) < wanted:
        rest = after if isinstance(after, Unasked) else None
        found += queries.never_asked_for(
            session, after=rest, limit=wanted - len(found), maker=asked.maker, condition=asked.condition
        )
    shown = found[: asked.limit]
    waiting = queries.undecided(session, vehicles=sorted({each.vehicle.slug for each in shown}))
    return Page(
        [
            LackingView(
                each.vehicle.slug,
                each.vehicle.maker,
                each.vehicle.model,
                each.condition,
                each.asked,
                each.unmet,
                waiting.get((each.vehicle.slug, each.condition), 0),
            )
            for each in shown
        ],
        _next(shown[-1]) if len(found) > asked.limit else None,
    )


def _next(last: Lacking) -> str:
    if last.asked == 0:
        return _BAR.join(("n", last.vehicle.slug, last.condition))
    return _BAR.join(("a", str(last.unmet), str(last.asked), last.vehicle.slug, last.condition))


def _after(cursor: str | None) -> Asked | Unasked | None:
    if cursor is None:
        return None
    match cursor.split(_BAR):
        case ["n", vehicle, condition]:
            return Unasked(vehicle, condition)
        case ["a", unmet, asked, vehicle, condition] if _is_count(unmet) and _is_count(asked):
            return Asked(int(unmet), int(asked), vehicle, condition)
        case _:
            raise invalid("/cursor", "bad_cursor", "Use the cursor that the page before gave in `next`, as it is.")


def _is_count(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) <= len(str(_BIGGEST)) and int(text) <= _BIGGEST
