"""When two are one, and when one is two (decision 13): nothing by one account, nothing lost, every answer had again."""

from collections.abc import Callable
from typing import Any

import msgspec
import pytest
from sqlalchemy import text

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError
from app.core.lifecycle import State
from app.core.placement import PlacementState
from app.persistence import ledger, projection
from app.persistence.base import table_of
from app.persistence.projection import PROJECTED
from app.services import changes, enquiries, looking
from app.services.answering import Answers
from app.services.asked import LimitIn
from app.services.finding import Finder
from app.services.inputs import NewEnquiry
from app.services.views.enquiries import enquiry_page
from tests.services.placed import CARRIER, ONE, Desk
from tests.services.trade import VEHICLE, Trade


@pytest.fixture
def desk(trade: Trade) -> Desk:
    return Desk(trade)


def on(subject: Subject) -> dict[str, Any]:
    return {"subject": {"kind": str(subject.kind), "id": subject.id}}


def refused(code: str) -> "pytest.RaisesExc[CantrailError]":
    return pytest.RaisesExc(
        CantrailError, check=lambda error: code in {error.code, *(each.code for each in error.faults)}
    )


def vetted(desk: Desk, subject: Subject, kilograms: str) -> str:
    trade = desk.trade
    return trade.approve(trade.claim(stated={"value": kilograms, "unit": "kg"}, **on(subject)))


# Two are one


def test_a_merged_subject_is_answered_as_the_other_with_the_lower_of_both(desk: Desk) -> None:
    other = desk.another()
    vetted(desk, ONE, "100")
    vetted(desk, other, "75")
    assert (desk.gross(ONE), desk.gross(other)) == (100, 75)

    desk.merge(other, ONE)

    assert (desk.gross(ONE), desk.gross(other)) == (75, 75)
    assert desk.answer(other)["subject"] == VEHICLE
    assert desk.budget(vehicle=other.id)["ceiling"] == 75


def test_nothing_happens_until_somebody_else_confirms(desk: Desk) -> None:
    other = desk.another()
    vetted(desk, ONE, "100")
    vetted(desk, other, "75")
    before = [desk.body(ONE), desk.body(other)]

    id = desk.propose(other, ONE)

    assert [desk.body(ONE), desk.body(other)] == before
    with refused("own_proposal"):
        desk.agree(id, by="steward")
    with refused("role_too_low"):
        desk.agree(id, by="writer")
    assert [desk.body(ONE), desk.body(other)] == before
    desk.agree(id)
    assert desk.gross(ONE) == 75
    with refused("not_now"):
        desk.agree(id, by="fourth")


def test_what_is_refused_or_withdrawn_comes_to_nothing(desk: Desk) -> None:
    other = desk.another()
    first = desk.propose(other, ONE)
    with refused("already_proposed"):
        desk.propose(ONE, other)
    with refused("own_proposal"):
        desk.refuse(first, by="steward")
    with refused("missing"):
        desk.refuse(first, reason=None)
    desk.refuse(first)
    second = desk.propose(other, ONE)
    with refused("not_the_proposer"):
        desk.withdraw(second, by="writer")
    desk.withdraw(second)
    for id, state in ((first, PlacementState.REFUSED), (second, PlacementState.WITHDRAWN)):
        assert desk.placement(id).state is state
        with refused("not_now"):
            desk.agree(id)


def test_only_a_steward_proposes(desk: Desk) -> None:
    other = desk.another()
    for by in ("writer", "first"):
        with refused("role_too_low"):
            desk.propose(other, ONE, by=by)


def test_answers_from_before_are_had_again_for_ever(desk: Desk) -> None:
    other = desk.another()
    vetted(desk, ONE, "100")
    vetted(desk, other, "75")
    before = {subject: desk.answer(subject)["receipt"] for subject in (ONE, other)}

    merger = desk.merge(other, ONE)
    merged = {subject: desk.answer(subject)["receipt"] for subject in (ONE, other)}
    desk.undo(merger)

    afresh = Answers(desk.trade.database, 10)
    for told in (before, merged):
        for subject, receipt in told.items():
            again = desk.answer(subject, as_of=receipt["as_of"])["receipt"]
            assert again == receipt
            asked = msgspec.convert(
                {
                    "condition": "on_road",
                    "as_of": receipt["as_of"],
                    "context": {"year": 2021, "body": "dual_cab", "roofs": ["bare"], "market": "NZ"},
                },
                LimitIn,
            )
            assert msgspec.json.decode(afresh.limit(subject, asked).body)["receipt"] == receipt
    # A request names what it named: the same figure, asked for under two names, are two questions.
    assert merged[ONE]["digest"] != merged[other]["digest"]
    assert merged[ONE]["as_of"] == merged[other]["as_of"]


