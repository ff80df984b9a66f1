"""Entering a vehicle by its form: once however often it is sent, nothing typed is lost, and twins are shown first."""

import re
from html import unescape

import pytest

from tests.web.pages.tabs import Square, Tab
from tests.web.story import Trade

NEW = "/vehicles/new"
HOSTILE = "<b>Nab & Co"


@pytest.fixture(scope="module")
def signed_in(town: Square, trade: Trade) -> Tab:
    """A contributor."""
    return town.tab("alder")


@pytest.fixture
def tab(signed_in: Tab) -> Tab:
    """The contributor with the form before them."""
    return signed_in.get(NEW)


def vehicles(trade: Trade) -> list[str]:
    return [each["id"] for each in trade.get("/vehicles", limit=200)["items"]]


def test_whoever_is_not_signed_in_is_asked_to_and_keeps_what_was_typed(town: Square, trade: Trade) -> None:
    nobody = Tab(town.client).get(f"{NEW}?maker=Orrin")
    assert (nobody.status, "Sign in" in nobody.text) == (401, True)
    nobody.post(NEW, {"maker": "Orrin", "model": "Scarth"})
    assert nobody.status == 401
    assert 'value="Scarth"' in nobody.html


def test_a_vehicle_is_entered_once_and_its_rating_asked_for(tab: Tab, trade: Trade) -> None:
    fields = [*tab.form(NEW).fields]
    filled = {"maker": "ORRIN", "model": HOSTILE, "from": "2016", "markets": "nz, au"}
    sent = [(name, text) for name, text in fields if name not in filled]
    sent += [*filled.items(), ("bodies", "wagon"), ("bodies", "van"), ("roofs", "gutter")]
    tab.request("POST", NEW, sent)
    assert (tab.status, tab.headers["location"]) == (303, "/submit?vehicle=orrin-b-nab-co-2016")
    tab.request("POST", NEW, sent)
    assert (tab.status, tab.headers["location"]) == (303, "/submit?vehicle=orrin-b-nab-co-2016")
    assert vehicles(trade).count("orrin-b-nab-co-2016") == 1
    record = trade.get("/vehicles/orrin-b-nab-co-2016")
    assert (record["years"], record["bodies"]) == ({"from": 2016, "to": None}, ["van", "wagon"])
    assert (record["roofs"], record["markets"]) == (["gutter"], ["AU", "NZ"])
    shown = tab.get("/vehicles/orrin-b-nab-co-2016")
    assert HOSTILE not in shown.html
    assert HOSTILE in unescape(shown.html)


def test_every_fault_stands_beside_its_field_and_nothing_typed_is_lost(tab: Tab, trade: Trade) -> None:
    before = vehicles(trade)
    tab.fill(NEW, maker="Orrin", model="m" * 81, **{"from": "soon", "markets": "Norway"}, bodies="wagon")
    assert tab.status == 422
    for name in ("model", "from"):
        assert f'aria-describedby="{name}-fault"' in tab.html, name
        assert f'id="{name}-fault"' in tab.html, name
    typed = dict(tab.form(NEW).fields)
    assert (typed["model"], typed["from"], typed["markets"]) == ("m" * 81, "soon", "Norway")
    assert typed["bodies"] == "wagon"
    tab.fill(NEW, model="Backwards", **{"from": "2016", "to": "2010", "markets": ""})
    assert (tab.status, "The last year comes before the first" in tab.text) == (422, True)
    assert vehicles(trade) == before


def test_a_twin_is_shown_before_it_is_entered(tab: Tab, trade: Trade) -> None:
    filled = {"maker": "Orrin", "model": "Tarn", "series": "T-2", "from": "2020"}
    tab.fill(NEW, **filled)
    assert (tab.status, "Is it one of these?" in tab.text) == (409, True)
    assert f'href="/vehicles/{trade.tarn}">It is this one: Orrin Tarn T2' in tab.html
    typed = dict(tab.form(NEW).fields)
    assert {name: typed[name] for name in filled} == filled
    again = tab.fill(NEW)
    assert again.status == 409, "sent again without a word, it is still held back"
    tab.fill(NEW, is_distinct="yes")
    assert tab.at == "/submit?vehicle=orrin-tarn-t-2-2020"


