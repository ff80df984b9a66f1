from typing import Any

import pytest
from sqlalchemy import select, text
from sqlalchemy.exc import IntegrityError

from app.core import entries
from app.core.entries import PAYLOADS
from app.core.lifecycle import State
from app.core.review import DisputeState, claim_facts
from app.persistence import ledger
from app.persistence.base import table_of
from app.persistence.models import HeldText
from app.persistence.projection import PROJECTED, claim_touched, rebuild, record
from app.persistence.queries import claims, subjects
from app.persistence.session import Database
from app.persistence.stores import put_text
from tests.persistence.story import START, TEXT, VEHICLE, Story, whole_life


def tables(database: Database) -> dict[str, list[tuple[Any, ...]]]:
    with database.read() as session:
        return {
            row.__name__: sorted(
                (tuple(found) for found in session.connection().execute(select(table_of(row)))), key=repr
            )
            for row in PROJECTED
        }


def test_the_story_tells_every_type_of_entry(database: Database) -> None:
    whole_life(database)
    with database.read() as session:
        told = {(entry.payload.type, entry.payload.version) for entry in ledger.every_entry(session)}
    assert told == set(PAYLOADS)


def test_a_rebuild_gives_the_same_tables(database: Database) -> None:
    whole_life(database)
    before = tables(database)
    assert all(before.values())
    steps: list[tuple[int, int]] = []
    with database.write() as session:
        put_text(session, content="kept")
        for row in reversed(PROJECTED):
            session.connection().execute(text(f"DELETE FROM {table_of(row)}"))
        rebuild(session, progress=lambda done, of: steps.append((done, of)))
    assert tables(database) == before
    assert steps[-1] == (database.probe(), database.probe())
    with database.read() as session:
        assert session.connection().execute(select(table_of(HeldText).c.content)).scalars().all() == ["kept"]


def test_a_rebuild_tells_how_far_it_is(database: Database) -> None:
    story = Story(database)
    for number in range(100):
        story.publisher(f"p{number}")
    story.publisher()
    for _ in range(101):
        story.claim()
    steps: list[tuple[int, int]] = []
    with database.write() as session:
        rebuild(session, progress=lambda done, of: steps.append((done, of)))
        rebuild(session)
    assert steps == [(100, 202), (101, 202), (200, 202), (202, 202)]


def test_a_rebuild_that_fails_leaves_the_tables_as_they_were(database: Database) -> None:
    whole_life(database)
    before = tables(database)

    def stop(done: int, of: int) -> None:
        raise InterruptedError

    with pytest.raises(InterruptedError), database.write() as session:
        rebuild(session, progress=stop)
    assert tables(database) == before


def test_the_tables_say_what_the_fold_says(database: Database) -> None:
    whole_life(database)
    with database.read() as session:
        found = claims.claims_of(session, subject=VEHICLE, after_seq=0, limit=100)
        assert len(found) == 8
        for claim in found:
            facts = claim_facts(ledger.entries_of(session, streams=[f"claim:{claim.id}"], up_to=None))
            assert claim.state is facts.state
            assert claim.statement == facts.statement
            assert claim.approvals == len(facts.approvals)
            assert claim.superseded_by == facts.superseded_by
            assert [each.id for each in claims.citations_of(session, claim=claim.id)] == [
                each.id for each in facts.citations
            ]
            assert [(each.id, each.state) for each in claims.disputes_of(session, claim=claim.id)] == [
                (each.id, each.state) for each in facts.disputes
            ]
        states = [claim.state for claim in found]
    assert states == [
        State.APPROVED,
        State.REJECTED,
        State.SUBMITTED,
        State.WITHDRAWN,
        State.REJECTED,
        State.SUBMITTED,
        State.SUBMITTED,
        State.APPROVED,
    ]


def test_time_next_does_something_to_a_claim_a_year_later_each_time(database: Database) -> None:
    story = Story(database)
    story.publisher()
    story.vehicle()
    claim = story.approved("75", story.document())

    def next_aged() -> str | None:
        with database.read() as session:
            found = claims.claim(session, id=claim)
            assert found is not None
            return found.next_aged

    assert next_aged() == "2031-03-01"
    story.about(claim, "system", entries.ClaimAged(claim, 0))
    assert next_aged() == "2032-03-01"
    story.about(claim, "system", entries.ClaimAged(claim, 3))
    assert next_aged() == "2035-03-01"


