"""A claim's figure as it is worked back today: from its rows, and from the claims that it takes in as they now stand."""

from collections.abc import Sequence
from functools import lru_cache

import msgspec

from app.core.claim import Basis, Bound, Condition, Quantity, Statement, Subject, limit_pair
from app.core.derivation import (
    Agreement,
    Derived,
    Role,
    Row,
    Worked,
    factor,
    least_lightened,
    net_to_gross,
    parked_multiple,
    sister_vehicle,
    solve,
)
from app.core.derived import Accessory, Derivation, Method
from app.core.dossier import Facts
from app.core.errors import CantrailError, invalid
from app.core.mass import GRAMS_PER_KG, Counts, Per, Stated, Unit, limit_grams
from app.core.review import APPROVALS_TO_SET, ClaimFacts

TAKES: dict[Method, int] = {
    Method.ACCESSORY_PAGES: 0,
    Method.NET_TO_GROSS: 2,
    Method.FACTOR: 2,
    Method.SISTER_VEHICLE: 1,
    Method.PARKED_MULTIPLE: 1,
}
"""How many claims each method takes in."""

MANY_ROWS = 3
"""From how many agreeing rows on a derivation is more certain."""


class WorkedBack(msgspec.Struct, frozen=True):
    """A roof limit in grams, worked back. The condition is None where the rows do not say it; `worked` is the working of
    accessory pages. `unsure` is whether it is not known by every reading of a record that is being corrected."""

    grams: int
    bound: Bound
    basis: Basis
    condition: Condition | None = None
    excluded_mass: Stated | None = None
    may_set: bool = True
    worked: Worked | None = None
    held_back: bool = False
    unsure: bool = False

    def is_what(self, said: Statement) -> bool:
        """Whether a claim still says what is worked back, but for the figure: one whose inputs speak of another basis
        today, or only of a most, is worth nothing until a new claim is made."""
        at_most = self.bound is Bound.AT_MOST and said.bound is not Bound.AT_MOST
        return not at_most and not self.unsure and (self.basis, self.excluded_mass) == (said.basis, said.excluded_mass)

    @property
    def agrees_widely(self) -> bool:
        """Whether sums agree across three or more rows."""
        return (
            self.worked is not None
            and not self.held_back
            and self.worked.kind is Agreement.SUMS_AGREE
            and len({self.worked.rows[place].row for place in self.worked.places(Role.AGREES)}) >= MANY_ROWS
        )


def worked_back(
    derivation: Derivation, facts: Facts, taken: Sequence[ClaimFacts], cap: int | None = None
) -> WorkedBack:
    """Work a figure back. Raises `invalid` where the method and what it takes in do not go together."""
    if len(taken) != TAKES[derivation.method]:
        raise invalid(
            "/takes", "wrong_takes", f"{derivation.method} takes in {TAKES[derivation.method]} claims, and no others."
        )
    said = [standing_statement(each, facts) for each in taken]
    match derivation.method:
        case Method.ACCESSORY_PAGES:
            return _from_pages(derivation.rows, facts, cap)
        case Method.NET_TO_GROSS:
            return _gross(said[0], said[1], facts.counts_read(taken[1].subject))
        case Method.FACTOR:
            return _from(factor(said[0], said[1]))
        case Method.SISTER_VEHICLE:
            return _from(sister_vehicle(said[0]))
        case Method.PARKED_MULTIPLE:
            return _from(parked_multiple(said[0], derivation.multiple or 0))


def _from_pages(rows: Sequence[Accessory], facts: Facts, cap: int | None) -> WorkedBack:
    """What accessory pages tell. A lower own mass that two reviewers approved takes part in the table; one that only one
    approved might make rows agree, so that it only holds the figure to the least that any row then tells."""
    sure = tuple(_row(each, facts, APPROVALS_TO_SET) for each in rows)
    doubtful = tuple(_row(each, facts, 1) for each in rows)
    worked = _solved(sure, cap)
    least = None if doubtful == sure else least_lightened(doubtful)
    if least is None or least >= worked.figure:
        return WorkedBack(worked.figure, worked.bound, worked.basis, worked=worked)
    return WorkedBack(least, worked.bound, worked.basis, worked=worked, held_back=True)


