"""A vehicle's page: the plate as the API answers it, the questions beside it, what it rests on, and what is missing."""

import re
from html import unescape
from urllib.parse import parse_qs, urlsplit

import pytest

from tests.web.pages.tabs import Square, Tab
from tests.web.story import Trade

EVERYWHERE = {"years": "all", "bodies": "all", "markets": "all"}
HOSTILE = '<img src=x onerror="alert(1)">'


@pytest.fixture
def tab(town: Square, trade: Trade) -> Tab:
    """Somebody who is not signed in."""
    return Tab(town.client)


def hrefs(tab: Tab, beginning: str) -> list[str]:
    """Where a page leads, of the addresses that begin in some way."""
    found = map(unescape, re.findall(r'href="([^"]*)"', tab.html))
    return list(dict.fromkeys(each for each in found if each.startswith(beginning)))


def fields(tab: Tab) -> list[str]:
    """The fields of a page's first plate, in words."""
    plate = tab.html.partition('<section class="plate')[2].partition("</section>")[0]
    return [" ".join(unescape(re.sub("<[^>]+>", " ", each)).split()) for each in plate.split("<dt>")[1:]]


@pytest.fixture(scope="module")
def railed(trade: Trade) -> str:
    """A vehicle that carries 100 kg on raised rails and 70 kg without, and 60 if a claim nobody has read is right."""
    id = trade.add(
        "vehicles",
        maker="orrin",
        model="Fell",
        series="F1",
        years={"from": 2018, "to": 2021},
        bodies=["wagon"],
        roofs=["bare", "raised_rail"],
    )
    trade.confirmed("vehicles", id, trade.handbook)
    common = {"condition": "on_road", "basis": "includes_carrier"}
    for value, roof in (("100", "raised_rail"), ("70", "bare")):
        scope = {**EVERYWHERE, "roofs": [roof]}
        trade.vetted("vehicle", id, "roof_limit", value, trade.handbook, scope=scope, **common)
    trade.claim("vehicle", id, "roof_limit", "60", trade.handbook, scope={**EVERYWHERE, "roofs": "all"}, **common)
    return id


def test_the_plate_says_what_the_api_answers(tab: Tab, trade: Trade) -> None:
    tab.get(f"/vehicles/{trade.tarn}")
    assert (tab.status, "<h1>Orrin Tarn T2</h1>" in tab.html) == (200, True)
    road, rough, parked = fields(tab)
    answered = trade.get(f"/vehicles/{trade.tarn}/limit", condition="on_road")
    confidence = f"{int(answered['figure']['confidence'] * 100) / 100:.2f}"
    assert road == f"On sealed roads 75 kg rack included · {confidence} · one source"
    assert rough.startswith("Off road 75 kg")
    assert "No off-road figure is recorded" in rough
    assert parked.startswith("Parked at least 75 kg")
    assert "Not while driving." in parked
    assert "Not while driving." not in road + rough
    assert hrefs(tab, "/plan?") == [f"/plan?vehicle={trade.tarn}"]
    assert f'<a class="id" href="/claims/{trade.roof}">' in tab.html
    assert "Before you drive" in tab.text
    assert "style=" not in tab.html
    assert "<script>" not in tab.html


def test_a_plate_in_pounds_says_so_on_every_figure(town: Square, trade: Trade) -> None:
    answer = town.client.get(f"/vehicles/{trade.tarn}", headers={"Cookie": "unit=lb"})
    pounds = trade.get(f"/vehicles/{trade.tarn}/limit", condition="on_road", unit="lb")["figure"]["gross"]["value"]
    assert f"{int(pounds * 10) / 10}<small> lb</small>" in answer.text
    assert "<small> kg</small>" not in answer.text


def test_both_sides_of_a_limit_are_shown_where_both_are_known(tab: Tab, trade: Trade) -> None:
    road, *_ = fields(tab.get(f"/vehicles/{trade.heron}"))
    assert road.startswith("On sealed roads 80 kg rack included and 75 kg rack not included")


