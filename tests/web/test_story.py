"""The whole journey over HTTP: from a publisher to a vetted limit, and to the budget of the worked example."""

import pytest

from tests.web.people import People
from tests.web.story import Story, Trade
from tests.web.talking import Client


def test_from_a_page_to_a_vetted_limit(client: Client, people: People) -> None:
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    tarn = story.add("vehicles", maker=maker, model="Tarn", series="T2", years={"from": 2019, "to": 2024})
    assert (maker, tarn) == ("orrin", "orrin-tarn-t2-2019")
    refused = story.get(f"/vehicles/{tarn}/limit", condition="on_road")
    assert (refused["figure"], refused["refusal"]["kind"]) == (None, "no_claim")
    handbook = story.document(maker, edition="2021", title="Owner's handbook")
    claim, body = story.claim(
        "vehicle",
        tarn,
        "roof_limit",
        "75",
        handbook,
        condition="on_road",
        basis="includes_carrier",
        scope={"years": "all", "bodies": "all", "roofs": "all", "markets": "all"},
    )
    assert story.get(f"/claims/{claim}")["state"] == "submitted"

    first = story.read(claim, body, "reviewer")
    assert (first["matches"], first["differences"], first["claim"]["id"]) == (True, [], claim)
    story.post(
        f"/claims/{claim}/decisions",
        {"decision": "approve", "reading": first["reading"], "reason": "So it is."},
        "reviewer",
    )
    once = story.get(f"/vehicles/{tarn}/limit", condition="on_road")
    assert (once["figure"], once["refusal"]["kind"]) == (None, "below_confidence")
    assert once["cap"]["gross"]["value"] == 75.0

    after = story.approve(claim, body, "second reviewer", confirms_record=True)
    assert (after["state"], after["approvals"], after["sets"], after["binds"]) == ("approved", 2, True, True)
    limit = story.get(f"/vehicles/{tarn}/limit", condition="on_road", unit="lb")
    assert limit["vetted"] is True
    assert limit["figure"]["gross"] == {
        "value": 165.346,
        "basis": "includes_carrier",
        "bound": "exact",
        "claims": [claim],
    }
    assert limit["figure"]["confidence"] == story.get(f"/claims/{claim}/confidence")["confidence"] >= 0.8

    history = [each["type"] for each in story.get(f"/claims/{claim}/history")["items"]]
    assert history == [
        "claim_submitted",
        "citation_added",
        "reading_keyed",
        "claim_decided",
        "reading_keyed",
        "claim_decided",
    ]
    plate = story.get(f"/vehicles/{tarn}")
    assert (plate["confirmations"], plate["unit"]) == (1, "kg")
    assert {field["condition"] for field in plate["plate"]} >= {"on_road", "off_road", "parked"}


def test_the_worked_example_to_the_gram(client: Client, people: People) -> None:
    trade = Trade(client, people)
    on_road = trade.cargo(trade.tarn, "on_road", trade.platform)
    assert (on_road["verdict"], on_road["vetted"]) == ("within", True)
    assert (on_road["allowed_cargo"], on_road["remaining"]) == (50.0, 40.0)
    assert on_road["binding"] == ["vehicle_roof"]
    assert on_road["trap"] == {
        "carrier": trade.platform,
        "carrier_rating": 100.0,
        "really_allowed": 50.0,
        "difference": 50.0,
    }
    allowed = {
        "with a factor of 2/3": trade.cargo(trade.tarn, "off_road", trade.rough),
        "without one": trade.cargo(trade.tarn, "off_road", trade.platform),
        "bars": trade.cargo(trade.tarn, "on_road", trade.bars),
        "bars with the platform on them": trade.cargo(trade.tarn, "on_road", trade.bars, trade.platform),
        "a roof that leaves a carrier of 5 kg out": trade.cargo(trade.heron, "on_road", trade.platform),
    }
    assert {what: budget["allowed_cargo"] for what, budget in allowed.items()} == {
        "with a factor of 2/3": 25.0,
        "without one": 50.0,
        "bars": 70.0,
        "bars with the platform on them": 45.0,
        "a roof that leaves a carrier of 5 kg out": 55.0,
    }
    assert {budget["verdict"] for budget in allowed.values()} == {"within"}
    over = trade.cargo(trade.tarn, "off_road", trade.rough, kg=25.001)
    assert (over["verdict"], over["remaining"], over["reasons"]) == ("over", -0.001, ["over_vehicle_roof_reduced"])


