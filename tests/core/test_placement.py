"""Records that are corrected, subjects that are merged and split: what the fold makes of it (decision 13)."""

from typing import Final

from hypothesis import given
from hypothesis import strategies as st

from app.core import entries
from app.core.claim import Subject, SubjectKind
from app.core.dossier import Facts, joined_by
from app.core.mass import Counts
from app.core.placement import Placed, Placements
from app.core.placement_entries import CarrierSaid, FitmentSaid, VehicleSaid
from app.core.record import behind_both
from app.core.scope import OPEN, Years
from app.core.scoring import dossier_of
from tests.core.builders import DECK, HASH, TWO, VEHICLE, History, roof_limit

OTHER: Final = Subject(SubjectKind.VEHICLE, "mere")
THIRD: Final = Subject(SubjectKind.VEHICLE, "loch")
RAILS: Final = Subject(SubjectKind.CARRIER, "rails")


def bars(count: int | None) -> CarrierSaid:
    return CarrierSaid("Deck", None, "platform", None, count, "built_in")


def wagon(*bodies: str) -> VehicleSaid:
    return VehicleSaid("Tarn", None, Years(2019, 2024), bodies, None, None)


class Placing(History):
    """A history with mergers, splits and corrections."""

    def correct(self, subject: Subject, said: CarrierSaid | VehicleSaid | FitmentSaid, by: str = "steward") -> None:
        self.tell(by, entries.RecordCorrected(subject, said, (), HASH))

    def merge(self, subject: Subject, into: Subject, *behind: str) -> str:
        id = f"M{len(self.entries) + 1}"
        self.tell("other", entries.SubjectsMerged(id, subject, into, behind))
        return id

    def split(self, subject: Subject, onto: Subject, *moved: str) -> str:
        id = f"M{len(self.entries) + 1}"
        claims = tuple(each for each in moved if each.startswith("C"))
        fitments = tuple(each for each in moved if each.startswith("F"))
        self.tell("other", entries.ClaimsPlaced(id, subject, onto, claims, fitments))
        return id

    def undo(self, undoes: str, subject: Subject, other: Subject) -> None:
        self.tell("other", entries.PlacementUndone(f"M{len(self.entries) + 1}", undoes, subject, other))


def test_claims_of_a_merged_subject_are_the_others_until_it_is_undone() -> None:
    history = Placing()
    history.vehicle()
    history.vehicle(OTHER.id)
    before, elsewhere = history.claim(subject=OTHER), history.claim()
    merger = history.merge(OTHER, VEHICLE)
    during = history.claim()

    facts = history.facts
    assert [each.id for each in facts.claims_on(OTHER)] == [before, elsewhere, during]
    assert facts.claims_on(OTHER) == facts.claims_on(VEHICLE)
    dossier = dossier_of(facts, OTHER)
    assert dossier is not None
    assert (dossier.subject, dossier.asked_as) == (VEHICLE, OTHER)

    history.undo(merger, OTHER, VEHICLE)
    facts = history.facts
    assert [each.id for each in facts.claims_on(OTHER)] == [before]
    assert [each.id for each in facts.claims_on(VEHICLE)] == [elsewhere, during]


def test_mergers_follow_one_another_whichever_is_undone() -> None:
    history = Placing()
    for subject in (VEHICLE, OTHER, THIRD):
        history.vehicle(subject.id)
    claim = history.claim()
    first = history.merge(VEHICLE, OTHER)
    history.merge(OTHER, THIRD)
    assert history.of(claim).subject == THIRD
    history.undo(first, VEHICLE, OTHER)
    assert history.of(claim).subject == VEHICLE


def test_a_split_places_claims_and_fitments_and_the_last_one_counts() -> None:
    history = Placing()
    for subject in (VEHICLE, OTHER, THIRD):
        history.vehicle(subject.id)
    history.carrier()
    history.carrier(RAILS.id)
    claim, stays = history.claim(), history.claim()
    fitment = history.fitment()
    first = history.split(VEHICLE, OTHER, claim, fitment)
    assert [history.of(each).subject for each in (claim, stays)] == [OTHER, VEHICLE]
    assert [len(history.facts.fitments_of(each.id)) for each in (VEHICLE, OTHER)] == [0, 1]
    history.split(OTHER, THIRD, claim)
    history.split(DECK, RAILS, fitment)
    history.undo(first, VEHICLE, OTHER)
    assert history.of(claim).subject == THIRD
    (record,) = history.facts.fitments_of(VEHICLE.id)
    assert getattr(record.payload, "carrier", None) == RAILS.id


def test_a_corrected_record_counts_where_it_is_less() -> None:
    history = Placing()
    history.carrier(bars=3)
    history.confirm(DECK)
    history.correct(DECK, bars(6))
    record = history.facts.records[DECK]
    assert (record.confirmed, record.author, record.counts) == (False, "steward", Counts())
    assert history.facts.counts_read(DECK) == (Counts(), Counts(bars=3))
    history.correct(DECK, bars(9), by="other")
    history.confirm(DECK, "first")
    assert history.facts.counts_read(DECK) == (Counts(), Counts(bars=3))
    history.confirm(DECK, "second")
    assert history.facts.counts_read(DECK) == (Counts(bars=9),)
    assert history.facts.records[DECK].before == ()


