"""Enquiries (sections 2.2 and 1): what became of a question, folded from entries, and when it is why there is no figure."""

import pytest

from app.core import entries
from app.core.claim import Condition, Quantity, Subject, SubjectKind
from app.core.dossier import Facts, fold, links
from app.core.enquiry import (
    Asked,
    Channel,
    Enquiry,
    EnquiryState,
    Outcome,
    answer_due,
    came_to_nothing,
    check_close,
    enquiry_facts,
)
from app.core.entries import Entry, Payload, named
from app.core.errors import CantrailError, Kind
from app.core.limits import limit, own_mass
from app.core.permissions import Role
from app.core.refusal import Refusal, RefusalKind
from app.core.scope import UNKNOWN
from app.core.scoring import dossier_of, joined
from app.core.wording import OUTCOMES, asked_sentence, refusal_sentence
from tests.core.builders import (
    DECK,
    HASH,
    OFF_ROAD,
    ON_ROAD,
    PARKED,
    VEHICLE,
    History,
    budget_for,
    mass_said,
    roof_limit,
)

FITMENT = SubjectKind.FITMENT
IN_VAIN = [outcome for outcome in Outcome if outcome is not Outcome.ANSWERED]


def put(
    history: History,
    subject: Subject = VEHICLE,
    quantity: Quantity = Quantity.ROOF_LIMIT,
    conditions: tuple[Condition, ...] = (ON_ROAD,),
    *,
    asked: str = "orrin",
) -> str:
    opened = entries.EnquiryOpened(
        subject, asked, quantity, conditions, "letter", HASH, "2025-02-10", "2025-03-10", None
    )
    return named(entries.ENQUIRY, int(history.tell("asker", opened, at="2025-02-11T08:00:00Z")))


def closed(
    history: History, enquiry: str, outcome: Outcome = Outcome.NO_ANSWER, *, on: str | None = "2025-05-12"
) -> None:
    told = entries.EnquiryClosed(enquiry, outcome, None, None, on, None)
    history.tell("asker", told, at="2025-06-01T08:00:00Z")


def lapsed(history: History, enquiry: str) -> None:
    history.tell("system", entries.EnquiryLapsed(enquiry), at="2025-03-11T04:00:00Z")


def refused(facts: Facts, subject: Subject = VEHICLE, condition: Condition = ON_ROAD) -> Refusal:
    dossier = dossier_of(facts, subject)
    assert dossier is not None
    found = limit(dossier, UNKNOWN, condition, 0.80).refusal
    assert found is not None
    return found


def begun() -> History:
    history = History()
    history.tell("author", entries.PublisherAdded("orrin", "vehicle_maker", "Orrin", None, (), ()))
    history.vehicle()
    history.carrier()
    return history


# What became of it


def test_an_enquiry_is_open_until_something_became_of_it() -> None:
    history = begun()
    id = put(history, conditions=(OFF_ROAD, PARKED))

    assert history.facts.enquiries == {
        id: Enquiry(
            id=id,
            seq=4,
            subject=VEHICLE,
            asked="orrin",
            quantity=Quantity.ROOF_LIMIT,
            conditions=(OFF_ROAD, PARKED),
            channel=Channel.LETTER,
            questions_sha256=HASH,
            asked_on="2025-02-10",
            answer_by="2025-03-10",
            language=None,
            by="asker",
            at="2025-02-11T08:00:00Z",
        )
    }
    assert history.facts.enquiries[id].state is EnquiryState.OPEN


def test_an_outcome_closes_it_on_its_day() -> None:
    history = begun()
    id = put(history)
    told = entries.EnquiryClosed(id, "answered", "D9", HASH, "2025-03-01", "2027-03-01")
    history.tell("steward", told, at="2025-03-04T08:00:00Z")

    found = history.facts.enquiries[id]

    assert (found.state, found.outcome, found.closed_on) == (EnquiryState.CLOSED, Outcome.ANSWERED, "2025-03-01")
    assert (found.closed_by, found.document, found.note_sha256) == ("steward", "D9", HASH)
    assert found.ask_again == "2027-03-01"


