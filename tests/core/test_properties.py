"""What holds of every answer (the properties at the end of section 2.2, and their like), on random registries.

The registries are the oracle's, made from a seed that Hypothesis gives; a failure names the seed. Runs are the same each
time. An answer that names no figure is below every answer that does.
"""

import random
from collections.abc import Callable
from copy import deepcopy
from fractions import Fraction
from typing import Any

import msgspec
import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st

from app.core.claim import Basis, Bound, Condition, SourceType
from app.core.dossier import Facts, fold
from app.core.errors import CantrailError
from app.core.lifecycle import UNDECIDED
from app.core.limits import limit
from app.core.mass import (
    GRAMS_PER_LB,
    Counts,
    Per,
    Stated,
    Unit,
    allowed_in,
    carried_in,
    limit_grams,
    own_mass_grams,
    parse_factor,
    parse_mass,
)
from app.core.plate import Effect, changes
from app.core.review import advance, begun, claim_facts, claim_named_by
from app.core.scope import ALL, SILENT, Context, Scope
from app.core.scoring import dossier_of
from app.core.selection import Side
from tests.core.builders import INCLUDES, OFF_ROAD, ON_ROAD, PARKED, VEHICLE, History, roof_limit
from tests.core.cases import Case, answer, context_of, vehicle_of
from tests.oracle import generate
from tests.oracle.generate import Numbers, random_case

steady = settings(
    derandomize=True,
    database=None,
    deadline=None,
    max_examples=250,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)
seeds = st.integers(0, 2**32 - 1)

NOTHING = float("-inf")


def registry(seed: int, *, demand: float = 0.80) -> tuple[random.Random, Case]:
    rng = random.Random(seed)
    case = random_case(rng)
    case["min_confidence"] = demand
    return rng, case


def with_vehicle(seed: int) -> tuple[random.Random, Case]:
    rng, case = registry(seed)
    assume(case["vehicle"] is not None)
    return rng, case


def allowed(case: Case) -> float:
    raw = answer(case).budget.raw
    return NOTHING if raw is None else raw


def limits(case: Case) -> dict[Side, float]:
    """The vehicle's limit by itself, by side; infinite where a side is open, nothing where there is no figure."""
    found = limit(vehicle_of(case, ()), context_of(case["context"]), Condition(case["condition"]), 0.80).ruling
    if not found.figure:
        return dict.fromkeys(Side, NOTHING)
    lines = {side: found.line(side) for side in Side}
    return {side: float("inf") if line is None else line.grams for side, line in lines.items()}


def claims_in(case: Case) -> list[list[dict[str, Any]]]:
    """Every list of claims in a case: the vehicle's, the parts', the fitments'."""
    found = [case["vehicle"]["claims"]] if case["vehicle"] is not None else []
    for part in (case["fixing"], *case["carriers"]):
        if isinstance(part, list):
            found.append(part)
        elif part is not None and "claims" in part:
            found.append(part["claims"])
    return [*found, *(fitment["claims"] for fitment in case["fitments"])]


def approved_once(rng: random.Random, claim: dict[str, Any]) -> dict[str, Any]:
    return {
        **claim,
        "state": rng.choice(["approved", "disputed"]),
        "approvals": 1,
        "confidence": rng.choice([0.1, 0.4, 0.79]),
    }


# Claims


@steady
@given(seeds)
def test_an_approved_exact_claim_leaves_no_answer_above_it(seed: int) -> None:
    rng, case = with_vehicle(seed)
    claim = {
        **generate.roof_claim(rng, Numbers()),
        "condition": "parked" if case["condition"] == "parked" else rng.choice(["on_road", "off_road"]),
        "bound": "exact",
        "basis": "includes_carrier",
        "publisher": "somebody else",
        "scope": rng.choice([None, {"roofs": "all"}, {"years": "all", "markets": "all"}]),
    }
    if case["condition"] == "on_road":
        claim["condition"] = "on_road"
    claim.pop("per", None)
    case["vehicle"]["claims"].append(approved_once(rng, claim))
    said = limit_grams(msgspec.convert(claim["stated"], Stated))

    assert limits(case)[Side.GROSS] <= said
    roof = [each for each in answer(case).budget.constraints if each.name == "vehicle_roof"]
    assert roof[0].allowed <= said


