"""Answers that are kept: shown as they were, and whether they still stand, by which entries."""

import random
from contextlib import suppress
from typing import Any

import msgspec
import pytest
from sqlalchemy import text

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError
from app.persistence import ledger
from app.services import kept as service
from app.services import standing
from app.services.answering import budget_from
from app.services.asked import BudgetIn
from app.services.kept import NewKept, StandingView, keep, look, remove
from app.services.standing import NO_ANSWER, ChangedBy, Effect, effect_of, outcome_of
from tests.services.histories import BusyLife, Receipts, Region
from tests.services.outdoors import Outdoors
from tests.services.placed import KNOWN, Desk
from tests.services.trade import VEHICLE, Trade

LIMIT: dict[str, Any] = {"subject": {"kind": "vehicle", "id": VEHICLE}, "condition": "on_road", "context": KNOWN}
BUDGET: dict[str, Any] = {
    "vehicle": VEHICLE,
    "condition": "on_road",
    "context": KNOWN,
    "gear": [{"name": "awning", "mass": 14, "tolerance": 1}],
}


def new(**asked: Any) -> NewKept:
    return msgspec.convert(asked, NewKept, strict=False)


def kept(trade: Trade, **asked: Any) -> str:
    """Keep an answer, and give its digest."""
    return keep(trade.database, trade.answers, new(**asked), trade.now).receipt.digest


def looked(trade: Trade, digest: str) -> StandingView:
    with trade.database.read() as session:
        return look(session, digest, after=0)


def told(view: StandingView) -> list[tuple[str, str | None, str]]:
    return [(each.type, each.claim, str(each.effect)) for each in view.changes]


def code_of(refused: pytest.ExceptionInfo[CantrailError]) -> str:
    return refused.value.code


def lower(trade: Trade, value: str, *by: str) -> str:
    return trade.approve(trade.claim(stated={"value": value, "unit": "kg"}), *(by or ("third",)))


def test_a_kept_answer_says_what_became_of_it(trade: Trade) -> None:
    high = trade.approve(trade.claim())
    limit, budget = kept(trade, limit=LIMIT), kept(trade, budget=BUDGET)
    assert [looked(trade, each).standing for each in (limit, budget)] == ["stands", "stands"]
    assert looked(trade, limit).answer["figure"]["gross"]["value"] == 75.0

    low = lower(trade, "50")

    for digest in (limit, budget):
        assert looked(trade, digest).standing == "lowered"
        assert told(looked(trade, digest)) == [("claim_decided", low, "lowered")]
    view = looked(trade, limit)
    assert (view.answer["figure"]["gross"]["value"], view.now and view.now["figure"]["gross"]["value"]) == (75.0, 50.0)
    assert view.answer["receipt"]["digest"] == limit

    dispute = trade.dispute("other writer", high, document=trade.paper())
    assert looked(trade, limit).standing == "emptied"
    trade.settle("fourth", dispute, "uphold")
    against = trade.dispute("other writer", low, document=trade.paper())
    for by in ("first", "second"):
        trade.settle(by, against, "refute", code="misread")

    assert looked(trade, limit).standing == looked(trade, budget).standing == "stands"
    assert told(looked(trade, limit)) == [
        ("claim_decided", low, "lowered"),
        ("claim_disputed", high, "emptied"),
        ("dispute_settled", high, "filled"),
        ("dispute_settled", low, "raised"),
    ]
    first = looked(trade, limit).changes[0]
    with trade.database.read() as session:
        (entry,) = ledger.entries_after(session, after=first.seq - 1, limit=1)
    assert (entry.at, entry.actor) == (first.at, trade.account("third"))


def test_a_kept_refusal_says_that_there_is_a_figure_now(trade: Trade) -> None:
    limit, budget = kept(trade, limit=LIMIT), kept(trade, budget=BUDGET)
    claim = trade.approve(trade.claim())

    assert [looked(trade, each).standing for each in (limit, budget)] == ["filled", "filled"]
    assert told(looked(trade, budget))[-1] == ("claim_decided", claim, "filled")
    assert looked(trade, limit).answer["refusal"]["kind"] == "no_claim"


