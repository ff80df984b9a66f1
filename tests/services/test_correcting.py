"""A steward corrects a record (decision 13): what is less counts at once, what is more once two others confirmed it."""

from typing import Any

import msgspec
import pytest

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError
from app.services import looking, subjects
from app.services.finding import Finder
from app.services.inputs import NewFitment, NewFixing
from app.services.views.records import RecordView
from tests.services.placed import CARRIER, ONE, Desk
from tests.services.test_placing import on, refused, vetted
from tests.services.trade import VEHICLE, Trade


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here follows from the rules; histories of all of it are lived on PostgreSQL too."""
    return sqlite_url


@pytest.fixture
def desk(trade: Trade) -> Desk:
    return Desk(trade)


def record(desk: Desk, subject: Subject) -> RecordView:
    with desk.trade.database.read() as session:
        return looking.record(session, subject)


def test_a_correction_replaces_what_the_record_says_and_never_its_slug(desk: Desk) -> None:
    desk.confirm_record(ONE)
    desk.correct(ONE, model="Tern", series=None, years={"from": 2018, "to": 2023}, bodies=["wagon", "hatch"])
    shown = record(desk, ONE)
    assert (shown.id, shown.model, shown.series, shown.bodies) == (ONE.id, "Tern", None, ("hatch", "wagon"))
    assert (shown.confirmed, shown.confirmations) == (False, 0)
    desk.confirm_record(ONE)
    assert record(desk, ONE).confirmed


def test_only_a_steward_corrects_and_only_what_is_there(desk: Desk) -> None:
    for by in ("writer", "first"):
        with refused("role_too_low"):
            desk.correct(ONE, by=by, model="Tern")
    with refused("no_such_vehicle"):
        desk.correct(Subject(SubjectKind.VEHICLE, "orrin-nothing"), model="Tern")
    with refused("nothing_corrected"):
        desk.correct(ONE)
    with refused("no_such_category"):
        desk.correct(desk.gear(), category="piano")


def test_who_corrected_a_record_is_not_one_of_the_two_who_confirm_it(desk: Desk) -> None:
    desk.correct(ONE, model="Tern")
    with refused("own_record"):
        desk.confirm_record(ONE, "steward")
    desk.confirm_record(ONE, "first", "second")


def test_nobody_confirms_what_they_said_themselves_once_another_has_corrected_the_rest(desk: Desk) -> None:
    entered = Subject(SubjectKind.VEHICLE, desk.trade.vehicle(by="first", model="Mere", series=None, bodies=["van"]))
    desk.correct(entered, model="Meer", series=None, bodies=["van"])
    desk.correct(entered, by="other steward", model="Mear", series=None, bodies=["van"])
    for by in ("first", "steward", "other steward"):
        with refused("own_record"):
            desk.confirm_record(entered, by)
    desk.confirm_record(entered, "second", "third")
    # What two others have checked is nobody's own any more.
    desk.correct(entered, model="Mere", series=None, bodies=["van"])
    desk.confirm_record(entered, "first", "other steward")


def test_a_fitment_is_multiplied_by_the_feet_of_the_fixing_that_a_correction_names(desk: Desk) -> None:
    trade = desk.trade

    def fixing(model: str, feet: int) -> str:
        body = {"maker": "pellwick", "model": model, "feet": feet, "holds": ["gutter"]}
        added = trade.do("writer", lambda work: subjects.add_fixing(work, msgspec.convert(body, NewFixing)))
        desk.confirm_record(Subject(SubjectKind.FIXING, added))
        return added

    four, six = fixing("Clamp", 4), fixing("Gripper", 6)
    new = NewFitment(VEHICLE, CARRIER.id, four)
    fitment = Subject(SubjectKind.FITMENT, trade.do("writer", lambda work: subjects.add_fitment(work, new)))
    desk.confirm_record(fitment)
    rating: dict[str, Any] = {"quantity": "load_rating", "basis": "excludes_carrier", "scope": {}, "per": "foot"}
    paper = trade.paper("pellwick")
    trade.approve(trade.claim(stated={"value": "20", "unit": "kg"}, paper=paper, **{**on(fitment), **rating}))

    def net() -> float:
        return float(desk.answer(fitment)["figure"]["net"]["value"])

    assert net() == 80
    desk.correct(fitment, fixing=six)
    assert net() <= 80
    desk.confirm_record(fitment)
    assert net() == 120


def test_a_corrected_name_may_not_be_anothers(desk: Desk) -> None:
    other = desk.another()
    with refused("near_duplicate"):
        desk.correct(other, model="Tarn", series="T2")
    desk.correct(other, model="Tarn", series="T2", distinct_from=[ONE.id])
    assert record(desk, other).model == "Tarn"


def test_a_corrected_name_is_found(desk: Desk) -> None:
    finder = Finder(desk.trade.database)
    assert finder.find(SubjectKind.VEHICLE, "Skerry") == []
    desk.correct(ONE, model="Skerry", series=None)
    assert [each.id for each in finder.find(SubjectKind.VEHICLE, "Skerry")] == [ONE.id]


def test_narrowing_the_record_proves_nothing_until_two_confirm_it(desk: Desk) -> None:
    """A range that is closed leaves no cars for which there is no figure."""
    trade = desk.trade
    desk.correct(ONE, bodies=["dual_cab", "wagon"])
    desk.confirm_record(ONE)
    trade.approve(trade.claim(scope={"bodies": ["dual_cab"], "roofs": "all"}))
    asked: dict[str, Any] = {"context": {"year": 2021}}
    assert desk.gross(ONE, **asked) is None

    desk.correct(ONE, bodies=["dual_cab"])
    assert desk.gross(ONE, **asked) is None
    desk.confirm_record(ONE, "first")
    assert desk.gross(ONE, **asked) is None
    desk.confirm_record(ONE, "second")
    assert desk.gross(ONE, **asked) == 75


def test_widening_the_record_opens_it_at_once_but_lets_no_car_in(desk: Desk) -> None:
    trade = desk.trade
    desk.correct(ONE, bodies=["dual_cab"])
    desk.confirm_record(ONE)
    trade.approve(trade.claim(scope={"bodies": ["dual_cab"], "roofs": "all"}))
    trade.approve(trade.claim(scope={"bodies": ["wagon"], "roofs": "all"}))
    assert desk.gross(ONE, context={"year": 2021}) == 75

    desk.correct(ONE, bodies=["dual_cab", "wagon", "hatch"])
    assert desk.gross(ONE, context={"year": 2021}) is None
    with pytest.raises(CantrailError, match="dual_cab"):
        desk.answer(ONE, context={"year": 2021, "body": "wagon"})
    desk.confirm_record(ONE)
    assert desk.gross(ONE, context={"year": 2021, "body": "wagon"}) == 75


def rated(desk: Desk, kilograms: str, per: str) -> str:
    trade = desk.trade
    said: dict[str, Any] = {"quantity": "load_rating", "basis": "includes_carrier", "scope": {}, "per": per}
    paper = trade.paper("pellwick")
    return trade.approve(trade.claim(stated={"value": kilograms, "unit": "kg"}, paper=paper, **{**on(CARRIER), **said}))


def test_counts_multiply_once_two_confirm_them(desk: Desk) -> None:
    rated(desk, "25", "bar")
    assert desk.gross(CARRIER) == 25
    desk.confirm_record(CARRIER)
    assert desk.gross(CARRIER) == 75
    desk.correct(CARRIER, bars=6)
    assert desk.gross(CARRIER) == 25
    desk.confirm_record(CARRIER, "first")
    assert desk.gross(CARRIER) == 25
    desk.confirm_record(CARRIER, "second")
    assert desk.gross(CARRIER) == 150


def test_a_count_in_doubt_makes_no_claims_agree_and_none_stop_contradicting(desk: Desk) -> None:
    """By the old count a rating of 25 for each of three bars stands against one of 25 in all; read as a total, the two
    would agree."""
    desk.confirm_record(CARRIER)
    each, whole = rated(desk, "25", "bar"), rated(desk, "25", "total")

    def sure(claim: str) -> float:
        return desk.trade.view(claim).confidence

    before = (sure(each), sure(whole))
    desk.correct(CARRIER, bars=2)
    after = (sure(each), sure(whole))
    assert all(now <= was for now, was in zip(after, before, strict=True))
    desk.confirm_record(CARRIER)
    assert (sure(each), sure(whole)) == before


def test_a_count_in_doubt_does_not_lift_the_cap_on_a_repeated_rating(desk: Desk) -> None:
    trade = desk.trade
    desk.confirm_record(CARRIER)
    rated(desk, "25", "bar")
    trade.fitment()
    page = trade.paper(kind="maker_page")
    statement = trade.approve(trade.claim(source_type="maker_statement", paper=page))
    assert trade.view(statement).confidence == 0.6
    desk.correct(CARRIER, bars=2)
    assert trade.view(statement).confidence == 0.6
    desk.confirm_record(CARRIER)
    assert trade.view(statement).confidence > 0.6


def test_gear_weighs_by_the_heaviest_category_said_until_two_confirm_one(desk: Desk) -> None:
    vetted(desk, ONE, "100")
    tent = desk.gear("rooftop_tent")

    def weight() -> tuple[float, float]:
        told = desk.budget(gear=[{"id": tent.id}])
        return told["cargo_least"], told["cargo_worst"]

    heavy = weight()
    desk.correct(tent, category="board")
    assert weight() == heavy
    desk.correct(tent, category="skis")
    assert weight() == heavy
    desk.confirm_record(tent)
    assert weight()[1] < heavy[1]


def test_a_fitments_fixing_and_roofs_count_anew_once_confirmed(desk: Desk) -> None:
    trade = desk.trade
    vetted(desk, ONE, "100")
    fitment = Subject(SubjectKind.FITMENT, trade.fitment())
    rating: dict[str, Any] = {"quantity": "load_rating", "basis": "excludes_carrier", "scope": {}}
    paper = trade.paper("pellwick")
    trade.approve(trade.claim(stated={"value": "30", "unit": "kg"}, paper=paper, **{**on(fitment), **rating}))

    def binds() -> bool:
        told = desk.budget(carriers=[{"id": CARRIER.id}])
        return any(each["constraint"] == "fitment" for each in told["constraints"])

    assert binds()
    desk.correct(fitment, roofs=["gutter"])
    assert binds()
    desk.confirm_record(fitment)
    assert not binds()
    desk.correct(fitment, roofs=["track"])
    assert binds()
    with refused("no_such_fixing"):
        desk.correct(fitment, fixing="pellwick-none")


def test_answers_from_before_a_correction_are_had_again(desk: Desk) -> None:
    desk.confirm_record(CARRIER)
    rated(desk, "25", "bar")
    before = desk.answer(CARRIER)["receipt"]
    desk.correct(CARRIER, bars=2)
    pending = desk.answer(CARRIER)["receipt"]
    desk.confirm_record(CARRIER)
    for receipt in (before, pending):
        assert desk.answer(CARRIER, as_of=receipt["as_of"])["receipt"] == receipt
