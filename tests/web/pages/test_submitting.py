"""Submitting a rating by its forms: the evidence is filed once, nothing typed is lost, and what is checked is kept nowhere
until it is entered."""

import re
from hashlib import sha256
from html import unescape

import httpx
import pytest

from app.core.allowance import A_DAY, Submitted
from app.web.cookies import COOKIE
from tests.web.pages.tabs import Square, Tab
from tests.web.story import Trade, pdf

HOSTILE = '<script>alert("x")</script>'
PAPER = pdf("The roof may carry 60 kg of load while driving, rack included.")


@pytest.fixture(scope="module")
def tab(town: Square, trade: Trade) -> Tab:
    """A contributor."""
    return town.tab("rowan")


def file(tab: Tab, content: bytes = PAPER, name: str = "page.pdf", **fields: str) -> httpx.Response:
    return tab.client.post(
        "/submit/document",
        data={"_key": "first", "publisher": "orrin", "kind": "handbook", **fields},
        files={"file": (name, content)},
        headers={"Sec-Fetch-Site": "same-origin", "Cookie": f"{COOKIE}={tab.cookie}"},
    )


def said(trade: Trade, **more: str) -> dict[str, str]:
    """The form as somebody fills it in."""
    return {
        "vehicle": trade.heron,
        "document": trade.handbook,
        "quantity": "roof_limit",
        "source_type": "manual_page",
        "page": "88",
        "quote": f"60 kg {HOSTILE}",
        "value": "60",
        "unit": "kg",
        "bound": "at_most",
        "per": "total",
        "condition": "off_road",
        "basis": "includes_carrier",
        "years_said": "silent",
        "years_from": "2015",
        "years_to": "2019",
        "bodies": "dual_cab",
        "roofs_said": "all",
        "interest": "none",
        **more,
    }


def claims(trade: Trade) -> list[str]:
    return [each["id"] for each in trade.get(f"/vehicles/{trade.heron}/claims", limit=200)["items"]]


def test_nobody_files_without_signing_in_and_typed_words_are_carried_along(town: Square, trade: Trade) -> None:
    nobody = Tab(town.client).get(f"/submit?vehicle={trade.heron}")
    assert nobody.status == 200
    assert "Sign in to file it" in nobody.text
    assert not [form for form in re.findall(r'action="([^"]*)"', nobody.html) if form == "/submit/document"]
    nobody.post("/submit/check", said(trade))
    assert nobody.status == 401
    assert 'value="60"' in nobody.html


def test_the_first_page_finds_what_a_rating_is_about(tab: Tab, trade: Trade) -> None:
    assert "What makes good evidence" in tab.get("/submit").text
    assert f"/submit?vehicle={trade.tarn}" in tab.get("/submit?q=tran&kind=vehicle").html
    assert f"/submit?carrier={trade.platform}" in tab.get("/submit?q=slatten&kind=carrier").html
    nothing = tab.get(f"/submit?q={HOSTILE}")
    assert HOSTILE not in nothing.html
    assert "Nothing is called like that" in nothing.text
    assert 'href="/gear/new?maker=Fell&amp;model=Bield+tent"' in tab.get("/submit?q=Fell+Bield+tent&kind=gear").html


def test_a_file_is_filed_once_and_the_same_file_finds_it(tab: Tab, trade: Trade) -> None:
    first = file(tab, vehicle=trade.heron, condition="off_road")
    assert first.status_code == 303, first.text
    document = re.search(r"document=(D\d+)", first.headers["location"])
    assert document is not None
    assert "condition=off_road" in first.headers["location"]
    assert file(tab, vehicle=trade.heron, condition="off_road").headers["location"] == first.headers["location"]
    again = file(tab, vehicle=trade.heron, _key="second")
    assert f"document={document[1]}&filed=before" in again.headers["location"]
    other = file(tab, pdf("another"), vehicle=trade.heron, condition="off_road")
    assert document[1] not in other.headers["location"]
    shown = tab.get(first.headers["location"])
    assert "Filed as" in shown.text
    assert 'value="off_road" checked' in shown.html