def test_a_question_is_asked_answered_and_taken_back(tab: Tab, railed: str) -> None:
    tab.get(f"/vehicles/{railed}")
    assert "Does it have factory raised rails? It changes the answer." in tab.text
    assert fields(tab)[0].startswith("On sealed roads 70 kg")
    assert "Raised rails: 100 kg" in tab.text
    tab.get(next(each for each in hrefs(tab, "/vehicles/") if "raised_rail" in each))
    assert fields(tab)[0].startswith("On sealed roads 100 kg")
    assert "Does it have factory raised rails?" not in tab.text
    assert "raised rails take back" in tab.text
    (planned,) = hrefs(tab, "/plan?")
    assert parse_qs(urlsplit(planned).query) == {"vehicle": [railed], "roofs": ["raised_rail"]}
    assert f"/vehicles/{railed}" in hrefs(tab, "/vehicles/")


def test_what_is_undecided_and_lower_stands_beside_the_answer(tab: Tab, railed: str) -> None:
    tab.get(f"/vehicles/{railed}")
    found = re.search(r"(C\d+) is undecided and says less: 60 kg", tab.text)
    # Where it is listed, its state comes before its figure.
    assert 'waits for reviewers</span> <b class="amount submitted">60 kg</b>' in tab.html
    assert found is not None
    assert f"If reviewers approve {found[1]}, the figure goes down on sealed roads" in tab.text


def test_a_car_that_cannot_be_is_refused_beside_its_field_and_stays_typed(tab: Tab, railed: str) -> None:
    for said, field in (("year=1950", "year"), ("year=soon", "year"), ("body=van", "body")):
        tab.get(f"/vehicles/{railed}?{said}&market=NZ")
        assert tab.status == 422, said
        assert fields(tab)[0].startswith("On sealed roads 70 kg"), said
        assert railed not in tab.text
        assert 'value="NZ"' in tab.html
        if field == "year":
            assert 'aria-describedby="year-fault"' in tab.html
            assert f'value="{said.partition("=")[2]}"' in tab.html
    assert tab.get(f"/vehicles/{railed}?min_confidence=2").status == 422
    assert tab.get(f"/vehicles/{railed}?utm=spring").status == 200


def test_a_refusal_stands_in_the_figures_place_with_what_would_lift_it(tab: Tab, trade: Trade) -> None:
    id = trade.add("vehicles", maker="orrin", model="Mossick", series=HOSTILE, years={"from": 2020, "to": None})
    road, *_ = fields(tab.get(f"/vehicles/{id}"))
    assert road == "On sealed roads not known Nobody has entered a claim for this figure."
    assert f"/submit?vehicle={id}&quantity=roof_limit&condition=parked" in hrefs(tab, "/submit")
    assert f"/vehicles/{id}/letter" in hrefs(tab, "/vehicles/")
    assert f"/enquiries/new?vehicle={id}" in hrefs(tab, "/enquiries/new")
    assert "Nobody has entered a claim on this vehicle yet." in tab.text
    asked = trade.enquiry(subject={"kind": "vehicle", "id": id}, asked="orrin", conditions=["on_road"])
    assert f"/enquiries/{asked}" in hrefs(tab.get(f"/vehicles/{id}"), "/enquiries/E")
    assert HOSTILE not in tab.html
    assert HOSTILE in unescape(tab.html)


