"""What stewards propose of two records, seen and sent by pages: what it would change is shown before and comes about, and
nothing typed is lost."""

from html import unescape
from typing import Any

import pytest

from app.core.permissions import Role
from tests.web.pages.tabs import Square, Tab
from tests.web.story import API, Trade

HOSTILE = "<b>because & so"
SAID = {
    "condition": "on_road",
    "basis": "includes_carrier",
    "scope": {"roofs": "all", "bodies": "all", "years": "all"},
}


@pytest.fixture(scope="module")
def tab(town: Square, trade: Trade) -> Tab:
    """A steward."""
    return town.tab("sorrel", Role.STEWARD)


@pytest.fixture(scope="module")
def fellow(town: Square, trade: Trade) -> Tab:
    """Somebody else, who reviews."""
    return town.tab("tansy", Role.REVIEWER)


@pytest.fixture(scope="module")
def mixed(trade: Trade) -> tuple[str, str, str, str]:
    """A vehicle on which there is a claim of another's, with that one; and the claim, and what fits it."""
    maker = trade.publisher("Wetherby", "vehicle_maker")
    one = trade.add("vehicles", maker=maker, model="Curlew", years={"from": 2015})
    other = trade.add("vehicles", maker=maker, model="Whaup", years={"from": 2015})
    trade.vetted("vehicle", one, "roof_limit", "100", trade.document(maker), **SAID)
    claim = trade.vetted("vehicle", one, "roof_limit", "75", trade.document(maker), **SAID)
    return one, other, claim, trade.add("fitments", vehicle=one, carrier=trade.bars)


def gross(trade: Trade, vehicle: str) -> float | None:
    figure = trade.get(f"/vehicles/{vehicle}/limit", condition="on_road")["figure"]
    return None if figure is None else figure["gross"]["value"]


def sent(tab: Tab, place: str, *further: tuple[str, str]) -> Tab:
    """A form as it stands on the page, with more filled in."""
    names = {name for name, _ in further}
    return tab.post(place, [*(each for each in tab.form(place).fields if each[0] not in names), *further])


def test_a_split_is_looked_at_proposed_agreed_with_and_undone(
    tab: Tab, fellow: Tab, trade: Trade, mixed: tuple[str, str, str, str]
) -> None:
    one, other, claim, fitment = mixed
    place = f"/vehicles/{one}/split"
    assert place in tab.get(f"/vehicles/{one}").html
    tab.get(place)
    assert f'value="{claim}"' in tab.html
    assert f'value="{fitment}"' in tab.html
    sent(tab, place, ("q", "Whaup"), ("claims", claim), ("reason", HOSTILE), ("do", "find"))
    assert (tab.status, f'name="onto" value="{other}"' in tab.html) == (200, True)
    assert (f'value="{claim}" checked' in tab.html, HOSTILE in tab.html, HOSTILE in unescape(tab.html)) == (
        True,
        False,
        True,
    )
    sent(tab, place, ("q", "Whaup"), ("do", "foresee"))
    assert (tab.status, 'id="onto-fault"' in tab.html) == (422, True)
    ticked = (("claims", claim), ("fitments", fitment), ("q", "Whaup"), ("onto", other))
    sent(tab, place, *ticked, ("reason", ""), ("do", "foresee"))
    assert tab.status == 200
    assert "75 kg, rack included becomes 100 kg, rack included" in tab.text
    assert "no figure becomes 75 kg, rack included" in tab.text
    assert "may overload a roof" in tab.text
    assert f"What limits a load by {fitment} limits it on the other one from then on" in tab.text
    assert (gross(trade, one), gross(trade, other)) == (75, None)
    sent(tab, place, *ticked, ("reason", ""), ("do", "propose"))
    assert (tab.status, 'id="reason-fault"' in tab.html) == (422, True)
    sent(tab, place, *ticked, ("reason", HOSTILE), ("do", "propose"))
    id = tab.at.rpartition(".")[2]
    assert f"/placements/{id}" in tab.html
    own = tab.get(f"/placements/{id}").text
    assert ("Take it back" in own, "and agree" in own) == (True, False)
    assert "Nothing has changed by it yet" in Tab(tab.client).get(f"/placements/{id}").text
    fellow.get(f"/placements/{id}")
    assert "75 kg, rack included becomes 100 kg, rack included" in fellow.text
    assert (HOSTILE in fellow.html, HOSTILE in unescape(fellow.html)) == (False, True)
    fellow.fill(f"/desk/proposed/{id}", say="agree")
    assert (gross(trade, one), gross(trade, other)) == (100, 75)
    assert trade.get(f"/fitments/{fitment}")["vehicle"] == other
    assert "75 kg, rack included became 100 kg, rack included" in tab.get(f"/placements/{id}").text

    undoing = f"/placements/{id}/undoing"
    assert undoing in tab.html
    assert undoing not in fellow.get(f"/placements/{id}").html
    assert "100 kg, rack included becomes 75 kg, rack included" in tab.get(undoing).text
    sent(tab, undoing, ("reason", ""))
    assert (tab.status, 'id="reason-fault"' in tab.html) == (422, True)
    fields = [*(each for each in tab.form(undoing).fields if each[0] != "reason"), ("reason", HOSTILE)]
    assert len({tab.request("POST", undoing, fields).headers["location"] for _ in range(2)}) == 1
    again = tab.headers["location"].rpartition(".")[2]
    assert "is proposed already" in tab.get(undoing).text
    fellow.get(f"/placements/{again}").fill(f"/desk/proposed/{again}", say="agree")
    assert (gross(trade, one), gross(trade, other)) == (75, None)
    assert (tab.get(f"/placements/{id}").text.count("undone"), tab.get(f"/placements/{again}").status) == (1, 200)
    told = tab.get(undoing).text
    assert ("only a merger or split that is in force" in told, "Propose to undo" in told) == (True, False)