def test_a_file_that_is_refused_says_so_beside_it_and_keeps_the_rest(tab: Tab, trade: Trade) -> None:
    wrong = file(tab, b"GIF89a", vehicle=trade.heron, edition=HOSTILE, published="soon")
    assert wrong.status_code == 422
    assert 'id="published-fault"' in wrong.text
    assert HOSTILE not in wrong.text
    assert f'value="{HOSTILE}"' in unescape(wrong.text)
    no_picture = file(tab, b"GIF89a", vehicle=trade.heron, edition="2019")
    assert (no_picture.status_code, 'id="file-fault"' in no_picture.text) == (422, True)
    tab.post("/submit/document", {"vehicle": trade.heron, "publisher": "orrin", "kind": "handbook", "edition": "2019"})
    assert tab.status == 422
    assert "Choose the file, or give the address" in tab.text
    assert 'value="2019"' in tab.html


def test_a_file_that_was_received_need_not_be_chosen_again(tab: Tab, trade: Trade) -> None:
    paper = pdf("set aside")
    refused = file(tab, paper, "the page.pdf", vehicle=trade.heron, market="N1")
    assert refused.status_code == 422
    assert "Your file is here: <b>the page.pdf</b>" in refused.text
    tab.html = refused.text
    kept = dict(tab.form("/submit/document").fields)
    assert kept["kept"] == sha256(paper).hexdigest()
    described = {"kind": "handbook", "market": "nz"}
    tab.fill("/submit/document", **described, kept_name="page.txt")
    assert (tab.status, 'id="file-fault"' in tab.html) == (422, True)
    tab.html = refused.text
    tab.fill("/submit/document", **described)
    assert "Filed as" in tab.text
    id = re.search(r"document=(D\d+)", tab.at)
    assert id is not None
    assert trade.get(f"/documents/{id[1]}")["sha256"] == kept["kept"]
    tab.html = refused.text
    tab.fill("/submit/document", **described, kept="0" * 64)
    assert (tab.status, "is not held any more" in tab.text) == (422, True)
    assert 'name="kept"' not in tab.html


def test_a_photo_and_a_file_at_once_are_two_documents(tab: Tab, trade: Trade) -> None:
    answer = tab.client.post(
        "/submit/document",
        data={"publisher": "orrin", "kind": "handbook", "vehicle": trade.heron, "edition": "Fifth"},
        files={"photo": ("image.jpg", b"\xff\xd8\xff"), "file": ("page.pdf", PAPER)},
        headers={"Sec-Fetch-Site": "same-origin", "Cookie": f"{COOKIE}={tab.cookie}"},
    )
    assert (answer.status_code, "not both" in answer.text, 'value="Fifth"' in answer.text) == (422, True, True)


def test_who_has_submitted_enough_for_today_keeps_what_was_typed(
    tab: Tab, trade: Trade, monkeypatch: pytest.MonkeyPatch
) -> None:
    for what in (Submitted.CLAIMS, Submitted.DOCUMENTS):
        monkeypatch.setitem(A_DAY, what, 0)
    refused = file(tab, pdf("one too many"), vehicle=trade.heron, edition="Sixth")
    assert (refused.status_code, 'value="Sixth"' in refused.text) == (429, True)
    assert "Your file is here" in refused.text
    assert 0 < int(refused.headers["retry-after"]) <= 24 * 3600
    monkeypatch.setitem(A_DAY, Submitted.SET_ASIDE, 0)
    refused = file(tab, pdf("and another"), vehicle=trade.heron, edition="Seventh")
    assert (refused.status_code, 'value="Seventh"' in refused.text, "Your file is here" in refused.text) == (
        429,
        True,
        False,
    )
    for step in ("check", "claim"):
        tab.post(f"/submit/{step}", said(trade, value="51"))
        assert (tab.status, 'value="51"' in tab.html) == (429, True), step
        assert "as many as you may while few of your claims are approved" in tab.text
        assert "retry-after" in tab.headers


def test_an_address_is_filed_and_a_document_by_its_number(tab: Tab, trade: Trade) -> None:
    page = "https://orrin.example.org/roof"
    tab.post("/submit/document", {"carrier": trade.bars, "publisher": "orrin", "kind": "maker_page", "address": page})
    assert tab.status == 200
    assert "This document cannot carry a vetted figure by itself" in tab.text
    missing = tab.get(f"/submit?vehicle={trade.heron}&document=D99999")
    assert (missing.status, "There is no document" in missing.text) == (404, True)