def test_a_later_entry_on_something_else_changes_nothing(trade: Trade) -> None:
    trade.approve(trade.claim())
    digest = kept(trade, limit=LIMIT)
    there = trade.vehicle(model="Fellwater", series=None)
    trade.approve(trade.claim(subject={"kind": "vehicle", "id": there}))
    trade.claim(stated={"value": "40", "unit": "kg"})

    view = looked(trade, digest)

    assert (view.standing, view.changes, view.next) == ("stands", [], None)
    assert view.now is not None
    assert view.now["unreviewed_lower"] != []
    assert view.head == trade.database.probe()


def test_the_same_answer_is_kept_once(trade: Trade) -> None:
    trade.approve(trade.claim())
    first = keep(trade.database, trade.answers, new(limit=LIMIT), trade.now)
    trade.vehicle(model="Fellwater", series=None)
    trade.now = trade.now.replace(year=2027)
    again = [
        keep(trade.database, trade.answers, new(limit={**LIMIT, "as_of": as_of}), trade.now)
        for as_of in (None, first.receipt.as_of, trade.database.probe())
    ]
    assert again == [first, first, first]
    with trade.database.read() as session:
        assert session.connection().execute(text("SELECT count(*) FROM kept_receipt")).scalar_one() == 1
    assert first.address == f"/api/v1/receipts/{first.receipt.digest.removeprefix('sha256:')}"


def test_an_answer_as_of_then_is_kept_as_of_then(trade: Trade) -> None:
    trade.approve(trade.claim())
    then = trade.database.probe()
    lower(trade, "50")

    digest = kept(trade, budget={**BUDGET, "as_of": then})

    view = looked(trade, digest)
    assert (view.answer["allowed_cargo"], view.standing) == (75.0, "lowered")
    assert view.request["budget"]["as_of"] is None
    assert view.request["budget"]["gear"][0]["name"] == "awning"


@pytest.mark.parametrize("form", ["{}", "sha256:{}", "SHA256:{}"])
def test_a_digest_is_found_in_every_form(form: str, trade: Trade) -> None:
    bare = kept(trade, limit=LIMIT).removeprefix("sha256:")
    assert looked(trade, form.format(bare)).receipt.digest == f"sha256:{bare}"
    assert looked(trade, form.format(bare.upper())).receipt.digest == f"sha256:{bare}"


@pytest.mark.parametrize("digest", ["", "x1", "0" * 64, f"sha256:{'0' * 63}", f"md5:{'0' * 64}", "\u0660" * 64])
def test_what_is_not_kept_is_not_found(digest: str, trade: Trade) -> None:
    with pytest.raises(CantrailError) as refused:
        looked(trade, digest)
    assert code_of(refused) == "no_such_receipt"


@pytest.mark.parametrize(
    ("asked", "pointer", "code"),
    [
        ({}, "", "limit_or_budget"),
        ({"limit": LIMIT, "budget": BUDGET}, "", "limit_or_budget"),
        ({"limit": {**LIMIT, "condition": None}}, "/limit/condition", "condition_missing"),
        ({"limit": {**LIMIT, "as_of": 9999}}, "/limit/as_of", "not_yet"),
        (
            {"limit": {**LIMIT, "subject": {"kind": "vehicle", "id": "none"}}},
            "/limit/subject/id",
            "no_such_vehicle",
        ),
        ({"budget": {**BUDGET, "vehicle": "none"}}, "/budget/vehicle", "no_such_vehicle"),
        ({"budget": {**BUDGET, "gear": [{"mass": -1}]}}, "/budget/gear/0/mass", "bad_mass"),
    ],
)
def test_what_cannot_be_answered_is_not_kept(asked: dict[str, Any], pointer: str, code: str, trade: Trade) -> None:
    with pytest.raises(CantrailError) as refused:
        kept(trade, **asked)
    assert [(each.pointer, each.code) for each in refused.value.faults] == [(pointer, code)]
    with trade.database.read() as session:
        assert session.connection().execute(text("SELECT count(*) FROM kept_receipt")).scalar_one() == 0