@steady
@given(seeds)
def test_a_claim_with_one_approval_raises_no_answer(seed: int) -> None:
    rng, case = registry(seed)
    before = allowed(case)
    for claims in claims_in(case):
        kinds = [each["quantity"] for each in claims] or ["load_rating"]
        more = {
            "roof_limit": lambda: generate.roof_claim(rng, Numbers()),
            "load_rating": lambda: generate.rating_claim(rng, Numbers(), ["total", "bar"]),
            "own_mass": lambda: generate.mass_claim(rng, Numbers(), ["total", "bar"]),
            "off_road_factor": lambda: generate.factor_claim(rng, Numbers(), scoped=False),
        }
        claims.append(approved_once(rng, more[rng.choice(kinds)]()))

    assert allowed(case) <= before


@steady
@given(seeds)
def test_an_undecided_claim_changes_nothing(seed: int) -> None:
    rng, case = with_vehicle(seed)
    before = answer(case).budget
    waiting = {**generate.roof_claim(rng, Numbers()), "state": "submitted", "approvals": 0, "confidence": 0.6}
    case["vehicle"]["claims"].append(waiting)

    after = answer(case).budget

    assert (after.raw, after.ceiling, after.verdict) == (before.raw, before.ceiling, before.verdict)


@steady
@given(seeds)
def test_nothing_that_weakens_a_claim_raises_an_answer(seed: int) -> None:
    rng, case = registry(seed)
    before = allowed(case)
    for claims in claims_in(case):
        for claim in claims:
            match rng.choice(["leave", "leave", "dispute", "age", "score"]):
                case "dispute" if claim["state"] == "approved":
                    claim.update(state="disputed", confidence=min(claim["confidence"], 0.4))
                case "age":
                    claim.update(confidence=min(claim["confidence"], 0.79))
                case "score":
                    claim.update(confidence=round(claim["confidence"] * rng.random(), 3))
                case _:
                    pass

    assert allowed(case) <= before


@steady
@given(seeds, st.lists(st.sampled_from([0.80, 0.81, 0.85, 0.9, 0.95, 0.99, 1.0]), min_size=2, max_size=2).map(sorted))
def test_a_higher_demand_raises_no_answer(seed: int, demands: list[float]) -> None:
    _, case = registry(seed)
    lower, higher = ({**case, "min_confidence": demand} for demand in demands)

    assert allowed(higher) <= allowed(lower)


@steady
@given(seeds)
def test_the_answer_at_080_stands_whatever_less_is_demanded(seed: int) -> None:
    rng, case = registry(seed)
    before = answer(case).budget
    assume(before.raw is not None)

    after = answer({**case, "min_confidence": rng.choice([0.0, 0.3, 0.5, 0.79])}).budget

    assert (after.raw, after.vetted) == (before.raw, before.vetted)


# The car


@steady
@given(seeds)
def test_stating_more_about_the_car_lowers_no_answer(seed: int) -> None:
    rng, case = with_vehicle(seed)
    fuller = generate.context_of(rng, case["vehicle"]["record"])
    more = {**case, "context": {**fuller, **case["context"]}}

    assert allowed(more) >= allowed(case)
    assert all(limits(more)[side] >= limits(case)[side] for side in Side)


@steady
@given(seeds)
def test_confirming_a_vehicle_s_record_lowers_no_answer(seed: int) -> None:
    _, case = with_vehicle(seed)
    case["vehicle"]["record"]["confirmed"] = True
    case["context"] = generate.context_of(random.Random(seed), case["vehicle"]["record"])
    unsure = deepcopy(case)
    unsure["vehicle"]["record"]["confirmed"] = False

    assert allowed(case) >= allowed(unsure)


@steady
@given(seeds)
def test_one_of_the_questions_values_gives_the_answer(seed: int) -> None:
    _, case = with_vehicle(seed)
    found = answer(case)
    for asked in found.stacked.questions:
        given_by_value = [NOTHING if grams is None else grams for _, grams in asked.answers]
        stacked = found.stacked.stack.allowed
        assert min(given_by_value) == (NOTHING if stacked is None else stacked)
        # Where the roof is known for some cars only, it may take two answers together.
        assert len(set(given_by_value)) > 1 or stacked is None


