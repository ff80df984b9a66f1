"""How certain claims are, on random histories: the core against the oracle, which was written from the rules alone."""

import random
from collections import Counter

import pytest

from app.core import entries
from app.core.claim import AppliesTo, Basis, Bound, Condition, Quantity, SourceType, Statement, Subject, SubjectKind
from app.core.confidence import explain
from app.core.derived import Accessory, Derivation, Method, Taken
from app.core.lifecycle import State
from app.core.mass import Per, Stated, Unit
from app.core.pages import PageOutcome
from app.core.scope import ALL, SILENT, Scope, Years
from app.core.scoring import score
from tests.core.builders import DECK, HASH, VEHICLE, History, kg
from tests.functional.told import registry_of
from tests.oracle.confidence import confidence, today, total

BATCHES = 8
HISTORIES_IN_A_BATCH = 40
SISTER = Subject(SubjectKind.VEHICLE, "heron")
REVIEWERS = ("first", "second", "third", "fourth")
SCOPES = (
    SILENT,
    Scope(Years(2019, 2021)),
    Scope(Years(2021, 2024), ("wagon",), ALL),
    Scope(ALL, ("wagon", "hatch"), ("bare",)),
    Scope(markets=("NZ",)),
)
TABLES = (
    (("24", "76", None), ("31", "69", None), ("9", "91", None)),
    (("24", "76.0", "76"), ("31", "44", None), ("9.5", "65.5", None), ("18", "57", "120")),
    (("24", "75", "100"), ("5", "75", None)),
    (("24", "75", None), ("24", "80", None)),
    (("6", "94", None),),
)


def figure(rng: random.Random) -> Stated:
    if rng.random() < 0.2:
        return Stated(rng.choice(["165", "165.4", "220"]), Unit.LB)
    return kg(rng.choice(["50", "74.8", "75", "75.4", "75.6", "90", "100", "450"]))


def roof_limit(rng: random.Random) -> Statement:
    basis = rng.choice([Basis.INCLUDES_CARRIER, Basis.INCLUDES_CARRIER, Basis.NOT_STATED, Basis.EXCLUDES_CARRIER])
    excluded = kg(rng.choice(["5", "25"])) if basis is Basis.EXCLUDES_CARRIER and rng.random() < 0.5 else None
    condition = rng.choice([Condition.ON_ROAD, Condition.ON_ROAD, Condition.OFF_ROAD, Condition.PARKED])
    bound = rng.choice([Bound.EXACT, Bound.EXACT, Bound.EXACT, Bound.AT_LEAST, Bound.AT_MOST])
    return Statement(
        *(Quantity.ROOF_LIMIT, figure(rng), condition, Per.TOTAL, basis, excluded, bound), scope=rng.choice(SCOPES)
    )


def on_carrier(rng: random.Random) -> Statement:
    bound = rng.choice([Bound.EXACT, Bound.EXACT, Bound.AT_LEAST, Bound.AT_MOST])
    per = rng.choice([Per.TOTAL, Per.TOTAL, Per.BAR, Per.PAIR])
    if rng.random() < 0.6:
        basis = rng.choice([Basis.INCLUDES_FIXING, Basis.EXCLUDES_FIXING, Basis.NOT_STATED])
        return Statement(
            Quantity.OWN_MASS, kg(rng.choice(["8", "23", "24", "24.4"])), per=per, basis=basis, bound=bound
        )
    if rng.random() < 0.5:
        applies_to = rng.choice([AppliesTo.OWN_RATING, AppliesTo.BOTH, None])
        factor = Stated(rng.choice(["2/3", "0.75", "0.8"]), Unit.FACTOR)
        return Statement(Quantity.OFF_ROAD_FACTOR, factor, applies_to=applies_to)
    basis = rng.choice([Basis.INCLUDES_CARRIER, Basis.EXCLUDES_CARRIER])
    return Statement(Quantity.LOAD_RATING, figure(rng), Condition.ON_ROAD, per, basis, bound=bound)


def on_vehicle_factor(rng: random.Random) -> Statement:
    factor = Stated(rng.choice(["2/3", "0.75", "0.8"]), Unit.FACTOR)
    return Statement(Quantity.OFF_ROAD_FACTOR, factor, applies_to=AppliesTo.ROOF_LIMIT, scope=rng.choice(SCOPES))


