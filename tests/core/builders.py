"""Short ways to say what a test is about: figures and how they stand, dossiers to ask, and histories to fold."""

from collections.abc import Iterable
from itertools import count
from typing import Literal

import msgspec

from app.core import entries
from app.core.asking import BudgetAnswer, Request, ask
from app.core.budget import Item
from app.core.claim import (
    AppliesTo,
    Basis,
    Bound,
    Condition,
    Interest,
    Quantity,
    SourceType,
    Statement,
    Subject,
    SubjectKind,
)
from app.core.confidence import Explanation, Fragility, explain, fragility
from app.core.dossier import Facts, Record, fold
from app.core.entries import Entry, Payload, named
from app.core.given import GivenPart, GivenRoof
from app.core.lifecycle import DEAD, UNDECIDED, State
from app.core.mass import Counts, Per, Stated, Unit
from app.core.review import ClaimFacts
from app.core.scope import SILENT, UNKNOWN, Context, Scope, Years
from app.core.scoring import Dossier, FitmentFigures, Standing, candidate, figures
from app.core.selection import Candidate

EXCLUDES, INCLUDES = Basis.EXCLUDES_CARRIER, Basis.INCLUDES_CARRIER
ON_ROAD, OFF_ROAD, PARKED = Condition.ON_ROAD, Condition.OFF_ROAD, Condition.PARKED
AT_LEAST, AT_MOST = Bound.AT_LEAST, Bound.AT_MOST
TWO = ("first", "second")

_as_of = count(1)
"""A dossier's subject and entry say all that it says, so that every dossier here is as of an entry of its own."""


def kg(value: str) -> Stated:
    return Stated(value, Unit.KG)


def lb(value: str) -> Stated:
    return Stated(value, Unit.LB)


# Statements: what a claim or a reading says


def roof_limit(
    value: str = "75",
    condition: Condition = ON_ROAD,
    *,
    basis: Basis = INCLUDES,
    excluded: str | None = None,
    bound: Bound = Bound.EXACT,
    per: Per = Per.TOTAL,
    scope: Scope = SILENT,
) -> Statement:
    return Statement(
        Quantity.ROOF_LIMIT,
        kg(value),
        condition,
        per,
        basis,
        None if excluded is None else kg(excluded),
        bound,
        scope=scope,
    )


def load_rating(
    value: str = "100",
    condition: Condition = ON_ROAD,
    *,
    basis: Basis = EXCLUDES,
    bound: Bound = Bound.EXACT,
    per: Per = Per.TOTAL,
    scope: Scope = SILENT,
) -> Statement:
    return Statement(Quantity.LOAD_RATING, kg(value), condition, per, basis, bound=bound, scope=scope)


def mass_said(
    value: str = "25", *, bound: Bound = Bound.EXACT, per: Per = Per.TOTAL, basis: Basis | None = None
) -> Statement:
    return Statement(Quantity.OWN_MASS, kg(value), per=per, basis=basis, bound=bound)


def factor(value: str = "2/3", applies_to: AppliesTo | None = None, *, scope: Scope = SILENT) -> Statement:
    return Statement(Quantity.OFF_ROAD_FACTOR, Stated(value, Unit.FACTOR), applies_to=applies_to, scope=scope)


# Candidates and dossiers: claims whose confidence is given, not computed

Told = tuple[Statement, Standing]


def told(
    statement: Statement,
    confidence: float = 0.95,
    *,
    id: str = "C1",
    publisher: str | None = "maker",
    state: State = State.APPROVED,
    approvals: int = 2,
    undisputed: float = 0.0,
    fresh: float = 0.0,
) -> Told:
    """A statement and how the claim that makes it stands."""
    return statement, Standing(id, publisher, state, approvals, confidence, undisputed, fresh)


def once(statement: Statement, confidence: float = 0.75, *, id: str = "C1", publisher: str | None = "maker") -> Told:
    """A claim that one reviewer has approved: it binds, and sets nothing."""
    return told(statement, confidence, id=id, publisher=publisher, approvals=1)


def undecided(
    statement: Statement, confidence: float = 0.55, *, id: str = "C1", publisher: str | None = "maker"
) -> Told:
    """A claim that nobody has decided on."""
    return told(statement, confidence, id=id, publisher=publisher, state=State.SUBMITTED, approvals=0)


def disputed(claim: Told) -> Told:
    """The same claim, disputed with held evidence."""
    said, standing = claim
    sure = standing.confidence
    return said, msgspec.structs.replace(standing, state=State.DISPUTED, confidence=0.4, undisputed=sure, fresh=0.4)


def overdue(claim: Told) -> Told:
    """The same claim, past its review-by date by a year."""
    said, standing = claim
    return said, msgspec.structs.replace(standing, confidence=0.79, undisputed=0.79, fresh=standing.confidence)


