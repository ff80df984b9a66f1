"""Derivations as they are sent: the working, and what a claim of it would say."""

import msgspec

from app.core.claim import Basis, Bound, Condition, Quantity, SourceType
from app.core.derivation import Interval, Reading
from app.core.derivation_told import told
from app.core.derived import Method
from app.core.mass import Stated, Unit, allowed_in, carried_in, ceil, floor, limit_grams
from app.core.wording import CAUTIONS
from app.core.working_back import WorkedBack, in_kilograms
from app.services.deriving import WorkedOut
from app.services.inputs import DerivationIn


class SpanView(msgspec.Struct, frozen=True):
    """Where a true mass lies: the low end rounded down, the high end up."""

    low: float
    high: float


class RowView(msgspec.Struct, frozen=True):
    """A row with its reading uncertainty, and its part in the outcome: it agrees, is self_limited (the load is the
    accessory's own rating), an outlier, or alone. `lightened`: an approved claim's lower own mass took the page's place."""

    accessory: str
    mass: SpanView
    load: SpanView
    together: SpanView
    leaves_out: bool
    part: str
    lightened: bool


class ProposedClaim(msgspec.Struct, frozen=True):
    """What a claim of this figure would say, ready for POST /claims but for its scope and the pages of its rows."""

    quantity: Quantity
    condition: Condition | None
    stated: Stated
    basis: Basis
    bound: Bound
    excluded_mass: Stated | None
    source_type: SourceType
    derivation: DerivationIn


class DerivationView(msgspec.Struct, frozen=True, kw_only=True):
    """A figure worked back, with its working. `outcome` is what the pages agree on (null for the other methods),
    `interval` where they put it, `uncapped` their figure where an approved limit of the vehicle has lowered it; `may_set`
    is false for what is only a guess."""

    method: Method
    version: str
    unit: str
    figure: float
    bound: Bound
    basis: Basis
    condition: Condition | None
    excluded_mass: float | None
    may_set: bool
    outcome: str | None
    nearly: str | None
    interval: SpanView | None
    uncapped: float | None
    rows: list[RowView]
    working: list[str]
    claim: ProposedClaim
    cautions: tuple[str, ...]


def derivation_view(out: WorkedOut, given: DerivationIn, condition: Condition | None, unit: Unit) -> DerivationView:
    """A derivation as it is sent."""
    found, worked = out.found, out.found.worked
    holds = found.condition or condition
    plain = DerivationIn(given.method, given.rows, given.takes, given.multiple)
    return DerivationView(
        method=out.derivation.method,
        version=out.derivation.version,
        unit=unit,
        figure=allowed_in(unit, found.grams),
        bound=found.bound,
        basis=found.basis,
        condition=holds,
        excluded_mass=_excluded(found, unit),
        may_set=found.may_set,
        outcome=None if worked is None else worked.kind,
        nearly=None if worked is None else worked.nearly,
        interval=None if worked is None or worked.interval is None else _grams(worked.interval, unit),
        uncapped=None if worked is None or worked.uncapped is None else allowed_in(unit, worked.uncapped),
        rows=[] if worked is None else [_row(each, unit) for each in worked.rows],
        working=[_plainly(out, unit)] if worked is None else told(worked, unit),
        claim=ProposedClaim(
            Quantity.ROOF_LIMIT,
            holds,
            in_kilograms(found.grams),
            found.basis,
            found.bound,
            found.excluded_mass,
            SourceType.ACCESSORY_DERIVED,
            plain,
        ),
        cautions=CAUTIONS,
    )


def _excluded(found: WorkedBack, unit: Unit) -> float | None:
    return None if found.excluded_mass is None else allowed_in(unit, limit_grams(found.excluded_mass))


def _row(reading: Reading, unit: Unit) -> RowView:
    return RowView(
        accessory=reading.row.accessory,
        mass=_span(reading.mass, unit),
        load=_span(reading.load, unit),
        together=_span(reading.total, unit),
        leaves_out=reading.row.leaves_out,
        part=reading.role,
        lightened=reading.lightened,
    )


def _span(interval: Interval, unit: Unit) -> SpanView:
    return _grams((floor(interval.low), ceil(interval.high)), unit)


def _grams(ends: tuple[int, int], unit: Unit) -> SpanView:
    return SpanView(allowed_in(unit, ends[0]), carried_in(unit, ends[1]))


_WORDS = {
    Method.NET_TO_GROSS: "The limit leaves out a carrier; with that carrier's own mass it comes to",
    Method.FACTOR: "The on-road limit times the off-road factor comes to",
    Method.SISTER_VEHICLE: "The same body under another name may carry",
    Method.PARKED_MULTIPLE: "A guess, which never counts as vetted: a multiple of the on-road limit comes to",
}


def _plainly(out: WorkedOut, unit: Unit) -> str:
    taken = ", ".join(each.claim for each in out.derivation.takes)
    return f"{_WORDS[out.derivation.method]} {allowed_in(unit, out.found.grams):g} {unit}, {out.found.bound} (from {taken})."