@lru_cache(maxsize=512)
def _solved(rows: tuple[Row, ...], cap: int | None) -> Worked:
    """The same table is worked out again whenever its vehicle is looked at."""
    return solve(rows, cap)


def _from(found: Derived) -> WorkedBack:
    return WorkedBack(
        found.grams, found.bound, found.basis, found.condition, found.excluded_mass, may_set=found.may_set
    )


def _gross(limit: Statement, mass: Statement, read: Sequence[Counts]) -> WorkedBack:
    """The lowest by every way of reading the carrier's counts. By one of them its mass may not be known."""
    found: list[WorkedBack] = []
    unknown: CantrailError | None = None
    for counts in read:
        try:
            found.append(_from(net_to_gross(limit, mass, counts)))
        except CantrailError as error:
            unknown = error
    if not found and unknown is not None:
        raise unknown
    lowest = min(found, key=lambda each: each.grams)
    return msgspec.structs.replace(lowest, unsure=unknown is not None)


def _row(accessory: Accessory, facts: Facts, approvals: int) -> Row:
    return Row(
        accessory.accessory,
        accessory.mass,
        accessory.load,
        accessory.leaves_out,
        accessory.rating,
        None if accessory.subject is None else _lightest(accessory.subject, facts, approvals),
    )


def _lightest(subject: Subject, facts: Facts, approvals: int) -> int | None:
    """The lowest own mass in grams that a claim with so many approvals gives: the lighter an accessory, the less its
    page tells. What two approved is read by the counts that two confirmed, also while a correction of them waits."""
    read = facts.counts_read(subject)
    return min(
        (
            limit_grams(each.statement.stated, each.statement.per or Per.TOTAL, counts)
            for counts in (read[-1:] if approvals >= APPROVALS_TO_SET else read)
            for each in facts.claims_on(subject)
            if each.binds
            and len(each.approvals) >= approvals
            and each.statement.quantity is Quantity.OWN_MASS
            and each.statement.bound is not Bound.AT_LEAST
        ),
        default=None,
    )


def today(claim: ClaimFacts, facts: Facts) -> WorkedBack | None:
    """What a claim's derivation comes to today; None where the claim has none, or where what it takes in no longer goes
    together."""
    if claim.derivation is None:
        return None
    try:
        return worked_back(claim.derivation, facts, facts.taken_by(claim))
    except CantrailError:
        return None


def placed_apart(claim: ClaimFacts, facts: Facts) -> bool:
    """Whether what a claim is worked back from was placed on another vehicle since, with which it has nothing to do."""
    return (
        claim.derivation is not None
        and claim.derivation.method is not Method.SISTER_VEHICLE
        and any(
            taken.subject.kind is claim.subject.kind and taken.subject != claim.subject
            for taken in facts.taken_by(claim)
        )
    )


def standing_statement(claim: ClaimFacts, facts: Facts) -> Statement:
    """What a claim states today: its own figure, or less where what it is worked back from was corrected since. More
    takes a new claim."""
    found = today(claim, facts)
    if found is None:
        return claim.statement
    counts = facts.counts_for(claim.subject)
    stated = limit_pair(claim.statement, claim.subject.kind, counts)
    here = stated.net if stated.net is not None else stated.gross
    if here is None or found.grams >= here:
        return claim.statement
    return msgspec.structs.replace(claim.statement, stated=in_kilograms(found.grams), per=Per.TOTAL)


def in_kilograms(grams: int) -> Stated:
    """Whole grams as kilograms are stated, to the gram and no further than needed."""
    whole, rest = divmod(grams, GRAMS_PER_KG)
    decimals = f"{rest:03d}".rstrip("0")
    return Stated(f"{whole}.{decimals}" if decimals else str(whole), Unit.KG)