def test_a_request_is_kept_up_to_a_size(trade: Trade) -> None:
    gear = [{"name": "x" * 80, "mass": 1} for _ in range(200)]
    assert trade.answers.budget(msgspec.convert({**BUDGET, "gear": gear}, BudgetIn, strict=False))
    with pytest.raises(CantrailError) as refused:
        kept(trade, budget={**BUDGET, "gear": gear})
    assert code_of(refused) == "request_too_large"


def test_a_steward_removes_what_somebody_typed_for_good(trade: Trade) -> None:
    asked = {**BUDGET, "gear": [{"name": "the trunk of somebody with a name", "mass": 20}]}
    digest = kept(trade, budget=asked)
    with pytest.raises(CantrailError) as low:
        trade.do("first", lambda work: remove(work, digest))
    assert code_of(low) == "role_too_low"

    trade.do("steward", lambda work: remove(work, digest))

    for again in (lambda: looked(trade, digest), lambda: kept(trade, budget=asked)):
        with pytest.raises(CantrailError) as gone:
            again()
        assert code_of(gone) == "receipt_removed"
    with pytest.raises(CantrailError) as twice:
        trade.do("steward", lambda work: remove(work, digest))
    assert code_of(twice) == "receipt_removed"
    with trade.database.read() as session:
        row = session.connection().execute(text("SELECT * FROM kept_receipt")).one()
    assert "somebody" not in repr(row)
    assert row.removed_by == trade.account("steward")


@pytest.mark.parametrize("changed", ["as_of = as_of - 1", "request = replace(request, '0.8', '0.7')"])
def test_an_answer_that_comes_out_otherwise_is_never_shown(changed: str, trade: Trade) -> None:
    trade.approve(trade.claim())
    digest = kept(trade, limit=LIMIT)
    with trade.database.write() as session:
        session.connection().execute(text(f"UPDATE kept_receipt SET {changed}"))
    with pytest.raises(CantrailError) as broken:
        looked(trade, digest)
    assert code_of(broken) == "receipt_broken"


def test_a_car_that_there_turned_out_not_to_be_is_refused_and_not_answered(trade: Trade) -> None:
    trade.approve(trade.claim(scope={"years": "all", "bodies": "all", "roofs": "all"}))
    digest = kept(trade, limit={**LIMIT, "context": {**KNOWN, "year": 2024}})
    Desk(trade).correct(Subject(SubjectKind.VEHICLE, VEHICLE), years={"from": 2019, "to": 2023})
    trade.confirm("first", "second")

    view = looked(trade, digest)

    assert (view.standing, view.now) == ("emptied", None)
    assert view.refused is not None
    assert view.refused.code == "context_ruled_out"
    assert told(view)[-1] == ("record_confirmed", None, "emptied")


def test_an_answer_on_a_subject_that_was_merged_is_followed(trade: Trade) -> None:
    desk = Desk(trade)
    other = desk.another()
    trade.approve(trade.claim(subject={"kind": "vehicle", "id": other.id}))
    digest = kept(trade, limit={**LIMIT, "subject": {"kind": "vehicle", "id": other.id}})
    lower(trade, "50")
    assert looked(trade, digest).standing == "stands"

    desk.merge(other, Subject(SubjectKind.VEHICLE, VEHICLE))

    view = looked(trade, digest)
    assert (view.standing, told(view)) == ("lowered", [("subjects_merged", None, "lowered")])
    assert view.now is not None
    assert (view.answer["subject"], view.now["subject"]) == (other.id, VEHICLE)


def test_other_figures_are_kept_too(outdoors: Outdoors) -> None:
    carrier = {"kind": "carrier", "id": "pellwick-slatten"}
    said: dict[str, Any] = {"subject": carrier, "condition": None, "scope": {}}
    mass = {**said, "quantity": "own_mass", "basis": "includes_fixing", "stated": {"value": "25", "unit": "kg"}}
    factor = {**said, "quantity": "off_road_factor", "basis": None, "stated": {"value": "2/3", "unit": "factor"}}
    digests = [kept(outdoors, limit={"subject": carrier, "quantity": each["quantity"]}) for each in (mass, factor)]
    for each in (mass, factor):
        outdoors.approve(outdoors.claim(paper=outdoors.paper("pellwick"), **each))

    assert [looked(outdoors, digest).standing for digest in digests] == ["filled", "filled"]


