"""Enquiries entered, closed by people and by time, and what answers say of them, now and as of then."""

from typing import Any

import msgspec
import pytest
from sqlalchemy import text

from app.core.claim import Condition, Subject, SubjectKind
from app.core.enquiry import EnquiryState, Outcome
from app.core.errors import CantrailError
from app.core.letter_words import Language
from app.core.refusal import Refusal, RefusalKind
from app.persistence import ledger, projection
from app.persistence.session import Database
from app.services import enquiries, looking, rebuilding
from app.services.answering import Answers
from app.services.asked import LimitIn
from app.services.inputs import EnquiryOutcomeIn, NewEnquiry, NewPublisher
from app.services.letters import letter_view
from app.services.receipts import refusal_numbers
from app.services.subjects import add_publisher
from app.services.views.enquiries import EnquiryView, enquiry_page, enquiry_view
from tests.services.trade import VEHICLE, Trade

ROOF = Subject(SubjectKind.VEHICLE, VEHICLE)
BARE: dict[str, Any] = {
    "subject": {"kind": "vehicle", "id": VEHICLE},
    "asked": "orrin",
    "quantity": "roof_limit",
    "conditions": ["on_road"],
    "channel": "letter",
    "questions": "What may the roof carry?",
    "asked_on": "2026-01-05",
}


def put(trade: Trade, by: str = "writer", **other: Any) -> str:
    new = msgspec.convert({**BARE, **other}, NewEnquiry)
    return trade.do(by, lambda work: enquiries.put(work, new))


def close(trade: Trade, id: str, by: str = "writer", **told: Any) -> None:
    new = msgspec.convert(told, EnquiryOutcomeIn)
    trade.do(by, lambda work: enquiries.close(work, id, new))


def shown(trade: Trade, id: str) -> EnquiryView:
    with trade.database.read() as session:
        return enquiry_view(session, id)


def streams_of(trade: Trade, seq: int) -> tuple[str, ...]:
    with trade.database.read() as session:
        (entry,) = ledger.entries_after(session, after=seq - 1, limit=1)
    return entry.streams


def table(database: Database) -> list[str]:
    with database.read() as session:
        return sorted(map(repr, session.connection().execute(text("SELECT * FROM enquiry"))))


# Entering


def test_what_was_asked_is_kept_and_shown(trade: Trade) -> None:
    id = put(trade, conditions=["parked", "on_road", "parked"], language="en")

    found = shown(trade, id)

    assert id == f"E{trade.database.probe()}"
    assert (found.subject, found.asked, found.asked_name) == (ROOF, "orrin", "Orrin")
    assert found.conditions == (Condition.ON_ROAD, Condition.PARKED)
    assert (found.questions, found.language, found.channel) == ("What may the roof carry?", "en", "letter")
    assert (found.asked_on, found.answer_by) == ("2026-01-05", "2026-02-02")
    assert (found.by, found.state, found.outcome) == (trade.account("writer"), EnquiryState.OPEN, None)
    assert streams_of(trade, int(id[1:])) == (f"enquiry:{id}", f"vehicle:{VEHICLE}", "publisher:orrin/enquiries")
    with trade.database.read() as session:
        (entry,) = ledger.entries_after(session, after=int(id[1:]) - 1, limit=1)
    assert b"What may" not in msgspec.json.encode(entry.payload)


def test_an_enquiry_about_a_fitment_is_its_vehicle_s_business(trade: Trade) -> None:
    fitment = trade.fitment()
    id = put(trade, subject={"kind": "fitment", "id": fitment}, quantity="load_rating")

    assert streams_of(trade, int(id[1:])) == (
        f"enquiry:{id}",
        f"fitment:{fitment}",
        f"vehicle:{VEHICLE}",
        "carrier:pellwick-slatten/fits",
        "publisher:orrin/enquiries",
    )


