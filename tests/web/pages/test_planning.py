"""The load planner, over the real application."""

import html
import re
from decimal import Decimal

import pytest

from app.core.errors import CantrailError
from app.core.mass import Unit
from app.web.pages.plan_address import field_of, plan_again, plan_of
from tests.web.story import Trade

RATED = {"condition": "on_road", "basis": "excludes_carrier"}


def test_a_plan_comes_to_a_verdict_with_its_working(trade: Trade) -> None:
    load = "gear.1.name=awning&gear.1.mass=14&gear.2.name=tent&gear.2.mass=43.6&unit=kg"
    over = trade.client.get(f"/plan?vehicle={trade.tarn}&carrier={trade.platform}&condition=off_road&{load}")
    text = html.unescape(over.text)
    assert over.status_code == 200
    assert "7.6 kg too much. <b>The roof</b> stops you, not the rack." in text
    assert "OVER" in text
    assert "Here it may carry 50 kg: 50 kg less." in text
    assert f'href="/claims/{trade.roof}"' in text
    assert "Pellwick Slatten" in text
    assert ">part of the rack, by its record</option>" in text
    assert "Before you drive." in text
    assert "style=" not in over.text
    assert "onclick" not in over.text
    within = trade.client.get(
        f"/plan?vehicle={trade.tarn}&carrier={trade.platform}&gear.1.mass=10&gear.1.name=box&unit=kg"
    )
    assert "40 kg left." in within.text
    unknown = trade.client.get(
        f"/plan?vehicle={trade.tarn}&carrier={trade.platform}&gear.1.mass=58&gear.1.name=tent&gear.2.name=box&unit=kg"
    )
    assert "8 kg too much, whatever the rest turns out to be. <b>The roof</b> stops you" in unknown.text
    pounds = trade.client.get(f"/plan?vehicle={trade.tarn}", headers={"Cookie": "unit=lb"})
    assert "165.3 lb may go up with no rack on it." in pounds.text
    assert "<strong>No rack is in this.</strong>" in pounds.text
    assert "No rack is in this." not in within.text
    assert "may be carried in all, the rack not counted." in within.text
    assert ">part of the rack, by its record</option>" not in trade.client.get("/plan?carrier=given").text
    nothing = trade.client.get("/plan")
    assert nothing.status_code == 200
    assert 'id="wrong"' not in nothing.text
    found = trade.client.get("/plan?q=tarn")
    assert f'value="vehicle:{trade.tarn}"' in found.text


def test_buttons_lead_on_without_losing_what_is_typed(trade: Trade) -> None:
    here = f"vehicle={trade.tarn}&gear.1.name=awning&gear.1.mass=14,5&gear.2.name=tent&gear.2.mass=40&unit=kg&year="
    tidy = trade.client.get(f"/plan?{here}")
    assert tidy.status_code == 303
    assert "gear.1.mass=14.5" in tidy.headers["location"]
    assert "year" not in tidy.headers["location"]
    assert trade.client.get(tidy.headers["location"]).status_code == 200
    out = trade.client.get(f"/plan?{here}&leave_out=gear.1").headers["location"]
    assert "gear.1.name=tent" in out
    assert "awning" not in out
    added = trade.client.get(f"/plan?{here}&add=category:awning").headers["location"]
    assert "gear.3.category=awning" in added
    changed = trade.client.get(f"/plan?{here}&change=vehicle:").headers["location"]
    assert "vehicle" not in changed
    assert "gear.2.name=tent" in changed
    assert trade.client.get(f"/plan?{here}&leave_out=nonsense").status_code == 422


def test_faults_stand_beside_fields_and_hostile_text_is_text(trade: Trade) -> None:
    bad = trade.client.get(
        f"/plan?vehicle={trade.tarn}&gear.1.name=%3Cscript%3E&gear.1.mass=abc&gear.2.name=x&gear.2.mass=3"
    )
    assert bad.status_code == 422
    assert "<script>" not in bad.text
    assert 'value="&lt;script&gt;"' in bad.text
    assert 'value="abc"' in bad.text
    assert 'id="gear-1-mass-fault"' in bad.text
    assert trade.client.get("/plan?gear.1.wings=2").status_code == 422
    assert trade.client.get(f"/plan?vehicle=no-such&gear.1.mass=3{'&unit=stone'}").status_code == 422
    many = "&".join(f"gear.{n}.mass=1" for n in range(1, 60))
    assert "At most 40" in trade.client.get(f"/plan?vehicle={trade.tarn}&{many}&unit=kg").text
    assert trade.client.get("/plan?q=" + "x" * 20_000).status_code == 422
    assert trade.client.get("/plan?q=%ff").status_code == 422
    named = trade.client.get(f"/plan?vehicle={trade.tarn}&gear.1.name=%3Cb%3Etent&gear.1.mass=3&unit=kg")
    assert "&lt;b&gt;tent" in named.text
    assert "<b>tent" not in named.text


def test_what_no_plan_says_hides_nothing_else_that_is_wrong(trade: Trade) -> None:
    bad = trade.client.get(f"/plan?vehicle={trade.tarn}&gear.1.name=tent&gear.1.mass=abc&colour=red%3Cb%3E&%3Ci%3E=1")
    text = html.unescape(bad.text)
    assert bad.status_code == 422
    assert 'id="gear-1-mass-fault"' in bad.text
    assert "This address says `colour`, which is nothing that a plan says. Leave it out." in text
    assert "3 things in this plan cannot be right." in text
    assert "<i>" not in bad.text
    assert 'class="bar-of-verdict"' in bad.text
    assert "stamp" not in bad.text


