"""A claim's page in every state, what people do about a claim, and that nothing that was typed is lost."""

import re
from typing import Any

import pytest

from app.core import entries
from app.core.derivation import MOST_ROWS
from app.core.pages import Box
from app.persistence import projection
from app.web.pages import claims
from app.web.pages.ladder import exactly
from tests.web.pages.fleet import Fleet
from tests.web.pages.tabs import Square, Tab
from tests.web.people import let_in

HOSTILE = "<b onclick=alert(1)>rack & roof</b>"
ESCAPED = "&lt;b onclick=alert(1)&gt;rack &amp; roof&lt;/b&gt;"
ON_ROAD = {"condition": "on_road", "basis": "includes_carrier"}
SPEAKS: dict[str, Any] = {"scope": {"years": {"from": 2019, "to": 2021}, "bodies": ["wagon"], "roofs": "all"}}


class Case(Fleet):
    """A maker with vehicles and pages, and people at tabs."""

    def __init__(self, town: Square) -> None:
        super().__init__(town, let_in(town.registry))
        self.paper = self.document(self.maker, title=HOSTILE, edition="2021")
        self.other = self.document(self.maker, "letter")
        self.reader = Tab(town.client)

    def limit(self, value: str = "75", *, on: str | None = None, document: str | None = None, **more: Any) -> Any:
        return self.claim(
            "vehicle", on or self.vehicle(), "roof_limit", value, document or self.paper, **{**ON_ROAD, **more}
        )

    def standing(self, value: str = "75", *, on: str | None = None, **more: Any) -> str:
        """A roof limit that two reviewers approved."""
        claim, body = self.limit(value, on=on, **more)
        for by in ("reviewer", "second reviewer"):
            self.approve(claim, body, by)
        return str(claim)

    def decide(self, claim: str, decision: str, by: str = "reviewer", **more: Any) -> None:
        self.post(f"/claims/{claim}/decisions", {"decision": decision, **more}, by)

    def look(self, claim: str, query: str = "") -> Tab:
        tab = self.reader.get(f"/claims/{claim}{query}")
        assert tab.status == 200, tab.text
        return tab


@pytest.fixture(scope="module")
def case(town: Square) -> Case:
    return Case(town)


# What it says


def test_a_claim_that_gives_the_answer_says_so_with_all_that_it_rests_on(case: Case) -> None:
    claim = case.standing(**SPEAKS)
    told = case.get(f"/claims/{claim}/confidence")

    tab = case.look(claim)

    assert re.search(
        r"A page of Orrin says that the roof of the Orrin Tarn \d+ may carry 75 kg on sealed roads, rack included "
        r"\(2019 to 2021; wagon\)\.",
        tab.text,
    )
    assert "It gives the answer on sealed roads and off road for 2019 to 2021, wagon: 75 kg, rack included." in tab.text
    assert "Two reviewers read it blind and approved it." in tab.text
    assert f"{told['confidence']:.3f}" in tab.text and f"{told['uncapped']:.3f}" in tab.text
    for point in told["points"]:
        assert exactly(point["points"]) in tab.text
    assert f'<a href="/documents/{case.paper}">' in tab.html and "page 214" in tab.text
    assert "75 as printed" in tab.text and ESCAPED in tab.html and HOSTILE not in tab.html
    assert "Answer set to 75 kg, rack included" in tab.text
    assert "Before you drive" in tab.text
    assert f'href="/api/v1/claims/{claim}/provenance"' in tab.html
    assert "style=" not in tab.html and "<script>" not in tab.html


def test_figures_are_shown_in_the_unit_that_was_chosen_and_as_they_are_printed(case: Case) -> None:
    claim, _ = case.limit("165", stated={"value": "165", "unit": "lb"})

    assert "74.8 kg" in case.look(claim).text and "As its source prints it: 165 lb." in case.reader.text
    in_pounds = case.reader.request("GET", f"/claims/{claim}", Cookie="unit=lb")
    assert "may carry 165 lb" in in_pounds.text and "kg" not in in_pounds.text.partition("Before you drive")[0]


