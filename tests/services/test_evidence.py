"""Documents that are fetched, read, traced to their root and taken down, and what that does to claims."""

from datetime import timedelta

import pytest

from app.core.errors import CantrailError
from app.persistence.projection import rebuild
from app.services import outbox, taking_down
from app.services.changes import changes
from app.services.outbox import JobKind
from tests.persistence.test_projection import tables
from tests.services.outdoors import Outdoors
from tests.services.trade import VEHICLE

ADDRESS = "https://www.orrin.example/tarn"
ROOF = "Tarn\nMaximum roof load: 75 kg, roof rack included.\n"
PAD = " ".join(f"word{number}" for number in range(200))


def code_of(refused: pytest.ExceptionInfo[CantrailError]) -> str:
    return refused.value.code


def points(outdoors: Outdoors, claim: str) -> dict[str, float]:
    from app.services import looking

    with outdoors.database.read() as session:
        return {each.code: each.points for each in looking.confidence(session, claim).points}


# Fetching


def test_an_address_is_fetched_kept_and_read_and_its_claim_found_there(outdoors: Outdoors) -> None:
    page = outdoors.address(ADDRESS, ROOF)
    claim = outdoors.claim(paper=page, source_type="maker_statement")
    assert (outdoors.document(page).held, points(outdoors, claim)["artefact.not_held"]) == (False, -0.6)

    outdoors.work()

    shown = outdoors.document(page)
    assert (shown.held, shown.checked, shown.pages, shown.text) == (True, "kept", 1, "layer")
    assert [each.sha256 for each in shown.snapshots] == [shown.sha256]
    found = points(outdoors, claim)
    assert (found["artefact.held"], found["reading.found"]) == (0.7, 0.6)
    assert outdoors.view(claim).citations[0].outcome == "found"
    assert outdoors.work() == 0


def test_an_address_that_gives_nothing_is_tried_again_and_then_entered_as_that(outdoors: Outdoors) -> None:
    page = outdoors.address(ADDRESS)
    for wait in (0, 1, 10, 120):
        assert outdoors.document(page).checked is None
        outdoors.now += timedelta(minutes=wait)
        assert outdoors.work() == 1
        assert outdoors.work() == 0

    assert outdoors.web.asked == [ADDRESS] * 4
    assert outdoors.document(page).checked == "fetch_not_found"
    assert outdoors.types(f"document:{page}") == ["document_addressed", "address_checked"]


def test_a_page_that_says_the_same_later_is_not_kept_again(outdoors: Outdoors) -> None:
    page = outdoors.address(ADDRESS, ROOF)
    outdoors.work()
    outdoors.web.pages[ADDRESS] = ROOF.replace("\n", "\n\n")
    outdoors.now += timedelta(days=91)

    outdoors.work()

    shown = outdoors.document(page)
    assert (shown.checked, len(shown.snapshots)) == ("same", 1)


def test_a_page_that_says_something_else_tells_the_claims_that_rest_on_it(outdoors: Outdoors) -> None:
    page = outdoors.address(ADDRESS, ROOF)
    outdoors.work()
    claim = outdoors.approve(outdoors.claim(paper=page, source_type="maker_statement"))
    before = outdoors.view(claim)
    outdoors.web.pages[ADDRESS] = ROOF.replace("75", "60")
    outdoors.now += timedelta(days=91)

    outdoors.work()

    shown = outdoors.document(page)
    first, second = shown.snapshots
    assert shown.sha256 == first.sha256 != second.sha256
    after = outdoors.view(claim)
    told = [(each.outcome, each.document, each.sha256) for each in after.evidence_changes]
    assert told == [("not_found", page, second.sha256)]
    # It is due for review at once: the daily run of the next day enters that it is past its date.
    assert before.review_by is not None
    assert after.review_by == outdoors.now.date().isoformat() < before.review_by
    assert outdoors.daily(days=1).aged == 1


def test_a_change_that_leaves_the_figure_leaves_the_review_date(outdoors: Outdoors) -> None:
    page = outdoors.address(ADDRESS, ROOF)
    outdoors.work()
    claim = outdoors.approve(outdoors.claim(paper=page, source_type="maker_statement"))
    before = outdoors.view(claim).review_by
    outdoors.web.pages[ADDRESS] = ROOF + "We have moved."
    outdoors.now += timedelta(days=91)
    outdoors.work()

    assert [each.outcome for each in outdoors.view(claim).evidence_changes] == ["found"]
    assert outdoors.view(claim).review_by == before


# Reading