@pytest.mark.parametrize(
    ("other", "pointer", "code"),
    [
        ({"subject": {"kind": "vehicle", "id": "nothing"}}, "/subject/id", "no_such_vehicle"),
        ({"subject": {"kind": "fitment", "id": "F1"}, "quantity": "load_rating"}, "/subject/id", "no_such_fitment"),
        ({"asked": "nobody"}, "/asked", "no_such_publisher"),
        ({"quantity": "own_mass"}, "/quantity", "wrong_quantity"),
        ({"conditions": []}, "/conditions", "condition_missing"),
        ({"quantity": "off_road_factor"}, "/conditions", "no_condition_here"),
        ({"asked_on": "2026-02-31"}, "/asked_on", "bad_day"),
        ({"asked_on": "0000-01-01"}, "/asked_on", "bad_day"),
        ({"asked_on": "2026-01-07"}, "/asked_on", "day_ahead"),
        ({"answer_by": "2026-01-04"}, "/answer_by", "days_backwards"),
        ({"answer_by": "2026-13-01"}, "/answer_by", "bad_day"),
    ],
)
def test_enquiries_that_are_refused(trade: Trade, other: dict[str, Any], pointer: str, code: str) -> None:
    before = trade.database.probe()
    with pytest.raises(CantrailError) as refused:
        put(trade, **other)
    assert [(each.pointer, each.code) for each in refused.value.faults] == [(pointer, code)]
    assert trade.database.probe() == before


def test_today_may_be_tomorrow_elsewhere(trade: Trade) -> None:
    assert shown(trade, put(trade, asked_on="2026-01-06")).answer_by == "2026-02-03"


# What became of it


def test_an_answer_needs_the_document_that_holds_it(trade: Trade) -> None:
    id = put(trade)
    with pytest.raises(CantrailError) as unfiled:
        close(trade, id, outcome="answered")
    assert (unfiled.value.faults[0].pointer, unfiled.value.code) == ("/document", "answer_not_filed")
    letter = trade.paper(kind="letter")
    told = {"outcome": "answered", "document": letter, "note": "A table.", "answered_on": "2026-01-05"}
    close(trade, id, **told, ask_again="2027-01-05")

    found = shown(trade, id)
    assert (found.state, found.outcome, found.closed_on) == (EnquiryState.CLOSED, Outcome.ANSWERED, "2026-01-05")
    assert (found.document, found.note, found.ask_again) == (letter, "A table.", "2027-01-05")
    assert found.closed_by == trade.account("writer")
    assert f"document:{letter}/cited" in streams_of(trade, trade.database.probe())


@pytest.mark.parametrize(
    ("told", "pointer", "code"),
    [
        ({"document": "D999"}, "/document", "no_such_document"),
        ({"answered_on": "2026-01-04"}, "/answered_on", "days_backwards"),
        ({"answered_on": "2026-02-30"}, "/answered_on", "bad_day"),
        ({"answered_on": "2026-03-01"}, "/answered_on", "day_ahead"),
        ({"ask_again": "2026-01-01"}, "/ask_again", "days_backwards"),
    ],
)
def test_outcomes_that_are_refused(trade: Trade, told: dict[str, Any], pointer: str, code: str) -> None:
    id = put(trade)
    with pytest.raises(CantrailError) as refused:
        close(trade, id, outcome="declined", **told)
    assert [(each.pointer, each.code) for each in refused.value.faults] == [(pointer, code)]
    assert shown(trade, id).state is EnquiryState.OPEN


def test_only_who_asked_says_what_came_back_and_once(trade: Trade) -> None:
    id = put(trade)
    with pytest.raises(CantrailError) as another:
        close(trade, id, "first", outcome="declined")
    assert another.value.code == "not_the_asker"
    close(trade, id, outcome="declined")
    with pytest.raises(CantrailError) as again:
        close(trade, id, outcome="not_rated")
    assert again.value.code == "already_closed"
    with pytest.raises(CantrailError) as nothing:
        close(trade, "E1", outcome="declined")
    assert nothing.value.code == "no_such_enquiry"


