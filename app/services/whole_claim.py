"""A claim with all that stands around it: the documents and roots that it rests on, what agrees with it and what does
not, what it is worked back from, what rests on it, and what it does to the answers."""

from collections.abc import Callable, Collection, Iterable
from typing import Final, TypeVar

import msgspec

from app.core.agreement import comparable, contradicts
from app.core.claim import Interest, Quantity, Statement, Subject, SubjectKind, total_grams
from app.core.errors import CantrailError, Kind
from app.core.lifecycle import State
from app.core.mass import Counts, Per, Unit, allowed_in, carried_in, limit_grams
from app.core.mismatch import stops_approval
from app.core.review import ClaimFacts, claim_facts
from app.core.roof import remembered
from app.core.scope import Scope, Years
from app.core.scoring import ScoredClaim
from app.core.working_back import today
from app.persistence import ledger
from app.persistence.queries import claims as queries
from app.persistence.queries import documents as document_queries
from app.persistence.queries import placements
from app.persistence.session import AnySession
from app.services.claim_effects import EffectView, effects
from app.services.deriving import WorkedOut
from app.services.facts import Around, Surrounded
from app.services.inputs import DerivationIn
from app.services.views.claims import ClaimView, ConfidenceView, confidence_of, shown_claim
from app.services.views.derivations import DerivationView, derivation_view
from app.services.views.records import DocumentView, publisher_names, publisher_view, record_view, shown_documents

Key = TypeVar("Key")
Found = TypeVar("Found")

MOST_BESIDE: Final = 50
"""A claim's page shows so many others beside it; the list of its subject's claims has them all."""


class SubjectNamed(msgspec.Struct, frozen=True):
    """A subject with its name as people say it. A fitment has its vehicle and its rack instead of a maker."""

    kind: str
    id: str
    name: str
    maker: str | None = None
    years: Years | None = None
    vehicle: "SubjectNamed | None" = None
    carrier: "SubjectNamed | None" = None


class ClaimLine(msgspec.Struct, frozen=True, kw_only=True):
    """A claim in one line. `amount` is its figure in all, in the unit asked for; null for a factor, and where it is not
    known for how many it counts."""

    id: str
    subject: SubjectNamed
    quantity: str
    condition: str | None
    amount: float | None
    value: str
    basis: str | None
    bound: str
    scope: Scope
    source_type: str
    publisher: str | None
    state: State
    approvals: int
    confidence: float
    sets: bool


class BesideView(msgspec.Struct, frozen=True):
    """Another claim of the same thing: it `agrees`, or says `less` or `more` than this one."""

    stands: str
    claim: ClaimLine


class RootView(msgspec.Struct, frozen=True):
    """A root: its documents, the first of which is the origin and the others copies; and whether this claim rests on it
    or an approved one that agrees."""

    root: str
    own: bool
    held: bool
    documents: list[DocumentView]


class MovedView(msgspec.Struct, frozen=True):
    """A merger or a split that put a claim on another subject."""

    placement: str
    kind: str
    subject: SubjectNamed
    other: SubjectNamed
    in_force: bool


class WholeClaim(msgspec.Struct, frozen=True, kw_only=True):
    """A claim with all that stands around it, in one unit. `amount` is its figure in all, `each` for one bar, pair or
    foot; `documents` are those that it cites or that are held against it; `rests` are the claims that are worked back
    from it."""

    claim: ClaimView
    line: ClaimLine
    each: float | None
    excluded: float | None
    counts_as: float | None
    confidence: ConfidenceView
    effects: list[EffectView]
    documents: dict[str, DocumentView]
    publishers: dict[str, str]
    roots: list[RootView]
    beside: list[BesideView]
    more_beside: int
    takes: list[ClaimLine]
    rests: list[ClaimLine]
    working: DerivationView | None
    moved: list[MovedView]
    approval_stopped: bool
    interest: Interest


def whole_claim(session: AnySession, around: Around, id: str, unit: Unit) -> WholeClaim:
    """One claim with all around it. Raises not_found."""
    subject = queries.subject_of(session, claim=id)
    if subject is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_claim", f"There is no claim {id}.")
    return _Telling(session, around, subject, unit).whole(id)