def test_a_figure_that_is_not_on_its_page_counts_against_the_claim(outdoors: Outdoors) -> None:
    paper = outdoors.written("Tarn\nMaximum roof load: 60 kg")
    claim = outdoors.claim(paper=paper)
    outdoors.work()

    assert points(outdoors, claim)["reading.not_found"] == -1.0
    assert outdoors.view(claim).citations[0].outcome == "not_found"


def test_a_figure_that_is_printed_but_not_near_its_words_counts_neither_way(outdoors: Outdoors) -> None:
    paper = outdoors.written("Tarn dual cab, 2019 to 2024: our advice is no more than 75 kg.")
    claim = outdoors.claim(paper=paper)
    before = points(outdoors, claim)
    outdoors.work()

    assert points(outdoors, claim) == before
    assert (outdoors.view(claim).citations[0].outcome, outdoors.view(claim).citations[0].found_page) == ("apart", 1)


def test_a_citation_of_a_page_that_was_read_already_is_looked_at_too(outdoors: Outdoors) -> None:
    paper = outdoors.written(ROOF)
    outdoors.work()
    claim = outdoors.claim(paper=paper)
    assert outdoors.view(claim).citations[0].outcome is None
    assert outdoors.work() == 1

    assert outdoors.view(claim).citations[0].found_page == 1


def test_a_printed_page_number_is_followed_before_the_place_in_the_file(outdoors: Outdoors) -> None:
    paper = outdoors.written(f"Contents\f212\nWheels\f213\n{ROOF}\f214\nMaximum roof load 60 kg")
    right = outdoors.claim(paper=None, citations=[{"document": paper, "page": "213"}])
    wrong = outdoors.claim(citations=[{"document": paper, "page": "214"}], stated={"value": "75.0", "unit": "kg"})
    outdoors.work()

    assert [(each.outcome, each.found_page) for each in outdoors.view(right).citations] == [("found", 3)]
    assert outdoors.view(wrong).citations[0].outcome == "not_found"


def test_a_file_that_cannot_be_read_is_entered_as_that_and_claims_lose_nothing(outdoors: Outdoors) -> None:
    paper = outdoors.written("UNREADABLE")
    claim = outdoors.claim(paper=paper)
    before = points(outdoors, claim)
    outdoors.work()

    assert (outdoors.document(paper).not_read, outdoors.document(paper).pages) == ("file_unreadable", 0)
    assert points(outdoors, claim) == before
    assert outdoors.view(claim).citations[0].outcome == "no_text"


# Roots


def shop_page(outdoors: Outdoors, words: str) -> str:
    """An approved claim of the same figure that rests on a page of these words."""
    paper = outdoors.written(words, kind="maker_page")
    outdoors.approve(outdoors.claim(paper=paper, source_type="maker_statement"), "third", "fourth")
    return paper


def test_ten_copies_of_one_page_score_as_one_root(outdoors: Outdoors) -> None:
    own = outdoors.written(f"Handbook {ROOF}")
    claim = outdoors.approve(outdoors.claim(paper=own))
    copies = [shop_page(outdoors, f"{PAD} {ROOF} shop {number}") for number in range(10)]
    assert {code for code in points(outdoors, claim) if code.startswith("agreement")} == {
        "agreement.second_root",
        "agreement.third_root",
        "agreement.fourth_root",
    }
    outdoors.work()
    alike = outdoors.resembling(copies[3])
    assert {each.document for each in alike.items} == set(copies) - {copies[3]}
    assert all(each.alike > 0.9 and not each.one_root for each in alike.items)

    for copy in copies[1:]:
        outdoors.judge("writer", copy, copies[0])

    assert {code for code in points(outdoors, claim) if code.startswith("agreement")} == {"agreement.second_root"}


def test_taking_the_only_root_away_shows_in_the_fragility(outdoors: Outdoors) -> None:
    from app.services import looking

    own = outdoors.written(ROOF)
    claim = outdoors.approve(outdoors.claim(paper=own))
    for number in range(3):
        paper = outdoors.written(f"{PAD} {ROOF} {number}", kind="maker_page")
        outdoors.judge("writer", paper, own)
        outdoors.approve(outdoors.claim(paper=paper, source_type="maker_statement"), "third", "fourth")
    with outdoors.database.read() as session:
        confidence = looking.confidence(session, claim)

    assert confidence.fragility is not None
    # Nothing is left: -1.2 in the place of +0.7, and no page is held.
    assert confidence.fragility.confidence <= 0.79 < confidence.confidence


