"""The desk: a reviewer takes work, reads blind, sees what is claimed, and decides; and nothing that was typed is lost."""

import re
from typing import Any

import pytest

from app.core.desk import HELD_FOR
from app.core.permissions import Role
from tests.web.pages.fleet import Fleet
from tests.web.pages.tabs import Square, Tab
from tests.web.people import People, let_in

HOSTILE = "<b onclick=alert(1)>row</b>"
SAID: dict[str, Any] = {
    "condition": "off_road",
    "basis": "excludes_carrier",
    "scope": {"bodies": ["coupe"], "years": "all"},
}
KEYED = {
    "value": "61.25",
    "value_unit": "kg",
    "condition": "off_road",
    "basis": "excludes_carrier",
    "years": "all",
    "bodies": "these",
    "bodies_these": "coupe",
}


class Desk(Fleet):
    """A maker with vehicles, a page, and people at tabs."""

    def __init__(self, town: Square, people: People) -> None:
        super().__init__(town, people)
        self.paper = self.document(self.maker, title=HOSTILE)
        self.tabs = {"quill": town.tab("quill", Role.REVIEWER), "sedge": town.tab("sedge", Role.REVIEWER)}
        self.steward = town.tab("hollow", Role.STEWARD)

    def waiting(self, value: str = "61.25", **more: Any) -> str:
        claim, _ = self.claim("vehicle", self.vehicle(), "roof_limit", value, self.paper, **{**SAID, **more})
        return claim


@pytest.fixture(scope="module")
def desk(town: Square) -> Desk:
    return Desk(town, let_in(town.registry))


@pytest.fixture
def quill(desk: Desk) -> Tab:
    return desk.tabs["quill"]


@pytest.fixture
def sedge(desk: Desk) -> Tab:
    return desk.tabs["sedge"]


def plain(tab: Tab) -> str:
    """A page without what is another's on every page: keys, and the names of things."""
    return re.sub(r'name="_key" value="[^"]+"|C\d+|Tarn \w+|orrin-tarn-[\w-]+', "", tab.html)


def key(tab: Tab, work: str, **filled: str) -> Tab:
    return tab.get(f"/desk/{work}").fill(f"/desk/{work}/reading", **{**KEYED, **filled})


def test_a_reading_shows_nothing_of_what_is_claimed(desk: Desk, quill: Tab) -> None:
    one = desk.waiting()
    other = desk.waiting(
        "499", condition="parked", basis="includes_carrier", scope={"markets": ["NZ"]}, bound="at_least", per="bar"
    )
    first, second = (plain(quill.get(f"/desk/first_reading.{each}")) for each in (one, other))
    assert first == second
    assert not [word for word in ("61.25", "499", "kg as", 'value="NZ"') if word in first]
    assert "Figure, as printed" in first
    assert HOSTILE not in first
    queued = quill.get("/desk?kind=first_reading")
    assert not [word for word in ("61.25", "499", "Would lower") if word in queued.html]


def test_words_for_a_place_that_say_the_figure_are_left_out(desk: Desk, quill: Tab) -> None:
    for locator, is_shown in (("the line of 61,250 kg", False), ("Table 61, third line", True)):
        cited = {"document": desk.paper, "page": "214", "locator": locator, "quote": "as printed"}
        page = quill.get(f"/desk/first_reading.{desk.waiting(citations=[cited])}").text
        assert (locator in page, "Ask for its place" in page) == (is_shown, not is_shown)


def test_work_is_taken_read_compared_decided_and_the_next_is_there(desk: Desk, quill: Tab, sedge: Tab) -> None:
    claim = desk.waiting()
    desk.waiting("70")
    quill.get("/desk?kind=first_reading").fill("/desk/next", kind="first_reading")
    while claim not in quill.at:
        quill.fill(f"{quill.at.partition('?')[0]}/release")
        assert "Put back" in quill.text
        quill.post("/desk/first_reading." + claim + "/hold", {})
    work = f"first_reading.{claim}"
    assert "In your hands for 30 minutes more" in quill.text
    form = quill.form(f"/desk/{work}/reading")
    sent = [*[each for each in form.fields if each[0] not in KEYED], *KEYED.items()]
    quill.post(form.action, sent)
    assert "stays within what you read" in quill.text
    assert "61.25 kg as printed" not in quill.text
    assert "61.25 as printed" in quill.text
    assert "autofocus" in re.findall(r'<h2 id="compared"[^>]*>', quill.html)[0]
    assert re.search(r"Confidence 0\.\d\d now, 0\.\d\d then", quill.text)
    assert quill.post(form.action, sent).at == f"/desk/{work}"
    assert desk.get(f"/claims/{claim}")["readings"][0]["matches"]

    quill.fill(f"/desk/{work}/decision", decision="", reason="Third row.", then="next", kind="first_reading")
    assert (quill.status, "Third row." in quill.html) == (422, True)
    decision = quill.form(f"/desk/{work}/decision")
    sent = [*[each for each in decision.fields if each[0] not in {"kind", "decision"}], ("decision", "approve"),
            ("reason", "Third row."), ("then", "next"), ("kind", "first_reading"), ("confirms_record", "yes")]  # fmt: skip
    went = quill.post(decision.action, sent).at
    assert f"approved.{claim}" in went
    assert went.startswith("/desk/first_reading.")
    assert f"{claim} approved." in quill.text
    assert quill.post(decision.action, sent).at == went
    shown = desk.get(f"/claims/{claim}")
    assert (shown["approvals"], len(shown["decisions"])) == (1, 1)
    assert desk.get(f"/vehicles/{shown['subject']['id']}")["confirmations"] == 1
    quill.get("/desk/" + work)
    assert "You decided on it" in quill.text
    quill.get(went).fill(f"{went.partition('?')[0]}/release")

    later = key(sedge, f"second_reading.{claim}")
    assert "On the vehicle’s plate:" in later.text
    assert "no figure becomes" in later.text
    later.fill(f"/desk/second_reading.{claim}/decision", decision="approve", reason="So it is.", then="desk")
    assert later.at == f"/desk?done=approved.{claim}"
    assert desk.get(f"/claims/{claim}")["approvals"] == 2