def subject_named(session: AnySession, subject: Subject) -> SubjectNamed:
    """A subject as people say its name. Raises not_found."""
    said = record_view(session, subject)
    if subject.kind is SubjectKind.FITMENT:
        vehicle = subject_named(session, Subject(SubjectKind.VEHICLE, str(said.vehicle)))
        carrier = subject_named(session, Subject(SubjectKind.CARRIER, str(said.carrier)))
        name = f"{carrier.name} on the {vehicle.name}"
        return SubjectNamed(subject.kind, subject.id, name, vehicle=vehicle, carrier=carrier)
    maker = str(said.maker)
    words = [publisher_view(session, maker).name or maker, str(said.model), said.series or ""]
    years = said.years if isinstance(said.years, Years) else None
    return SubjectNamed(subject.kind, subject.id, " ".join(word for word in words if word), maker, years)


def amount_of(said: Statement, counts: Counts, unit: Unit) -> float | None:
    """A figure in all, rounded to the safe side; None for a factor, or where it is not known how often it counts. What
    is stated in the same unit comes out as stated."""
    if said.stated.unit is unit and said.per in {None, Per.TOTAL}:
        return float(said.stated.value)
    grams = total_grams(said, counts)
    return None if grams is None else _in(unit, said.quantity, grams)


def _in(unit: Unit, quantity: Quantity, grams: int) -> float:
    return carried_in(unit, grams) if quantity is Quantity.OWN_MASS else allowed_in(unit, grams)