def test_every_kind_of_figure_has_its_sentence(case: Case) -> None:
    racks = case.publisher("Pellwick", "carrier_maker")
    sheet = case.document(racks, "instruction_sheet")
    bars = case.add("carriers", maker=racks, model="Crossing", kind="crossbars", bars=2)
    vehicle = case.vehicle()
    fitment = case.add("fitments", vehicle=vehicle, carrier=bars)

    def page(kind: str, id: str, quantity: str, value: str, **more: Any) -> str:
        claim, _ = case.claim(kind, id, quantity, value, sheet, **more)
        return case.look(claim).text

    rating = {"condition": "off_road", "basis": "excludes_carrier"}
    assert "the Pellwick Crossing weighs 2.5 kg for each bar, fittings included" in page(
        "carrier", bars, "own_mass", "2.5", per="bar", basis="includes_fixing"
    )
    assert "the Pellwick Crossing may carry at least 80 kg off road, not counting itself" in page(
        "carrier", bars, "load_rating", "80", bound="at_least", **rating
    )
    assert "its own rating is to be multiplied by 2/3" in page(
        "carrier", bars, "off_road_factor", "2/3", applies_to="own_rating"
    )
    assert f"the Pellwick Crossing, on the Orrin Tarn {vehicle.split('-')[2]}, may carry 60 kg" in page(
        "fitment", fitment, "load_rating", "60", **rating
    )


def test_a_claim_without_a_source_and_one_that_nobody_knows(case: Case) -> None:
    claim, _ = case.limit("90", source_type="unverified", citations=[])

    assert "Somebody says, without a source, that" in case.look(claim).text
    assert "An unverified word is approved by nobody." in case.reader.text
    assert "Nothing is cited" in case.reader.text and "no source" in case.reader.text
    for unknown in ("C999999", "x", "C1%00"):
        assert case.reader.get(f"/claims/{unknown}").status in {404, 422}
    assert case.reader.get(f"/claims/{claim}?cursor=soon").status == 422


def test_the_figure_is_boxed_where_it_was_found(case: Case) -> None:
    vehicle = case.vehicle()
    claim, _ = case.limit(on=vehicle)
    citation = case.get(f"/claims/{claim}")["citations"][0]["id"]
    sha256 = case.get(f"/documents/{case.paper}")["sha256"]
    now = case.town.clock.now()
    with case.town.registry.database.write() as session:
        read = entries.PagesRead(case.paper, sha256, 3, "layer", None, (), (), None)
        found = entries.CitationRead(claim, citation, sha256, "found", 2, Box(1000, 2000, 3000, 2200))
        touched = [f"claim:{claim}", f"vehicle:{vehicle}"]
        projection.record(session, actor=entries.SYSTEM, now=now, streams=[f"document:{case.paper}"], payload=read)
        projection.record(session, actor=entries.SYSTEM, now=now, streams=touched, payload=found)

    tab = case.look(claim)

    assert f'src="/api/v1/documents/{case.paper}/pages/2/picture?width=560" loading="lazy"' in tab.html
    assert '<rect x="940" y="1940" width="2120" height="320"/>' in tab.html
    assert f'href="/documents/{case.paper}/pages/2"' in tab.html
    assert "the figure stands there, near its words" in tab.text


# Where it stands


def test_each_state_says_what_it_means(case: Case) -> None:
    waiting, _ = case.limit()
    assert "No reviewer has decided on it yet." in case.look(waiting).text
    assert "Nobody has read it yet." in case.reader.text and "What it does" not in case.reader.text

    wanting, _ = case.limit()
    case.decide(wanting, "ask_evidence", reason=f"Which page? {HOSTILE}")
    assert "What is wanted: “Which page? <b onclick=alert(1)>" in case.look(wanting).text
    assert HOSTILE not in case.reader.html

    once, body = case.limit()
    case.approve(once, body, "reviewer")
    assert "One reviewer has approved it" in case.look(once).text and "approved once" in case.reader.text
    assert "no more than 75 kg, rack included" in case.reader.text
    assert "one reviewer has approved it, and it takes two" in case.reader.text

    refused, _ = case.limit()
    case.decide(refused, "reject", reason="This is the rack’s sticker.", code="carrier_rating_quoted")
    assert "Refused: it only quotes the rack’s own rating. “This is the rack’s sticker.”" in case.look(refused).text

    gone, _ = case.limit()
    case.post(f"/claims/{gone}/withdrawal", None, status=200)
    assert "Whoever entered it took it back." in case.look(gone).text
    assert "Dispute it" not in case.reader.text and "Add evidence" not in case.reader.text