def limit_of(
    gross: float | None = None,
    net: float | None = None,
    *,
    id: str = "C1",
    confidence: float = 0.95,
    bound: Bound = Bound.EXACT,
    publisher: str | None = "maker",
    scope: Scope = SILENT,
    state: State = State.APPROVED,
    approvals: int = 2,
) -> Candidate:
    """A limit as selection sees it, in kilograms."""
    return Candidate(
        id,
        publisher,
        bound,
        confidence,
        binds=approvals > 0 and state not in DEAD,
        undecided=state in UNDECIDED,
        dead=state in DEAD,
        scope=scope,
        gross=None if gross is None else round(gross * 1000),
        net=None if net is None else round(net * 1000),
    )


def figures_of(
    claims: Iterable[Told], kind: SubjectKind, counts: Counts | None = None
) -> list[tuple[Statement, Candidate]]:
    return [(said, candidate(said, standing, kind, counts or Counts())) for said, standing in claims]


def vehicle(
    *claims: Told,
    confirmed: bool = True,
    years: Years | None = None,
    bodies: tuple[str, ...] | None = None,
    roofs: tuple[str, ...] | None = None,
    markets: tuple[str, ...] | None = None,
    fitments: tuple[FitmentFigures, ...] = (),
    id: str = "tarn",
) -> Dossier:
    payload = entries.VehicleAdded(id, "maker", "Tarn", None, years or Years(2019, 2024), bodies, roofs, markets, ())
    record = Record(Subject(SubjectKind.VEHICLE, id), 1, "author", payload, TWO if confirmed else ())
    return Dossier(record, figures(figures_of(claims, SubjectKind.VEHICLE)), fitments, as_of=next(_as_of))


def carrier(
    *claims: Told, id: str = "deck", bars: int | None = None, built_in: bool = True, confirmed: bool = True
) -> Dossier:
    fixing = "built_in" if built_in else "separate"
    payload = entries.CarrierAdded(id, "maker", "Deck", None, "platform", None, bars, fixing, ())
    record = Record(Subject(SubjectKind.CARRIER, id), 1, "author", payload, TWO if confirmed else ())
    return Dossier(record, figures(figures_of(claims, SubjectKind.CARRIER, record.counts)), as_of=next(_as_of))


def platform(*more: Told, id: str = "deck", built_in: bool = True) -> Dossier:
    """The worked example's platform: 25 kg, rated 100 kg excluding itself, its fixings built in."""
    own = (told(mass_said("25"), id="C-mass"), told(load_rating("100"), id="C-rating"))
    return carrier(*own, *more, id=id, built_in=built_in)


def bars(rating: str = "75", mass: str = "5", *, id: str = "bars") -> Dossier:
    """The worked example's bars: 5 kg, rated 75 kg excluding themselves."""
    return carrier(told(mass_said(mass), id="C-bars-mass"), told(load_rating(rating), id="C-bars-rating"), id=id)


def fixing(*claims: Told, id: str = "feet", feet: int | None = None, confirmed: bool = True) -> Dossier:
    payload = entries.FixingAdded(id, "maker", "Feet", None, None, feet, ("gutter",), ())
    record = Record(Subject(SubjectKind.FIXING, id), 1, "author", payload, TWO if confirmed else ())
    return Dossier(record, figures(figures_of(claims, SubjectKind.FIXING, record.counts)), as_of=next(_as_of))


def fitment(
    *claims: Told,
    carrier: str = "deck",
    fixing: str | None = None,
    roofs: tuple[str, ...] | None = None,
    id: str = "F9",
) -> FitmentFigures:
    return FitmentFigures(id, carrier, fixing, roofs, figures(figures_of(claims, SubjectKind.FITMENT)))


def fitment_dossier(*claims: Told, id: str = "F9") -> Dossier:
    payload = entries.FitmentAdded("tarn", "deck", None, None, ())
    record = Record(Subject(SubjectKind.FITMENT, id), 9, "author", payload, TWO)
    return Dossier(record, figures(figures_of(claims, SubjectKind.FITMENT)), as_of=next(_as_of))


def cargo(kilograms: float, *, least: float | None = None, worst: float | None = None) -> Item:
    return Item(
        "cargo",
        round(1000 * (kilograms if least is None else least)),
        round(1000 * kilograms),
        round(1000 * (kilograms if worst is None else worst)),
    )


def budget_for(
    car: Dossier | None,
    *carriers: Dossier | GivenPart,
    condition: Condition = ON_ROAD,
    demand: float = 0.80,
    context: Context = UNKNOWN,
    fixing: Dossier | GivenPart | Literal["built_in"] | None = None,
    items: tuple[Item, ...] = (),
    people: tuple[Item, ...] = (),
    given_roof: GivenRoof | None = None,
    parked_multiple: int | None = None,
) -> BudgetAnswer:
    return ask(Request(condition, demand, car, context, fixing, carriers, items, people, given_roof, parked_multiple))


# Histories: entries to fold

VEHICLE = Subject(SubjectKind.VEHICLE, "tarn")
DECK = Subject(SubjectKind.CARRIER, "deck")
HASH = "a" * 64


