"""Folding entries (section 1): records and who confirmed them, claims, documents, fitments, counts and links."""

import msgspec
import pytest

from app.core import entries
from app.core.claim import Subject, SubjectKind
from app.core.dossier import Document, Facts, Record, fold, links, record_of
from app.core.entries import Entry, members, named, read
from app.core.mass import Counts
from app.core.scope import OPEN, Range, Years
from app.core.scoring import dossier_of
from tests.core.builders import DECK, HASH, TWO, VEHICLE, History, load_rating, roof_limit

FEET = Subject(SubjectKind.FIXING, "feet")


def record(history: History, subject: Subject) -> Record:
    return history.facts.records[subject]


def test_nothing_is_known_at_first() -> None:
    facts = Facts()

    assert (facts.seq, facts.method, facts.records, facts.claims, facts.documents) == (0, None, {}, {}, {})
    assert facts.counts_for(DECK) == Counts()
    assert dossier_of(facts, VEHICLE) is None


def test_the_last_method_adopted_is_in_force() -> None:
    history = History()
    history.tell("system", entries.MethodAdopted("m1"))
    history.tell("system", entries.MethodAdopted("m2"))

    assert history.facts.method == "m2"
    assert fold(history.entries[:1]).method == "m1"
    assert history.facts.seq == 2


@pytest.mark.parametrize(
    ("payload", "subject"),
    [
        (entries.VehicleAdded("tarn", "m", "T", None, Years(2019), None, None, None, ()), VEHICLE),
        (entries.CarrierAdded("deck", "m", "D", None, "platform", None, 2, None, ()), DECK),
        (entries.FixingAdded("feet", "m", "F", None, None, 4, (), ()), FEET),
        (entries.GearAdded("box", "m", "B", None, None, "roof_box", ()), Subject(SubjectKind.GEAR, "box")),
        (entries.FitmentAdded("tarn", "deck", None, None, ()), Subject(SubjectKind.FITMENT, "F7")),
    ],
)
def test_every_kind_of_subject_has_a_record(payload: entries.Payload, subject: Subject) -> None:
    entry = Entry(7, "2024-03-01T12:00:00Z", "author", (), payload)

    found = record_of(entry)

    assert found is not None
    assert (found.subject, found.seq, found.author, found.payload) == (subject, 7, "author", payload)
    assert not found.confirmed


def test_other_entries_make_no_record() -> None:
    assert record_of(Entry(1, "2024-03-01T12:00:00Z", "system", (), entries.MethodAdopted("m1"))) is None


def test_two_different_reviewers_confirm_a_record() -> None:
    history = History()
    history.vehicle()
    history.confirm(VEHICLE, "first", "first")
    assert not record(history, VEHICLE).confirmed
    assert record(history, VEHICLE).range == OPEN
    history.confirm(VEHICLE, "second")

    assert record(history, VEHICLE).confirmed_by == TWO
    assert record(history, VEHICLE).range == Range(Years(2019, 2024), ("wagon",), None, None)


def test_a_confirmation_of_what_these_facts_do_not_hold_is_passed_over() -> None:
    history = History()
    history.confirm(DECK)

    assert history.facts.records == {}


def test_a_carrier_s_record_counts_once_it_is_confirmed() -> None:
    history = History()
    history.carrier(bars=3)
    assert record(history, DECK).counts == Counts()
    assert not record(history, DECK).fixing_built_in
    history.confirm(DECK)

    assert record(history, DECK).counts == Counts(bars=3)
    assert record(history, DECK).fixing_built_in
    assert record(history, DECK).range == OPEN


def test_a_separate_fixing_is_not_built_in() -> None:
    history = History()
    history.carrier(fixing="separate")
    history.vehicle()
    history.confirm(DECK)
    history.confirm(VEHICLE)

    assert not record(history, DECK).fixing_built_in
    assert not record(history, VEHICLE).fixing_built_in
    assert record(history, VEHICLE).counts == Counts()