def test_a_superseded_claim_leads_to_what_counts_today(case: Case) -> None:
    old = case.standing("90")
    vehicle = case.get(f"/claims/{old}")["subject"]["id"]
    new = case.standing("80", on=vehicle, supersedes=old)

    assert f'Superseded by <a href="/claims/{new}">{new}</a>' in case.look(old).html
    assert f"meant to take the place of {old}" in case.look(new).text
    assert f"says more {old}" in case.reader.text and "90 kg" in case.reader.text


def test_others_on_the_same_thing_agree_or_say_less_or_more(case: Case) -> None:
    vehicle = case.vehicle()
    claim = case.standing("75", on=vehicle)
    alike = case.standing("75.3", on=vehicle, document=case.document(case.maker))
    less, _ = case.limit("60", on=vehicle, document=case.document(case.maker))
    more, _ = case.limit("95", on=vehicle, document=case.document(case.maker))

    text = case.look(claim).text

    for stands, other in (("agrees", alike), ("says less", less), ("says more", more)):
        assert f"{stands} {other}" in text, stands
    assert "a second independent source agrees" in text


def test_copies_count_once_and_fragility_is_told(case: Case) -> None:
    claim = case.standing()
    copy = case.document(case.maker, "letter", title="A copy")
    case.post(f"/documents/{copy}/copies", {"of": case.paper, "copied": True})
    told = case.get(f"/claims/{claim}/confidence")["fragility"]

    text = case.look(claim).text

    assert "Copies of it, which count as one with it" in text and "A copy" in text
    without = rf"Without its strongest source \(\s?{case.paper}\s?\) it would be {told['confidence']:.2f}"
    assert re.search(without, text)


def test_a_mismatch_is_shown_with_what_was_read(case: Case) -> None:
    claim, body = case.limit("75")
    case.read(claim, {**body, "stated": {"value": "57", "unit": "kg"}}, "reviewer")

    text = case.look(claim).text

    assert "Read blind, and differs in the figure" in text and "They read: 57 kg, on sealed roads" in text
    assert "a blind reading differs" in text and "−1.0" in text


def test_what_is_worked_back_shows_its_rows_and_falls_with_what_it_takes_in(case: Case) -> None:
    rows = [("Slatten", "25", "50"), ("Crossing", "5", "70"), ("Gravel", "20", "55")]
    derivation = {
        "method": "accessory_pages",
        "rows": [
            {
                "accessory": f"{name} {HOSTILE}",
                "mass": {"value": mass, "unit": "kg"},
                "load": {"value": load, "unit": "kg"},
                "document": case.paper,
                "page": "3",
            }
            for name, mass, load in rows
        ],
    }
    told: dict[str, Any] = {"stated": None, "basis": None, "source_type": "accessory_derived", "derivation": derivation}
    worked, _ = case.limit(**told, citations=[])

    tab = case.look(worked)

    assert "Worked back from what is published: the roof of the Orrin Tarn" in tab.text
    assert '<svg class="intervals"' in tab.html and "What each page tells of this roof, in kg" in tab.html
    assert tab.html.count('class="bar agrees"') == 3 and HOSTILE not in tab.html
    assert "24.5 to 25.5" in tab.text and "By pencil" in tab.text

    vehicle = case.vehicle()
    on_road = case.standing("90", on=vehicle)
    told["derivation"] = {"method": "sister_vehicle", "takes": [on_road]}
    sister, _ = case.limit(**told, citations=[])
    assert f'<a href="/claims/{on_road}">{on_road}</a>' in case.look(sister).html
    assert "What rests on it These are worked back from it. A dispute here suspends them" in case.look(on_road).text
    assert sister in case.reader.text
    case.post(f"/claims/{on_road}/disputes", {"reason": "No.", "document": case.other})
    assert f"Suspended: {on_road}, on which it rests, is disputed." in case.look(sister).text