def test_a_dispute_stops_a_figure_and_two_refute_it(client: Client, people: People) -> None:
    trade = Trade(client, people)
    newer = trade.document("orrin", edition="2024")
    dispute = trade.post(
        f"/claims/{trade.roof}/disputes", {"reason": "The newer edition has 60.", "document": newer, "page": "3"}
    )
    assert (dispute["state"], dispute["claim"]) == ("open", trade.roof)
    assert trade.get(f"/disputes/{dispute['id']}") == dispute
    disputed = trade.get(f"/vehicles/{trade.tarn}/limit", condition="on_road")
    assert (disputed["figure"], disputed["refusal"]["kind"]) == (None, "disputed")
    assert disputed["cap"]["gross"]["value"] == 75.0
    refute = {"settlement": "refute", "code": "superseded_edition", "reason": "The newer edition rules."}
    answer = client.post(f"/api/v1/disputes/{dispute['id']}/settlements", json=refute, headers=people["reviewer"])
    assert (answer.status_code, answer.json()["code"]) == (403, "involved")
    once = trade.post(f"/disputes/{dispute['id']}/settlements", refute, "third reviewer")
    assert once["state"] == "disputed"
    twice = trade.post(f"/disputes/{dispute['id']}/settlements", refute, "fourth reviewer")
    assert (twice["state"], twice["binds"]) == ("rejected", False)
    gone = trade.get(f"/vehicles/{trade.tarn}/limit", condition="on_road")
    assert (gone["figure"], gone["cap"], gone["refusal"]["kind"]) == (None, None, "withdrawn")


def test_a_claim_is_cited_further_asked_about_and_withdrawn(client: Client, people: People) -> None:
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    tarn = story.add("vehicles", maker=maker, model="Tarn", years={"from": 2019, "to": None})
    handbook, page = story.document(maker), story.document(maker, "maker_page")
    claim, _ = story.claim("vehicle", tarn, "roof_limit", "75", handbook, condition="on_road")
    asked = story.post(
        f"/claims/{claim}/decisions", {"decision": "ask_evidence", "reason": "Which edition?"}, "reviewer"
    )
    assert asked["state"] == "needs_evidence"
    cited = story.post(f"/claims/{claim}/citations", {"document": page, "locator": "the table"})
    assert (cited["state"], [each["document"] for each in cited["citations"]]) == ("submitted", [handbook, page])
    withdrawn = client.post(f"/api/v1/claims/{claim}/withdrawal", headers=people["contributor"])
    assert (withdrawn.status_code, withdrawn.json()["state"]) == (200, "withdrawn")
    again = client.post(f"/api/v1/claims/{claim}/withdrawal", headers=people["contributor"])
    assert again.status_code == 409


def test_a_mismatch_is_shown_and_cannot_be_approved(client: Client, people: People) -> None:
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    tarn = story.add("vehicles", maker=maker, model="Tarn", years={"from": 2019, "to": None})
    claim, body = story.claim("vehicle", tarn, "roof_limit", "100", story.document(maker), condition="on_road")
    reading = story.read(claim, {**body, "stated": {"value": "75", "unit": "kg"}}, "reviewer")
    assert (reading["matches"], reading["differences"]) == (False, ["figure"])
    refused = client.post(
        f"/api/v1/claims/{claim}/decisions",
        json={"decision": "approve", "reading": reading["reading"], "reason": "Looks right."},
        headers=people["reviewer"],
    )
    assert (refused.status_code, refused.json()["code"], refused.json()["differences"]) == (
        409,
        "reading_differs",
        ["figure"],
    )


@pytest.mark.parametrize("kind", ["carriers", "fixings", "gear"])
def test_every_made_thing_is_entered_listed_and_shown(kind: str, client: Client, people: People) -> None:
    story = Story(client, people)
    racks, tents = story.publisher("Pellwick", "carrier_maker"), story.publisher("Bivvenholt", "gear_maker")
    bodies: dict[str, dict[str, object]] = {
        "carriers": {"maker": racks, "model": "Slatten", "kind": "platform", "bars": 3, "fixing": "separate"},
        "fixings": {"maker": racks, "model": "Cleft", "holds": ["gutter"], "feet": 4},
        "gear": {"maker": tents, "model": "Dormelle", "category": "rooftop_tent"},
    }
    id = story.add(kind, **bodies[kind])
    shown = story.get(f"/{kind}/{id}")
    assert shown["id"] == id
    said = {("carrier_kind" if name == "kind" else name): value for name, value in bodies[kind].items()}
    assert {name: shown[name] for name in said} == said
    assert [each["id"] for each in story.get(f"/{kind}")["items"]] == [id]


def test_what_fits_what(client: Client, people: People) -> None:
    trade = Trade(client, people)
    fitment = trade.add("fitments", vehicle=trade.tarn, carrier=trade.platform, roofs=["raised_rail"])
    assert trade.get(f"/fitments/{fitment}")["roofs"] == ["raised_rail"]
    assert [each["id"] for each in trade.get("/fitments", vehicle=trade.tarn)["items"]] == [fitment]
    assert trade.get("/fitments", vehicle=trade.heron)["items"] == []
    trade.vetted(
        "fitment", fitment, "load_rating", "40", trade.sheet, condition="on_road", basis="excludes_carrier",
        scope={"years": "all", "bodies": "all", "roofs": ["raised_rail"], "markets": "all"},
    )  # fmt: skip
    assert trade.cargo(trade.tarn, "on_road", trade.platform)["binding"] == ["fitment"]
    figure = trade.get(f"/fitments/{fitment}/figure", condition="on_road", roofs="raised_rail")
    assert figure["figure"]["net"]["value"] == 40.0
    assert [each["quantity"] for each in trade.get(f"/fitments/{fitment}/claims")["items"]] == ["load_rating"]
