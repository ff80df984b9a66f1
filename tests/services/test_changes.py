"""The change feed tells everything that an entry did to a plate, and nothing else, in pages that take a bounded time."""

import random
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

import pytest

from app.core.claim import Subject, SubjectKind
from app.core.confidence import CURRENT
from app.core.entries import METHOD_STREAM, Entry, MethodAdopted
from app.core.errors import CantrailError
from app.core.mass import Unit
from app.core.plate import changes as plate_changes
from app.core.scoring import Dossier
from app.persistence import ledger
from app.persistence.session import AnySession, Database
from app.services import changes as service
from app.services import daily
from app.services.changes import Changes, changes
from app.services.facts import load
from app.services.reach import Reach
from app.services.views.plates import ChangedView, changed_view
from tests.services.histories import BusyLife, Region
from tests.services.outdoors import Outdoors
from tests.services.test_derived_claims import SISTER, approve_derived, derived
from tests.services.trade import VEHICLE

ENTRIES = 160


def pages(database: Database, limit: int = 200) -> Iterator[Changes]:
    after: int | str = 0
    while True:
        with database.read() as session:
            page = changes(session, after=after, limit=limit)
        yield page
        if page.next is None:
            return
        after = page.next


def told(database: Database, limit: int = 200) -> dict[int, list[ChangedView]]:
    """What the feed says of each entry, put together again where a page ended within one."""
    found: dict[int, list[ChangedView]] = {}
    for page in pages(database, limit):
        for item in page.items:
            found.setdefault(item.entry.seq, []).extend(item.plates)
    return found


def recomputed(session: AnySession) -> dict[int, list[ChangedView]]:
    """What each entry did to each plate there is, whether or not anything says that it touches it: every vehicle is read
    anew as of every entry."""
    found: dict[int, list[ChangedView]] = defaultdict(list)
    before: dict[Subject, Dossier | None] = {}
    vehicles: list[Subject] = []
    for entry in ledger.every_entry(session):
        vehicles += [Subject(SubjectKind.VEHICLE, slug) for slug in entered(entry)]
        for vehicle in sorted(vehicles):
            loaded = load(session, vehicle, entry.seq)
            assert loaded is not None
            changed = plate_changes(before.get(vehicle), loaded.dossier)
            found[entry.seq] += [changed_view(vehicle.id, each, Unit.KG) for each in changed]
            before[vehicle] = loaded.dossier
    return found


def entered(entry: Entry) -> list[str]:
    return [entry.payload.slug] if entry.payload.type == "vehicle_added" else []  # type: ignore[attr-defined]