# The stack


@steady
@given(seeds)
def test_no_answer_is_above_any_of_its_constraints(seed: int) -> None:
    _, case = registry(seed)
    budget = answer(case).budget
    assume(budget.raw is not None and budget.allowed is not None)

    assert budget.raw is not None and budget.allowed is not None
    for constraint in budget.constraints:
        assert budget.raw <= constraint.allowed
        assert budget.allowed <= max(0, constraint.line.grams)
        assert constraint.ceiling is None or budget.raw <= constraint.ceiling
    assert {constraint.allowed for constraint in budget.binding} == {budget.raw}


@steady
@given(seeds)
def test_a_given_roof_only_lowers_and_is_never_passed(seed: int) -> None:
    rng, case = with_vehicle(seed)
    case["given_roof"] = None
    before = allowed(case)
    kilograms = rng.choice(generate.LIMITS)
    case["given_roof"] = {"limit": kilograms, "basis": "includes_carrier"}
    budget = answer(case).budget

    assert (NOTHING if budget.raw is None else budget.raw) <= before
    assert (
        budget.raw is None or case["condition"] == "parked" or budget.raw <= float(kilograms) * 1000 - budget.stack.mass
    )


@steady
@given(seeds)
def test_a_heavier_stack_raises_no_answer(seed: int) -> None:
    rng, case = registry(seed)
    before = allowed(case)
    heavier = deepcopy(case)
    for claims in claims_in(heavier):
        if any(claim["quantity"] == "own_mass" for claim in claims):
            mass = generate.mass_claim(rng, Numbers(), ["total"])
            claims.append(approved_once(rng, {**mass, "bound": rng.choice(["exact", "at_least"])}))
    taller = deepcopy(case)
    taller["carriers"].append(generate.carrier(rng, Numbers()))

    assert allowed(heavier) <= before
    assert allowed(taller) <= before


@steady
@given(seeds)
def test_a_factor_raises_no_answer(seed: int) -> None:
    rng, case = registry(seed)
    case["condition"], case["people"] = "off_road", []
    before = allowed(case)
    for claims in claims_in(case):
        if any(claim["quantity"] != "off_road_factor" for claim in claims) and rng.random() < 0.5:
            claims.append(generate.factor_claim(rng, Numbers(), scoped=False))

    assert allowed(case) <= before


@steady
@given(seeds)
def test_off_road_is_never_more_than_on_road(seed: int) -> None:
    _, case = registry(seed)
    case["people"] = []
    for claims in claims_in(case):
        claims[:] = [claim for claim in claims if claim.get("condition") != "off_road"]
    on_road, off_road = (allowed({**case, "condition": condition}) for condition in ("on_road", "off_road"))

    assert off_road <= on_road


@steady
@given(seeds, st.integers(0, 40_000))
def test_what_is_carried_leaves_that_much_less(seed: int, grams: int) -> None:
    _, case = registry(seed)
    case.pop("gear", None)
    case["people"] = []
    case["cargo_g"] = {"least": grams, "cargo": grams, "worst": grams}
    budget = answer(case).budget

    if budget.raw is None:
        assert (budget.remaining, budget.vetted) == (None, False)
        return
    assert budget.remaining == budget.raw - grams
    assert (budget.verdict == "over") <= (budget.remaining < 0)
    assert budget.verdict not in {"within", "marginal"} or budget.remaining >= 0


@steady
@given(seeds)
def test_what_is_vetted_is_sure(seed: int) -> None:
    rng, case = registry(seed)
    case["min_confidence"] = rng.choice([0.3, 0.6, 0.80, 0.9])
    budget = answer(case).budget
    if budget.vetted:
        assert budget.raw is not None
        assert not case["given_roof"]
        assert not budget.stack.fixing_unsaid
    if budget.confidence is not None:
        assert 0 <= budget.confidence <= 1
        assert budget.weakest is None or budget.confidence <= budget.weakest.confidence


# Masses

decimals = st.decimals(0, 999_999, places=3, allow_nan=False).map(lambda value: format(value, "f"))
units = st.sampled_from([Unit.KG, Unit.LB])