def test_a_publisher_is_found_or_entered_once_it_is_no_twin(tab: Tab, trade: Trade) -> None:
    assert "publisher=pellwick" in tab.get(f"/submit/publisher?vehicle={trade.heron}&q=pell").html
    tab.get(f"/submit/publisher?vehicle={trade.heron}&q=Pellwyck").fill("/submit/publisher", kind="shop")
    assert tab.status == 409
    assert 'name="distinct_from" value="pellwick"' in tab.html
    tab.fill("/submit/publisher", kind="shop")
    assert tab.status == 200
    assert "Published by Pellwyck" in tab.text


def test_faults_stand_beside_their_fields_and_what_was_typed_is_kept(tab: Tab, trade: Trade) -> None:
    before = claims(trade)
    tab.post("/submit/check", said(trade, value="", basis="", years_from="soon", condition=""))
    assert tab.status == 422
    for field in ("value", "basis", "condition", "years"):
        assert f'id="{field}-fault"' in tab.html, field
    assert HOSTILE not in tab.html
    assert HOSTILE in unescape(tab.html)
    assert 'value="soon"' in tab.html
    tab.post("/submit/check", said(trade, value="sixty"))
    assert (tab.status, 'id="value-fault"' in tab.html) == (422, True)
    assert claims(trade) == before


def test_many_faults_are_listed_with_the_way_to_each(tab: Tab, trade: Trade) -> None:
    wrong = {"value": "", "basis": "", "condition": "", "years_from": "soon", "markets_said": "some", "page": "x" * 30}
    tab.post("/submit/check", said(trade, **wrong))
    ways = re.findall(r'href="#([a-z0-9-]+-fault)"', tab.html)
    assert len(ways) >= 6
    assert [each for each in ways if f'id="{each}"' not in tab.html] == []


def test_a_page_that_names_no_roads_counts_for_sealed_ones(tab: Tab, trade: Trade) -> None:
    tab.post("/submit/check", said(trade, value="54", condition="driving"))
    assert "at most 54 kg on sealed roads" in tab.text
    tab.post("/submit/says", said(trade, condition="driving"))
    assert 'value="driving" checked' in tab.html


def test_what_is_checked_is_said_back_scored_and_not_kept(tab: Tab, trade: Trade) -> None:
    before = claims(trade)
    tab.post("/submit/check", said(trade))
    assert tab.status == 200
    assert (
        "The Orrin Heron of 2015 to 2019, dual cab, any roof: at most 60 kg off road, rack included, says page 88 of"
        in tab.text
    )
    assert "It does not say which markets." in tab.text
    assert "0.60 as you enter it" in tab.text
    assert "the figure goes down" in tab.text
    assert tab.headers["cache-control"] == "private, no-cache"
    assert HOSTILE not in tab.html
    assert claims(trade) == before
    tab.fill("/submit/claim")
    fields = said(trade)
    tab.post("/submit/says", fields)
    assert 'value="60"' in tab.html
    assert 'value="2019"' in tab.html


def test_a_claim_is_entered_once_however_often_it_is_sent(tab: Tab, trade: Trade) -> None:
    before = claims(trade)
    tab.post("/submit/check", said(trade, value="55"))
    fields = [*tab.form("/submit/claim").fields]
    places = {tab.request("POST", "/submit/claim", fields).headers["location"] for _ in range(2)}
    (entered,) = set(claims(trade)) - set(before)
    assert places == {f"/claims/{entered}?done=entered"}
    assert f"Your claim is entered as {entered}" in tab.get(places.pop()).text
    claim = trade.get(f"/claims/{entered}")
    assert claim["scope"] == {"years": {"from": 2015, "to": 2019}, "bodies": ["dual_cab"], "roofs": "all"}
    assert (claim["bound"], claim["citations"][0]["quote"]) == ("at_most", f"60 kg {HOSTILE}")