def test_one_person_s_word_makes_a_copy_and_two_unmake_it(outdoors: Outdoors) -> None:
    own = outdoors.written(ROOF)
    claim = outdoors.approve(outdoors.claim(paper=own))
    page = shop_page(outdoors, f"{PAD} {ROOF}")
    assert "agreement.second_root" in points(outdoors, claim)
    outdoors.judge("writer", page, own)
    assert "agreement.second_root" not in points(outdoors, claim)
    outdoors.judge("first", page, own, copied=False)
    assert "agreement.second_root" not in points(outdoors, claim)
    outdoors.judge("second", own, page, copied=False)
    assert "agreement.second_root" in points(outdoors, claim)


def test_one_person_cannot_silence_a_contradiction_by_calling_it_a_copy(outdoors: Outdoors) -> None:
    own = outdoors.written(ROOF)
    claim = outdoors.approve(outdoors.claim(paper=own))
    lower = [outdoors.written(f"Roof load 60 kg {number}", kind="maker_page") for number in range(2)]
    for paper in lower:
        low = outdoors.claim(paper=paper, source_type="maker_statement", stated={"value": "60", "unit": "kg"})
        outdoors.approve(low, "third", "fourth")

    def contradictions() -> int:
        from app.services import looking

        with outdoors.database.read() as session:
            told = looking.confidence(session, claim).points
        return len([each for each in told if each.code == "contradiction.lower_root"])

    assert contradictions() == 2
    outdoors.judge("writer", lower[0], lower[1])
    outdoors.judge("writer", lower[0], own)
    assert contradictions() == 2
    outdoors.judge("other writer", lower[0], lower[1])
    outdoors.judge("first", lower[0], lower[1])
    assert contradictions() == 2
    outdoors.judge("second", lower[0], lower[1])
    assert contradictions() == 1


def test_two_contributors_cannot_part_what_one_person_calls_a_copy(outdoors: Outdoors) -> None:
    own = outdoors.written(ROOF)
    claim = outdoors.approve(outdoors.claim(paper=own))
    page = shop_page(outdoors, f"{PAD} {ROOF}")
    outdoors.judge("first", page, own)
    outdoors.judge("writer", page, own, copied=False)
    outdoors.judge("other writer", page, own, copied=False)
    assert "agreement.second_root" not in points(outdoors, claim)


def test_the_same_file_bridges_what_is_judged_of_its_twin(outdoors: Outdoors) -> None:
    own = outdoors.written(ROOF)
    claim = outdoors.approve(outdoors.claim(paper=own))
    shop = shop_page(outdoors, f"{PAD} {ROOF}")
    twin = outdoors.written(f"{PAD} {ROOF}", publisher="pellwick")
    assert "agreement.second_root" in points(outdoors, claim)
    outdoors.judge("writer", twin, own)
    assert outdoors.document(twin).sha256 == outdoors.document(shop).sha256
    assert "agreement.second_root" not in points(outdoors, claim)


def test_nothing_is_approved_before_its_page_is_held(outdoors: Outdoors) -> None:
    page = outdoors.address(ADDRESS, ROOF)
    claim = outdoors.claim(paper=page, source_type="maker_statement")
    reading = outdoors.read("first", claim)
    with pytest.raises(CantrailError) as refused:
        outdoors.decide("first", claim, "approve", reading=reading)
    assert code_of(refused) == "not_held"
    outdoors.work()
    outdoors.decide("first", claim, "approve", reading=reading)


def test_a_claim_is_not_refuted_on_a_document_that_was_taken_down(outdoors: Outdoors) -> None:
    claim = outdoors.approve(outdoors.claim(paper=outdoors.written(ROOF)))
    against = outdoors.written("Roof load 60 kg")
    dispute = outdoors.dispute("other writer", claim, document=against)
    outdoors.take_down("steward", against)
    with pytest.raises(CantrailError) as refused:
        outdoors.settle("third", dispute, "refute", code="misread")
    assert code_of(refused) == "no_held_evidence"


def test_what_was_taken_down_is_not_kept_again_from_an_address(outdoors: Outdoors) -> None:
    page = outdoors.address(ADDRESS, ROOF)
    outdoors.work()
    outdoors.take_down("steward", page)
    again = outdoors.address("https://www.orrin.example/again", ROOF)
    outdoors.work()

    assert (outdoors.document(again).held, outdoors.document(again).checked) == (False, "taken_down")


# Taking down


