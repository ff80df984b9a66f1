"""Work figures back: from accessory pages, and from other claims."""

from collections.abc import Collection, Iterator, Sequence
from typing import Final, TypeVar

import msgspec

from app.core.claim import (
    Bound,
    Condition,
    Quantity,
    Subject,
    SubjectKind,
    limit_pair,
)
from app.core.comparison import cars_within
from app.core.derived import Accessory, Derivation, Method, Place, Taken
from app.core.dossier import Facts
from app.core.errors import CantrailError, Fault, invalid
from app.core.lifecycle import DEAD
from app.core.mass import Per, Stated, Unit, limit_grams, parse_mass
from app.core.review import ClaimFacts
from app.core.scope import Dimension, Scope, overlap
from app.core.working_back import WorkedBack, in_kilograms, worked_back
from app.persistence.queries import claims as queries
from app.persistence.queries import documents
from app.persistence.session import AnySession
from app.services.facts import facts_about, merged, not_found
from app.services.faults import bad_input
from app.services.inputs import DerivationIn, NewCitation, RowIn, Said, StatedIn, StatedMass

Told = TypeVar("Told", bound=Said)

AT: Final = "/derivation"


class WorkedOut(msgspec.Struct, frozen=True):
    """A derivation as it is kept, what it comes to, and the facts that it was worked out from."""

    derivation: Derivation
    found: WorkedBack
    facts: Facts


def work_out(
    session: AnySession | None,
    given: DerivationIn,
    vehicle: Subject | None,
    condition: Condition | None,
    of: Scope,
    *,
    pointer: str = "",
) -> WorkedOut:
    """Work a figure back, held to what caps the limit of its vehicle. Without a session nothing is known but what is
    given. Raises bad input where it does not go together."""
    derivation = _derivation(session, given, pointer)
    subjects = [*([vehicle] if vehicle is not None else []), *derivation.subjects]
    facts = _facts(session, subjects)
    faults = list(_faults(session, given, facts, vehicle, pointer))
    if not faults and _depth(facts, derivation) > DEEPEST:
        faults = [Fault(f"{pointer}/takes", "too_deep", f"At most {DEEPEST} derivations may rest on one another.")]
    if faults:
        raise bad_input(faults)
    taken = [facts.claims[each.claim] for each in derivation.takes]
    cap = None if vehicle is None or condition is None else _cap(facts, vehicle, condition, of)
    try:
        found = worked_back(derivation, facts, taken, cap)
    except CantrailError as error:
        raise bad_input(
            [msgspec.structs.replace(each, pointer=pointer + each.pointer) for each in error.faults]
        ) from error
    return WorkedOut(derivation, found, facts)


def stated_with(said: Told, found: WorkedBack) -> Told:
    """What is said with what its derivation gives filled in. Raises bad input where it says more than that."""
    faults = list(_beyond(said, found))
    if faults:
        raise bad_input(faults)
    kilograms = in_kilograms(found.grams)
    excluded = found.excluded_mass
    return msgspec.structs.replace(
        said,
        stated=said.stated or StatedIn(kilograms.value, Unit.KG),
        condition=said.condition or found.condition,
        basis=found.basis,
        excluded_mass=None
        if excluded is None
        else StatedMass(excluded.value, "lb" if excluded.unit is Unit.LB else "kg"),
        bound=found.bound if said.bound is Bound.EXACT else said.bound,
        per=Per.TOTAL,
    )


def citations(given: DerivationIn, said: Sequence[NewCitation]) -> list[NewCitation]:
    """What a claim cites: what it says, and the place of each row."""
    rows = [NewCitation(row.document, row.page, row.locator) for row in given.rows if row.document is not None]
    known = {(each.document, each.page, each.locator) for each in said}
    further: dict[tuple[str, str | None, str | None], NewCitation] = {}
    for row in rows:
        place = (row.document, row.page, row.locator)
        if place not in known:
            further.setdefault(place, row)
    return [*said, *further.values()]


def check_cited(given: DerivationIn) -> None:
    """Raises bad input where a row of what is to be claimed does not say on which page it stands."""
    faults = [
        Fault(f"{AT}/rows/{place}/document", "row_not_cited", "Name the document in which this row stands.")
        for place, row in enumerate(given.rows)
        if row.document is None
    ]
    if faults:
        raise bad_input(faults)


_OF_THE_BODY: Final = (Dimension.BODIES, Dimension.ROOFS)
"""What a vehicle and its sister have in common: they were made in years and sold in markets of their own."""