@pytest.mark.parametrize("history", range(2))
def test_the_feed_tells_what_every_plate_shows(history: int, outdoors: Outdoors) -> None:
    rng = random.Random(f"feed {history}")
    Region(outdoors, rng, ["Aldous"], BusyLife).live(ENTRIES if outdoors.database.is_sqlite else ENTRIES // 2)
    with outdoors.database.read() as session:
        expected = recomputed(session)
    found = told(outdoors.database)
    assert {seq: plates for seq, plates in found.items() if plates} == {
        seq: plates for seq, plates in expected.items() if plates
    }
    assert found.keys() == set(range(1, outdoors.database.probe() + 1))
    assert sum(map(len, found.values())) > 5


def effects(outdoors: Outdoors, after: int) -> list[tuple[str, str, str]]:
    """What was told of the entries since: the entry's type, the vehicle and the effect, on sealed roads."""
    with outdoors.database.read() as session:
        page = changes(session, after=after, limit=200)
    return [
        (item.entry.type, plate.vehicle, plate.effect)
        for item in page.items
        for plate in item.plates
        if plate.condition == "on_road"
    ]


def rated(outdoors: Outdoors, carrier: str, value: str = "75") -> str:
    """A carrier's rating on sealed roads, not yet decided."""
    said: dict[str, Any] = {"stated": {"value": value, "unit": "kg"}, "scope": {}, "quantity": "load_rating"}
    paper = outdoors.paper("pellwick")
    return outdoors.claim(subject={"kind": "carrier", "id": carrier}, paper=paper, **said)


def test_a_rating_that_a_maker_repeats_is_told_down_to_what_is_worked_back(outdoors: Outdoors) -> None:
    """The rating is the carrier's; the limit that repeats it is another vehicle's, and what is worked back from that a
    third's. No entry on the rating names either."""
    outdoors.vehicle(model="Fellwater", distinct_from=[VEHICLE])
    there = {"kind": "vehicle", "id": SISTER}
    page = outdoors.paper(kind="maker_page")
    origin = outdoors.approve(outdoors.claim(subject=there, source_type="maker_statement", paper=page))
    derivation = {"method": "sister_vehicle", "takes": [origin]}
    approve_derived(outdoors, derived(outdoors, derivation), derivation)
    outdoors.fitment(vehicle=SISTER)
    assert outdoors.gross() == 75.0
    rating = rated(outdoors, "pellwick-slatten")
    head = outdoors.database.probe()

    outdoors.decide("first", rating, "approve", reading=outdoors.read("first", rating))

    assert outdoors.gross() is None
    assert effects(outdoors, head) == [
        ("claim_decided", SISTER, "emptied"),
        ("claim_decided", VEHICLE, "emptied"),
    ]


def test_a_judgement_of_two_papers_reaches_claims_that_cite_neither(outdoors: Outdoors) -> None:
    """One claim stands by a paper and agrees with another by a second paper. Each is said to be a copy of a third and a
    fourth; then these two are said to be copies, and all four are one root."""
    mine, yours, third, fourth = (outdoors.written(f"Paper {number}") for number in range(4))
    outdoors.judge("first", mine, third)
    outdoors.judge("first", yours, fourth)
    with outdoors.database.read() as session:
        (before, *_) = ledger.entries_after(session, after=outdoors.database.probe() - 1, limit=1)
    outdoors.claim(paper=mine)
    outdoors.claim(paper=yours)
    outdoors.judge("first", third, fourth)

    with outdoors.database.read() as session:
        (judged,) = ledger.entries_after(session, after=outdoors.database.probe() - 1, limit=1)
        assert before.payload.type == judged.payload.type == "copy_judged"
        assert Reach(session).vehicles(judged) == [VEHICLE]


def test_time_and_a_new_method_are_told(outdoors: Outdoors) -> None:
    outdoors.approve(outdoors.claim())
    head = outdoors.database.probe()
    outdoors.daily(days=366 * 7)
    assert effects(outdoors, head) == [("claim_aged", VEHICLE, "emptied")]
    with outdoors.database.write() as session:
        work = daily.system_work(session, outdoors.now, outdoors.store)
        adopted = work.enter(MethodAdopted(method=CURRENT.version), [METHOD_STREAM])
    with outdoors.database.read() as session:
        assert Reach(session).vehicles(adopted) == [VEHICLE]
        assert Reach(session).vehicles(ledger.entries_after(session, after=0, limit=1)[0]) == []


def test_a_page_that_ends_within_an_entry_goes_on_from_there(
    outdoors: Outdoors, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However many vehicles an entry touches, a page is short; and all pages together are what one long page is."""
    page = outdoors.paper()
    for name in ("Fellwater", "Gannock", "Hesper", "Ulverton"):
        slug = outdoors.vehicle(model=name, series=None)
        outdoors.approve(outdoors.claim(subject={"kind": "vehicle", "id": slug}, paper=page))
    outdoors.take_down("steward", page)
    whole = told(outdoors.database)
    assert len({plate.vehicle for plate in whole[outdoors.database.probe()]}) == 4

    monkeypatch.setattr(service, "MOST_WORK", 30)

    found = list(pages(outdoors.database))
    taken_down = [item for each in found for item in each.items if item.entry.seq == outdoors.database.probe()]
    assert [item.complete for item in taken_down] == [*[False] * (len(taken_down) - 1), True]
    assert 1 < len(taken_down) <= 4
    assert told(outdoors.database) == whole
    assert told(outdoors.database, limit=1) == whole


@pytest.mark.parametrize("place", ["", "first", "5.", "5.Orrin", ".orrin", "5.a.b", "-1", "5 ", "9" * 30])
def test_a_place_that_no_page_gave_is_refused(place: str, outdoors: Outdoors) -> None:
    with outdoors.database.read() as session, pytest.raises(CantrailError) as refused:
        changes(session, after=place, limit=5)
    assert refused.value.code == "bad_cursor"


def test_a_place_beyond_the_end_has_nothing_after_it(outdoors: Outdoors) -> None:
    head = outdoors.database.probe()
    for place in (head, head + 10, f"{head}.zzz", f"{10**14}.orrin"):
        with outdoors.database.read() as session:
            page = changes(session, after=place, limit=5)
        assert [plate for item in page.items for plate in item.plates] == []
        assert page.next is None