def test_what_a_merger_would_change_is_shown_before_it_is_proposed(
    tab: Tab, trade: Trade, mixed: tuple[str, str, str, str]
) -> None:
    one, other, *_ = mixed
    place = f"/vehicles/{other}/merger"
    tab.get(f"{place}?q=Curlew")
    sent(tab, place, ("into", one), ("reason", HOSTILE), ("do", "foresee"))
    assert (tab.status, "no figure becomes 75 kg, rack included" in tab.text) == (200, True)
    assert (HOSTILE in tab.html, HOSTILE in unescape(tab.html), f'value="{one}" checked' in tab.html) == (
        False,
        True,
        True,
    )
    assert not [each for each in placements(trade, other) if each["state"] == "proposed"]
    sent(tab, place, ("into", one), ("reason", HOSTILE), ("do", "propose"))
    id = tab.at.rpartition(".")[2]
    tab.get(f"{place}?q=Curlew")
    sent(tab, place, ("into", one), ("do", "foresee"))
    assert (tab.status, f"{id} proposes that" in tab.text) == (409, True)
    tab.get(f"/placements/{id}").fill(f"/desk/proposed/{id}", say="withdraw")
    assert "taken back" in tab.get(f"/placements/{id}").text


def test_what_cannot_come_into_force_any_more_is_told_and_not_foreseen(tab: Tab, fellow: Tab, trade: Trade) -> None:
    maker = trade.publisher("Thrunscoe", "vehicle_maker")
    new: dict[str, Any] = {"maker": maker, "years": {"from": 2015}}
    here, there, further = (trade.add("vehicles", model=name, **new) for name in ("Dunlin", "Knot", "Ruff"))

    def propose(one: str, other: str) -> str:
        place = f"/vehicles/{one}/merger"
        sent(tab.get(place), place, ("into", other), ("reason", HOSTILE), ("do", "propose"))
        return tab.at.rpartition(".")[2]

    stale, *others = propose(here, there), propose(there, further), propose(further, here)
    assert "and agree" in fellow.get(f"/placements/{stale}").text
    for id in others:
        fellow.get(f"/placements/{id}").fill(f"/desk/proposed/{id}", say="agree")
    fellow.get(f"/placements/{stale}")
    assert (fellow.status, "Nobody can agree with it any more" in fellow.text) == (200, True)
    assert ("and agree" in fellow.text, "Refuse it" in fellow.text) == (False, True)


