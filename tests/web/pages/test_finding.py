"""The one box: typing errors forgiven, one sure hit gone to at once, and what is not there led on to being entered."""

import re
from html import unescape
from urllib.parse import parse_qs, urlencode, urlsplit

import pytest

from tests.web.pages.tabs import Square, Tab
from tests.web.story import Trade

HOSTILE = '"><script>alert(1)</script>'


@pytest.fixture
def tab(town: Square, trade: Trade) -> Tab:
    """Somebody who is not signed in."""
    return Tab(town.client)


def names(tab: Tab) -> list[str]:
    """What was found, in the order in which it is shown."""
    return re.findall(r'class="name" href="[^"]*">([^<]*)</a>\n<span class="apart"', tab.html)


def test_the_front_page_has_the_box_and_something_to_try(tab: Tab) -> None:
    tab.get("/")
    assert (tab.status, 'action="/find"' in tab.html) == (200, True)
    assert "For example Orrin" in tab.text
    assert tab.get("/find?q=+").status == 303
    assert tab.headers["location"] == "/"


def test_vehicles_come_first_with_what_tells_them_apart_and_their_plainest_figure(tab: Tab, trade: Trade) -> None:
    trade.add("vehicles", maker="orrin", model="Tarn", series="T1", years={"from": 2012, "to": 2018}, bodies=["wagon"])
    tab.get("/find?q=orin+tarm")
    assert tab.status == 200
    assert sorted(names(tab)[:2]) == ["Orrin Tarn T1", "Orrin Tarn T2"]
    assert "2012 to 2018 · wagon" in tab.text
    assert "75 kg on sealed roads, rack included" in tab.text
    assert "not known on sealed roads" in tab.text
    titles = re.findall(r"<h2>([^<]*)</h2>", tab.html)
    assert titles[0] == "Vehicles"


@pytest.mark.parametrize(
    ("words", "query"),
    [
        ("tarn t2", ""),
        ("Orrin TARN T2", ""),
        ("tarn t2 2021", "?year=2021"),
        ("2021 tarn", "?year=2021"),
        ("tarn dual cab 2022", "?year=2022&body=dual_cab"),
    ],
)
def test_one_sure_hit_is_gone_to_with_what_was_said_of_the_car(tab: Tab, trade: Trade, words: str, query: str) -> None:
    tab.get(f"/find?{urlencode({'q': words})}")
    assert (tab.status, tab.headers["location"]) == (303, f"/vehicles/{trade.tarn}{query}")
    assert tab.get(f"/find?{urlencode({'q': words, 'all': 1})}").status == 200
    assert "Orrin Tarn T2" in names(tab)


def test_racks_and_what_else_there_is_are_found_too(tab: Tab, trade: Trade) -> None:
    tab.get("/find?q=gravel+dek")
    assert names(tab)[0] == "Pellwick Gravel Deck"
    assert f'href="/carriers/{trade.rough}"' in tab.html


def test_the_whole_of_a_name_comes_before_its_maker_alone(tab: Tab, trade: Trade) -> None:
    for model in ("Ghyllwick", "Ruddle", "Lintel"):
        trade.add("vehicles", maker="orrin", model=model, years={"from": 2012})
    trade.add("vehicles", maker="orrin", model="Tarn", series="T7", years={"from": 2026})
    tab.get("/find?q=orin+tarne+t7")
    assert names(tab)[0] == "Orrin Tarn T7"
    assert {each.rpartition(" ")[0] for each in names(tab.get("/find?q=orrin+tarn+t9"))[:2]} == {"Orrin Tarn"}
    # What only shares some letters with a name that is surely meant is left out.
    assert all("Tarn" in each for each in names(tab.get("/find?q=tarn")))


def test_a_year_in_which_it_was_not_made_hides_nothing(tab: Tab, trade: Trade) -> None:
    tab.get("/find?q=tarn+t2+1987")
    assert (tab.status, "not made in 1987" in tab.text, "called anything like" in tab.text) == (200, True, False)
    assert "Orrin Tarn T2" in tab.html.partition("Of other years")[2]
    trade.add("vehicles", maker="orrin", model="Fellgate", series="F1", years={"from": 2001, "to": 2004})
    trade.add("vehicles", maker="orrin", model="Fellgate", series="F2", years={"from": 2005, "to": 2009})
    # One of the year that was said is not gone to for another one of that very name.
    tab.get("/find?q=orrin+fellgate+f2+2003")
    assert (tab.status, "Fellgate F1" in tab.html, "Fellgate F2" in tab.html) == (200, True, True)
    assert tab.get("/find?q=fellgate+2003").headers["location"] == "/vehicles/orrin-fellgate-f1-2001?year=2003"


def test_many_of_one_kind_are_a_page_further(tab: Tab, trade: Trade) -> None:
    for number in range(8):
        trade.add(
            "vehicles",
            maker="orrin",
            model="Whinfell",
            series=f"W{number}",
            years={"from": 2000 + number, "to": 2000 + number},
        )
    tab.get("/find?q=whinfell")
    assert len([name for name in names(tab) if "Whinfell" in name]) == 6
    assert "/find?q=whinfell&kind=vehicle" in unescape(tab.html)
    tab.get("/find?q=whinfell&kind=vehicle")
    assert len([name for name in names(tab) if "Whinfell" in name]) == 8


def test_what_is_not_there_leads_to_entering_it(tab: Tab) -> None:
    assert "plan a load with its figure typed in" in tab.get("/find?q=xyzzyx").text
    tab.get("/find?q=Brakwater+Zzykk+2017")
    assert "Nothing here is called anything like" in tab.text
    (entered,) = re.findall(r'href="(/vehicles/new\?[^"]*)"', tab.html)
    assert parse_qs(urlsplit(unescape(entered)).query) == {"maker": ["Brakwater"], "model": ["Zzykk"], "from": ["2017"]}


def test_hostile_words_are_words(tab: Tab) -> None:
    tab.get(f"/find?{urlencode({'q': HOSTILE + 'x' * 300})}")
    assert tab.status == 200
    assert HOSTILE not in tab.html
    assert HOSTILE in unescape(tab.html)
    assert tab.get("/find?q=%00").status == 422
