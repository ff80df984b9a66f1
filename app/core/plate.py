"""A vehicle's plate: its answers for every cell of its scope and every condition, at 0.80; and what changed on it."""

from collections.abc import Iterator
from enum import StrEnum
from itertools import islice
from typing import Final

import msgspec

from app.core import entries
from app.core.claim import Condition
from app.core.conditions import ruling_for
from app.core.confidence import SETS_AT
from app.core.dossier import Facts
from app.core.entries import Entry
from app.core.review import advance, claim_named_by
from app.core.roof import remembered
from app.core.scope import OPEN, UNKNOWN, Car, Cell, Dimension, Range, Scope, completions
from app.core.scoring import Dossier
from app.core.selection import VETTED, Line, Side

MOST_CELLS = 500
"""A vehicle with more cells than this shows as many; the limit itself is asked for with a context."""


class Field(msgspec.Struct, frozen=True):
    """One field of a plate: what the cars of one cell may carry in one condition, off-road after the vehicle's own
    factor; or that there is no figure."""

    cells: tuple[Cell, ...]
    condition: Condition
    gross: Line | None
    net: Line | None

    @property
    def amounts(self) -> tuple[int | None, int | None] | None:
        """Grams by side, or None where no figure is named."""
        if self.gross is None and self.net is None:
            return None
        return (self.gross.grams if self.gross else None, self.net.grams if self.net else None)


def plate(vehicle: Dossier) -> tuple[Field, ...]:
    """Every field of a vehicle's plate, worked out once."""
    return remembered(vehicle, "plate", lambda: tuple(fields(vehicle, cars(vehicle.record.range, scopes(vehicle)))))


def scopes(vehicle: Dossier) -> list[Scope]:
    """The scopes of the claims that divide a vehicle's cars."""
    figures = vehicle.figures
    limits = [candidate for found in figures.limits.values() for candidate in found]
    return [
        each.scope
        for each in (*limits, *(factor for _, factor in figures.factors))
        if each.binds or (VETTED.sets(each) and not each.dead)
    ]


def cars(allowed: Range, dividing: list[Scope]) -> list[Car]:
    """One car for each cell."""
    return list(islice(completions(UNKNOWN, allowed, dividing), MOST_CELLS))


def fields(vehicle: Dossier, of: list[Car]) -> Iterator[Field]:
    """The fields for some cars, each with the cells of the dimensions on which these cars differ."""
    divided = {dimension for dimension in Dimension if len({_cell(car, dimension) for car in of}) > 1}
    for car in of:
        cells = tuple(cell for cell in car.cells if cell.dimension in divided)
        for condition in Condition:
            ruling = ruling_for(vehicle.figures, car, condition, SETS_AT, is_roof=True)
            yield Field(cells, condition, ruling.allows(Side.GROSS), ruling.allows(Side.NET))


def _cell(car: Car, dimension: Dimension) -> Cell | None:
    return next((cell for cell in car.cells if cell.dimension is dimension), None)


STILL: Final = (
    entries.ClaimSubmitted,
    entries.EnquiryOpened,
    entries.EnquiryClosed,
    entries.EnquiryLapsed,
    entries.PublisherAdded,
    entries.VehicleAdded,
    entries.CarrierAdded,
    entries.FixingAdded,
    entries.GearAdded,
    entries.DocumentAdded,
    entries.DocumentAddressed,
    entries.AddressChecked,
)
"""What moves no plate: nothing that was entered does before a reviewer has decided on it."""


def may_move(entry: Entry, facts: Facts) -> bool:
    """Whether an entry may do something to a plate, from the facts before it: what happens to a claim that no reviewer has
    approved, before it or by it, does nothing, unless one that is approved may be worked back from it."""
    if isinstance(entry.payload, STILL):
        return False
    claim = facts.claims.get(claim_named_by(entry.payload) or "")
    if claim is None or claim.binds or advance(claim, entry).binds:
        return True
    return any(each.binds and each.derivation is not None for each in facts.claims.values())


class Effect(StrEnum):
    """What an entry did to a field of a plate."""

    SET = "set"
    EMPTIED = "emptied"
    RAISED = "raised"
    LOWERED = "lowered"


class Changed(msgspec.Struct, frozen=True):
    """A field before and after, and what that amounts to."""

    effect: Effect
    before: Field
    after: Field


def changes(before: Dossier | None, after: Dossier) -> tuple[Changed, ...]:
    """What differs between two states of a vehicle, cell by cell of both together."""
    dividing = [*(scopes(before) if before else []), *scopes(after)]
    allowed = after.record.range if before is None or before.record.range == after.record.range else OPEN
    of = cars(allowed, dividing)
    later = list(fields(after, of))
    empty = [Field(field.cells, field.condition, None, None) for field in later]
    earlier = empty if before is None else fields(before, of)
    return tuple(
        Changed(effect, was, now)
        for was, now in zip(earlier, later, strict=True)
        if (effect := effect_of(was, now)) is not None
    )


def effect_of(was: Field, now: Field) -> Effect | None:
    """What happened to one field. Where one side went up and the other down, it was lowered: that is what matters."""
    old, new = was.amounts, now.amounts
    if old == new:
        return None
    if old is None:
        return Effect.SET
    if new is None:
        return Effect.EMPTIED
    return Effect.LOWERED if any(_less(n, o) for n, o in zip(new, old, strict=True)) else Effect.RAISED


def _less(new: int | None, old: int | None) -> bool:
    return new is not None and (old is None or new < old)