def test_an_outcome_without_a_day_is_of_the_day_on_which_it_was_entered() -> None:
    history = begun()
    id = put(history)
    closed(history, id, on=None)

    assert history.facts.enquiries[id].closed_on == "2025-06-01"


def test_time_closes_it_with_the_day_until_which_an_answer_was_waited_for() -> None:
    history = begun()
    id = put(history)
    lapsed(history, id)

    found = history.facts.enquiries[id]
    assert (found.outcome, found.closed_on, found.closed_by) == (Outcome.NO_ANSWER, "2025-03-10", "system")

    closed(history, id, Outcome.DECLINED, on="2025-05-30")
    late = history.facts.enquiries[id]
    assert (late.outcome, late.closed_on, late.closed_by) == (Outcome.DECLINED, "2025-05-30", "asker")


def test_what_happens_to_an_enquiry_that_is_not_there_is_passed_over() -> None:
    history = begun()
    closed(history, "E99")
    lapsed(history, "E99")

    assert history.facts.enquiries == {}


def test_an_enquiry_of_its_own_stream_is_the_same() -> None:
    history = begun()
    id, other = put(history), put(history)
    lapsed(history, id)
    closed(history, other)

    stream = [each for each in history.entries[3:] if each.seq != int(other[1:])]
    assert enquiry_facts(stream) == history.facts.enquiries[id]
    for wrong in (history.entries[:1], []):
        with pytest.raises(ValueError, match="enquiry"):
            enquiry_facts(wrong)


@pytest.mark.parametrize(("asked_on", "due"), [("2025-02-10", "2025-03-10"), ("2024-02-10", "2024-03-09")])
def test_an_answer_is_waited_for_four_weeks(asked_on: str, due: str) -> None:
    assert answer_due(asked_on) == due


# Who says what became of it


def found(outcome: Outcome | None) -> Enquiry:
    history = begun()
    id = put(history)
    if outcome is not None:
        closed(history, id, outcome)
    return history.facts.enquiries[id]


@pytest.mark.parametrize("outcome", list(Outcome))
def test_who_asked_or_a_steward_closes_an_open_one(outcome: Outcome) -> None:
    check_close("asker", Role.CONTRIBUTOR, found(None), outcome)
    check_close("somebody", Role.STEWARD, found(None), outcome)
    for role in (Role.CONTRIBUTOR, Role.REVIEWER):
        with pytest.raises(CantrailError) as error:
            check_close("somebody", role, found(None), outcome)
        assert (error.value.kind, error.value.code) == (Kind.FORBIDDEN, "not_the_asker")


@pytest.mark.parametrize("before", list(Outcome))
@pytest.mark.parametrize("outcome", list(Outcome))
def test_only_no_answer_gives_way_and_only_to_an_answer(before: Outcome, outcome: Outcome) -> None:
    if before is Outcome.NO_ANSWER and outcome is not Outcome.NO_ANSWER:
        check_close("asker", Role.CONTRIBUTOR, found(before), outcome)
        return
    with pytest.raises(CantrailError) as error:
        check_close("asker", Role.STEWARD, found(before), outcome)
    assert (error.value.kind, error.value.code) == (Kind.CONFLICT, "already_closed")
    assert error.value.details == {"outcome": before}


# Why there is no figure


@pytest.mark.parametrize("outcome", IN_VAIN)
def test_an_enquiry_that_came_to_nothing_is_why_there_is_no_figure(outcome: Outcome) -> None:
    history = begun()
    id = put(history)
    closed(history, id, outcome)
    facts = history.facts

    asked = Asked(facts.enquiries[id], "Orrin")
    assert refused(facts) == Refusal("roof_limit", "tarn", RefusalKind.ASKED_NO_ANSWER, None, (asked,))