class Story(History):
    """A random history of claims, their papers and what people say of both."""

    def __init__(self, rng: random.Random) -> None:
        super().__init__()
        self.rng = rng
        self.claims: dict[str, tuple[Subject, Statement]] = {}
        self.papers: list[str] = []
        self.vehicle()
        self.vehicle(SISTER.id)
        self.carrier(bars=rng.choice([None, 2, 3]))
        self.fitment()
        if rng.random() < 0.8:
            self.confirm(DECK)
        self._file_papers()
        for _ in range(rng.randint(4, 9)):
            self._claim()
        for _ in range(rng.randint(0, 4)):
            self._work_back()
        self._judge()
        self._look()
        for _ in range(rng.randint(2, 8)):
            self._happen()

    def _file_papers(self) -> None:
        for number in range(self.rng.randint(3, 6)):
            if self.rng.random() < 0.15:
                addressed = entries.DocumentAddressed(
                    "maker", "maker_page", None, None, None, None, "en", None, f"{number}" * 64
                )
                self.papers.append("D" + self.tell("author", addressed))
            else:
                self.papers.append(self.document(self.rng.choice("abcdef") * 64))

    def _claim(self) -> None:
        kind = self.rng.random()
        if kind < 0.6:
            subject, said = self.rng.choice([VEHICLE, VEHICLE, SISTER]), roof_limit(self.rng)
        elif kind < 0.75:
            subject, said = VEHICLE, on_vehicle_factor(self.rng)
        else:
            subject, said = DECK, on_carrier(self.rng)
        source = self.rng.choice([SourceType.MANUAL_PAGE, SourceType.MAKER_STATEMENT, SourceType.UNVERIFIED])
        papers = self.rng.sample(self.papers, self.rng.choice([0, 1, 1, 1, 2, 3]))
        self._entered(self.claim(said, subject=subject, source=source, cites=papers), subject, said)

    def _entered(self, id: str, subject: Subject, said: Statement) -> None:
        self.claims[id] = subject, said
        for reviewer in self.rng.sample(REVIEWERS, self.rng.choice([0, 1, 2, 2, 2, 3])):
            self.read(id, reviewer, *(["figure"] if self.rng.random() < 0.15 else []))
            if self.rng.random() < 0.9:
                self.approve(id, reviewer)

    def _work_back(self) -> None:
        """A claim that is worked back, a little less than it comes to, or by a figure that comes to less since."""
        method = self.rng.choice(list(Method))
        derivation = self._pages() if method is Method.ACCESSORY_PAGES else self._taking(method)
        if derivation is None:
            return
        basis = Basis.INCLUDES_CARRIER
        condition = {Method.FACTOR: Condition.OFF_ROAD, Method.PARKED_MULTIPLE: Condition.PARKED}.get(
            derivation.method, Condition.ON_ROAD
        )
        if derivation.takes:
            taken = self.claims[derivation.takes[0].claim][1]
            basis = basis if method is Method.NET_TO_GROSS else taken.basis or Basis.NOT_STATED
            if method in {Method.NET_TO_GROSS, Method.SISTER_VEHICLE}:
                condition = taken.condition or condition
        stated = kg(self.rng.choice(["40", "74.9", "75", "99", "150", "900"]))
        said = Statement(Quantity.ROOF_LIMIT, stated, condition, Per.TOTAL, basis, scope=self.rng.choice(SCOPES))
        papers = self.rng.sample(self.papers, self.rng.choice([0, 1, 1, 2]))
        subject = VEHICLE
        id = self.claim(said, subject=subject, source=SourceType.ACCESSORY_DERIVED, cites=papers)
        self.tell("author", entries.ClaimDerived(id, derivation))
        self._entered(id, subject, said)

    def _pages(self) -> Derivation:
        rows = tuple(
            Accessory(
                *(f"thing {number}", kg(mass), kg(load), self.rng.random() < 0.5),
                rating=None if rating is None else kg(rating),
                subject=DECK if number == 0 and self.rng.random() < 0.5 else None,
            )
            for number, (mass, load, rating) in enumerate(self.rng.choice(TABLES))
        )
        return Derivation(Method.ACCESSORY_PAGES, rows=rows)

    def _taking(self, method: Method) -> Derivation | None:
        """Claims that go together under a method, if there are any."""
        limits = [id for id, (subject, said) in self.claims.items() if _is_limit_for(method, subject, said)]
        seconds = [id for id, (subject, said) in self.claims.items() if _is_second_for(method, subject, said)]
        second = method in {Method.NET_TO_GROSS, Method.FACTOR}
        if not limits or (second and not seconds):
            return None
        ids = [self.rng.choice(limits), *([self.rng.choice(seconds)] if second else [])]
        multiple = self.rng.choice([2, 3]) if method is Method.PARKED_MULTIPLE else None
        return Derivation(method, takes=tuple(Taken(id, self.claims[id][0]) for id in ids), multiple=multiple)

    def _judge(self) -> None:
        for _ in range(self.rng.randint(0, 5)):
            one, other = self.rng.sample(self.papers, 2)
            copied = self.rng.random() < 0.7
            self.tell(self.rng.choice(REVIEWERS), entries.CopyJudged(one, other, copied, reviewer=True))

    def _look(self) -> None:
        for claim in self.facts.claims.values():
            for citation in claim.citations:
                if self.rng.random() < 0.5:
                    outcome = self.rng.choice(list(PageOutcome))
                    self.tell("system", entries.CitationRead(claim.id, citation.id, HASH, outcome, None, None))

    def _happen(self) -> None:
        id = self.rng.choice(list(self.claims))
        state, kind = self.of(id).state, self.rng.random()
        if kind < 0.3 and state is State.APPROVED:
            self.dispute(id, self.rng.choice([None, self.papers[0]]))
        elif kind < 0.5:
            self.age(id, self.rng.choice([0, 1, 2, 6]))
        elif kind < 0.6:
            self.tell("steward", entries.DocumentTakenDown(self.rng.choice(self.papers), (), "rights", HASH))
        elif kind < 0.75 and state is State.SUBMITTED:
            self.withdraw(id)
        elif kind < 0.9 and state in {State.APPROVED, State.DISPUTED}:
            self._supersede(id)

    def _supersede(self, id: str) -> None:
        """A newer claim on the same takes its place: what was worked back from the old one follows the new one."""
        subject, said = self.claims[id]
        alike = [
            other
            for other, (of, says) in self.claims.items()
            if other > id
            and of == subject
            and self.of(other).derivation is None
            and (says.quantity, says.condition, says.basis, says.bound, says.per, says.excluded_mass)
            == (said.quantity, said.condition, said.basis, said.bound, said.per, said.excluded_mass)
        ]
        if alike:
            self.supersede(id, self.rng.choice(alike))


