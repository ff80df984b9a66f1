"""The desk's work other than plain readings: disputes, records, near copies, words without evidence, what is worked back,
and what stewards propose; and a queue of many pages."""

import re
from typing import Any, Final

import pytest

from app.web.pages import desk as desk_pages
from app.worker.draining import drain
from tests.web.pages.fleet import Fleet
from tests.web.pages.tabs import Square, Tab
from tests.web.people import let_in
from tests.web.story import API

HOSTILE: Final = "<b onclick=alert(1)>note & row</b>"
LIMIT: Final[dict[str, Any]] = {"condition": "on_road", "basis": "includes_carrier"}
WORDS: Final = " ".join(f"Line {n} of the book speaks of the roof, its rails and what they bear." for n in range(40))


class Bench(Fleet):
    """A maker with papers, and reviewers at tabs who have a hand in nothing yet."""

    def __init__(self, town: Square) -> None:
        super().__init__(town, let_in(town.registry))
        self.paper = self.document(self.maker, title=HOSTILE)
        self.against = self.document(self.maker, "letter", title=HOSTILE)
        self.third, self.fourth = self.tab_of("third reviewer"), self.tab_of("fourth reviewer")

    def disputed(self, **more: str) -> tuple[str, str]:
        """A claim that two approved, and a dispute of it."""
        claim = self.vetted("vehicle", self.vehicle(), "roof_limit", "75", self.paper, **LIMIT)
        self.post(f"/claims/{claim}/disputes", {"reason": HOSTILE, **more})
        return claim, str(self.get(f"/claims/{claim}")["disputes"][0]["id"])

    def filed(self, text: str) -> str:
        """A document that says these words."""
        answer = self.client.post(
            f"{API}/documents",
            data={"publisher": self.maker, "kind": "handbook"},
            files={"file": ("page.pdf", f"%PDF-1.7\n{text}\n%%EOF\n".encode())},
            headers=self.people["contributor"],
        )
        assert answer.status_code == 201, answer.text
        return str(answer.json()["id"])


@pytest.fixture(scope="module")
def bench(town: Square) -> Bench:
    return Bench(town)


def test_a_dispute_is_settled_by_fresh_reviewers_and_its_page_tells_how(bench: Bench) -> None:
    claim, dispute = bench.disputed(document=bench.against, page="2")
    work, nobody = f"settlement.{dispute}", Tab(bench.client)
    open_page = nobody.get(f"/disputes/{dispute}")
    assert "is not settled yet" in open_page.text and "Until it is settled" in open_page.text
    assert HOSTILE not in open_page.html and "Settle it" not in open_page.text
    assert "Settle it" in bench.third.get(f"/disputes/{dispute}").text
    of_hand = bench.tab_of("reviewer").get(f"/desk/{work}")
    assert "A fresh reviewer settles this." in of_hand.text and 'name="settlement"' not in of_hand.html

    tab = bench.third.get(f"/desk/{work}")
    assert "What speaks against it" in tab.text and "The claim’s own page" in tab.text and HOSTILE not in tab.html
    action = f"/desk/{work}/settlement"
    tab.fill(action, reason=HOSTILE)
    assert (tab.status, HOSTILE in tab.html, "&lt;b onclick" in tab.html) == (422, False, True)
    assert "Choose how you settle it." in tab.text
    tab.fill(action, settlement="refute", code="misread", reason=HOSTILE, then="desk")
    assert f"Your vote to refute on {dispute} is entered. It takes two." in tab.text
    assert bench.get(f"/claims/{claim}")["state"] == "disputed"

    second = bench.fourth.get(f"/desk/{work}")
    assert "Words on it so far" in second.text and "misread" in second.text and HOSTILE not in second.html
    sent = [
        *second.form(action).fields,
        ("settlement", "refute"),
        ("code", "misread"),
        ("reason", "So."),
        ("then", "desk"),
    ]
    went = second.post(action, sent).at
    assert second.post(action, sent).at == went
    shown = bench.get(f"/claims/{claim}")
    assert (shown["state"], len(shown["disputes"][0]["votes"])) == ("rejected", 2)
    assert "This is" in second.get(f"/desk/{work}").text
    settled = nobody.get(f"/disputes/{dispute}")
    assert "was settled: the claim fell" in settled.text and settled.text.count("Refute") == 2

    claim, dispute = bench.disputed(document=bench.against)
    tab.get(f"/desk/settlement.{dispute}")
    tab.fill(f"/desk/settlement.{dispute}/settlement", settlement="uphold", reason="It stands.", then="desk")
    assert f"{dispute} settled: the claim is upheld." in tab.text
    assert "was settled: the claim stands" in nobody.get(f"/disputes/{dispute}").text
    _, doubt = bench.disputed()
    assert "No held document is named." in nobody.get(f"/disputes/{doubt}").text
    assert nobody.get("/disputes/P999999").status == 404