def check_scope(out: WorkedOut, said: Scope) -> None:
    """Raises bad input where a claim is about more cars than what it takes in."""
    sister = out.derivation.method is Method.SISTER_VEHICLE
    faults = [
        Fault(
            f"/scope/{dimension}",
            "scope_too_wide",
            f"{taken.id}, which this is worked back from, does not speak of all these {dimension}.",
        )
        for dimension in (_OF_THE_BODY if sister else Dimension)
        for each in out.derivation.takes
        if (taken := out.facts.claims[each.claim]).subject.kind is SubjectKind.VEHICLE
        and not cars_within(said.spoken(dimension), taken.statement.scope.spoken(dimension))
    ]
    if faults:
        raise bad_input(faults)


def check_no_cycle(facts: Facts, derivation: Derivation, supersedes: str | None) -> None:
    """Raises bad input where a claim would take the place of one that it is worked back from, by way of derivations and
    of claims that have taken another's place or mean to."""
    if supersedes is None:
        return
    replaced = {supersedes}
    while (older := facts.claims.get(supersedes)) is not None and older.supersedes not in {None, *replaced}:
        supersedes = older.supersedes or ""
        replaced.add(supersedes)
    wanted = [each.claim for each in derivation.takes]
    seen: set[str] = set()
    while wanted:
        id = wanted.pop()
        if id in replaced:
            raise invalid(
                f"{AT}/takes",
                "derivation_cycle",
                f"This would be worked back from itself: it takes the place of {id}, on which it rests.",
            )
        claim = facts.claims.get(id)
        if claim is not None and id not in seen:
            takes = () if claim.derivation is None else claim.derivation.takes
            wanted += [each.claim for each in takes]
            wanted += [each.id for each in facts.claims.values() if each.supersedes == id]
        seen.add(id)


DEEPEST: Final = 8
"""How many derivations may rest on one another: each is worked out whenever the last is looked at."""


def _depth(facts: Facts, derivation: Derivation) -> int:
    depth = 0
    level = [derivation]
    while level and depth <= DEEPEST:
        depth += 1
        claims = [facts.claims[each.claim] for one in level for each in one.takes if each.claim in facts.claims]
        level = [claim.derivation for claim in claims if claim.derivation is not None]
    return depth


def _facts(session: AnySession | None, subjects: Collection[Subject]) -> Facts:
    wanted = list(subjects)
    if session is None or not wanted:
        return Facts()
    facts, _ = facts_about(session, wanted[0], beside=wanted[1:])
    return facts


def _derivation(session: AnySession | None, given: DerivationIn, pointer: str) -> Derivation:
    takes = []
    for place, id in enumerate(given.takes):
        row = None if session is None else queries.claim(session, id=id)
        if row is None:
            raise invalid(f"{pointer}/takes/{place}", "no_such_claim", f"There is no claim {id}.")
        takes.append(Taken(id, Subject(row.subject_kind, row.subject_id)))
    return Derivation(
        method=given.method,
        rows=tuple(_row(row) for row in given.rows),
        takes=tuple(takes),
        multiple=given.multiple,
    )


def _row(row: RowIn) -> Accessory:
    return Accessory(
        accessory=row.accessory,
        mass=_stated(row.mass),
        load=_stated(row.load),
        leaves_out=row.leaves_out,
        rating=None if row.rating is None else _stated(row.rating),
        subject=None if row.subject is None else Subject(row.subject.kind, row.subject.id),
        cites=None if row.document is None else Place(row.document, row.page, row.locator),
    )


def _stated(mass: StatedMass) -> Stated:
    return Stated(mass.value, Unit(mass.unit))


def _faults(
    session: AnySession | None, given: DerivationIn, facts: Facts, vehicle: Subject | None, pointer: str
) -> Iterator[Fault]:
    if vehicle is not None and vehicle not in facts.records:
        yield Fault(f"{pointer}/vehicle", "no_such_vehicle", str(not_found(vehicle)))
    elif vehicle is not None and facts.in_force(vehicle) != vehicle:
        yield Fault(f"{pointer}/vehicle", "merged", str(merged(vehicle, facts.in_force(vehicle))))
    if given.method is not Method.ACCESSORY_PAGES and given.rows:
        yield Fault(f"{pointer}/rows", "no_rows_here", f"{given.method} takes in claims and has no rows.")
    if (given.method is Method.PARKED_MULTIPLE) != (given.multiple is not None):
        yield Fault(f"{pointer}/multiple", "bad_multiple", "A parked_multiple has a multiple, and nothing else has.")
    for place, row in enumerate(given.rows):
        yield from _row_faults(session, row, facts, f"{pointer}/rows/{place}")
    for place, id in enumerate(given.takes):
        yield from _take_faults(facts.claims[id], given.method, place, vehicle, f"{pointer}/takes/{place}")