def _is_limit_for(method: Method, subject: Subject, said: Statement) -> bool:
    if said.quantity is not Quantity.ROOF_LIMIT or said.bound is not Bound.EXACT:
        return False
    if method is Method.SISTER_VEHICLE:
        return subject == SISTER
    if method is Method.NET_TO_GROSS:
        return subject == VEHICLE and said.basis is Basis.EXCLUDES_CARRIER and said.excluded_mass is None
    return subject == VEHICLE and said.condition is Condition.ON_ROAD


def _is_second_for(method: Method, subject: Subject, said: Statement) -> bool:
    if method is Method.FACTOR:
        return subject == VEHICLE and said.quantity is Quantity.OFF_ROAD_FACTOR
    return said.quantity is Quantity.OWN_MASS and said.per is Per.TOTAL and said.bound is Bound.EXACT


@pytest.mark.parametrize("batch", range(BATCHES))
def test_a_claim_is_as_certain_as_the_oracle_says(batch: int) -> None:
    seen: Counter[str] = Counter()
    for number in range(HISTORIES_IN_A_BATCH):
        story = Story(random.Random(f"confidence {batch} {number}"))
        facts = story.facts
        registry = registry_of(facts)
        for id, claim in facts.claims.items():
            explained = explain(claim, facts)
            told = registry["claims"][id]
            assert explained.confidence == confidence(registry, told), f"{batch} {number} {id}: {explained}"
            candidate = score(facts, claim.subject)[id].candidate
            if claim.statement.quantity is Quantity.ROOF_LIMIT and candidate.net is None:
                assert candidate.gross == total(registry, today(registry, told)), f"{batch} {number} {id}"
            seen.update(point.code for point in explained.points)
            seen.update(cap.code for cap in explained.caps)
    assert len(seen) >= 30