def test_a_fitment_has_its_carrier_s_bars_and_its_fixing_s_feet() -> None:
    history = History()
    history.carrier(bars=2)
    history.fixing(feet=4)
    bare, with_feet, unknown = history.fitment(), history.fitment(fixing="feet"), history.fitment(carrier="other")
    subjects = [Subject(SubjectKind.FITMENT, each) for each in (bare, with_feet, unknown)]
    assert [history.facts.counts_for(subject) for subject in subjects] == [Counts()] * 3
    history.confirm(DECK)
    history.confirm(FEET)

    assert [history.facts.counts_for(subject) for subject in subjects] == [
        Counts(bars=2),
        Counts(bars=2, feet=4),
        Counts(),
    ]
    assert history.facts.counts_for(DECK) == Counts(bars=2)
    assert history.facts.counts_for(FEET) == Counts(feet=4)


def test_fitments_are_found_by_their_vehicle() -> None:
    history = History()
    history.carrier()
    first, second = history.fitment(), history.fitment(fixing="feet")

    assert [each.subject.id for each in history.facts.fitments_of("tarn")] == [first, second]
    assert history.facts.fitments_of("another") == []


def test_claims_are_found_by_their_subject() -> None:
    history = History()
    ours, theirs = history.claim(), history.claim(load_rating(), subject=DECK)

    assert [each.id for each in history.facts.claims_on(VEHICLE)] == [ours]
    assert [each.id for each in history.facts.claims_on(DECK)] == [theirs]


def test_what_happens_to_a_claim_that_these_facts_do_not_hold_is_passed_over() -> None:
    history = History()
    history.approve("C99")
    history.cite("C99", "D98")

    assert history.facts.claims == {}


def test_roots_are_counted_and_copies_are_not() -> None:
    history = History()
    page, copy, letter = history.document("a" * 64), history.document("a" * 64), history.document("b" * 64)
    claim = history.claim(cites=[copy, page, letter, "D99"])

    facts = history.facts

    assert facts.roots_of(facts.claims[claim]) == {"a" * 64: True, "b" * 64: True}
    assert facts.documents[page] == Document(page, int(page[1:]), "maker", "handbook", "a" * 64)
    assert facts.documents[page].held


def test_a_root_is_held_while_one_copy_of_it_is() -> None:
    history = History()
    page, copy = history.document(), history.document()
    claim = history.claim(cites=[page, copy])
    facts = history.facts
    facts.documents[page] = msgspec.structs.replace(facts.documents[page], taken_down=True)
    assert facts.roots_of(facts.claims[claim]) == {HASH: True}
    facts.documents[copy] = msgspec.structs.replace(facts.documents[copy], taken_down=True)

    assert facts.roots_of(facts.claims[claim]) == {HASH: False}


def test_a_fold_goes_on_from_where_another_stopped() -> None:
    history = History()
    history.vehicle()
    history.approve(history.claim(cites=[history.document()]))
    for cut in range(len(history.entries) + 1):
        facts = fold(history.entries[cut:], into=fold(history.entries[:cut]))
        assert (facts.seq, facts.records, facts.claims, facts.documents) == (
            history.facts.seq,
            history.facts.records,
            history.facts.claims,
            history.facts.documents,
        )


def test_answers_depend_on_the_documents_cited_and_on_what_fits() -> None:
    history = History()
    history.vehicle()
    claim = history.claim(cites=["D7"])
    history.dispute(claim, "D8")
    history.dispute(claim, None)
    history.fitment()
    history.fitment("rails", "feet")

    assert links(history.entries) == {"document:D7", "document:D8", "carrier:deck", "carrier:rails", "fixing:feet"}


# A dossier: the facts scored, as the rules take them