def test_very_many_rows_are_shown_some_at_a_time(case: Case) -> None:
    rows = [
        {
            "accessory": f"Rack {place}.",
            "mass": {"value": str(5 + place), "unit": "kg"},
            "load": {"value": str(MOST_ROWS + 5 - place), "unit": "kg"},
            "document": case.paper,
        }
        for place in range(1, MOST_ROWS + 1)
    ]
    derivation = {"method": "accessory_pages", "rows": rows}
    claim, _ = case.limit(stated=None, basis=None, source_type="accessory_derived", citations=[], derivation=derivation)

    tab = case.look(claim)

    assert f"The rows: 1 to 40 of {MOST_ROWS}" in tab.text and f"{MOST_ROWS - 40} more are in the table" in tab.text
    places = re.findall(rf'href="/claims/{claim}(\?rows=[0-9]+)#working"', tab.html)
    shown = []
    for place in ("", *places):
        case.look(claim, place)
        shown += re.findall(r">(Rack [0-9]+\.)</th>", case.reader.html)
        assert len(case.reader.html.encode()) < 80_000, place
    assert shown == [f"Rack {place}." for place in range(1, MOST_ROWS + 1)]
    for nonsense in ("all", "0", "-1", "999999"):
        assert case.look(claim, f"?rows={nonsense}").status == 200


def test_a_claim_of_a_merged_vehicle_tells_where_it_came_from(case: Case) -> None:
    into = case.vehicle()
    claim, _ = case.limit()
    merged = case.get(f"/claims/{claim}")["subject"]["id"]
    body = {"kind": "vehicle", "subject": merged, "into": into, "reason": "One car."}
    placement = case.post("/mergers", body, "steward")["id"]
    case.post(f"/placements/{placement}/confirmations", {}, "reviewer")

    tab = case.look(claim)

    assert "Merged: it was entered on" in tab.text and f'<a href="/vehicles/{into}">' in tab.html


# Its history