def placements(trade: Trade, vehicle: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = trade.get("/placements", kind="vehicle", subject=vehicle)["items"]
    return found


def test_a_rack_says_which_of_its_ratings_would_change(tab: Tab, trade: Trade) -> None:
    maker = trade.publisher("Tolbarrow", "carrier_maker")
    new: dict[str, Any] = {"maker": maker, "kind": "crossbars", "fixing": "separate"}
    one = trade.add("carriers", model="Brandreth", **new)
    other = trade.add("carriers", model="Gantry", **new)
    said = {"condition": "on_road", "basis": "excludes_carrier"}
    trade.vetted("carrier", one, "load_rating", "80", trade.document(maker), **said)
    claim = trade.vetted("carrier", one, "own_mass", "12", trade.document(maker), basis="includes_fixing")
    place = f"/carriers/{one}/split"
    tab.get(f"{place}?q=Gantry")
    sent(tab, place, ("claims", claim), ("onto", other), ("do", "foresee"))
    assert "12 kg becomes no figure" in tab.text
    assert "no figure becomes 12 kg" in tab.text
    assert "80 kg" not in tab.text.partition("Whose they are")[0]
    # More mass allows less: that it is named raises nothing.
    assert "may overload" not in tab.text
    sent(tab, place, ("claims", "C1"), ("onto", other), ("do", "foresee"))
    assert (tab.status, 'id="claims-fault"' in tab.html) == (422, True)


def test_all_of_them_are_listed_in_one_state_and_of_one_record(
    tab: Tab, trade: Trade, mixed: tuple[str, str, str, str]
) -> None:
    one, *_ = mixed
    ids = [each["id"] for each in reversed(placements(trade, one))]
    anybody = Tab(tab.client)
    html = anybody.get(f"/placements?kind=vehicle&subject={one}").html
    assert [html.index(f'class="actor" href="/placements/{id}"') for id in ids] == sorted(
        html.index(f'class="actor" href="/placements/{id}"') for id in ids
    )
    assert "None is in this state" in anybody.get("/placements?state=refused").text
    assert "None was proposed" in anybody.get("/placements?kind=vehicle&subject=nothing").text
    assert anybody.get("/placements/M1").status == 404
    ends = anybody.get("/placements?state=withdrawn").html
    assert [f'href="/placements/{id}"' in ends for id in ids] == [
        trade.get(f"/placements/{id}")["state"] == "withdrawn" for id in ids
    ]


def test_documents_are_judged_asked_again_and_taken_down(tab: Tab, town: Square, trade: Trade) -> None:
    maker = trade.publisher("Holloway", "vehicle_maker")
    vehicle = trade.add("vehicles", maker=maker, model="Merle", years={"from": 2015})
    held, copied = trade.document(maker), trade.document(maker)
    trade.vetted("vehicle", vehicle, "roof_limit", "60", held, **SAID)
    writer = town.tab("yarrow").get(f"/documents/{held}")
    assert (f"/documents/{held}/copy" in writer.html, f"/documents/{held}/takedown" in writer.html) == (True, False)
    place = f"/documents/{held}/copy"
    writer.get(place).fill(place, of=HOSTILE)
    assert (writer.status, 'id="of-fault"' in writer.html, HOSTILE in writer.html) == (422, True, False)
    writer.fill(place, of=copied.lower(), copied="yes")
    assert "Your word on it is entered" in writer.text
    assert trade.get(f"/documents/{held}/resembling")["items"][0]["document"] == copied
    writer.get(place).fill(place, of=copied, copied="yes")
    assert (writer.status, "You have said so" in writer.text) == (409, True)

    published = {"publisher": maker, "kind": "maker_page", "address": "https://holloway.example/merle"}
    answer = trade.client.post(
        f"{API}/documents",
        files={name: (None, text) for name, text in published.items()},
        headers=trade.people["contributor"],
    )
    address = answer.json()["id"]
    writer.get(f"/documents/{address}").fill(f"/documents/{address}/fetch")
    assert "Its address is asked again" in writer.text

    place = f"/documents/{held}/takedown"
    tab.get(place)
    assert "60 kg, rack included becomes no figure" in tab.text
    tab.fill(place, reason=HOSTILE)
    assert (tab.status, 'id="code-fault"' in tab.html, HOSTILE in unescape(tab.html)) == (422, True, True)
    assert gross(trade, vehicle) == 60
    tab.fill(place, code="privacy", reason=HOSTILE)
    assert (tab.at, "taken down (privacy)" in tab.text, HOSTILE in tab.html) == (f"/documents/{held}", True, False)
    assert gross(trade, vehicle) is None
    assert "taken down already" in tab.get(place).text


def test_a_receipt_is_removed_for_good(tab: Tab, trade: Trade) -> None:
    asked = {"budget": {"vehicle": trade.heron, "condition": "on_road"}}
    digest = trade.post("/receipts", asked)["receipt"]["digest"].removeprefix("sha256:")
    place = f"/receipts/{digest}/removal"
    assert place in tab.get(f"/receipts/{digest}").html
    assert place not in Tab(tab.client).get(f"/receipts/{digest}").html
    tab.get(place).fill(place)
    assert (tab.at, "The receipt is removed" in tab.text) == (place, True)
    assert Tab(tab.client).get(f"/receipts/{digest}").status == 404