def test_one_that_is_open_or_answered_is_not() -> None:
    history = begun()
    put(history)
    closed(history, put(history), Outcome.ANSWERED)

    assert refused(history.facts) == Refusal("roof_limit", "tarn", RefusalKind.NO_CLAIM, None)


def test_all_that_came_to_nothing_are_named_the_newest_first() -> None:
    history = begun()
    first, second = put(history), put(history, asked="a-dealer")
    closed(history, first)
    closed(history, second, Outcome.DID_NOT_KNOW)
    closed(history, put(history), Outcome.ANSWERED)

    enquiries = refused(history.facts).enquiries

    assert [(each.enquiry.id, each.name) for each in enquiries] == [(second, "a-dealer"), (first, "Orrin")]


@pytest.mark.parametrize(
    ("asked", "concerned"),
    [
        (ON_ROAD, {ON_ROAD, OFF_ROAD, PARKED}),
        (OFF_ROAD, {ON_ROAD, OFF_ROAD, PARKED}),
        (PARKED, {PARKED}),
    ],
)
def test_it_concerns_what_its_condition_could_stand_in_for(asked: Condition, concerned: set[Condition]) -> None:
    history = begun()
    closed(history, put(history, conditions=(asked,)))

    kinds = {condition: refused(history.facts, condition=condition).kind for condition in Condition}

    assert {each for each, kind in kinds.items() if kind is RefusalKind.ASKED_NO_ANSWER} == concerned


def test_another_quantity_or_subject_is_not_concerned() -> None:
    history = begun()
    closed(history, put(history, quantity=Quantity.OFF_ROAD_FACTOR, conditions=()))
    closed(history, put(history, DECK, Quantity.LOAD_RATING))

    assert refused(history.facts).kind is RefusalKind.NO_CLAIM
    assert refused(history.facts, DECK).kind is RefusalKind.ASKED_NO_ANSWER


def test_an_own_mass_has_no_condition() -> None:
    history = begun()
    id = put(history, DECK, Quantity.OWN_MASS, ())
    closed(history, id)
    deck = dossier_of(history.facts, DECK)
    assert deck is not None

    refusal = own_mass(deck, 0.80).refusal

    assert refusal is not None and refusal.kind is RefusalKind.ASKED_NO_ANSWER
    assert [each.enquiry.id for each in refusal.enquiries] == [id]
    assert refused(history.facts, DECK).kind is RefusalKind.NO_CLAIM


def test_a_fitment_s_enquiry_stays_with_it_when_it_joins_its_carrier() -> None:
    history = begun()
    fitment = Subject(FITMENT, history.fitment())
    closed(history, put(history, fitment, Quantity.LOAD_RATING))
    alone, deck = dossier_of(history.facts, fitment), dossier_of(history.facts, DECK)
    assert alone is not None and deck is not None

    refusal = limit(joined(alone, deck), UNKNOWN, ON_ROAD, 0.80).refusal

    assert refusal is not None and refusal.kind is RefusalKind.ASKED_NO_ANSWER
    assert refused(history.facts).kind is RefusalKind.NO_CLAIM


def test_a_budget_says_so_too() -> None:
    history = begun()
    id = put(history)
    closed(history, id)
    car = dossier_of(history.facts, VEHICLE)

    (refusal,) = budget_for(car).refusals

    assert (refusal.kind, [each.enquiry.id for each in refusal.enquiries]) == (RefusalKind.ASKED_NO_ANSWER, [id])


def test_a_claim_of_whatever_state_comes_first() -> None:
    history = begun()
    closed(history, put(history))
    claim = history.claim(roof_limit("75"))
    waiting = refused(history.facts)
    history.withdraw(claim)
    gone = refused(history.facts)

    assert (waiting.kind, waiting.enquiries) == (RefusalKind.BELOW_CONFIDENCE, ())
    assert (gone.kind, gone.enquiries) == (RefusalKind.WITHDRAWN, ())


