"""What changed, the latest first; and the Atom feed, held to RFC 4287."""

import re
from html import unescape
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from app.core.entries import PAYLOADS
from app.core.mass import Unit
from app.core.plate import Effect
from app.services.changes import changes
from app.services.news import News
from app.web.pages import telling
from tests.web.pages.tabs import Square, Tab
from tests.web.story import Trade

ATOM = "{http://www.w3.org/2005/Atom}"
HOSTILE = "<b>Tam & Co</b>\x0b"


@pytest.fixture
def tab(town: Square, trade: Trade) -> Tab:
    """Somebody who is not signed in."""
    return Tab(town.client)


def shown(tab: Tab) -> list[int]:
    """The entries on a page."""
    return [int(each) for each in re.findall(r'class="seq"[^>]*>(\d+)<', tab.html)]


def test_the_latest_stand_first_and_earlier_ones_follow(tab: Tab, trade: Trade) -> None:
    head = trade.get("/changes", limit=1)["head"]
    seen = shown(tab.get("/changes"))
    assert seen == list(range(head, head - 20, -1))
    while found := re.findall(r'href="(/changes\?before=\d+)">Show earlier', tab.html):
        seen += shown(tab.get(found[0]))
    assert seen == list(range(head, 0, -1))
    assert shown(tab.get("/changes?before=1")) == []
    assert "Nothing has been entered before this" in tab.text
    assert tab.get("/changes?before=none").status == 422
    one = tab.client.get(f"/changes?vehicle={trade.tarn}&before={head}")
    assert (one.status_code, one.headers["location"]) == (303, f"/vehicles/{trade.tarn}/timeline?before={head}")


def test_what_an_entry_did_is_told_with_before_and_after(tab: Tab, trade: Trade) -> None:
    everywhere = {"scope": {"years": "all", "bodies": "all", "roofs": "all", "markets": "all"}}
    limit = {"condition": "on_road", "basis": "includes_carrier", **everywhere}
    low, body = trade.claim("vehicle", trade.tarn, "roof_limit", "70", trade.handbook, **limit)
    trade.approve(low, body, "reviewer")
    tab.get("/changes")
    assert (
        f'<a href="/claims/{low}">{low}</a> on <a href="/vehicles/{trade.tarn}">Orrin Tarn T2</a> approved' in tab.html
    )
    assert "lowered from 75 kg, rack included to 70 kg, rack included" in tab.text
    assert tab.request("GET", "/changes", Cookie="unit=lb").text.count("from 165.3 lb, rack included to 154.3 lb") > 0
    feed = tab.get("/changes.atom").html
    assert "Orrin Tarn T2, On sealed roads: lowered from 75 kg, rack included to 70 kg, rack included." in feed


def test_every_kind_of_entry_has_a_sentence(trade: Trade, town: Square) -> None:
    told = {"claim_decided", *telling._SENTENCES}
    assert {type for type, _ in PAYLOADS} == told
    assert set(telling._EFFECTS) == {str(each) for each in Effect}


def test_the_feed_has_what_rfc_4287_asks_for(tab: Tab, trade: Trade) -> None:
    """Sections 4.1.1 (feed: author, id, title, updated, a link to itself), 4.1.2 (entry: id, title, updated, and content
    or an alternate link), 4.2.6 (ids: absolute, once each) and 3.3 (dates as in RFC 3339, with a capital T and Z)."""
    trade.add("vehicles", maker="orrin", model=HOSTILE, years={"from": 2001})
    tab.get("/changes.atom")
    assert tab.headers["content-type"].partition(";")[0] == "application/atom+xml"
    feed = ET.fromstring(tab.html)
    assert feed.tag == f"{ATOM}feed"
    for name in ("id", "title", "updated"):
        assert len(feed.findall(ATOM + name)) == 1, name
    assert feed.findtext(f"{ATOM}author/{ATOM}name")
    links = {each.get("rel"): each.get("href") for each in feed.findall(f"{ATOM}link")}
    assert links == {"self": "/changes.atom", "alternate": "/changes"}
    entries = feed.findall(f"{ATOM}entry")
    assert len(entries) == 40
    ids = [feed.findtext(f"{ATOM}id"), *(each.findtext(f"{ATOM}id") for each in entries)]
    assert all(re.fullmatch(r"urn:uuid:[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", str(id)) for id in ids)
    assert len(set(ids)) == len(ids)
    for each in entries:
        assert all(len(each.findall(ATOM + name)) == 1 for name in ("id", "title", "updated"))
        assert "alternate" in {link.get("rel") for link in each.findall(f"{ATOM}link")}
        assert len(each.findall(f"{ATOM}content")) == 1
    dates = [each.text or "" for each in feed.iter(f"{ATOM}updated")]
    assert all(re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z", each) for each in dates)
    assert dates[0] == max(dates)
    title = entries[0].findtext(f"{ATOM}title")
    assert title == "Orrin <b>Tam & Co</b>\N{REPLACEMENT CHARACTER} entered"
    assert "<b>Tam" not in tab.get("/changes").html
    assert "<b>Tam & Co</b>" in unescape(tab.html)


def test_a_follower_who_has_it_is_told_so(tab: Tab, trade: Trade) -> None:
    tag = tab.get("/changes.atom").headers["etag"]
    ids = re.findall("<id>(.*?)</id>", tab.html)
    again = tab.request("GET", "/changes.atom", None, **{"If-None-Match": f'"other", W/{tag}'})
    assert (again.status, again.html) == (304, "")
    trade.publisher("Sallow", "shop")
    tab.request("GET", "/changes.atom", None, **{"If-None-Match": tag})
    assert tab.status == 200
    after = re.findall("<id>(.*?)</id>", tab.html)
    assert (after[0], after[2:]) == (ids[0], ids[1:-1])


def test_news_are_worked_out_once_and_in_bounds(trade: Trade, town: Square, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[tuple[int, int]] = []

    def counted(session: Any, *, after: int, limit: int, unit: Unit) -> Any:
        asked.append((after, limit))
        return changes(session, after=after, limit=limit, unit=unit)

    monkeypatch.setattr("app.services.news.changes", counted)
    news = News()
    with town.registry.database.read() as session:
        first = news.latest(session, before=40, limit=10, unit=Unit.KG)
        assert [each.entry.seq for each in first.items] == list(range(39, 29, -1))
        assert news.latest(session, before=40, limit=10, unit=Unit.KG) == first
        assert asked == [(29, 10)]
        news.latest(session, before=43, limit=10, unit=Unit.KG)
        assert asked[1] == (32, 10)
        monkeypatch.setattr("app.services.changes.MOST_WORK", 1)
        tired = News().latest(session, before=40, limit=10, unit=Unit.KG)
        assert tired.items[0].entry.seq == 39
        assert len(asked) <= 2 + 4
        assert tired.older == tired.items[-1].entry.seq
