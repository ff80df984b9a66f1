"""A vehicle's plate as it is sent, and what an entry did to it."""

from collections.abc import Iterable

import msgspec

from app.core.mass import Unit
from app.core.plate import Changed, Field
from app.core.scope import Cell, Value
from app.core.selection import Side
from app.services.views.answers import SideView, down, side_view


class CellView(msgspec.Struct, frozen=True):
    """Values of one dimension among which no claim tells the cars apart."""

    dimension: str
    values: tuple[Value, ...]


class PlateFieldView(msgspec.Struct, frozen=True):
    """One field of a plate."""

    cells: list[CellView]
    condition: str
    gross: SideView | None
    net: SideView | None
    confidence: float | None


class ChangedView(msgspec.Struct, frozen=True):
    """What an entry did to one field of a vehicle's plate."""

    vehicle: str
    effect: str
    condition: str
    cells: list[CellView]
    before: dict[str, float | None] | None
    after: dict[str, float | None] | None


def plate_field_view(field: Field, unit: Unit) -> PlateFieldView:
    """A field of a plate as it is sent."""
    lines = [line for line in (field.gross, field.net) if line is not None]
    return PlateFieldView(
        _cells(field.cells),
        field.condition,
        side_view(lines, Side.GROSS, unit),
        side_view(lines, Side.NET, unit),
        min((line.confidence for line in lines), default=None),
    )


def changed_view(vehicle: str, changed: Changed, unit: Unit) -> ChangedView:
    """A changed field as it is sent."""
    return ChangedView(
        vehicle,
        changed.effect,
        changed.after.condition,
        _cells(changed.after.cells),
        _amounts(changed.before, unit),
        _amounts(changed.after, unit),
    )


def _amounts(field: Field, unit: Unit) -> dict[str, float | None] | None:
    amounts = field.amounts
    return None if amounts is None else {"gross": down(amounts[0], unit), "net": down(amounts[1], unit)}


def _cells(cells: Iterable[Cell]) -> list[CellView]:
    return [CellView(cell.dimension, cell.values) for cell in cells]