def test_time_closes_what_nobody_answered_and_a_late_answer_may_follow(trade: Trade) -> None:
    id, other = put(trade), put(trade, answer_by="2026-12-31")
    assert trade.daily(days=28).unanswered == 0
    assert trade.daily(days=1).unanswered == 1
    assert trade.daily(hours=1).unanswered == 0

    lapsed = shown(trade, id)
    assert (lapsed.outcome, lapsed.closed_on, lapsed.closed_by) == (Outcome.NO_ANSWER, "2026-02-02", "system")
    assert shown(trade, other).state is EnquiryState.OPEN

    with pytest.raises(CantrailError) as again:
        close(trade, id, outcome="no_answer")
    assert again.value.code == "already_closed"
    close(trade, id, outcome="did_not_know", answered_on="2026-02-03")
    assert shown(trade, id).outcome is Outcome.DID_NOT_KNOW
    assert trade.daily(days=1).unanswered == 0


# Answers


def test_a_refusal_says_whom_it_was_asked_of_in_vain(trade: Trade) -> None:
    bare = trade.limit()["refusal"]
    assert (bare["kind"], bare["enquiries"]) == ("no_claim", [])
    id = put(trade)
    assert trade.limit()["refusal"]["kind"] == "no_claim"
    trade.daily(days=29)

    refusal = trade.limit()["refusal"]

    assert refusal["kind"] == "asked_no_answer"
    assert refusal["enquiries"] == [
        {"id": id, "publisher": "orrin", "outcome": "no_answer", "asked_on": "2026-01-05", "on": "2026-02-02"}
    ]
    assert refusal["sentence"].endswith("Asked Orrin on 5 January 2026: no answer by 2 February 2026.")
    assert trade.limit(condition="off_road")["refusal"]["kind"] == "asked_no_answer"

    trade.approve(trade.claim())
    assert trade.gross() == 75.0


def test_where_nothing_was_asked_a_receipt_is_what_it_was() -> None:
    bare = Refusal("roof_limit", "tarn", RefusalKind.NO_CLAIM, None)
    assert refusal_numbers(bare) == ["roof_limit", "tarn", "no_claim", None]


def test_a_later_enquiry_changes_no_answer_as_of_before(trade: Trade) -> None:
    told: dict[int, bytes] = {}

    def remember() -> None:
        head = trade.database.probe()
        told[head] = trade.answers.limit(ROOF, LimitIn(condition=Condition.ON_ROAD)).body

    remember()
    id = put(trade)
    remember()
    trade.daily(days=29)
    remember()
    close(trade, id, outcome="declined")
    remember()
    kinds = [msgspec.json.decode(body)["refusal"]["kind"] for body in told.values()]
    assert kinds == ["no_claim", "no_claim", "asked_no_answer", "asked_no_answer"]
    digests = {msgspec.json.decode(body)["receipt"]["digest"] for body in told.values()}
    assert len(digests) == 4

    afresh = Answers(trade.database, 5)
    for head, body in told.items():
        assert afresh.limit(ROOF, LimitIn(condition=Condition.ON_ROAD, as_of=head)).body == body


def test_an_enquiry_elsewhere_leaves_an_answer_as_it_is(trade: Trade) -> None:
    other = trade.vehicle(model="Ghyllet")
    before = trade.answers.limit(ROOF, LimitIn(condition=Condition.ON_ROAD))
    close(trade, put(trade, subject={"kind": "vehicle", "id": other}), outcome="declined")

    assert trade.answers.limit(ROOF, LimitIn(condition=Condition.ON_ROAD)) == before


def test_an_enquiry_raises_and_lowers_nothing(trade: Trade) -> None:
    trade.approve(trade.claim())
    before = trade.limit()
    for outcome in ("declined", "not_rated", "no_answer", "quoted_carrier_rating"):
        close(trade, put(trade), outcome=outcome)
    now = trade.limit()

    assert now.pop("receipt") != before.pop("receipt")
    assert now == before


def test_a_rebuild_gives_the_same_enquiries(trade: Trade) -> None:
    letter = trade.paper(kind="letter")
    put(trade)
    lapsing, late = put(trade), put(trade, conditions=["off_road", "parked"])
    trade.daily(days=29)
    close(trade, late, outcome="answered", document=letter, note="Late.")
    close(trade, put(trade), outcome="no_answer")
    before = table(trade.database)
    assert len(before) == 4
    assert shown(trade, lapsing).outcome is Outcome.NO_ANSWER
    with trade.database.write() as session:
        rebuilding.rebuild(session)
    assert table(trade.database) == before
    assert any(row.__tablename__ == "enquiry" for row in projection.PROJECTED)