def test_a_record_is_checked_once_against_a_document_that_is_there(bench: Bench) -> None:
    vehicle = bench.vehicle()
    work = f"record.vehicle.{vehicle}"
    action = f"/desk/{work}/confirmation"
    tab = bench.third.get(f"/desk/{work}")
    assert "Two reviewers check it before it proves anything." in tab.text and "2019" in tab.text
    assert re.search(r"Maker\s*Orrin\b", tab.text)
    tab.fill(action, document="D999999")
    assert (tab.status in {404, 422}, "D999999" in tab.html) == (True, True)
    tab.get(f"/desk/{work}").fill(action, document=bench.paper.lower(), then="desk")
    assert "The record is checked by you." in tab.text
    assert bench.get(f"/vehicles/{vehicle}")["confirmations"] == 1
    assert "checked it already" in tab.get(f"/desk/{work}").text
    assert "One reviewer has checked it; it takes two." in bench.fourth.get(f"/desk/{work}").text
    bench.fourth.fill(action, then="desk")
    assert bench.get(f"/vehicles/{vehicle}")["confirmed"]


def test_two_papers_that_are_much_alike_are_judged(bench: Bench) -> None:
    one, other = bench.filed(WORDS), bench.filed(WORDS + " And one line more.")
    drain(bench.town.registry)
    work = f"near_copy.{one}.{other}"
    tab = bench.third.get("/desk?kind=near_copy")
    assert f'href="/desk/{work}?kind=near_copy"' in tab.html and "Perhaps a copy" in tab.text
    tab.get(f"/desk/{work}")
    assert re.search(r"share \d\d % of their words", tab.text)
    assert tab.html.count("picture?width=720") == 2
    tab.fill(f"/desk/{work}/copy")
    assert (tab.status, "Choose one of the two." in tab.text) == (422, True)
    tab.fill(f"/desk/{work}/copy", copied="yes", then="desk")
    assert "Your word on the two papers is entered." in tab.text
    assert work not in tab.get("/desk?kind=near_copy").html
    assert work not in bench.fourth.get("/desk?kind=near_copy").html


def test_a_word_without_evidence_is_rejected_with_a_reason(bench: Bench) -> None:
    claim, _ = bench.claim(
        "vehicle", bench.vehicle(), "roof_limit", "90", "", **LIMIT, source_type="unverified", citations=[]
    )
    work = f"find_evidence.{claim}"
    tab = bench.third.get(f"/desk/{work}")
    assert "Somebody says 90 kg on sealed roads, rack included, and nobody vouches for it." in tab.text
    tab.fill(f"/desk/{work}/decision", decision="reject", code="no_evidence", reason=HOSTILE, then="desk")
    assert f"{claim} rejected." in tab.text
    assert bench.get(f"/claims/{claim}")["state"] == "rejected"
    assert "This is done" in tab.get(f"/desk/{work}").text