def test_the_history_is_in_pages_and_says_what_each_entry_did(case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    claim = case.standing()
    case.post(f"/claims/{claim}/disputes", {"reason": "Another page says 60.", "document": case.other})
    monkeypatch.setattr(claims, "ON_A_PAGE", 3)
    seen: list[str] = []
    path = f"/claims/{claim}"
    while path:
        html = case.reader.get(path).html
        seen += re.findall(r"entry (\d+)", html)
        more = re.search(r'<p class="more"><a href="(/claims/[^"#]+)', html)
        path = more[1].replace("&amp;", "&") if more else ""

    assert seen == [str(each["seq"]) for each in case.get(f"/claims/{claim}/history")["items"]]
    assert "No answer any more; it was 75 kg, rack included" in case.reader.text
    assert "from the beginning" in case.reader.text


# What people do


def test_whoever_may_still_read_a_claim_blind_is_kept_from_it(case: Case) -> None:
    claim, body = case.limit("68.5")
    reviewer = case.tab_of("third reviewer").get(f"/claims/{claim}")

    assert reviewer.status == 200 and "68.5" not in reviewer.html and f'href="/desk/{claim}"' in reviewer.html
    assert "68.5 kg" in reviewer.get(f"/claims/{claim}?seen=yes").text
    assert "68.5 kg" in case.tab_of("contributor").get(f"/claims/{claim}").text
    case.read(claim, body, "third reviewer")
    assert "68.5 kg" in reviewer.get(f"/claims/{claim}").text


def test_a_dispute_with_evidence_takes_the_answer_back_once(case: Case) -> None:
    claim = case.standing()
    vehicle = case.get(f"/claims/{claim}")["subject"]["id"]
    tab = case.tab_of("contributor").get(f"/claims/{claim}/dispute")
    assert "stops giving answers at once" in tab.text and "lapses after 14 days" in tab.text
    assert f'<option value="{case.other}">' in tab.html

    tab.fill(f"/claims/{claim}/dispute", reason=f"Page 3: {HOSTILE}", document="D999999", should_say="60 kg", page="3")
    assert tab.status == 422 and "No document D999999 is held." in tab.text
    assert f"Page 3: {ESCAPED}</textarea>" in tab.html and 'value="60 kg"' in tab.html and 'value="3"' in tab.html
    assert 'id="document-fault"' in tab.html and "autofocus" in tab.html

    form = tab.form(f"/claims/{claim}/dispute")
    key = dict(form.fields)["_key"]
    sent = {"_key": key, "reason": f"Page 3: {HOSTILE}", "document": case.other, "should_say": "60 kg"}
    tab.post(form.action, sent)
    assert tab.status == 200 and "is entered. The claim gives no answer until it is settled." in tab.text
    assert HOSTILE not in tab.html and "It should say: 60 kg" in tab.text
    tab.post(form.action, sent)
    assert tab.status == 200 and len(case.get(f"/claims/{claim}")["disputes"]) == 1
    limit = case.get(f"/vehicles/{vehicle}/limit", condition="on_road")
    assert limit["figure"] is None and limit["refusal"]["kind"] == "disputed"
    assert "It is disputed already" in tab.get(f"/claims/{claim}/dispute").text
    assert f'href="/disputes/{case.get(f"/claims/{claim}")["disputes"][0]["id"]}"' in tab.get(f"/claims/{claim}").html


def test_a_dispute_without_evidence_stands_beside_the_claim(case: Case) -> None:
    claim = case.standing()
    tab = case.tab_of("contributor").get(f"/claims/{claim}/dispute")

    tab.fill(f"/claims/{claim}/dispute", reason="")
    assert tab.status == 422 and "Say what is wrong with it, in a sentence." in tab.text
    tab.fill(f"/claims/{claim}/dispute", reason="Mine bends.", page="4")
    assert tab.status == 422 and "name the document too" in tab.text and "Mine bends.</textarea>" in tab.html
    tab.fill(f"/claims/{claim}/dispute", reason="Mine bends.", page="")
    assert "lapses after 14 days unless evidence is found" in tab.text and "Doubted, without evidence." in tab.text
    assert case.get(f"/claims/{claim}")["sets"]
    tab.get(f"/claims/{claim}/dispute").fill(f"/claims/{claim}/dispute", reason="Still.")
    assert tab.status == 409 and "Still.</textarea>" in tab.html and "disputing" in tab.text


def test_whoever_is_not_signed_in_is_asked_to_and_loses_nothing(case: Case) -> None:
    claim = case.standing()
    tab = Tab(case.client).post(f"/claims/{claim}/dispute", {"reason": "Mine bends."})

    assert tab.status == 401 and 'value="Mine bends."' in tab.html and f"/claims/{claim}/dispute" in tab.html
    assert not case.get(f"/claims/{claim}")["disputes"]
    assert Tab(case.client).get(f"/claims/{claim}/cite").status == 401


def test_evidence_is_added_before_any_approval_and_not_after(case: Case) -> None:
    claim, body = case.limit()
    case.decide(claim, "ask_evidence", reason="Which page?")
    tab = case.tab_of("contributor").get(f"/claims/{claim}/cite")

    tab.fill(f"/claims/{claim}/cite", document="here", page="9", quote=HOSTILE)
    assert tab.status == 422 and "is not a document&#39;s id" in tab.html and f"{ESCAPED}</textarea>" in tab.html
    tab.fill(f"/claims/{claim}/cite", document=case.other, page="9", quote=HOSTILE)
    assert "Your evidence is added." in tab.text and ESCAPED in tab.html and HOSTILE not in tab.html
    assert case.get(f"/claims/{claim}")["state"] == "submitted"
    tab.get(f"/claims/{claim}/cite").fill(f"/claims/{claim}/cite", document=case.other, page="9", quote=HOSTILE)
    assert tab.status == 409 and "already cites this place" in tab.text and 'value="9"' in tab.html

    case.approve(claim, body, "reviewer")
    assert "Nothing can be added to this claim" in tab.get(f"/claims/{claim}/cite").text


def test_only_its_author_takes_a_claim_back_and_is_asked_first(case: Case) -> None:
    claim, _ = case.limit()
    mine, stranger = case.tab_of("contributor"), case.tab_of("fourth reviewer")

    assert "Withdraw it" in mine.get(f"/claims/{claim}").text
    assert "Withdraw it" not in stranger.get(f"/claims/{claim}?seen=yes").text
    assert "Only who entered a claim withdraws it." in stranger.get(f"/claims/{claim}/withdraw").text
    assert stranger.post(f"/claims/{claim}/withdraw", {"_key": "k"}).status == 403
    mine.get(f"/claims/{claim}/withdraw").fill(f"/claims/{claim}/withdraw")
    assert "Your claim is withdrawn." in mine.text
    assert case.get(f"/claims/{claim}")["state"] == "withdrawn"
    assert mine.post(f"/claims/{claim}/withdraw", {"_key": "another"}).status == 409