def test_the_same_load_stands_beside_itself_on_other_roads_and_racks(trade: Trade) -> None:
    for rack in (trade.rough, trade.bars):
        trade.confirmed("fitments", trade.add("fitments", vehicle=trade.tarn, carrier=rack), trade.sheet)
    doubted, _ = trade.claim("carrier", trade.bars, "load_rating", "20", trade.sheet, **RATED)
    load = f"vehicle={trade.tarn}&gear.1.name=tent&gear.1.mass=30.5&gear.2.name=box&gear.2.mass=4&unit=kg"
    shown = trade.client.get(f"/plan?{load}&condition=off_road&carrier={trade.rough}")
    text = html.unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", shown.text)))
    roads = re.search("The same load on other roads, and parked (.*?) The working", text)
    assert roads is not None
    told = "On sealed roads 15.5 kg left WITHIN Off road 9.5 kg too much OVER Parked 15.5 kg left WITHIN"
    assert " ".join(roads[1].split()) == told
    for line in ("50.0", "−25.0", "−30.5", "−4.0", "over by 9.5"):
        assert line in text
    # What its makers take off is known of one rack only: the other stands below it, and is no way out.
    racks = text[text.index("Racks that fit, by what they leave") :]
    assert racks.index("Pellwick Gravel Deck") < racks.index("Pellwick Crossing")
    assert "off-road factor not known" in racks
    assert f"{doubted} is undecided and would lower this: load rating 20 kg" in racks
    assert "instead" not in text
    unknown = trade.client.get(f"/plan?{load}&condition=off_road&carrier={trade.rough}&gear.3.name=x")
    assert re.search(r"<b>The roof as reduced off road</b> stops you[.,]", unknown.text)
    assert "<i>at most</i> 25 kg" in unknown.text
    assert f'href="/plan?vehicle={trade.tarn}&amp;condition=on_road&amp;carrier={trade.rough}' in shown.text
    on_road = html.unescape(
        trade.client.get(f"/plan?{load}&carrier={trade.platform}&gear.3.mass=40&gear.3.name=x").text
    )
    assert "Pellwick Crossing instead" not in on_road
    assert "off-road factor not known" not in on_road


def test_what_is_not_said_or_not_known_is_told_in_words(trade: Trade) -> None:
    own = "carrier=given&carrier.own_mass=20&carrier.load_rating=90&carrier.off_road_factor=2/3&unit=kg"
    loose = html.unescape(trade.client.get(f"/plan?given_roof.limit=70&condition=off_road&{own}&gear.1.mass=20").text)
    assert "NOT SURE" in loose
    assert "TOO CLOSE" not in loose
    assert "Roof limit as you gave it, reduced off-road by the factor of your rack, rack included" in loose
    assert "given carrier" not in loose
    years = {"from": 2001, "to": 2005}
    unknown = trade.add("vehicles", maker="orrin", model="Quietmoor", series=None, years=years)
    asked = html.unescape(trade.client.get(f"/plan?vehicle={unknown}&carrier=given&gear.1.name=thing").text)
    assert "It is not known what the roof’s limit is, what the rack or its fixing weighs, " in asked
    assert "<td>Roof limit of Orrin Quietmoor</td>" in asked
    assert "roof_limit of" not in asked
    assert '<button class="quiet" form="plan" name="change" value="vehicle:">' in asked


def test_an_address_says_a_plan_and_a_plan_its_address() -> None:
    said = (
        b"vehicle=a-b&year=2021&roofs=raised_rail,glass&condition=parked&min_confidence=0.7&carrier=given"
        b"&carrier.own_mass=25&carrier.load_rating=100&carrier.off_road_factor=2/3&carrier.2=rack-x&fixing=built_in"
        b"&given_roof.limit=70&given_roof.basis=includes_carrier&gear.1.name=tent&gear.1.mass=50.5&gear.1.quantity=2"
        b"&gear.2.category=awning&people.1.mass=80&unit=kg"
    )
    plan = plan_of(said)
    assert not plan.untidy
    assert plan.query(Unit.KG).encode() == said
    again = plan_again(plan.asked(Unit.KG))
    assert again is not None
    assert again.fields == plan.fields
    asked = plan.asked(Unit.KG)
    assert asked.gear[0].mass == Decimal("50.5")
    assert plan.asked(Unit.KG, "on_road").people == []
    pounds = plan.in_unit(Unit.LB)
    assert pounds.text("gear.1.mass") == "111.334"
    assert pounds.text("given_roof.limit") == "154.323"
    assert pounds.in_unit(Unit.KG).in_unit(Unit.LB).in_unit(Unit.KG).text("gear.1.mass") == plan.text("gear.1.mass")
    heavier = pounds.changed(**{"gear.1.mass": "112"})
    assert heavier.in_unit(Unit.KG).text("gear.1.mass") == "50.803"
    assert field_of("/carriers/1/given/own_mass") == "carrier.2.own_mass"
    assert field_of("/gear/0/mass") == "gear.1.mass"
    with pytest.raises(CantrailError):
        plan_of(b"x" * 20_000)