# Lists


def test_enquiries_are_listed_by_what_they_are_about(trade: Trade) -> None:
    trade.do(
        "writer", lambda work: add_publisher(work, msgspec.convert({"name": "Ostrel", "kind": "dealer"}, NewPublisher))
    )
    carrier = {"kind": "carrier", "id": "pellwick-slatten"}
    first, second = put(trade), put(trade, asked="ostrel")
    third = put(trade, subject=carrier, quantity="own_mass", conditions=[])
    close(trade, second, outcome="did_not_know", ask_again="2026-07-01")
    close(trade, third, outcome="declined", ask_again="2027-01-01")

    def listed(**asked: Any) -> list[str]:
        with trade.database.read() as session:
            return [each.id for each in enquiry_page(session, after=0, limit=50, **asked).items]

    assert listed() == [first, second, third]
    assert listed(subject_kind=SubjectKind.VEHICLE) == [first, second]
    assert listed(subject_kind=SubjectKind.CARRIER, subject="pellwick-slatten") == [third]
    assert listed(subject_kind=SubjectKind.GEAR, subject=VEHICLE) == []
    assert listed(publisher="ostrel") == [second]
    assert listed(state=EnquiryState.OPEN) == [first]
    assert listed(state=EnquiryState.CLOSED) == [second, third]
    assert listed(outcome=Outcome.DECLINED) == [third]
    assert listed(ask_again_before="2026-07-01") == []
    assert listed(ask_again_before="2026-07-02") == [second]
    assert listed(ask_again_before="2027-06-01", subject_kind=SubjectKind.CARRIER) == [third]
    with trade.database.read() as session:
        page = enquiry_page(session, after=0, limit=2)
        rest = enquiry_page(session, after=looking.number(page.next), limit=2)
    assert ([each.id for each in page.items], [each.id for each in rest.items]) == ([first, second], [third])
    assert rest.next is None
    with pytest.raises(CantrailError) as refused:
        listed(subject=VEHICLE)
    assert refused.value.faults[0].pointer == "/subject_kind"


# The letter


def test_a_letter_is_to_the_maker_or_to_whom_is_named(trade: Trade) -> None:
    person = msgspec.convert({"name": "A. Body", "kind": "person"}, NewPublisher)
    slug = trade.do("writer", lambda work: add_publisher(work, person))
    with trade.database.read() as session:
        plain = letter_view(session, VEHICLE)
        other = letter_view(session, VEHICLE, to="pellwick", conditions=[Condition.PARKED], language=Language.DE)
        nameless = letter_view(session, VEHICLE, to=slug)

    assert (plain.to, plain.to_name, plain.language, plain.vehicle) == ("orrin", "Orrin", "en", VEHICLE)
    assert plain.subject == "Subject: roof load of the Orrin Tarn T2 (model years 2019 to 2024)"
    assert (other.to_name, other.questions[0].split("\n")[1]) == ("Pellwick", "- im Stand")
    assert nameless.to_name is None
    assert "A. Body" not in nameless.text and "To: ......" in nameless.text


def test_a_letter_asks_only_for_what_is_not_known(trade: Trade) -> None:
    trade.approve(trade.claim(scope={"years": "all", "bodies": "all", "roofs": "all", "markets": "all"}))
    with trade.database.read() as session:
        written = letter_view(session, VEHICLE)
    assert "- driving on sealed roads: 75 kg (counting the carrier)" in written.text
    assert "sealed roads" not in written.questions[0].replace("unsealed roads", "")


@pytest.mark.parametrize(
    ("vehicle", "to", "code"), [("nothing", None, "no_such_vehicle"), (VEHICLE, "nobody", "no_such_publisher")]
)
def test_letters_that_cannot_be_written(trade: Trade, vehicle: str, to: str | None, code: str) -> None:
    with trade.database.read() as session, pytest.raises(CantrailError) as refused:
        letter_view(session, vehicle, to=to)
    assert refused.value.code == code
