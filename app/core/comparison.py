"""The blind reading: does a claim stay within what a reviewer read from the evidence before seeing it?"""

from collections.abc import Iterator

from app.core.claim import LIMITS, Basis, Bound, Quantity, Statement, factor_of
from app.core.mass import SAME_WITHIN_G, Counts, Per, Stated, limit_grams, own_mass_grams
from app.core.scope import ALL, Dimension, NamesSpoken, Years, YearsSpoken, values_within


def differences(claim: Statement, reading: Statement, counts: Counts) -> tuple[str, ...]:
    """In what a claim goes beyond a reading; none is a match. A claim may be more careful than its page, never less."""
    return tuple(_differences(claim, reading, counts))


def _differences(claim: Statement, reading: Statement, counts: Counts) -> Iterator[str]:
    if claim.condition is not reading.condition:
        yield "condition"
    if _basis(claim) is not _basis(reading):
        yield "basis"
    if claim.applies_to is not reading.applies_to:
        yield "applies_to"
    yield from _figures(claim, reading, counts)
    if claim.excluded_mass is not None and _beyond(claim.excluded_mass, reading.excluded_mass):
        yield "excluded_mass"
    if reading.bound is not Bound.EXACT and reading.bound is not claim.bound:
        yield "bound"
    for dimension in Dimension:
        if not cars_within(claim.scope.spoken(dimension), reading.scope.spoken(dimension)):
            yield dimension.value


def _basis(statement: Statement) -> Basis | None:
    return statement.basis or (Basis.NOT_STATED if statement.quantity in LIMITS else None)


def _figures(claim: Statement, reading: Statement, counts: Counts) -> Iterator[str]:
    if claim.quantity is Quantity.OFF_ROAD_FACTOR:
        if factor_of(claim) > factor_of(reading):
            yield "figure"
        return
    claim_per, reading_per = claim.per or Per.TOTAL, reading.per or Per.TOTAL
    if not _counted(claim_per, counts) or not _counted(reading_per, counts):
        if claim_per is not reading_per:
            yield "per"
            return
        # Each is for each of the same unknown number: they are compared as they stand.
        claim_per = reading_per = Per.TOTAL
    if claim.quantity is Quantity.OWN_MASS:
        lighter_by = (own_mass_grams(reading.stated, reading_per, counts) or 0) - (
            own_mass_grams(claim.stated, claim_per, counts) or 0
        )
    else:
        lighter_by = limit_grams(claim.stated, claim_per, counts) - limit_grams(reading.stated, reading_per, counts)
    if lighter_by > SAME_WITHIN_G:
        yield "figure"


def _counted(per: Per, counts: Counts) -> bool:
    match per:
        case Per.TOTAL:
            return True
        case Per.BAR | Per.PAIR:
            return counts.bars is not None
        case Per.FOOT:
            return counts.feet is not None


def _beyond(claimed: Stated, read: Stated | None) -> bool:
    return read is None or limit_grams(claimed) - limit_grams(read) > SAME_WITHIN_G


def cars_within(claim: YearsSpoken | NamesSpoken, reading: YearsSpoken | NamesSpoken) -> bool:
    """Silence or "all" only on silence or "all", "all" only on "all", values within values."""
    if claim == ALL:
        return reading == ALL
    if claim is None:
        return reading is None or reading == ALL
    if isinstance(reading, Years | tuple):
        return values_within(claim, reading)
    return True
