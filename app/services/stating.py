"""Turn what somebody sends into a statement, and refuse what makes no sense, with every fault at once."""

from collections.abc import Callable, Collection, Iterator

from app.core.claim import LIMITS, QUANTITIES, AppliesTo, Basis, Bound, Quantity, Statement, SubjectKind
from app.core.errors import CantrailError, Fault, Kind, invalid
from app.core.mass import Stated, Unit, parse_factor, parse_mass
from app.core.scope import ALL, All, NamesSpoken, Scope, Years
from app.services.inputs import Said, ScopeIn, StatedIn, StatedMass, YearsIn

LIMIT_BASES = frozenset({None, Basis.INCLUDES_CARRIER, Basis.EXCLUDES_CARRIER, Basis.NOT_STATED})
MASS_BASES = frozenset({None, Basis.INCLUDES_FIXING, Basis.EXCLUDES_FIXING, Basis.NOT_STATED})
WITH_SCOPE = frozenset({SubjectKind.VEHICLE, SubjectKind.FITMENT})


def statement(said: Said, kind: SubjectKind, quantity: Quantity) -> Statement:
    """A statement about a subject of one kind. Raises bad input with all its faults."""
    faults = list(_faults(said, kind, quantity))
    if faults:
        raise CantrailError(Kind.INVALID, "bad_statement", faults[0].message, faults=faults)
    is_limit, is_factor = quantity in LIMITS, quantity is Quantity.OFF_ROAD_FACTOR
    stated = figure_of(said)
    return Statement(
        quantity=quantity,
        stated=Stated(stated.value, stated.unit),
        condition=said.condition,
        per=said.per,
        basis=None if is_factor else said.basis or (Basis.NOT_STATED if is_limit else None),
        excluded_mass=_stated(said.excluded_mass),
        bound=said.bound,
        applies_to=said.applies_to,
        scope=scope(said.scope),
    )


def figure_of(said: Said) -> StatedIn:
    """The figure that is said. Raises bad input where none is."""
    if said.stated is None:
        raise invalid(
            "/stated", "stated_missing", 'State the figure as the source prints it: {"value": "75", "unit": "kg"}.'
        )
    return said.stated


def scope(given: ScopeIn) -> Scope:
    """A scope with its names in order, once each."""
    return Scope(
        years=years(given.years) if isinstance(given.years, YearsIn) else given.years,
        bodies=_names(given.bodies),
        roofs=_names(given.roofs),
        markets=_names(given.markets),
    )


def years(given: YearsIn, pointer: str = "/scope/years") -> Years:
    """Model years. Raises bad input where they run backwards."""
    if given.last is not None and given.last < given.first:
        message = "The last year comes before the first. Swap them, or leave `to` null for still made."
        raise invalid(f"{pointer}/to", "years_backwards", message)
    return Years(given.first, given.last)


def _names(given: Collection[str] | All | None) -> NamesSpoken:
    if given is None or given == ALL:
        return given
    return tuple(sorted({str(name) for name in given}))


def _stated(given: StatedMass | None) -> Stated | None:
    return None if given is None else Stated(given.value, Unit(given.unit))


def _faults(said: Said, kind: SubjectKind, quantity: Quantity) -> Iterator[Fault]:
    if quantity not in QUANTITIES[kind]:
        possible = ", ".join(QUANTITIES[kind])
        yield Fault("/quantity", "wrong_quantity", f"A {kind} has no {quantity}. It may have: {possible}.")
        return
    yield from _figure_faults(said, quantity)
    yield from _condition_faults(said, quantity)
    yield from _basis_faults(said, kind, quantity)
    yield from _factor_faults(said, kind, quantity)
    yield from _scope_faults(said, kind)


def _figure_faults(said: Said, quantity: Quantity) -> Iterator[Fault]:
    stated = said.stated
    if stated is None:
        yield from _raised(lambda: figure_of(said))
        return
    if quantity is Quantity.OFF_ROAD_FACTOR:
        if stated.unit is not Unit.FACTOR:
            yield Fault("/stated/unit", "not_a_factor", 'An off-road factor is stated in the unit "factor".')
        else:
            yield from _raised(lambda: parse_factor(stated.value))
        return
    yield from _raised(lambda: parse_mass(Stated(stated.value, stated.unit)))
    excluded = _stated(said.excluded_mass)
    if excluded is not None:
        yield from _raised(lambda: parse_mass(excluded, "/excluded_mass/value"))


def _raised(parse: Callable[[], object]) -> Iterator[Fault]:
    try:
        parse()
    except CantrailError as error:
        yield from error.faults


def _condition_faults(said: Said, quantity: Quantity) -> Iterator[Fault]:
    if quantity in LIMITS and said.condition is None:
        yield Fault("/condition", "condition_missing", "Say when the limit holds: on_road, off_road or parked.")
    if quantity not in LIMITS and said.condition is not None:
        yield Fault("/condition", "no_condition_here", f"An {quantity} has no condition: leave it out.")
    if quantity is Quantity.OFF_ROAD_FACTOR and said.per is not None:
        yield Fault("/per", "no_per_here", "A factor is for the whole figure: leave `per` out.")


def _basis_faults(said: Said, kind: SubjectKind, quantity: Quantity) -> Iterator[Fault]:
    if quantity in LIMITS and said.basis not in LIMIT_BASES:
        yield Fault(
            "/basis", "wrong_basis", "A limit's basis is includes_carrier, excludes_carrier, or not_stated if unsaid."
        )
    if quantity is Quantity.OWN_MASS and (
        said.basis not in MASS_BASES or (kind is not SubjectKind.CARRIER and said.basis is not None)
    ):
        yield Fault(
            "/basis",
            "wrong_basis",
            "A carrier's own mass is includes_fixing, excludes_fixing or not_stated; other masses have no basis.",
        )
    if quantity is Quantity.OFF_ROAD_FACTOR and said.basis is not None:
        yield Fault("/basis", "no_basis_here", "A factor has no basis: leave it out.")
    if said.excluded_mass is not None and not (
        kind is SubjectKind.VEHICLE and quantity in LIMITS and said.basis is Basis.EXCLUDES_CARRIER
    ):
        yield Fault(
            "/excluded_mass",
            "no_excluded_mass_here",
            "Only a vehicle's excludes_carrier limit leaves out a carrier of some mass. Leave excluded_mass out.",
        )


def _factor_faults(said: Said, kind: SubjectKind, quantity: Quantity) -> Iterator[Fault]:
    if quantity is not Quantity.OFF_ROAD_FACTOR:
        if said.applies_to is not None:
            yield Fault("/applies_to", "no_applies_to_here", "Only an off_road_factor applies to something.")
        return
    if said.bound is not Bound.EXACT:
        yield Fault("/bound", "no_bound_here", "A factor is exact: leave `bound` out.")
    if kind is SubjectKind.VEHICLE and said.applies_to not in {None, AppliesTo.ROOF_LIMIT}:
        yield Fault("/applies_to", "wrong_applies_to", "A vehicle's factor is always on its roof_limit.")


def _scope_faults(said: Said, kind: SubjectKind) -> Iterator[Fault]:
    if kind not in WITH_SCOPE:
        if said.scope != ScopeIn():
            yield Fault("/scope", "no_scope_here", f"A {kind} is the same on every car: leave the scope out.")
    elif isinstance(said.scope.years, YearsIn):
        given = said.scope.years
        yield from _raised(lambda: years(given))