@steady
@given(decimals, units, st.sampled_from(Per), st.integers(1, 12))
def test_limits_are_never_rounded_up_nor_masses_down(value: str, unit: Unit, per: Per, count: int) -> None:
    stated, counts = Stated(value, unit), Counts(bars=count, feet=count)
    times = {Per.TOTAL: Fraction(1), Per.PAIR: Fraction(count, 2)}.get(per, Fraction(count))
    exact = parse_mass(stated) * times
    limit_in_all, mass = limit_grams(stated, per, counts), own_mass_grams(stated, per, counts)

    assert limit_in_all <= exact
    assert mass is not None and mass >= exact
    if per is not Per.PAIR:
        assert exact - limit_in_all < 1
        assert mass - exact < 1


@steady
@given(st.integers(0, 10**9))
def test_what_is_shown_is_never_on_the_unsafe_side(grams: int) -> None:
    for unit, each in ((Unit.KG, Fraction(1000)), (Unit.LB, GRAMS_PER_LB)):
        allowed_here = Fraction(repr(allowed_in(unit, grams)))
        carried_here = Fraction(repr(carried_in(unit, grams)))
        assert allowed_here * each <= grams <= carried_here * each
        assert carried_here - allowed_here <= Fraction(1, 1000)


@steady
@given(st.integers(1, 10**6 - 1), st.integers(1, 10**6 - 1))
def test_a_factor_is_what_it_says_or_refused(over: int, under: int) -> None:
    if over <= under:
        assert parse_factor(f"{over}/{under}") == Fraction(over, under)
    else:
        with pytest.raises(CantrailError, match="at most 1"):
            parse_factor(f"{over}/{under}")


# Histories

EVENTS = (
    *("cite", "read", "mismatch", "approve", "approve", "approve", "reject", "ask", "withdraw"),
    *("dispute", "dispute", "empty", "uphold", "refute", "lapse", "supersede", "revive", "age"),
)


def happen(history: History, rng: random.Random, claim: str, event: str) -> None:
    """One event of a claim, by a reviewer out of four, on its last dispute."""
    facts = history.of(claim)
    dispute = facts.disputes[-1].id if facts.disputes else "P0"
    reviewer = f"r{rng.randint(1, 4)}"
    later, years = facts.state in UNDECIDED, rng.randint(0, 4)
    events: dict[str, Callable[[], object]] = {
        "cite": lambda: history.cite(claim, "D1", later=later),
        "read": lambda: history.read(claim, reviewer),
        "mismatch": lambda: history.read(claim, reviewer, "figure"),
        "approve": lambda: history.approve(claim, reviewer),
        "reject": lambda: history.decide(claim, "reject", reviewer, code="misread"),
        "ask": lambda: history.decide(claim, "ask_evidence", reviewer),
        "withdraw": lambda: history.withdraw(claim),
        "dispute": lambda: history.dispute(claim, "D1"),
        "empty": lambda: history.dispute(claim, None),
        "uphold": lambda: history.settle(claim, dispute, "uphold", reviewer),
        "refute": lambda: history.settle(claim, dispute, "refute", reviewer),
        "lapse": lambda: history.lapse(claim, dispute),
        "supersede": lambda: history.supersede(claim, "C99"),
        "revive": lambda: history.revive(claim, "C99"),
        "age": lambda: history.age(claim, years),
    }
    events[event]()


def random_history(seed: int) -> History:
    """A history of two claims in which only what the table allows has happened."""
    rng = random.Random(seed)
    history = History()
    history.vehicle()
    history.document()
    claims = [history.claim(cites=["D2"]), history.claim()]
    for _ in range(rng.randint(0, 25)):
        before = len(history.entries)
        happen(history, rng, rng.choice(claims), rng.choice(EVENTS))
        try:
            assert history.facts
        except CantrailError:
            del history.entries[before:]
    return history


def said(facts: Facts) -> tuple[object, ...]:
    return facts.seq, facts.method, facts.records, facts.claims, facts.documents