def test_a_merged_subject_takes_nothing_new(desk: Desk) -> None:
    other = desk.another()
    desk.merge(other, ONE)
    attempts: list[Callable[[], object]] = [
        lambda: desk.trade.claim(**on(other)),
        lambda: desk.confirm_record(other),
        lambda: desk.correct(other),
        lambda: desk.propose(other, ONE),
        lambda: desk.propose(ONE, other),
        lambda: desk.propose_split(ONE, other, "C1"),
        lambda: desk.trade.fitment(vehicle=other.id),
    ]
    for attempt in attempts:
        with pytest.raises(CantrailError) as error:
            attempt()
        assert (error.value.code, error.value.details["into"]) == ("merged", VEHICLE)


def test_what_is_merged_meanwhile_is_not_merged_again(desk: Desk) -> None:
    second, third = desk.another(), desk.another(model="Loch")
    there = desk.propose(second, ONE)
    back = desk.propose(third, second)
    desk.agree(there)
    with refused("merged"):
        desk.agree(back)
    desk.merge(ONE, third)
    vetted(desk, third, "60")
    assert [desk.gross(each) for each in (ONE, second, third)] == [60, 60, 60]


def test_what_does_not_go_together_is_not_merged(desk: Desk) -> None:
    with refused("same_subject"):
        desk.propose(ONE, ONE)
    with refused("no_such_vehicle"):
        desk.propose(ONE, Subject(SubjectKind.VEHICLE, "orrin-nothing"))
    with refused("no_such_placement"):
        desk.agree("M1")


def test_claims_on_both_agree_and_supersede_as_if_entered_on_one(desk: Desk) -> None:
    other = desk.another()
    trade = desk.trade
    old = vetted(desk, other, "100")
    desk.merge(other, ONE)
    new = trade.claim(stated={"value": "70", "unit": "kg"}, supersedes=old, paper=trade.paper())
    trade.approve(new)
    assert trade.view(old).state is State.SUPERSEDED
    assert desk.gross(other) == 70


def test_what_was_rejected_on_one_is_not_entered_again_on_the_other(desk: Desk) -> None:
    other, trade = desk.another(), desk.trade
    paper = trade.paper()
    rejected = trade.claim(paper=paper, **on(other))
    trade.decide("first", rejected, "reject", code="misread")
    desk.merge(other, ONE)
    with refused("rejected_before"):
        trade.claim(paper=paper)


def test_a_merged_subject_is_found_and_shown_but_not_listed(desk: Desk) -> None:
    other = desk.another()
    claim = vetted(desk, other, "75")
    desk.merge(other, ONE)
    with desk.trade.database.read() as session:
        listed = [each.id for each in looking.records(session, SubjectKind.VEHICLE, cursor=None, limit=50).items]
        shown = looking.record(session, other)
        claims = [each.id for each in looking.claims_on(session, other, after=0, limit=50).items]
        history = looking.history(session, claim, after=0, limit=50).items
    assert listed == [VEHICLE]
    assert (shown.id, shown.merged_into) == (other.id, VEHICLE)
    assert claims == [claim]
    assert history[0].payload["subject"]["id"] == other.id
    assert [each.id for each in Finder(desk.trade.database).find(SubjectKind.VEHICLE, "Mere")][:1] == [other.id]
    # A third that is like it is told which one to use.
    with pytest.raises(CantrailError) as error:
        desk.another(model="Meree")
    assert error.value.details["resembles"][0]["id"] == VEHICLE  # type: ignore[index]


def test_enquiries_about_one_are_about_the_other(desk: Desk) -> None:
    other = desk.another()
    asked = {
        **on(other),
        "asked": "orrin",
        "quantity": "roof_limit",
        "conditions": ["on_road"],
        "channel": "letter",
        "questions": "What may it carry?",
        "asked_on": "2026-01-05",
    }
    id = desk.trade.do("writer", lambda work: enquiries.put(work, msgspec.convert(asked, NewEnquiry)))
    desk.merge(other, ONE)
    desk.trade.daily(days=60)
    refusal = desk.answer(ONE)["refusal"]
    assert (refusal["kind"], refusal["enquiries"][0]["id"]) == ("asked_no_answer", id)
    with desk.trade.database.read() as session:
        for subject in (ONE, other):
            page = enquiry_page(session, after=0, limit=10, subject_kind=SubjectKind.VEHICLE, subject=subject.id)
            assert [each.id for each in page.items] == [id]