def test_rows_are_read_blind_and_stand_beside_those_that_are_claimed_and_those_that_another_read(bench: Bench) -> None:
    rows = [("Deck", "25", "95"), ("Bars", "5", "115"), ("Box", "12", "108")]
    derivation = {
        "method": "accessory_pages",
        "rows": [
            {
                "accessory": name,
                "mass": {"value": mass, "unit": "kg"},
                "load": {"value": load, "unit": "kg"},
                "document": bench.paper,
            }
            for name, mass, load in rows
        ],
    }
    told = {"condition": "on_road", "stated": None, "source_type": "accessory_derived", "derivation": derivation}
    claim, _ = bench.claim("vehicle", bench.vehicle(), "roof_limit", "", "", **told, citations=[])
    work = f"first_reading.{claim}"
    action = f"/desk/{work}/reading"
    tab = bench.third.get(f"/desk/{work}")
    assert "108" not in tab.text and "Deck" not in tab.text
    keyed = {"rows_unit": "kg", "condition": "on_road"}
    for at, (name, mass, load) in enumerate(rows):
        keyed |= {f"row{at}_accessory": name.upper(), f"row{at}_mass": mass, f"row{at}_load": load}
    more = tab.fill(action, **keyed, more_rows="yes")
    assert (more.status, 'name="row4_accessory"' in more.html, 'value="DECK"' in more.html) == (200, True, True)
    tab.fill(action, **{**keyed, "rows_unit": ""})
    assert (tab.status, "Say in which unit the page prints it." in tab.text) == (422, True)
    tab.get(f"/desk/{work}").fill(action, **{**keyed, "row2_load": "55.1", "row2_unit": "lb", "row2_mass": "26.5"})
    assert "Row by row" in tab.text and "weighs 26.5 lb; may take 55.1 lb" in tab.text
    assert tab.html.count('<tr class="differs">') == 1 and "Another read" not in tab.text

    bench.fourth.get(f"/desk/{work}").fill(action, **{**keyed, "row1_accessory": HOSTILE})
    assert "Another read" in bench.fourth.text and "no such row" in bench.fourth.text
    assert HOSTILE not in bench.fourth.html and "weighs 26.5 lb" in bench.fourth.text
    first = bench.get(f"/claims/{claim}")["readings"][0]
    assert [each["accessory"] for each in first["derivation"]["rows"]] == ["DECK", "BARS", "BOX"]


def test_what_a_steward_proposes_waits_for_somebody_else(bench: Bench) -> None:
    one, other = bench.vehicle(), bench.vehicle()
    body = {"kind": "vehicle", "subject": other, "into": one, "reason": HOSTILE}
    proposed = bench.post("/mergers", body, "steward")["id"]
    tab = bench.third.get("/desk/proposed")
    assert proposed in tab.text and "is the same as" in tab.text and HOSTILE not in tab.html
    action = f"/desk/proposed/{proposed}"
    tab.fill(action, say="refuse", reason="")
    assert (tab.status, proposed in tab.text) == (422, True)
    tab.get("/desk/proposed").fill(action, say="agree")
    assert f"{proposed} is in force." in tab.text
    assert bench.get(f"/placements/{proposed}")["state"] == "in_force"
    undoing = bench.post(f"/placements/{proposed}/undoings", {"reason": "No."}, "steward")["id"]
    steward = bench.tab_of("steward").get("/desk/proposed")
    assert f"{proposed} was wrong" in steward.text and "I read the same pages" not in steward.text
    steward.fill(f"/desk/proposed/{undoing}", say="withdraw", reason="Thought better of.")
    assert f"{undoing} is taken back." in steward.text and "Nothing is proposed." in steward.text
    assert bench.tab_of("contributor").get("/desk/proposed").status == 403


def test_the_queue_is_given_page_by_page(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    for _ in range(3):
        bench.vehicle()
    whole = set(re.findall(r'<h3><a href="/desk/(record[^"?]+)', bench.third.get("/desk?kind=record").html))
    monkeypatch.setattr(desk_pages, "PER_PAGE", 2)
    seen: list[str] = []
    path = "/desk?kind=record"
    while path:
        page = bench.third.get(path)
        seen += re.findall(r'<h3><a href="/desk/(record[^"?]+)', page.html)
        link = re.search(r'<p class="more"><a href="([^"]+)"', page.html)
        path = "" if link is None else link[1].replace("&amp;", "&")
    assert len(whole) >= 3
    assert len(seen) == len(whole) and set(seen) == whole
    assert "Nothing of this kind waits for you." in bench.third.get("/desk?kind=review_due").text