def test_what_was_typed_stays_where_something_is_wrong(desk: Desk, quill: Tab) -> None:
    claim = desk.waiting()
    work = f"first_reading.{claim}"
    key(quill, work, value=HOSTILE, value_unit="", condition="", markets="these", markets_these="Atlantis")
    assert quill.status == 422
    assert "What you typed is still here." in quill.text
    assert HOSTILE not in quill.html
    assert "&lt;b onclick=alert(1)&gt;row" in quill.html
    assert 'value="Atlantis"' in quill.html
    key(quill, work, value_unit="")
    assert "Say in which unit the page prints it." in quill.text
    assert re.search(r'value="coupe" checked', quill.html)
    key(quill, work, condition="")
    assert "No limit is keyed without its condition." in quill.text
    assert desk.get(f"/claims/{claim}")["readings"] == []


def test_a_claim_that_goes_beyond_is_told_and_goes_to_a_steward(desk: Desk, quill: Tab, sedge: Tab) -> None:
    claim = desk.waiting()
    key(quill, f"first_reading.{claim}", value="50", condition="parked")
    assert "The claim goes beyond what you read, in 2 things: figure, when" in quill.text
    assert "This goes to a steward" in quill.text
    assert 'value="approve"' not in quill.html
    assert f"/desk/first_reading.{claim}" in quill.get("/desk").html
    reading = desk.get(f"/claims/{claim}")["readings"][0]["id"]
    work = f"mismatch.{reading}"
    assert "Claim beyond a reading" not in sedge.get("/desk?kind=mismatch").text
    assert "steward" in sedge.get(f"/desk/{work}").text
    steward = desk.steward
    assert reading in steward.get("/desk?kind=mismatch").html
    steward.get(f"/desk/{work}").fill(f"/desk/{work}/judgement", reason=HOSTILE)
    assert (steward.status, HOSTILE in steward.html) == (422, False)
    steward.fill(f"/desk/{work}/judgement", finding="claim_goes_beyond", reason="The van’s row.", then="desk")
    assert f"Your finding on {reading} is entered." in steward.text
    assert desk.get(f"/claims/{claim}")["judgements"][0]["finding"] == "claim_goes_beyond"
    quill.get(f"/desk/first_reading.{claim}")
    quill.fill(f"/desk/first_reading.{claim}/decision", decision="reject", reason="The van’s row.", then="desk")
    assert (quill.status, "Say why, with a code" in quill.text) == (422, True)
    quill.fill(f"/desk/first_reading.{claim}/decision", decision="reject", code="misread", reason="x", then="desk")
    assert f"{claim} rejected." in quill.text


def test_somebody_else_was_quicker(desk: Desk, quill: Tab, sedge: Tab) -> None:
    claim = desk.waiting()
    work = f"first_reading.{claim}"
    sedge.get(f"/desk/{work}")
    quill.post(f"/desk/{work}/hold", {})
    sedge.fill(f"/desk/{work}/reading", **KEYED)
    assert (sedge.status, "Somebody else has this in hand" in sedge.text) == (409, True)
    assert 'value="61.25"' in sedge.html
    assert sedge.post(f"/desk/{work}/hold", {}).status == 409
    # A session ends as soon as a hold does where nobody asks for anything meanwhile.
    for _ in range(2):
        desk.town.clock.forward(seconds=HELD_FOR.total_seconds() / 2 + 1)
        for each in (quill, sedge):
            each.get("/desk")
    sedge.get(f"/desk/{work}")
    quill.get(f"/desk/{work}")
    assert "In your hands" not in quill.text
    rejected = {"decision": "reject", "code": "misread", "reason": "No."}
    desk.post(f"/claims/{claim}/decisions", rejected, "reviewer")
    sedge.fill(f"/desk/{work}/reading", **KEYED)
    assert (sedge.status, "rejected" in sedge.text, 'value="61.25"' in sedge.html) == (409, True, True)
    assert f"{claim} is rejected" in sedge.get(f"/desk/{work}").text
    assert sedge.get("/desk/first_reading.C999999").status == 404
    assert sedge.get("/desk/nonsense").status == 404


def test_a_session_that_ended_loses_no_reading(desk: Desk, quill: Tab) -> None:
    claim = desk.waiting()
    form = quill.get(f"/desk/first_reading.{claim}").form(f"/desk/first_reading.{claim}/reading")
    gone = Tab(desk.town.client).post(form.action, [*form.fields[:3], *KEYED.items()])
    assert (gone.status, 'value="61.25"' in gone.html) == (401, True)


def test_evidence_is_asked_for_without_a_reading_and_the_author_learns_it(desk: Desk, quill: Tab) -> None:
    author = desk.tab_of("contributor")
    assert (author.get("/desk").status, "The desk is for reviewers" in author.text) == (403, True)
    assert "Nobody asks you for evidence." in author.get("/desk/own").text
    claim = desk.waiting()
    work = f"first_reading.{claim}"
    quill.get(f"/desk/{work}").fill(f"/desk/{work}/decision", decision="ask_evidence", reason=HOSTILE, then="desk")
    assert f"Whoever entered {claim} is asked" in quill.text
    assert "This is done" in quill.get(f"/desk/{work}").text
    author.get("/desk/own")
    assert (claim in author.text, HOSTILE in author.html, HOSTILE in author.text) == (True, False, True)