def test_two_different_reviewers_confirm_a_record(database: Database) -> None:
    story = Story(database)
    story.publisher()
    story.vehicle()

    def confirmed() -> bool:
        with database.read() as session:
            vehicle = subjects.vehicle(session, slug=VEHICLE.id)
            assert vehicle is not None
            return vehicle.confirmed

    for reviewer, then in (("reviewer-1", False), ("reviewer-1", False), ("reviewer-2", True)):
        story.tell(reviewer, entries.RecordConfirmed(VEHICLE, None), VEHICLE.stream)
        assert confirmed() is then
    with database.read() as session:
        checks = subjects.confirmations(session, subject=VEHICLE)
        assert [check.reviewer for check in checks] == ["reviewer-1", "reviewer-1", "reviewer-2"]


def test_what_an_entry_speaks_of_must_be_there(database: Database) -> None:
    """The entry goes with the row that could not be written."""
    story = Story(database)
    with pytest.raises(IntegrityError):
        story.vehicle(maker="nobody")
    story.publisher()
    story.vehicle()
    claim = story.claim()
    with pytest.raises(IntegrityError):
        story.cite(claim, "D99")
    assert database.probe() == 3


def test_an_entry_of_a_claim_that_is_not_there_is_refused(database: Database) -> None:
    with pytest.raises(ValueError, match="does not begin a claim"):
        Story(database).about("C9", "writer", entries.ClaimWithdrawn("C9"))
    assert database.probe() == 0


def test_a_session_reads_again_what_an_entry_changed(database: Database) -> None:
    story = Story(database)
    story.publisher()
    story.vehicle()
    id = story.claim()
    with database.write() as session:
        before = claims.claim(session, id=id)
        withdrawn = entries.ClaimWithdrawn(id)
        record(session, actor="writer", now=START, streams=[f"claim:{id}"], payload=withdrawn)
        after = claims.claim(session, id=id)
        assert before is not None
        assert after is not None
        assert (before.state, after.state) == (State.SUBMITTED, State.WITHDRAWN)


@pytest.mark.parametrize("payload", [entries.MethodAdopted("m1"), entries.ClaimWithdrawn("C7")])
def test_which_claim_an_entry_touches(payload: entries.Payload) -> None:
    entry = entries.Entry(8, "", "x", (), payload)
    assert claim_touched(entry) == ("C7" if isinstance(payload, entries.ClaimWithdrawn) else None)


def test_a_dispute_ends_as_it_was_settled(database: Database) -> None:
    whole_life(database)
    with database.read() as session:
        found = claims.claims_of(session, subject=VEHICLE, after_seq=0, limit=2)
        ends = [[each.state for each in claims.disputes_of(session, claim=claim.id)] for claim in found]
    assert ends == [[DisputeState.UPHELD, DisputeState.LAPSED], [DisputeState.REFUTED]]


def test_records_say_what_their_entries_say(database: Database) -> None:
    whole_life(database)
    with database.read() as session:
        vehicle = subjects.vehicle(session, slug=VEHICLE.id)
        carrier = subjects.carrier(session, slug="orrin-deck")
        fixing = subjects.fixing(session, slug="orrin-foot")
        gear = subjects.gear_item(session, slug="orrin-box")
        person = subjects.publisher(session, slug="a-person")
    assert vehicle is not None
    assert (vehicle.first_year, vehicle.last_year, vehicle.bodies, vehicle.roofs) == (2019, 2024, ("dual_cab",), None)
    assert carrier is not None
    assert (carrier.kind, carrier.bars, carrier.fixing, carrier.confirmed) == ("platform", 3, "separate", True)
    assert fixing is not None
    assert (fixing.feet, fixing.holds, fixing.confirmed) == (4, ("gutter", "track"), False)
    assert gear is not None
    assert (gear.category, gear.series) == ("roof_box", "B")
    assert person is not None
    assert (person.name, person.name_sha256) == (None, TEXT)
