"""The asker's own figures: on-road figures that go through the rules like any other, and rest on no claim."""

from fractions import Fraction

import msgspec

from app.core.claim import ON_ROOF, AppliesTo, Basis, Bound, Condition, Quantity, Statement, SubjectKind, limit_pair
from app.core.conditions import Figures, Ruling
from app.core.mass import Counts, Stated, own_mass_grams, parse_factor
from app.core.selection import Candidate, Factor, Line, Mass


class GivenPart(msgspec.Struct, frozen=True):
    """A carrier or fixing as its owner describes it. None: they do not know."""

    own_mass: Stated | None = None
    load_rating: Stated | None = None
    rating_basis: Basis = Basis.NOT_STATED
    off_road_factor: str | None = None
    factor_applies_to: AppliesTo | None = None

    @property
    def mass(self) -> Mass | None:
        """Its own mass in grams."""
        if self.own_mass is None:
            return None
        return Mass(own_mass_grams(self.own_mass) or 0, Bound.EXACT, (), given=True)

    @property
    def roof_factor(self) -> Factor | None:
        """The factor that it puts on the roof limit."""
        if self.off_road_factor is None or self.factor_applies_to not in ON_ROOF:
            return None
        return Factor(parse_factor(self.off_road_factor), (), given=True)

    def figures(self) -> Figures:
        """Its rating and its factor as the rules take them."""
        limits = {}
        if self.load_rating is not None:
            limits[Condition.ON_ROAD] = (_limit(self.load_rating, self.rating_basis, None, SubjectKind.CARRIER),)
        if self.off_road_factor is None:
            return Figures(limits)
        factor = _candidate(factor=parse_factor(self.off_road_factor))
        return Figures(limits, factors=((self.factor_applies_to, factor),))


class GivenRoof(msgspec.Struct, frozen=True):
    """A roof limit as the vehicle's owner has it."""

    limit: Stated
    basis: Basis = Basis.NOT_STATED
    excluded_mass: Stated | None = None

    def figures(self) -> Figures:
        """The limit as the rules take it."""
        limit = _limit(self.limit, self.basis, self.excluded_mass, SubjectKind.VEHICLE)
        return Figures({Condition.ON_ROAD: (limit,)})


def _limit(stated: Stated, basis: Basis, excluded: Stated | None, kind: SubjectKind) -> Candidate:
    statement = Statement(Quantity.ROOF_LIMIT, stated, Condition.ON_ROAD, basis=basis, excluded_mass=excluded)
    pair = limit_pair(statement, kind, Counts())
    return _candidate(gross=pair.gross, net=pair.net)


def _candidate(*, gross: int | None = None, net: int | None = None, factor: Fraction | None = None) -> Candidate:
    return Candidate("", None, Bound.EXACT, confidence=1.0, binds=True, gross=gross, net=net, factor=factor)


def as_given(ruling: Ruling) -> Ruling:
    """Mark a ruling as resting on the asker's own figures and on no claim."""

    def mark(lines: tuple[Line, ...]) -> tuple[Line, ...]:
        return tuple(msgspec.structs.replace(line, claims=(), support=(), given=True) for line in lines)

    return msgspec.structs.replace(
        ruling, figure=mark(ruling.figure), caps=mark(ruling.caps), recorded=mark(ruling.recorded)
    )
