"""The working of a table of accessory pages, in sentences that a person can check with a pencil."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from app.core.claim import Bound
from app.core.derivation import Agreement, Interval, Role, Worked, shared_by
from app.core.mass import GRAMS_PER_KG, GRAMS_PER_LB, Unit, allowed_in, carried_in, ceil, floor


def told(worked: Worked, unit: Unit) -> list[str]:
    """What each row says, what the rows tell together, and the figure, in kg or lb. Rows are counted from 1. Low ends
    and figures are rounded down, high ends up."""
    return [*_rows(worked, unit), *_left_out(worked), *_outcome(worked, unit), *_figure(worked, unit)]


# The rows


def _rows(worked: Worked, unit: Unit) -> Iterator[str]:
    lightened = any(reading.lightened for reading in worked.rows)
    for number, reading in enumerate(worked.rows, 1):
        why = ", by the lower own mass that an approved claim gives" if reading.lightened else ""
        yield (
            f"Row {number}, {reading.row.accessory}: itself {_span(reading.mass, unit)}{why}; "
            f"load {_span(reading.load, unit)}; together {_span(reading.total, unit)}."
        )
        lighter = reading.row.lighter
        if lighter is not None and lighter < reading.mass.low and not lightened:
            yield (
                f"An approved claim gives row {number} a lower own mass, {_allowed(lighter, unit)}. "
                "The pages would tell no less with it, so the page's own stands."
            )


def _left_out(worked: Worked) -> Iterator[str]:
    limited = worked.self_limited
    if len(limited) == len(worked.rows):
        yield "Every load is its accessory's own rating, so the roof may well take more; all rows count nevertheless."
    elif limited:
        yield f"{_named(limited)}: limited by the accessory's own rating, which tells nothing of the roof."


# What they tell together


def _outcome(worked: Worked, unit: Unit) -> Iterator[str]:
    agreeing = worked.places(Role.AGREES)
    match worked.kind:
        case Agreement.SUMS_AGREE:
            shared = _span(shared_by([worked.rows[place].total for place in agreeing]), unit)
            yield f"{_named(agreeing)} agree on accessory and load together: {shared}."
            yield "The pages subtract the carrier from one limit, so that limit counts the carrier."
        case Agreement.LOADS_AGREE:
            shared = _span(shared_by([worked.rows[place].load for place in agreeing]), unit)
            yield f"{_named(agreeing)} agree on the load, whatever the accessory weighs: {shared}."
            yield (
                "The pages do not say whether the carrier counts; read as counting it, "
                f"the limit is at least {_by_pages(worked, unit)}."
            )
        case Agreement.NO_AGREEMENT:
            yield from _disagreement(worked, unit)


def _disagreement(worked: Worked, unit: Unit) -> Iterator[str]:
    heard = [place for place, reading in enumerate(worked.rows) if reading.role is not Role.SELF_LIMITED]
    lowest = min(heard, key=lambda place: worked.rows[place].least)
    least = _by_pages(worked, unit)
    if len({worked.rows[place] for place in heard}) == 1:
        yield f"One page tells only that the roof takes at least {least}: row {lowest + 1}."
    else:
        if worked.nearly is None:
            yield "No two accessories of different mass agree on anything."
        else:
            agreeing, others = _named(worked.would_agree), _named(worked.others)
            on = "accessory and load together" if worked.nearly is Agreement.SUMS_AGREE else "the load"
            yield f"{agreeing} would agree on {on}, but for {others[0].lower()}{others[1:]}."
        yield f"The least that any row tells stands: row {lowest + 1}, that the roof takes at least {least}."
    if worked.rows[lowest].row.leaves_out:
        yield "Its page says that the load leaves the accessory out, so both count."
    else:
        yield "Its page does not say that the load leaves the accessory out, so the load alone counts."


# The figure


def _figure(worked: Worked, unit: Unit) -> Iterator[str]:
    figure = _allowed(worked.figure, unit)
    if worked.uncapped is not None:
        yield f"The pages alone would give {_by_pages(worked, unit)}; a lower limit of this vehicle stands at {figure}."
    if worked.bound is Bound.AT_LEAST:
        yield f"Roof limit, carrier counted: at least {figure}."
    elif worked.interval is None or worked.uncapped is not None:
        yield f"Roof limit, carrier counted: {figure}."
    else:
        low, high = worked.interval
        between = f"{_plain(allowed_in(unit, low))} and {_plain(carried_in(unit, high))} {unit}"
        yield f"Roof limit, carrier counted: {figure}; it lies between {between}."


def _by_pages(worked: Worked, unit: Unit) -> str:
    return _allowed(worked.figure if worked.uncapped is None else worked.uncapped, unit)


# Words and figures


def _named(places: Sequence[int]) -> str:
    """Rows by their numbers, from 1: "Row 1", "Rows 1 and 2", "Rows 1, 2 and 4"."""
    *most, last = [str(place + 1) for place in places]
    return f"Rows {', '.join(most)} and {last}" if most else f"Row {last}"


def _span(span: Interval, unit: Unit) -> str:
    """Both ends to three decimals, outward, from the exact grams: what a page states in this unit comes out as stated."""
    each = GRAMS_PER_LB if unit is Unit.LB else Fraction(GRAMS_PER_KG)
    low = floor(span.low / each, 1000) / 1000
    if span.low == span.high:
        return f"{_plain(low)} {unit}"
    return f"{_plain(low)} to {_plain(ceil(span.high / each, 1000) / 1000)} {unit}"


def _allowed(grams: int, unit: Unit) -> str:
    return f"{_plain(allowed_in(unit, grams))} {unit}"


def _plain(amount: float) -> str:
    return f"{amount:.3f}".rstrip("0").rstrip(".")