def test_what_a_record_closed_is_open_and_what_it_ruled_out_stays_out() -> None:
    history = Placing()
    history.vehicle()
    history.confirm(VEHICLE)
    history.correct(VEHICLE, wagon("wagon", "hatch"))
    record = history.facts.records[VEHICLE]
    assert record.range == OPEN
    assert [each.bodies for each in record.ranges] == [("wagon",)]
    history.confirm(VEHICLE)
    assert history.facts.records[VEHICLE].range.bodies == ("wagon", "hatch")


def test_a_fitments_feet_are_unknown_while_its_fixing_is_in_doubt() -> None:
    history = Placing()
    history.vehicle()
    history.carrier(bars=2)
    history.fixing(feet=4)
    history.fixing("claws", feet=6)
    for subject in (DECK, Subject(SubjectKind.FIXING, "feet"), Subject(SubjectKind.FIXING, "claws")):
        history.confirm(subject)
    fitment = Subject(SubjectKind.FITMENT, history.fitment(fixing="feet"))
    assert history.facts.counts_read(fitment) == (Counts(bars=2, feet=4),)
    history.correct(fitment, FitmentSaid("claws", None))
    assert history.facts.counts_read(fitment) == (Counts(bars=2), Counts(bars=2, feet=4))
    history.confirm(fitment)
    assert history.facts.counts_read(fitment) == (Counts(bars=2, feet=6),)


def test_who_stands_behind_the_record_of_a_merger() -> None:
    history = Placing()
    history.carrier(bars=3)
    history.carrier(RAILS.id, bars=3)
    history.confirm(DECK, "first")
    history.confirm(RAILS, "second", "author")
    records = history.facts.records
    assert behind_both(records[RAILS], records[DECK]) == ("first", "second")
    history.correct(RAILS, bars(2))
    records = history.facts.records
    assert behind_both(records[RAILS], records[DECK]) == ()
    history.merge(RAILS, DECK)
    merged = history.facts.records[DECK]
    assert (merged.confirmed_by, len(merged.before)) == ((), 2)


def test_records_that_agree_stay_confirmed() -> None:
    history = Placing()
    history.carrier(bars=3)
    history.carrier(RAILS.id, bars=3)
    history.confirm(DECK)
    history.merge(RAILS, DECK, *TWO)
    assert history.facts.counts_read(RAILS) == (Counts(bars=3),)


def test_what_came_into_force_joins_the_streams_of_both_and_a_proposal_does_not() -> None:
    history = Placing()
    history.tell("steward", entries.MergerProposed(OTHER, VEHICLE, HASH))
    history.tell("steward", entries.SplitProposed(OTHER, VEHICLE, (), (), HASH))
    assert joined_by(history.entries) == set()
    history.merge(OTHER, VEHICLE)
    history.split(VEHICLE, THIRD, "C1")
    assert joined_by(history.entries) == {OTHER.stream, VEHICLE.stream, THIRD.stream}


def test_what_is_placed_where_nothing_is_known_of_it_is_passed_over() -> None:
    history = Placing()
    history.correct(VEHICLE, wagon("wagon"))
    history.undo(history.merge(OTHER, VEHICLE), OTHER, VEHICLE)
    history.split(VEHICLE, OTHER, "C1", "F1")
    assert (history.facts.records, history.facts.claims) == ({}, {})


@given(st.data())
def test_every_claim_is_on_one_subject_that_is_in_force_and_undoing_all_puts_all_back(data: st.DataObject) -> None:
    history = Placing()
    subjects = (VEHICLE, OTHER, THIRD)
    for subject in subjects:
        history.vehicle(subject.id)
    entered = {history.claim(roof_limit(), subject=subject): subject for subject in subjects for _ in range(2)}
    in_force: list[tuple[str, Subject, Subject]] = []
    for _ in range(data.draw(st.integers(0, 8))):
        facts = history.facts
        free = [each for each in subjects if facts.in_force(each) == each]
        if len(free) > 1 and data.draw(st.booleans()):
            one, other = data.draw(st.permutations(free))[:2]
            moved = [claim for claim in entered if facts.claims[claim].subject == one]
            if data.draw(st.booleans()):
                in_force.append((history.merge(one, other), one, other))
            elif moved:
                in_force.append((history.split(one, other, data.draw(st.sampled_from(moved))), one, other))
        elif in_force:
            history.undo(*in_force.pop(data.draw(st.integers(0, len(in_force) - 1))))
        facts = history.facts
        homes = [facts.claims[claim].subject for claim in entered]
        assert all(facts.in_force(home) == home for home in homes)
        found = [claim.id for each in subjects if facts.in_force(each) == each for claim in facts.claims_on(each)]
        assert sorted(found) == sorted(entered)
    for each in in_force:
        history.undo(*each)
    put_back: Facts = history.facts
    assert {claim: put_back.claims[claim].subject for claim in entered} == entered


def test_placements_begin_with_nothing() -> None:
    placed = Placements()
    assert placed.in_force(VEHICLE) == VEHICLE
    assert not placed.end("M1")
    placed.begin(Placed("M2", OTHER, VEHICLE))
    assert placed.home("C1", OTHER) == VEHICLE
    assert placed.end("M2")