@steady
@given(seeds)
def test_a_history_folds_in_one_go_as_step_by_step(seed: int) -> None:
    history = random_history(seed)
    stepwise = Facts()
    for count, entry in enumerate(history.entries, start=1):
        stepwise.apply(entry)
        assert said(stepwise) == said(fold(history.entries[:count]))
    for id, claim in history.facts.claims.items():
        first, *rest = [
            entry for entry in history.entries if claim_named_by(entry.payload) == id or entry.seq == claim.seq
        ]
        step = begun(first)
        for entry in rest:
            step = advance(step, entry)
        assert step == claim_facts([first, *rest]) == claim


@steady
@given(seeds)
def test_a_claim_s_state_and_its_approvals_fit_together(seed: int) -> None:
    for claim in random_history(seed).facts.claims.values():
        assert claim.binds == (claim.state in {"approved", "disputed"})
        assert claim.state != "withdrawn" or not claim.approvals
        assert (claim.review_by is not None) == (len(claim.approvals) >= 2)
        assert (claim.superseded_by is not None) == (claim.state == "superseded")


# Registries from their entries up: what one account can do


DIVIDING = (SILENT, Scope(bodies=("van",)), Scope(roofs=("bare",)), Scope(bodies=("van",), roofs=ALL), Scope(roofs=ALL))


def random_registry(rng: random.Random) -> History:
    """A vehicle with some claims from few pages, some of them read, approved or disputed."""
    history = History()
    history.vehicle()
    pages = [history.document(letter * 64) for letter in "abcd"]
    # An at_least of one driving condition beside a figure of the other is a case of its own: see test_conditions.
    driving = rng.choice([ON_ROAD, OFF_ROAD])
    for _ in range(rng.randint(1, 5)):
        statement = roof_limit(
            rng.choice(["50", "60", "75", "75.4", "100"]),
            rng.choice([driving, driving, driving, PARKED]),
            basis=rng.choice([INCLUDES, Basis.NOT_STATED]),
            bound=rng.choice([Bound.EXACT, Bound.EXACT, Bound.AT_LEAST, Bound.AT_MOST]),
            scope=rng.choice(DIVIDING),
        )
        claim = history.claim(
            statement,
            source=rng.choice([SourceType.MANUAL_PAGE, SourceType.MAKER_STATEMENT]),
            publisher=rng.choice(["maker", "importer"]),
            cites=rng.sample(pages, rng.randint(0, 2)),
        )
        for reviewer in ("first", "second")[: rng.choice([0, 1, 2, 2, 2])]:
            if rng.random() < 0.7:
                history.read(claim, reviewer, *(["figure"] if rng.random() < 0.2 else []))
            history.approve(claim, reviewer)
        if len(history.of(claim).approvals) == 2 and rng.random() < 0.2:
            history.age(claim, rng.randint(0, 3))
        if history.of(claim).binds and rng.random() < 0.2:
            history.dispute(claim, pages[0])
    return history


def act_alone(history: History, rng: random.Random) -> None:
    """What one account may do by itself: enter a claim, or confirm, dispute, or be the first to approve one."""
    facts = history.facts
    claim = rng.choice(list(facts.claims.values()))
    match rng.choice(["enter", "confirm", "dispute", "empty", "approve"]):
        case "enter":
            history.claim(roof_limit("500"), cites=["D2"], author="somebody")
        case "confirm":
            history.confirm(VEHICLE, "somebody")
        case "dispute" if claim.state == "approved":
            history.dispute(claim.id, "D2")
        case "empty":
            history.dispute(claim.id, None)
        case "approve" if claim.state == "submitted":
            history.read(claim.id, "somebody")
            history.approve(claim.id, "somebody")
        case _:
            history.age(claim.id, (claim.overdue_years or 0) + rng.randint(0, 3))


@steady
@given(seeds)
def test_no_account_alone_and_no_time_raises_an_answer(seed: int) -> None:
    rng = random.Random(seed)
    history = random_registry(rng)
    before = dossier_of(history.facts, VEHICLE)
    act_alone(history, rng)
    after = dossier_of(history.facts, VEHICLE)

    assert after is not None
    assert {change.effect for change in changes(before, after)} <= {Effect.LOWERED, Effect.EMPTIED}


def test_a_context_read_from_a_case_is_the_case_s() -> None:
    assert context_of({"year": 2021, "roofs": ["bare"]}) == Context(2021, None, ("bare",), None)