class _Telling:
    """Reads what is to be told about one claim, each name and document once."""

    def __init__(self, session: AnySession, around: Around, subject: Subject, unit: Unit) -> None:
        self._session = session
        self._around = around
        self._surrounded: dict[Subject, Surrounded] = {}
        self._facts = self._of(subject).facts
        self._unit = unit
        self._names: dict[Subject, SubjectNamed] = {}
        self._publishers: dict[str, str | None] = {}

    def whole(self, id: str) -> WholeClaim:
        """The claim with all around it."""
        facts, unit = self._facts, self._unit
        claim = facts.claims[id]
        dossier = self._of(claim.subject).dossier
        scored = dossier.scored[claim.id]
        shown = shown_claim(self._session, scored, facts)
        back = shown.worked_back
        less = back is not None and shown.grams is not None and limit_grams(back) < shown.grams
        said = claim.statement
        beside = list(comparable(claim, facts.claims_on(claim.subject)))
        takes, rests = facts.taken_by(claim), list(self._resting_on(claim))
        cited = dict.fromkeys(
            [*facts.documents_of(claim), *(each.document for each in claim.disputes if each.document)]
        )
        roots = self._roots(claim, scored)
        documents = self._documents({*cited, *(id for members in roots.values() for id in members)})
        claims = [claim, *beside[:MOST_BESIDE], *takes, *rests]
        publishers = {each.publisher for each in documents.values()}
        named = publishers | {each.publisher for each in claims if each.publisher}
        self._publishers = publisher_names(self._session, named)
        return WholeClaim(
            claim=shown,
            line=self._line(claim),
            each=self._each(said),
            excluded=None if said.excluded_mass is None else allowed_in(unit, limit_grams(said.excluded_mass)),
            counts_as=allowed_in(unit, limit_grams(back)) if less and back is not None else None,
            confidence=confidence_of(scored, facts),
            effects=remembered(dossier, ("effects", claim.id, unit), lambda: effects(dossier, claim.id, unit)),
            documents={each: documents[each] for each in cited},
            publishers={each: self._publisher(each) for each in sorted(publishers)},
            roots=self._root_views(claim, roots, documents),
            beside=[self._beside(each, claim) for each in beside[:MOST_BESIDE]],
            more_beside=max(0, len(beside) - MOST_BESIDE),
            takes=[self._line(each) for each in takes],
            rests=[self._line(each) for each in rests],
            working=self._working(claim),
            moved=self._moved(claim),
            approval_stopped=stops_approval(claim.judgements),
            interest=claim.interest,
        )

    def _working(self, claim: ClaimFacts) -> DerivationView | None:
        found = today(claim, self._facts)
        if found is None or claim.derivation is None:
            return None
        out = WorkedOut(claim.derivation, found, self._facts)
        return derivation_view(out, DerivationIn(claim.derivation.method), claim.statement.condition, self._unit)

    def _each(self, said: Statement) -> float | None:
        if said.per in {None, Per.TOTAL} or said.quantity is Quantity.OFF_ROAD_FACTOR:
            return None
        alone = msgspec.structs.replace(said, per=None)
        return amount_of(alone, Counts(), self._unit)

    def _line(self, claim: ClaimFacts) -> ClaimLine:
        said = claim.statement
        dossier, facts = self._of(claim.subject)
        scored = dossier.scored[claim.id]
        return ClaimLine(
            id=claim.id,
            subject=self._named(claim.subject),
            quantity=said.quantity,
            condition=said.condition,
            amount=amount_of(said, facts.counts_for(claim.subject), self._unit),
            value=said.stated.value,
            basis=said.basis,
            bound=said.bound,
            scope=said.scope,
            source_type=claim.source_type,
            publisher=None if claim.publisher is None else self._publisher(claim.publisher),
            state=claim.state,
            approvals=len(claim.approvals),
            confidence=scored.explanation.confidence,
            sets=scored.sets,
        )

    def _beside(self, other: ClaimFacts, claim: ClaimFacts) -> BesideView:
        """Own masses are the other way round: more is the careful side there."""
        careful, free = ("more", "less") if claim.statement.quantity is Quantity.OWN_MASS else ("less", "more")
        if contradicts(other, claim, self._facts):
            return BesideView(careful, self._line(other))
        goes_further = contradicts(claim, other, self._facts)
        return BesideView(free if goes_further else "agrees", self._line(other))

    def _roots(self, claim: ClaimFacts, scored: ScoredClaim) -> dict[str, list[str]]:
        """The documents of each root: of those that the claim rests on, then of those that its points name."""
        own = self._facts.roots_of(claim)
        named = [point.about for point in scored.explanation.points if point.about is not None]
        members = self._members()
        return {each: members[each] for each in dict.fromkeys([*own, *named]) if each in members}

    def _root_views(
        self, claim: ClaimFacts, roots: dict[str, list[str]], documents: dict[str, DocumentView]
    ) -> list[RootView]:
        own = self._facts.roots_of(claim)
        shown = {root: [documents[id] for id in members] for root, members in roots.items()}
        return [RootView(root, root in own, any(each.held for each in found), found) for root, found in shown.items()]

    def _members(self) -> dict[str, list[str]]:
        """The documents of each root, the one that was filed first before its copies."""
        members: dict[str, list[str]] = {}
        for document in sorted(self._facts.documents.values(), key=lambda each: each.seq):
            members.setdefault(self._facts.root_of(document.id) or "", []).append(document.id)
        return members

    def _resting_on(self, claim: ClaimFacts) -> Iterable[ClaimFacts]:
        """The claims that are worked back from this one."""
        for id, subject in queries.working_back_from(self._session, subject=claim.subject, limit=MOST_BESIDE).items():
            other = self._of(subject).facts.claims[id]
            if other.derivation is not None and any(each.claim == claim.id for each in other.derivation.takes):
                yield other

    def _moved(self, claim: ClaimFacts) -> list[MovedView]:
        if len(placements.joined_with(self._session, subject=claim.subject)) == 1:
            return []
        entered = claim_facts(ledger.entries_of(self._session, streams=[f"claim:{claim.id}"], up_to=None))
        rows = placements.that_moved(self._session, claim=claim.id, subject=entered.subject, after=claim.seq)
        return [
            MovedView(
                row.id,
                row.kind,
                self._named(Subject(row.subject_kind, row.subject_id)),
                self._named(Subject(row.subject_kind, row.other_id)),
                row.state == "in_force",
            )
            for row in rows
        ]

    def _of(self, subject: Subject) -> Surrounded:
        return _once(self._surrounded, subject, lambda: self._around(subject))

    def _named(self, subject: Subject) -> SubjectNamed:
        return _once(self._names, subject, lambda: subject_named(self._session, subject))

    def _publisher(self, slug: str) -> str:
        return self._publishers[slug] or slug

    def _documents(self, ids: Collection[str]) -> dict[str, DocumentView]:
        rows = document_queries.documents_by_id(self._session, ids=sorted(ids))
        return {each.id: each for each in shown_documents(self._session, list(rows.values()))}


def _once(known: dict[Key, Found], key: Key, find: Callable[[], Found]) -> Found:
    if key not in known:
        known[key] = find()
    return known[key]