class History:
    """Entries one after another, a day apart unless a day is named. Ids are given by the entries' numbers."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []

    def tell(self, actor: str, payload: Payload, *, at: str = "2024-03-01T12:00:00Z") -> str:
        """Append one entry; its number, as text."""
        seq = len(self.entries) + 1
        self.entries.append(Entry(seq, at, actor, ("some",), payload))
        return str(seq)

    @property
    def facts(self) -> Facts:
        return fold(self.entries)

    def of(self, claim: str) -> ClaimFacts:
        return self.facts.claims[claim]

    def explained(self, claim: str) -> Explanation:
        facts = self.facts
        return explain(facts.claims[claim], facts)

    def fragility(self, claim: str) -> Fragility | None:
        facts = self.facts
        return fragility(facts.claims[claim], facts)

    def vehicle(self, id: str = VEHICLE.id) -> None:
        self.tell(
            "author",
            entries.VehicleAdded(id, "maker", "Tarn", None, Years(2019, 2024), ("wagon",), None, None, ()),
        )

    def carrier(self, id: str = DECK.id, *, bars: int | None = None, fixing: str | None = "built_in") -> None:
        self.tell("author", entries.CarrierAdded(id, "rackmaker", "Deck", None, "platform", None, bars, fixing, ()))

    def fixing(self, id: str = "feet", *, feet: int | None = 4) -> None:
        self.tell("author", entries.FixingAdded(id, "rackmaker", "Feet", None, None, feet, ("gutter",), ()))

    def fitment(self, carrier: str = DECK.id, fixing: str | None = None, roofs: tuple[str, ...] | None = None) -> str:
        return "F" + self.tell("author", entries.FitmentAdded(VEHICLE.id, carrier, fixing, roofs, ()))

    def confirm(self, subject: Subject, *reviewers: str) -> None:
        for reviewer in reviewers or TWO:
            self.tell(reviewer, entries.RecordConfirmed(subject, None))

    def document(self, sha256: str = HASH) -> str:
        added = entries.DocumentAdded(
            "maker", "handbook", None, None, None, None, "en", None, sha256, 9, "application/pdf"
        )
        return named(entries.DOCUMENT, int(self.tell("author", added)))

    def claim(
        self,
        statement: Statement | None = None,
        *,
        subject: Subject = VEHICLE,
        source: SourceType = SourceType.MANUAL_PAGE,
        author: str = "author",
        publisher: str | None = "maker",
        supersedes: str | None = None,
        cites: Iterable[str] = (),
    ) -> str:
        submitted = entries.ClaimSubmitted(
            subject, statement or roof_limit(), source, publisher, Interest.NONE, supersedes, None, None
        )
        id = named(entries.CLAIM, int(self.tell(author, submitted)))
        for document in cites:
            self.cite(id, document)
        return id

    def cite(self, claim: str, document: str, *, later: bool = False) -> None:
        self.tell("author", entries.CitationAdded(claim, document, "214", None, None, later))

    def look(self, claim: str, citation: str, outcome: str) -> None:
        self.tell("system", entries.CitationRead(claim, citation, HASH, outcome, None, None))

    def read(self, claim: str, reviewer: str, *differences: str) -> str:
        keyed = entries.ReadingKeyed(claim, roof_limit(), differences)
        return named(entries.REVIEW, int(self.tell(reviewer, keyed)))

    def decide(
        self,
        claim: str,
        decision: str,
        reviewer: str = "first",
        *,
        at: str = "2024-03-01T12:00:00Z",
        code: str | None = None,
    ) -> None:
        decided = entries.ClaimDecided(claim, None, decision, code, HASH, Interest.NONE)
        self.tell(reviewer, decided, at=at)

    def approve(self, claim: str, *reviewers: str, at: str = "2024-03-01T12:00:00Z") -> None:
        for reviewer in reviewers or TWO:
            self.decide(claim, "approve", reviewer, at=at)

    def read_and_approve(self, claim: str, *reviewers: str) -> None:
        for reviewer in reviewers or TWO:
            self.read(claim, reviewer)
            self.approve(claim, reviewer)

    def withdraw(self, claim: str) -> None:
        self.tell("author", entries.ClaimWithdrawn(claim))

    def dispute(self, claim: str, document: str | None = "D1") -> str:
        disputed = entries.ClaimDisputed(claim, document, None, HASH, Interest.NONE)
        return named(entries.DISPUTE, int(self.tell("doubter", disputed)))

    def settle(self, claim: str, dispute: str, settlement: str, *reviewers: str) -> None:
        for reviewer in reviewers:
            self.tell(reviewer, entries.DisputeSettled(dispute, claim, settlement, "misread", HASH))

    def lapse(self, claim: str, dispute: str) -> None:
        self.tell("system", entries.DisputeLapsed(dispute, claim))

    def supersede(self, claim: str, by: str) -> None:
        self.tell("system", entries.ClaimSuperseded(claim, by))

    def revive(self, claim: str, instead_of: str) -> None:
        self.tell("system", entries.ClaimRevived(claim, instead_of))

    def age(self, claim: str, years: int) -> None:
        self.tell("system", entries.ClaimAged(claim, years))