def test_what_only_caps_a_limit_is_no_figure(tab: Tab, trade: Trade) -> None:
    id = trade.add("vehicles", maker="orrin", model="Garsdale", years={"from": 2012, "to": 2016})
    scope = {"bodies": ["van"], "years": "all", "roofs": "all", "markets": "all"}
    said = {"condition": "on_road", "basis": "includes_carrier", "scope": scope}
    trade.vetted("vehicle", id, "roof_limit", "93", trade.handbook, **said)
    trade.vetted("vehicle", id, "off_road_factor", "4/5", trade.handbook, applies_to="roof_limit")
    road, rough, _ = fields(tab.get(f"/vehicles/{id}"))
    assert trade.get(f"/vehicles/{id}/limit", condition="off_road")["reduced"] is not None
    assert road.startswith("On sealed roads not proven for this car")
    assert rough.startswith("Off road not proven for this car")
    assert rough.endswith("No more than 74.4 kg, rack included, whatever else turns up.")
    _, rough, _ = fields(tab.get(f"/vehicles/{id}?body=van"))
    assert rough.startswith("Off road 74.4 kg rack included")
    assert "93 kg times 4/5, its own off-road factor." in rough


def test_weak_claims_are_shown_as_not_enough(tab: Tab, trade: Trade) -> None:
    id = trade.add("vehicles", maker="orrin", model="Quern", years={"from": 2011, "to": 2014})
    claim, _ = trade.claim(
        "vehicle", id, "roof_limit", "65", trade.handbook, condition="on_road", basis="includes_carrier"
    )
    road, *_ = fields(tab.get(f"/vehicles/{id}"))
    assert "not certain enough" in road
    assert f"{claim} waits for two reviewers to read its page" in tab.text
    assert "The claim that comes nearest, and is not enough:" in tab.text


def test_long_lists_of_claims_go_on_where_they_ended(tab: Tab, trade: Trade) -> None:
    id = trade.add("vehicles", maker="orrin", model="Longlist", years={"from": 2001, "to": 2004})
    made = [
        trade.claim("vehicle", id, "roof_limit", str(40 + n), trade.handbook, condition="parked", basis="not_stated")[0]
        for n in range(14)
    ]
    tab.get(f"/vehicles/{id}")
    more = hrefs(tab, f"/vehicles/{id}?claims_after=")
    assert len(more) == 1
    first = tab.html.partition('id="claims"')[2]
    assert [claim for claim in made if f">{claim}</a>" in first] == made[:12]
    tab.get(more[0].partition("#")[0])
    rest = tab.html.partition('id="claims"')[2]
    assert [claim for claim in made if f">{claim}</a>" in rest] == made[12:]
    assert not hrefs(tab, f"/vehicles/{id}?claims_after=")


def test_the_timeline_tells_what_each_entry_did_to_the_plate(tab: Tab, trade: Trade) -> None:
    assert f"/vehicles/{trade.tarn}/timeline" in hrefs(tab.get(f"/vehicles/{trade.tarn}"), "/vehicles/")
    tab.get(f"/vehicles/{trade.tarn}/timeline")
    told = tab.text
    for _ in range(12):
        older = hrefs(tab, f"/vehicles/{trade.tarn}/timeline?before=")
        if not older:
            break
        told += tab.get(older[0]).text
    assert "On sealed roads: set to 75 kg, rack included" in told
    assert told.index("approved by a reviewer") < told.index("submitted: roof limit of Orrin Tarn T2")
    assert "Orrin Tarn T2 entered." in told
    assert tab.get(f"/vehicles/{trade.tarn}/timeline?before=x").status == 422


def test_what_is_not_there_leads_back_to_the_box(tab: Tab) -> None:
    for path in (
        "/vehicles/none-such",
        "/vehicles/none-such/timeline",
        "/carriers/none-such",
        "/fitments/F9",
        "/publishers/x",
    ):
        assert tab.get(path).status == 404, path
        assert "Look for the vehicle by its name" in tab.text


def linked(tab: Tab, path: str) -> int:
    """How many links of a page lead to a place."""
    return unescape(tab.html).count(f'href="{path}"')