def _row_faults(session: AnySession | None, row: RowIn, facts: Facts, pointer: str) -> Iterator[Fault]:
    if row.document is not None and (session is None or documents.document(session, id=row.document) is None):
        yield Fault(f"{pointer}/document", "no_such_document", f"There is no document {row.document}.")
    if row.subject is None:
        return
    subject = Subject(row.subject.kind, row.subject.id)
    if subject.kind not in {SubjectKind.CARRIER, SubjectKind.GEAR}:
        yield Fault(f"{pointer}/subject/kind", "not_an_accessory", "An accessory is a carrier or gear.")
    elif subject not in facts.records:
        yield Fault(f"{pointer}/subject/id", f"no_such_{subject.kind}", str(not_found(subject)))
    elif facts.in_force(subject) != subject:
        yield Fault(f"{pointer}/subject/id", "merged", str(merged(subject, facts.in_force(subject))))


def _take_faults(
    claim: ClaimFacts, method: Method, place: int, vehicle: Subject | None, pointer: str
) -> Iterator[Fault]:
    if claim.state in DEAD:
        yield Fault(pointer, "input_dead", f"{claim.id} is {claim.state}: nothing can be worked back from it.")
    carrier = method is Method.NET_TO_GROSS and place == 1
    wanted = SubjectKind.CARRIER if carrier else SubjectKind.VEHICLE
    if claim.subject.kind is not wanted:
        yield Fault(
            pointer, "wrong_subject", f"Take in a claim on a {wanted} here; {claim.id} is on a {claim.subject.kind}."
        )
    elif not carrier and vehicle is not None:
        elsewhere = claim.subject != vehicle
        if elsewhere and method is not Method.SISTER_VEHICLE:
            yield Fault(pointer, "wrong_subject", f"{claim.id} is on {claim.subject.id}, not on {vehicle.id}.")
        if not elsewhere and method is Method.SISTER_VEHICLE:
            yield Fault(pointer, "wrong_subject", f"{claim.id} is on this very vehicle. A sister is another one.")


def _cap(facts: Facts, vehicle: Subject, condition: Condition, of: Scope) -> int | None:
    """The lowest approved limit of the vehicle, carrier counted, that may hold for some car of a scope."""
    counts = facts.counts_for(vehicle)
    caps = (
        limit_pair(each.statement, vehicle.kind, counts).gross
        for each in facts.claims_on(vehicle)
        if each.binds
        and each.statement.quantity is Quantity.ROOF_LIMIT
        and each.statement.condition is condition
        and each.statement.bound is not Bound.AT_LEAST
        and overlap(each.statement.scope, of)
    )
    return min((cap for cap in caps if cap is not None), default=None)


def _beyond(said: Said, found: WorkedBack) -> Iterator[Fault]:
    if said.stated is not None and said.stated.unit is not Unit.FACTOR:
        stated = Stated(said.stated.value, said.stated.unit)
        parse_mass(stated)
        if limit_grams(stated) > found.grams:
            most = in_kilograms(found.grams).value
            yield Fault("/stated/value", "above_derivation", f"What is taken in gives no more than {most} kg.")
    if said.per not in {None, Per.TOTAL}:
        yield Fault("/per", "wrong_per", "A figure that is worked back is for the whole roof: leave `per` out.")
    if said.basis not in {None, found.basis}:
        yield Fault("/basis", "wrong_basis", f"What is worked back here is {found.basis}.")
    if found.condition is not None and said.condition not in {None, found.condition}:
        yield Fault("/condition", "wrong_condition", f"What is worked back here holds {found.condition}.")
    widened = said.bound is not Bound.EXACT and found.bound not in {Bound.EXACT, said.bound}
    if widened or (said.bound is Bound.AT_MOST and found.bound is Bound.EXACT):
        yield Fault("/bound", "wrong_bound", f"What is worked back here is {found.bound}.")


def check_derivable(subject: Subject, quantity: Quantity) -> None:
    """Raises bad input for figures that are not worked back: all but the roof limit of a vehicle."""
    if subject.kind is not SubjectKind.VEHICLE or quantity is not Quantity.ROOF_LIMIT:
        raise invalid(AT, "not_derivable", "Only a vehicle's roof_limit is worked back. Leave `derivation` out.")