def test_a_vehicle_s_dossier_holds_its_claims_and_its_fitments() -> None:
    history = History()
    history.tell("system", entries.MethodAdopted("m1"))
    history.vehicle()
    history.carrier()
    fitment = history.fitment(roofs=("raised_rail",))
    history.confirm(Subject(SubjectKind.FITMENT, fitment))
    page = history.document()
    limit = history.claim(roof_limit("75"), cites=[page])
    rating = history.claim(load_rating("60"), subject=Subject(SubjectKind.FITMENT, fitment), cites=[page])
    history.read_and_approve(limit)

    dossier = dossier_of(history.facts, VEHICLE)

    assert dossier is not None
    assert (dossier.subject, dossier.method, dossier.as_of) == (VEHICLE, "m1", history.facts.seq)
    assert {claim: scored.sets for claim, scored in dossier.scored.items()} == {limit: True, rating: False}
    assert [each.claim for each in dossier.figures.of(roof_limit().condition)] == [limit]  # type: ignore[arg-type]
    assert [(each.id, each.carrier, each.fixing, each.roofs) for each in dossier.fitments] == [
        (fitment, "deck", None, ("raised_rail",))
    ]
    assert [each.claim for each in dossier.fitments[0].figures.of(load_rating().condition)] == [rating]  # type: ignore[arg-type]
    assert dossier.scored[limit].candidate.roots == (HASH,)


def test_an_unconfirmed_fitment_is_open() -> None:
    history = History()
    history.vehicle()
    history.carrier()
    fitment = history.fitment(fixing="feet", roofs=("raised_rail",))
    before = dossier_of(history.facts, VEHICLE)
    history.confirm(Subject(SubjectKind.FITMENT, fitment))
    after = dossier_of(history.facts, VEHICLE)

    assert before is not None and after is not None
    assert [(each.fixing, each.roofs) for each in after.fitments] == [("feet", ("raised_rail",))]
    assert [(each.fixing, each.roofs) for each in before.fitments] == [(None, None)]


def test_a_carrier_s_dossier_has_no_fitments() -> None:
    history = History()
    history.carrier()
    history.fitment()

    dossier = dossier_of(history.facts, DECK)

    assert dossier is not None
    assert (dossier.fitments, dossier.method, dict(dossier.scored)) == ((), "m1", {})


def test_a_dead_claim_sets_nothing_however_certain() -> None:
    history = History()
    history.vehicle()
    claim = history.claim(cites=[history.document()])
    history.read_and_approve(claim)
    history.supersede(claim, "C99")

    dossier = dossier_of(history.facts, VEHICLE)

    assert dossier is not None
    assert not dossier.scored[claim].sets
    assert dossier.scored[claim].candidate.dead
    assert not dossier.scored[claim].candidate.binds


# Entries as they are stored


def test_an_entry_is_read_back_as_it_was_written() -> None:
    history = History()
    history.vehicle()
    history.claim(cites=[history.document()])
    for entry in history.entries:
        assert read(msgspec.json.encode(members(entry))) == entry


def test_an_entry_has_seven_members_and_no_others() -> None:
    history = History()
    history.age("C1", 0)

    assert members(history.entries[0]) == {
        "seq": 1,
        "at": "2024-03-01T12:00:00Z",
        "actor": "system",
        "streams": ["some"],
        "type": "claim_aged",
        "version": 1,
        "payload": {"claim": "C1", "years": 0},
    }


@pytest.mark.parametrize(
    "change",
    [
        {"type": "unheard_of"},
        {"version": 2},
        {"extra": 1},
        {"payload": {"claim": "C1", "years": 0, "note": "x"}},
        {"payload": {"claim": "C1"}},
        {"payload": {"claim": "C1", "years": "0"}},
    ],
)
def test_an_entry_of_no_known_shape_is_refused(change: dict[str, object]) -> None:
    history = History()
    history.age("C1", 0)

    with pytest.raises(msgspec.ValidationError):
        read(msgspec.json.encode({**members(history.entries[0]), **change}))


def test_what_an_entry_creates_is_named_by_its_number() -> None:
    assert named(entries.CLAIM, 1042) == "C1042"