def test_evidence_is_added_to_what_is_claimed_already(tab: Tab, trade: Trade) -> None:
    tab.post("/submit/check", said(trade, value="52"))
    tab.fill("/submit/claim")
    tab.post("/submit/check", said(trade, value="52", page="90"))
    offered = re.search(r'name="claim" value="(C\d+)"', tab.html)
    assert offered is not None
    tab.post("/submit/evidence", [*tab.form("/submit/claim").fields, ("claim", offered[1])])
    assert tab.at == f"/claims/{offered[1]}?done=cited"
    assert [each["page"] for each in trade.get(f"/claims/{offered[1]}")["citations"]] == ["88", "90"]


def test_an_older_figure_of_the_same_publisher_may_be_replaced(tab: Tab, trade: Trade) -> None:
    everywhere = {"years_from": "", "years_to": "", "bodies": "", "years_said": "all", "markets_said": "all"}
    tab.post(
        "/submit/check",
        said(
            trade, vehicle=trade.tarn, value="80", bound="exact", condition="on_road", bodies_said="all", **everywhere
        ),
    )
    assert tab.status == 200, tab.text
    assert f'name="supersedes" value="{trade.roof}"' in tab.html


def test_nobody_can_approve_what_is_unverified_and_the_page_says_so(tab: Tab, trade: Trade) -> None:
    tab.post("/submit/check", said(trade, value="44", source_type="unverified"))
    assert "Nobody can approve an unverified claim" in tab.text


def test_no_unit_is_taken_for_granted(tab: Tab, trade: Trade) -> None:
    form = tab.get(f"/submit?vehicle={trade.heron}&document={trade.handbook}").html
    assert not [each for each in re.findall(r"<input[^>]*>", form) if 'name="unit"' in each and "checked" in each]
    tab.post("/submit/check", said(trade, unit=""))
    assert (tab.status, 'value="60"' in tab.html) == (422, True)
    assert "Say in which unit the page prints it." in tab.text
    tab.post("/submit/check", said(trade, unit="lb"))
    assert "60 lb" in tab.text


def test_a_limit_is_worked_back_from_rows_that_are_added_one_by_one(tab: Tab, trade: Trade) -> None:
    rows = {
        f"{field}-{place}": text
        for place, row in enumerate((("Bars", "5", "70"), ("Deck", "25", "50"), ("Long deck", "33", "42")))
        for field, text in zip(("accessory", "mass", "load"), row, strict=True)
    }
    fields = said(trade, source_type="accessory_derived", condition="on_road", **rows)
    assert 'id="accessory-3"' in tab.post("/submit/says", fields).html
    for action in ("/submit/says", "/submit/check"):
        tab.post(action, {**fields, "show": "working"})
        assert (tab.status, 'id="row-0-fault"' in tab.html) == (422, True)
        assert "Say in which unit the page prints it." in tab.text
    fields |= {"unit-0": "kg"}
    tab.post("/submit/says", {**fields, "show": "working"})
    assert "Rows 1, 2 and 3 agree on accessory and load together" in tab.text
    tab.post("/submit/says", {**fields, "mass-1": "heavy", "show": "working"})
    assert (tab.status, 'id="row-1-fault"' in tab.html, 'value="heavy"' in tab.html) == (422, True, True)
    tab.post("/submit/check", fields)
    assert "worked back from 3 rows of accessory pages" in tab.text
    tab.fill("/submit/claim")
    derivation = trade.get(f"/claims/{tab.at.split('/')[2].partition('?')[0]}")["derivation"]
    assert [row["load"]["unit"] for row in derivation["rows"]] == ["kg"] * 3


def test_other_subjects_have_questions_of_their_own(tab: Tab, trade: Trade) -> None:
    shown = tab.get(f"/submit?carrier={trade.bars}&document={trade.sheet}&quantity=own_mass")
    assert "Does the figure count feet and fitting kit?" in shown.text
    assert "Which cars it speaks on" not in shown.text
    factor = {"carrier": trade.bars, "document": trade.sheet, "quantity": "off_road_factor", "value": "2/3"}
    tab.post("/submit/check", {**factor, "source_type": "manual_page", "applies_to": "own_rating"})
    assert "off road, 2/3 of its own rating" in tab.text