def test_what_is_taken_down_leaves_its_hash_and_a_reason_and_sets_no_more(outdoors: Outdoors) -> None:
    paper = outdoors.written(ROOF)
    outdoors.approve(outdoors.claim(paper=paper))
    outdoors.work()
    assert outdoors.gross() == 75.0
    sha256 = outdoors.document(paper).sha256
    assert sha256 is not None
    text = next(iter(set(outdoors.store.older_than(timedelta(seconds=-60))) - {sha256}))

    with pytest.raises(CantrailError) as refused:
        outdoors.take_down("first", paper)
    assert code_of(refused) == "role_too_low"
    outdoors.take_down("steward", paper)

    shown = outdoors.document(paper)
    assert (shown.held, shown.sha256, shown.taken_down) == (False, sha256, "rights")
    assert shown.taken_down_reason == "Its publisher has asked for it."
    assert outdoors.gross() is None
    assert outdoors.limit()["cap"]["gross"]["value"] == 75.0
    assert outdoors.work() == 2
    assert not outdoors.store.exists(sha256)
    assert not outdoors.store.exists(text)
    with pytest.raises(CantrailError) as again:
        outdoors.written(ROOF)
    assert code_of(again) == "taken_down"


def test_a_file_that_two_documents_hold_is_taken_down_with_both(outdoors: Outdoors) -> None:
    mine, theirs = outdoors.written(ROOF), outdoors.written(ROOF, publisher="pellwick")
    outdoors.take_down("steward", theirs, "privacy")

    assert [outdoors.document(each).taken_down for each in (mine, theirs)] == ["privacy", "privacy"]
    with pytest.raises(CantrailError) as cited:
        outdoors.claim(paper=mine)
    assert code_of(cited) == "taken_down"


def test_only_files_that_nothing_speaks_of_are_swept(outdoors: Outdoors, monkeypatch: pytest.MonkeyPatch) -> None:
    paper = outdoors.written(ROOF)
    outdoors.work()
    orphan = outdoors.store.put(b"an upload that came to nothing")
    assert taking_down.sweep(outdoors.database, outdoors.store) == 0
    monkeypatch.setattr(taking_down, "UNCLAIMED_AFTER", timedelta(seconds=-60))

    assert taking_down.sweep(outdoors.database, outdoors.store) == 1
    assert not outdoors.store.exists(orphan)
    sha256 = outdoors.document(paper).sha256
    assert sha256 is not None
    assert outdoors.store.exists(sha256)


# The outbox


def test_a_job_asked_twice_is_done_once_and_a_lost_one_by_another(outdoors: Outdoors) -> None:
    paper = outdoors.written(ROOF)
    outdoors.do("writer", lambda work: outbox.ask(work, JobKind.READ, paper))
    with outdoors.database.write() as session:
        lost = outbox.take(session, outdoors.now)
    assert lost is not None
    assert outdoors.work() == 0
    outdoors.now += outbox.LEASE
    assert outdoors.work() == 1

    def enter_late(work: object) -> None:
        raise AssertionError("somebody else has done it")

    assert outdoors.do("writer", lambda work: outbox.finish(work, lost, enter_late)) is False
    assert outdoors.types(f"document:{paper}") == ["document_added", "pages_read"]


def test_all_of_it_is_in_the_ledger(outdoors: Outdoors) -> None:
    page = outdoors.address(ADDRESS, ROOF)
    outdoors.work()
    outdoors.approve(outdoors.claim(paper=page, source_type="maker_statement"))
    other = shop_page(outdoors, f"{PAD} {ROOF}")
    outdoors.work()
    outdoors.judge("writer", other, page)
    outdoors.web.pages[ADDRESS] = "Nothing any more"
    outdoors.now += timedelta(days=91)
    outdoors.work()
    outdoors.take_down("steward", other)
    before = tables(outdoors.database)

    with outdoors.database.write() as session:
        rebuild(session)

    assert tables(outdoors.database) == before


def test_followers_are_told_when_evidence_changes_a_plate(outdoors: Outdoors) -> None:
    page = outdoors.address(ADDRESS, ROOF)
    outdoors.work()
    outdoors.confirm("first", "second")
    outdoors.approve(outdoors.claim(paper=page, source_type="maker_statement"))
    with outdoors.database.read() as session:
        head = changes(session, after=0, limit=200).head
    outdoors.take_down("steward", page)

    with outdoors.database.read() as session:
        told = changes(session, after=head, limit=200).items
    effects = {each.entry.type: {(one.vehicle, one.effect) for one in each.plates} for each in told}
    assert (VEHICLE, "emptied") in effects["document_taken_down"]
