"""What is missing, most asked for in vain first; and how reviewing goes, in words."""

import re
from html import unescape

import pytest

from app.core.desk_figures import wilson
from tests.web.pages.tabs import Square, Tab
from tests.web.people import let_in
from tests.web.story import API, Story

HOSTILE = '"><script>alert(1)</script>'


class Gaps(Story):
    """A vehicle whose limit on sealed roads is known, and one of which nothing is."""

    def __init__(self, town: Square) -> None:
        super().__init__(town.client, let_in(town.registry))
        self.handbook = self.document(self.publisher("Orrin", "vehicle_maker"))
        self.tarn = self.add("vehicles", maker="orrin", model="Tarn", series="T2", years={"from": 2019, "to": 2024})
        self.heron = self.add("vehicles", maker="orrin", model="Heron", years={"from": 2015, "to": None})
        said = {"condition": "on_road", "basis": "includes_carrier", "scope": {"years": "all", "roofs": "all"}}
        self.vetted("vehicle", self.tarn, "roof_limit", "75", self.handbook, **said)


@pytest.fixture(scope="module")
def gaps(town: Square) -> Gaps:
    """A registry with gaps."""
    return Gaps(town)


@pytest.fixture
def tab(town: Square, gaps: Gaps) -> Tab:
    """Somebody who is not signed in."""
    return Tab(town.client)


def listed(tab: Tab) -> list[tuple[str, str]]:
    """The vehicles and conditions on a page of what is missing, in order."""
    return re.findall(r'href="/submit\?vehicle=([^&]+)&amp;quantity=roof_limit&amp;condition=(\w+)"', tab.html)


def test_what_was_asked_for_in_vain_comes_first(tab: Tab, town: Square, gaps: Gaps) -> None:
    for _ in range(3):
        gaps.get(f"/vehicles/{gaps.heron}/limit", condition="parked", year=2100, min_confidence=1)
    town.registry.bookkeeper.stop()
    town.registry.bookkeeper.start()
    tab.get("/coverage")
    assert tab.status == 200
    assert listed(tab)[0] == (gaps.heron, "parked")
    assert "asked for 3 times, 3 in vain" in tab.text
    assert (gaps.tarn, "on_road") not in listed(tab)
    assert f'href="/vehicles/{gaps.heron}/letter?condition=parked"' in tab.html
    assert listed(tab) == [(each["vehicle"], each["condition"]) for each in gaps.get("/coverage")["items"]]


def test_claims_that_wait_are_told(tab: Tab, gaps: Gaps) -> None:
    gaps.claim("vehicle", gaps.tarn, "roof_limit", "90", gaps.handbook, condition="parked", basis="includes_carrier")
    assert "one claim waits to be decided" in tab.get("/coverage?condition=parked").text


def test_the_list_is_narrowed_and_goes_on(tab: Tab, gaps: Gaps) -> None:
    name = f"Thorn {HOSTILE}"
    ids: list[str] = []
    for number in range(11):
        said = {"maker": "orrin", "model": name, "series": f"Q{number}", "years": {"from": 1950}}
        ids.append(gaps.add("vehicles", **said, distinct_from=list(ids)))
    first = listed(tab.get("/coverage?maker=Orrin"))
    assert "<script>alert" not in tab.html
    assert unescape(tab.html).count(name) > 1
    more = unescape(re.findall(r'href="(/coverage\?[^"]*cursor=[^"]*)"', tab.html)[0])
    assert "maker=orrin" in more
    second = listed(tab.get(more))
    assert len(first) == 30
    assert second
    assert not set(first) & set(second)
    assert {condition for _, condition in listed(tab.get("/coverage?condition=parked"))} == {"parked"}
    assert "Nothing is missing here" in tab.get("/coverage?maker=nobody").text
    assert tab.get("/coverage?cursor=n").status == 422
    assert tab.get("/coverage?quantity=roof_limit").status == 422


def test_the_figures_of_the_desk_are_said_in_words(tab: Tab, town: Square, gaps: Gaps) -> None:
    id, body = gaps.claim("vehicle", gaps.heron, "roof_limit", "120", gaps.handbook, condition="off_road")
    careful = {**body, "stated": {"value": "80", "unit": "kg"}}
    assert gaps.read(id, careful, "reviewer")["matches"] is False
    town.clock.forward(minutes=2)
    figures = gaps.get("/desk/figures")
    tab.get("/desk-figures")
    number, beyond = figures["mismatch"]["readings"], figures["mismatch"]["mismatches"]
    interval = wilson(beyond, number)
    assert beyond == 1
    assert interval is not None
    assert f"Of {number} blind readings, 1 found that a claim goes beyond its evidence" in tab.text
    low, high = (100 * figures["mismatch"]["interval"][end] for end in ("low", "high"))
    assert (low, high) == pytest.approx((100 * interval.low, 100 * interval.high), abs=0.01)
    assert f"between {low:.1f}% and {high:.1f}%" in tab.text
    assert f"With {number} readings" in tab.text
    assert "a steward's look at a mismatch" in tab.text
    assert "decisions were made" in tab.text
    assert tab.client.get(f"{API}/desk/figures").status_code == 200