# Against asking as of every entry


def naive(trade: Trade, view: StandingView) -> list[ChangedBy]:
    """The entries that changed an answer, found by asking as of each there is."""
    asked = msgspec.convert(view.request, NewKept, strict=False)
    found: list[ChangedBy] = []
    with trade.database.read() as session:
        entries = ledger.entries_after(session, after=view.receipt.as_of - 1, limit=100_000)
        work = service._work(asked)
        was = None
        for entry in entries:
            now, _ = standing.outcome_or_none(work, service._AsOf(session, entry.seq))
            if was is not None and (effect := effect_of(was, now)) is not Effect.STANDS:
                claim = getattr(entry.payload, "claim", None)
                found.append(ChangedBy(entry.seq, entry.at, entry.payload.type, claim, effect))
            was = now
    return found


@pytest.mark.parametrize("history", range(2))
def test_the_entries_named_are_those_after_which_the_answer_is_another(
    history: int, outdoors: Outdoors, monkeypatch: pytest.MonkeyPatch
) -> None:
    rng = random.Random(f"walk {history}")
    book = Receipts()
    digests: list[str] = []

    def take(life: Any) -> None:
        if rng.random() < 0.1:
            with suppress(CantrailError):
                taken = book.take(outdoors.answers, life, rng)
                asked = msgspec.to_builtins(taken.asked)
                if taken.subject is None:
                    digests.append(kept(outdoors, budget=asked))
                else:
                    digests.append(kept(outdoors, limit={**asked, "subject": msgspec.to_builtins(taken.subject)}))

    Region(outdoors, rng, ["Aldous"], BusyLife).live(110, take)
    changed = 0
    for digest in list(dict.fromkeys(digests))[: 8 if outdoors.database.is_sqlite else 4]:
        monkeypatch.setattr(standing, "MOST_WORK", 1500)
        view = looked(outdoors, digest)
        expected = naive(outdoors, view)
        assert view.changes == expected
        assert view.next is None
        changed += len(expected)
        # In pages of one step each, it is the same.
        monkeypatch.setattr(standing, "MOST_WORK", 1)
        found, after = [], 0
        for _ in range(10_000):
            with outdoors.database.read() as session:
                page = look(session, digest, after=after)
            found += page.changes
            if page.next is None:
                break
            assert int(page.next) > after
            after = int(page.next)
        assert found == expected
    assert changed > 0


def test_what_is_better_and_what_is_worse(trade: Trade) -> None:
    trade.approve(trade.claim())
    asked = msgspec.convert({**BUDGET, "carriers": []}, BudgetIn, strict=False)
    with trade.database.read() as session:
        answer = budget_from(service._AsOf(session, trade.database.probe()), asked)
    was = outcome_of(answer)

    def after(**changed: Any) -> Effect:
        return effect_of(was, outcome_of(msgspec.structs.replace(answer, **changed)))

    assert after() is Effect.STANDS
    assert after(allowed_cargo=74.999) is after(verdict="over") is after(vetted=False) is Effect.LOWERED
    assert after(verdict="unknown") is after(verdict="marginal") is after(remaining_worst=1.0) is Effect.LOWERED
    assert after(allowed_cargo=76.0) is Effect.RAISED
    assert after(allowed_cargo=76.0, remaining=1.0) is Effect.LOWERED
    assert after(allowed_cargo=None) is effect_of(was, NO_ANSWER) is Effect.EMPTIED
    assert effect_of(NO_ANSWER, was) is Effect.FILLED
    over, unknown = (outcome_of(msgspec.structs.replace(answer, verdict=each)) for each in ("over", "unknown"))
    assert effect_of(over, unknown) is effect_of(unknown, over) is Effect.LOWERED
    assert effect_of(over, was) is Effect.RAISED