def test_a_maker_that_is_new_is_entered_on_the_way(tab: Tab, trade: Trade) -> None:
    filled = {"maker": "Skaveld", "model": "Uvenn", "from": "2013", "to": "2019"}
    tab.fill(NEW, **filled)
    assert (tab.status, 'id="maker-fault"' in tab.html) == (422, True)
    assert "No maker here is called Skaveld" in tab.text
    tab.fill(NEW, maker_is_new="yes")
    assert tab.at == "/submit?vehicle=skaveld-uvenn-2013"
    assert trade.get("/publishers/skaveld")["kind"] == "vehicle_maker"


def test_a_maker_that_resembles_another_is_asked_about(tab: Tab, trade: Trade) -> None:
    filled = {"maker": "Orrinn", "model": "Gale", "from": "2005", "maker_is_new": "yes"}
    tab.fill(NEW, **filled)
    assert (tab.status, "Is it one of these makers?" in tab.text) == (409, True)
    held = tab.form(NEW)
    tab.fill(NEW, maker_is="orrin")
    assert tab.at == "/submit?vehicle=orrin-gale-2005"
    other = [(name, "Squall" if name == "model" else text) for name, text in held.fields if name != "_key"]
    tab.post(NEW, [*other, ("maker_is_distinct", "yes")])
    assert tab.at == "/submit?vehicle=orrinn-squall-2005"
    assert trade.get("/publishers/orrinn")["name"] == "Orrinn"


def test_the_form_comes_filled_in_from_what_was_looked_for(signed_in: Tab) -> None:
    tab = signed_in.get(f"{NEW}?maker=Nowhere&model=Thing&from=2011&other=x")
    typed = dict(tab.form(NEW).fields)
    assert (typed["maker"], typed["model"], typed["from"]) == ("Nowhere", "Thing", "2011")
    assert "No maker here goes by this name so far." in tab.text
    assert re.search('<option value="Orrin">', tab.html) is not None


def test_racks_fixings_and_gear_are_entered_likewise(tab: Tab, trade: Trade) -> None:
    tab.get("/carriers/new").fill("/carriers/new", maker="Pellwick", model="Trellis", kind="basket", bars="four")
    assert (tab.status, 'id="bars-fault"' in tab.html) == (422, True)
    assert '<option value="basket" selected>' in tab.html
    form = [(name, text) for name, text in tab.form("/carriers/new").fields if name != "bars"]
    tab.post("/carriers/new", [*form, ("kind", "basket"), ("bars", "4"), ("fixing", "separate")])
    assert tab.at == "/submit?carrier=pellwick-trellis"
    assert trade.get("/carriers/pellwick-trellis")["bars"] == 4
    tab.get("/fixings/new").fill("/fixings/new", maker="Pellwick", model="Clawfoot", holds="gutter", first_year="2019")
    assert tab.at == "/submit?fixing=pellwick-clawfoot-2019"
    tab.get("/gear/new").fill("/gear/new", maker="Bivven", maker_is_new="yes", model="Burrow", category="rooftop_tent")
    assert tab.at == "/submit?gear=bivven-burrow"
    assert trade.get("/publishers/bivven")["kind"] == "gear_maker"
    assert "Rooftop tent" in tab.get("/gear/bivven-burrow").text
    assert tab.get("/fixings/new").fill("/fixings/new", maker="Pellwick", model="Holdless").status == 422
    assert 'id="holds-fault"' in tab.html


def test_what_fits_is_found_by_name_and_entered(tab: Tab, trade: Trade) -> None:
    new = "/fitments/new"
    tab.get(f"{new}?vehicle={trade.heron}")
    assert (tab.status, "What fits Orrin Heron" in tab.text) == (200, True)
    assert "Enter the rack first" in tab.get(f"{new}?vehicle={trade.heron}&rack=zzzz").text
    tab.get(f"{new}?vehicle={trade.heron}&rack=gravel+dek")
    assert f'value="{trade.rough}"' in tab.html
    assert tab.fill(new, carrier="").status == 422, "which rack was not said"
    assert 'id="carrier-fault"' in tab.html
    tab.fill(new, carrier=trade.rough, roofs="gutter")
    assert tab.at == f"/vehicles/{trade.heron}"
    assert "Pellwick Gravel Deck , on gutters" in tab.text
    tab.get(f"{new}?vehicle={trade.heron}&rack=gravel+deck").fill(new, carrier=trade.rough)
    assert (tab.status, "These two are joined already" in tab.text) == (409, True)
    tab.fill(new, carrier=trade.rough, roofs="bare", is_distinct="yes")
    assert len(trade.get("/fitments", vehicle=trade.heron)["items"]) == 2
    assert tab.get(f"{new}?vehicle=none").status == 404