def test_the_feed_tells_of_both(desk: Desk) -> None:
    other = desk.another()
    vetted(desk, ONE, "100")
    vetted(desk, other, "75")
    with desk.trade.database.read() as session:
        head = ledger.head(session)
    desk.merge(other, ONE)
    with desk.trade.database.read() as session:
        items = changes.changes(session, after=head, limit=50).items
    told = {(plate.vehicle, plate.effect) for item in items for plate in item.plates}
    # The proposal tells of nothing, the merger of the one that it lowered, under its name.
    assert (VEHICLE, "lowered") in told
    assert items[0].plates == []


def test_records_that_say_the_same_were_confirmed_by_whoever_confirmed_either(desk: Desk) -> None:
    other = desk.another()
    desk.confirm_record(ONE, "first")
    desk.confirm_record(other, "second")
    desk.merge(other, ONE)
    with desk.trade.database.read() as session:
        shown = looking.record(session, ONE)
    assert (shown.confirmed, shown.confirmations) == (True, 2)


def test_records_that_differ_are_confirmed_anew(desk: Desk) -> None:
    other = desk.another(bodies=["wagon"])
    for subject in (ONE, other):
        desk.confirm_record(subject)
    merger = desk.merge(other, ONE)
    with desk.trade.database.read() as session:
        shown = looking.record(session, ONE)
    assert (shown.confirmed, shown.confirmations) == (False, 0)
    desk.confirm_record(ONE)
    desk.undo(merger)
    with desk.trade.database.read() as session:
        now = [looking.record(session, each).confirmed for each in (ONE, other)]
    assert now == [False, True]


def test_a_merged_carrier_is_the_other_in_budgets_fitments_and_caps(desk: Desk) -> None:
    trade = desk.trade
    twin = trade.carrier(model="Mellow")
    vetted(desk, ONE, "100")
    fitment = trade.fitment(carrier=twin.id)
    rating: dict[str, Any] = {
        "quantity": "load_rating",
        "condition": "on_road",
        "basis": "excludes_carrier",
        "scope": {},
    }
    mass: dict[str, Any] = {"quantity": "own_mass", "condition": None, "basis": "not_stated", "scope": {}}
    made: dict[str, Any] = {"paper": trade.paper("pellwick")}
    trade.approve(trade.claim(stated={"value": "50", "unit": "kg"}, **{**on(twin), **rating, **made}))
    trade.approve(trade.claim(stated={"value": "20", "unit": "kg"}, **{**on(CARRIER), **mass, **made}))
    limits = {**on(Subject(SubjectKind.FITMENT, fitment)), **rating, **made}
    trade.approve(trade.claim(stated={"value": "30", "unit": "kg"}, **limits))

    def budget(carrier: str) -> dict[str, float]:
        told = desk.budget(carriers=[{"id": carrier}], fixing="built_in")
        return {each["constraint"]: each["cargo_allowed"] for each in told["constraints"]}

    assert "fitment" not in budget(CARRIER.id)
    merger = desk.merge(twin, CARRIER)
    for carrier in (CARRIER.id, twin.id):
        assert budget(carrier) == {"vehicle_roof": 80, "carrier": 50, "fitment": 30}
    desk.undo(merger)
    assert "fitment" not in budget(CARRIER.id)


# One is two


def test_a_split_places_claims_and_fitments_on_the_other(desk: Desk) -> None:
    other, trade = desk.another(), desk.trade
    low, high = vetted(desk, ONE, "75"), vetted(desk, ONE, "100")
    fitment = trade.fitment()
    before = desk.answer(ONE)["receipt"]

    split = desk.propose_split(ONE, other, low, fitments=(fitment,))
    assert desk.gross(ONE) == 75
    desk.agree(split)

    assert (desk.gross(ONE), desk.gross(other)) == (100, 75)
    assert trade.view(low).subject == other
    assert trade.view(high).subject == ONE
    with trade.database.read() as session:
        assert looking.fitments(session, cursor=None, limit=9, vehicle=other.id).items[0].id == fitment
        assert looking.fitments(session, cursor=None, limit=9, vehicle=VEHICLE).items == []
        assert looking.history(session, low, after=0, limit=50).items[-1].type == "claims_placed"
    assert desk.answer(ONE, as_of=before["as_of"])["receipt"] == before
    # What is decided on it from now on is decided on the other's.
    trade.dispute("writer", low, document=trade.paper())
    assert desk.gross(other) is None
    assert desk.gross(ONE) == 100


def test_only_what_is_the_subjects_own_is_placed_elsewhere(desk: Desk) -> None:
    other = desk.another()
    claim = vetted(desk, other, "75")
    for code, claims, fitments in (
        ("no_such_claim", (claim,), ()),
        ("no_such_claim", ("C999",), ()),
        ("no_such_fitment", (), ("F999",)),
        ("nothing_moved", (), ()),
    ):
        with refused(code):
            desk.propose_split(ONE, other, *claims, fitments=fitments)
    tent, gear = desk.gear(), Subject(SubjectKind.GEAR, "pellwick-none")
    with refused("no_such_gear"):
        desk.propose_split(tent, gear, claim)