def test_an_enquiry_changes_no_figure() -> None:
    history = begun()
    claim = history.claim(roof_limit("75"), cites=[history.document()])
    history.read_and_approve(claim)
    mass = history.claim(mass_said("25"), subject=DECK)
    before = [dossier_of(history.facts, each) for each in (VEHICLE, DECK)]
    closed(history, put(history), Outcome.NOT_RATED)
    closed(history, put(history, DECK, Quantity.OWN_MASS, ()))
    after = [dossier_of(history.facts, each) for each in (VEHICLE, DECK)]

    assert mass in history.facts.claims
    for then, now in zip(before, after, strict=True):
        assert then is not None and now is not None
        assert now.scored == then.scored
        if now.subject == VEHICLE:
            assert limit(now, UNKNOWN, ON_ROAD, 0.80) == limit(then, UNKNOWN, ON_ROAD, 0.80)
        else:
            assert own_mass(now, 0.80) == own_mass(then, 0.80)


def test_before_its_outcome_was_entered_nothing_was_known_of_it() -> None:
    history = begun()
    closed(history, put(history))

    kinds = [refused(fold(history.entries[:upto])).kind for upto in (3, 4, 5)]

    assert kinds == [RefusalKind.NO_CLAIM, RefusalKind.NO_CLAIM, RefusalKind.ASKED_NO_ANSWER]


def test_nothing_that_was_not_asked_came_to_nothing() -> None:
    assert came_to_nothing((), Quantity.ROOF_LIMIT, ON_ROAD) == ()


# In words


@pytest.mark.parametrize(
    ("payload", "stream"),
    [
        (
            entries.EnquiryOpened(VEHICLE, "orrin", Quantity.ROOF_LIMIT, (ON_ROAD,), "form", HASH, "", "", None),
            {"publisher:orrin"},
        ),
        (entries.EnquiryLapsed("E1"), set()),
    ],
)
def test_the_publisher_s_name_is_looked_for_in_its_stream(payload: Payload, stream: set[str]) -> None:
    assert links([Entry(1, "2024-03-01T12:00:00Z", "asker", (), payload)]) == stream


def test_a_person_is_named_by_slug() -> None:
    history = begun()
    history.tell("author", entries.PublisherAdded("person-4", "person", None, HASH, (), ()))
    closed(history, put(history, asked="person-4"))

    assert [each.name for each in refused(history.facts).enquiries] == ["person-4"]


@pytest.mark.parametrize(
    ("outcome", "told"),
    [
        (Outcome.NO_ANSWER, "Asked Orrin on 10 February 2025: no answer by 12 May 2025."),
        (Outcome.DECLINED, "Asked Orrin on 10 February 2025: declined to say, on 12 May 2025."),
        (Outcome.DID_NOT_KNOW, "Asked Orrin on 10 February 2025: did not know, on 12 May 2025."),
        (Outcome.NOT_RATED, "Asked Orrin on 10 February 2025: not rated for roof loads, on 12 May 2025."),
        (
            Outcome.QUOTED_CARRIER_RATING,
            "Asked Orrin on 10 February 2025: quoted only a carrier's rating, on 12 May 2025.",
        ),
        (Outcome.ANSWERED, "Asked Orrin on 10 February 2025: answered on 12 May 2025."),
        (None, "Asked Orrin on 10 February 2025: not answered yet."),
    ],
)
def test_each_outcome_has_its_words(outcome: Outcome | None, told: str) -> None:
    assert asked_sentence(Asked(found(outcome), "Orrin")) == told
    assert set(OUTCOMES) == set(Outcome)


def test_a_refusal_quotes_the_three_newest() -> None:
    history = begun()
    for _ in range(4):
        closed(history, put(history))

    sentence = refusal_sentence(refused(history.facts))

    assert len(refused(history.facts).enquiries) == 4
    assert sentence.startswith("The roof limit of tarn is not named. Nobody has entered a claim for this figure")
    assert sentence.count("Asked Orrin on 10 February 2025: no answer by 12 May 2025.") == 3