def test_what_fits_is_planned_with_in_one_step(tab: Tab, trade: Trade) -> None:
    id = trade.add("fitments", vehicle=trade.tarn, carrier=trade.rough)
    tab.get(f"/vehicles/{trade.tarn}?year=2021")
    planned = f"/plan?vehicle={trade.tarn}&year=2021&carrier={trade.rough}"
    assert linked(tab, planned) == 2
    # At hand beside the plate, before anything that explains it.
    assert tab.text.index("on a rack that fits: Pellwick Gravel Deck") < tab.text.index("What this rests on")
    feet = trade.add("fixings", maker="pellwick", model="Claw", holds=["gutter"])
    gutters = {"vehicle": trade.tarn, "carrier": trade.bars, "fixing": feet, "roofs": ["gutter"]}
    trade.add("fitments", **gutters)
    tab.get(f"/vehicles/{trade.tarn}?year=2021")
    held = f"/plan?vehicle={trade.tarn}&year=2021&carrier={trade.bars}&fixing={feet}"
    assert linked(tab, held) == 2
    bare = f"/plan?vehicle={trade.tarn}&roofs=bare&carrier={trade.bars}&fixing={feet}"
    assert linked(tab.get(f"/vehicles/{trade.tarn}?roofs=bare"), bare) == 1
    tab.get(f"/vehicles/{trade.tarn}?year=2021")
    assert "Pellwick Gravel Deck on Orrin Tarn T2" in tab.get(f"/fitments/{id}").text
    tab.get(f"/carriers/{trade.rough}")
    assert fields(tab)[0].startswith("On sealed roads 100 kg rack not included")
    # No plate of a roof: a rating is set apart, and the car is asked for before anything that explains it.
    assert '<section class="plate itself"' in tab.html
    assert tab.text.index("Not what may go on a car.") < tab.text.index("100 kg")
    assert tab.text.index("What may go up on it, on: Orrin Tarn T2") < tab.text.index("What this rests on")
    assert "It weighs 25 kg fittings included" in tab.text
    assert "× 2/3" in tab.text
    assert f"/vehicles/{trade.tarn}" in hrefs(tab, "/vehicles/")
    assert f"/publishers/{'pellwick'}" in hrefs(tab, "/publishers/")
    assert f"/submit?carrier={trade.rough}&quantity=load_rating&condition=parked" in hrefs(tab, "/submit?")
    assert f"/carriers/{trade.rough}" in hrefs(tab.get("/publishers/pellwick"), "/carriers/")


def test_a_vehicle_that_was_entered_twice_is_looked_at_as_the_other(tab: Tab, trade: Trade) -> None:
    years = {"from": 1990, "to": 1999}
    one, two = (trade.add("vehicles", maker="orrin", model=model, years=years) for model in ("Sedgewold", "Hartbeck"))
    tab.get("/find?q=hartbeck")
    assert tab.headers["location"] == f"/vehicles/{two}"
    merger = trade.post(
        "/mergers", {"kind": "vehicle", "subject": two, "into": one, "reason": "One and the same."}, "steward"
    )
    trade.post(f"/placements/{merger['id']}/confirmations", {}, "reviewer")
    tab.get(f"/vehicles/{two}?year=1995")
    assert (tab.status, tab.headers["location"]) == (303, f"/vehicles/{one}?year=1995")
    assert tab.get(f"/vehicles/{one}").status == 200
    assert two not in tab.get("/find?q=hartbeck").html


def test_what_is_undecided_on_a_rack_stands_beside_its_figures(tab: Tab, trade: Trade) -> None:
    rated = {"condition": "on_road", "basis": "excludes_carrier"}
    less, _ = trade.claim("carrier", trade.bars, "load_rating", "60", trade.sheet, **rated)
    more, _ = trade.claim("carrier", trade.bars, "own_mass", "9", trade.sheet, basis="includes_fixing")
    tab.get(f"/carriers/{trade.bars}")
    assert f"{less} is undecided and says less: 60 kg on sealed roads" in tab.text
    assert f"{more} is undecided and says that it weighs more: 9 kg" in tab.text