def test_a_split_that_was_overtaken_is_not_confirmed(desk: Desk) -> None:
    other, third = desk.another(), desk.another(model="Loch")
    claim = vetted(desk, ONE, "75")
    one, two = desk.propose_split(ONE, other, claim), desk.propose_split(ONE, third, claim)
    desk.agree(one)
    with refused("no_such_claim"):
        desk.agree(two)


def test_a_superseded_claim_stands_again_where_its_successor_is_placed_elsewhere(desk: Desk) -> None:
    other, trade = desk.another(), desk.trade
    old = vetted(desk, ONE, "60")
    new = trade.claim(stated={"value": "75", "unit": "kg"}, supersedes=old)
    trade.approve(new)
    vetted(desk, ONE, "100")
    assert desk.gross(ONE) == 75

    split = desk.split(ONE, other, new)

    assert (desk.gross(ONE), desk.gross(other)) == (60, 75)
    desk.undo(split)
    assert trade.view(old).state is State.SUPERSEDED
    assert (desk.gross(ONE), desk.gross(other)) == (75, None)


def test_what_is_worked_back_from_a_claim_placed_elsewhere_sets_no_more(desk: Desk) -> None:
    other, trade = desk.another(), desk.trade
    taken = vetted(desk, ONE, "75")
    derived = trade.claim(
        stated=None,
        condition="parked",
        basis=None,
        source_type="accessory_derived",
        citations=[],
        derivation={"method": "parked_multiple", "takes": [taken], "multiple": 2},
    )
    with trade.database.read() as session:
        before = looking.confidence(session, derived)
    desk.split(ONE, other, taken)
    with trade.database.read() as session:
        after = looking.confidence(session, derived)
    assert before.confidence > 0
    assert (after.confidence, min(cap.at_most for cap in after.caps)) == (0, 0)


# It was wrong


def test_undoing_takes_two_and_puts_everything_back(desk: Desk) -> None:
    other, trade = desk.another(), desk.trade
    theirs = vetted(desk, other, "75")
    vetted(desk, ONE, "100")
    before = {subject: desk.gross(subject) for subject in (ONE, other)}
    merger = desk.merge(other, ONE)
    meanwhile = vetted(desk, ONE, "90")

    undoing = desk.propose_undoing(merger)
    with refused("already_proposed"):
        desk.propose_undoing(merger)
    with refused("own_proposal"):
        desk.agree(undoing, by="steward")
    assert desk.gross(ONE) == 75
    desk.agree(undoing)

    assert before == {ONE: 100, other: 75}
    assert (desk.gross(ONE), desk.gross(other)) == (90, 75)
    assert (trade.view(theirs).subject, trade.view(meanwhile).subject) == (other, ONE)
    assert desk.placement(merger).state is PlacementState.UNDONE
    for id in (merger, undoing):
        with refused("not_in_force"):
            desk.propose_undoing(id)
    desk.merge(ONE, other)
    assert desk.gross(ONE) == 75


def test_undoing_a_merger_leaves_what_a_split_has_placed_since(desk: Desk) -> None:
    other, third = desk.another(), desk.another(model="Loch")
    claim, kept = vetted(desk, other, "75"), vetted(desk, other, "80")
    merger = desk.merge(other, ONE)
    split = desk.split(ONE, third, claim)
    desk.undo(merger)
    assert [desk.trade.view(each).subject for each in (claim, kept)] == [third, other]
    desk.undo(split)
    assert desk.trade.view(claim).subject == other


def test_the_tables_are_made_again_from_the_ledger(desk: Desk) -> None:
    other, third, trade = desk.another(), desk.another(model="Loch"), desk.trade
    claims = [vetted(desk, ONE, "75"), vetted(desk, other, "80")]
    trade.fitment()
    fitment = trade.fitment(vehicle=other.id)
    desk.correct(ONE, bodies=["wagon"])
    desk.confirm_record(other)
    merger = desk.merge(other, ONE)
    desk.split(ONE, third, claims[1], fitments=(fitment,))
    desk.merge(ONE, third)
    desk.undo(merger)
    desk.propose(other, third)

    def rows() -> dict[str, list[str]]:
        with trade.database.read() as session:
            return {
                table_of(row).name: sorted(
                    map(repr, session.connection().execute(text(f"SELECT * FROM {table_of(row).name}")))
                )
                for row in PROJECTED
            }

    before = rows()
    with trade.database.write() as session:
        projection.rebuild(session)
    assert rows() == before
    assert [trade.view(each).subject for each in claims] == [third, third]
