"""Records corrected and made one by the pages of stewards: nothing typed is lost, and nobody does it alone."""

from html import unescape
from typing import Any

import pytest

from app.core.permissions import Role
from tests.web.pages.tabs import Square, Tab
from tests.web.story import Trade

HOSTILE = "<b>because & so"


@pytest.fixture(scope="module")
def tab(town: Square, trade: Trade) -> Tab:
    """A steward."""
    return town.tab("sorrel", Role.STEWARD)


@pytest.fixture(scope="module")
def twins(trade: Trade) -> tuple[str, str]:
    """Two records of one vehicle."""
    one = trade.add("vehicles", maker="orrin", model="Wether", series="W1", years={"from": 2015})
    other = trade.add(
        "vehicles", maker="orrin", model="Wether", series="W 1", years={"from": 2016}, distinct_from=[one]
    )
    return one, other


def record(trade: Trade, id: str) -> Any:
    return trade.get(f"/vehicles/{id}")


def test_who_may_not_is_not_shown_the_way(town: Square, tab: Tab, trade: Trade, twins: tuple[str, str]) -> None:
    one, _ = twins
    for way in (f"/vehicles/{one}/correction", f"/vehicles/{one}/merger"):
        assert way in tab.get(f"/vehicles/{one}").html
        assert way not in Tab(town.client).get(f"/vehicles/{one}").html
    assert f"/carriers/{trade.platform}/merger" in tab.get(f"/carriers/{trade.platform}").html


def test_a_record_is_corrected_from_what_it_says(tab: Tab, trade: Trade, twins: tuple[str, str]) -> None:
    one, _ = twins
    place = f"/vehicles/{one}/correction"
    tab.get(place)
    assert 'value="Wether"' in tab.html
    filled = {"to": "2019", "bodies": "wagon", "markets": "nz, au", "reason": HOSTILE}
    tab.fill(place, **filled)
    assert tab.at == f"/vehicles/{one}"
    said = record(trade, one)
    assert (said["years"], said["bodies"], said["markets"]) == ({"from": 2015, "to": 2019}, ["wagon"], ["AU", "NZ"])
    tab.get(place)
    assert 'value="wagon" checked' in tab.html
    tab.fill(place, reason=HOSTILE)
    assert (tab.status, "says this already" in tab.text) == (409, True)
    tab.get(place).fill(place, **{"from": "soon", "model": "", "reason": HOSTILE})
    assert (tab.status, 'id="from-fault"' in tab.html, 'id="model-fault"' in tab.html) == (422, True, True)
    assert (HOSTILE in tab.html, HOSTILE in unescape(tab.html), 'value="soon"' in tab.html) == (False, True, True)
    assert record(trade, one) == said


def test_a_name_that_another_goes_by_is_asked_about(tab: Tab, trade: Trade, twins: tuple[str, str]) -> None:
    wrong = trade.add("vehicles", maker="orrin", model="Bellwing", years={"from": 2015})
    place = f"/vehicles/{wrong}/correction"
    tab.get(place).fill(place, model="Wether", series="W1", reason="As it is printed.")
    assert (tab.status, "It would be called like" in tab.text) == (409, True)
    assert twins[0] in tab.html
    tab.fill(place, is_distinct="yes", reason="As it is printed.")
    assert tab.at == f"/vehicles/{wrong}"
    assert record(trade, wrong)["model"] == "Wether"


def test_every_kind_of_record_has_its_form(tab: Tab, trade: Trade) -> None:
    racks, tents = trade.get(f"/carriers/{trade.bars}")["maker"], trade.publisher("Fell Tents", "gear_maker")
    records: dict[str, dict[str, Any]] = {
        "carriers": {"maker": racks, "model": "Yoke", "kind": "basket", "bars": 3, "fixing": "separate"},
        "fixings": {"maker": racks, "model": "Cleat", "holds": ["gutter"], "feet": 4},
        "gear": {"maker": tents, "model": "Bield", "category": "awning"},
        "fitments": {"vehicle": trade.heron, "carrier": trade.bars, "roofs": ["bare"]},
    }
    for plural, new in records.items():
        id = trade.add(plural, **new)
        place = f"/{plural}/{id}/correction"
        changed = ("roofs", "track") if plural == "fitments" else ("model", "Otherwise")
        fields = [each for each in tab.get(place).form(place).fields if each[0] != "model"]
        tab.post(place, [*fields, *chosen(tab).items(), changed, ("reason", "As the sheet says.")])
        assert (tab.status, tab.at) == (200, f"/{plural}/{id}"), tab.text
        said = trade.get(f"/{plural}/{id}")
        kept = {name: each for name, each in new.items() if name not in {changed[0], "maker", "kind"}}
        assert {name: said[name] for name in kept} == kept
        assert (said.get("model", "Otherwise"), said.get("roofs", ["bare", "track"])) == (
            "Otherwise",
            ["bare", "track"],
        )


def chosen(tab: Tab) -> dict[str, str]:
    """What is chosen in the lists of a form, which is no input."""
    found = {}
    for part in tab.html.split("<select ")[1:]:
        options, name = part.partition("</select>")[0], part.partition('name="')[2].partition('"')[0]
        if " selected" in options:
            found[name] = options.partition(" selected")[0].rpartition('value="')[2].rstrip('"')
    return found


def test_two_records_are_made_one_by_two_people(town: Square, tab: Tab, trade: Trade, twins: tuple[str, str]) -> None:
    one, other = twins
    place = f"/vehicles/{other}/merger"
    tab.get(place)
    assert f'value="{one}"' in tab.html
    assert f'name="into" value="{other}"' not in tab.html
    fields = [*tab.form(place).fields, ("reason", HOSTILE)]
    tab.post(place, fields)
    assert (tab.status, HOSTILE in tab.html, HOSTILE in unescape(tab.html)) == (422, False, True)
    proposed = [*fields, ("into", one)]
    places = {tab.request("POST", place, proposed).headers["location"] for _ in range(2)}
    assert len(places) == 1
    tab.get(places.pop())
    assert "Somebody else agrees with it, or refuses it." in tab.text
    assert HOSTILE not in tab.html
    id = tab.at.rpartition(".")[2]
    tab.get(place).post(place, [*tab.form(place).fields, ("reason", "Again."), ("into", one)])
    assert (tab.status, f"{id} proposes that" in tab.text) == (409, True)
    assert tab.get(f"/vehicles/{other}").at.endswith(other)
    fellow = town.tab("tansy", Role.REVIEWER).get("/desk/proposed")
    fellow.fill(f"/desk/proposed/{id}", say="agree")
    assert "is in force" in fellow.text
    assert trade.get(f"/vehicles/{other}")["merged_into"] == one
    nothing = tab.get(f"/vehicles/{one}/merger?q=xyzzyx{HOSTILE}")
    assert ("is called anything like" in nothing.text, HOSTILE in nothing.html) == (True, False)
