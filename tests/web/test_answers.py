"""Questions over HTTP: tags that change when the answer does, many at once, as of an entry, in another unit."""

import math
from typing import Any

from app.bootstrap import Registry, open_registry
from app.web.main import create_app
from tests.web.people import People
from tests.web.story import API, Story, Trade
from tests.web.talking import Client, talking_to


def test_a_tag_holds_until_the_answer_changes(client: Client, people: People) -> None:
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    tarn = story.add("vehicles", maker=maker, model="Tarn", years={"from": 2019})
    handbook = story.document(maker)
    url = f"{API}/vehicles/{tarn}/limit?condition=on_road"
    tag = client.get(url).headers["etag"]
    for asked in (tag, f"W/{tag}", f'"another", {tag}', "*"):
        held = client.get(url, headers={"If-None-Match": asked})
        assert (held.status_code, held.content, held.headers["etag"]) == (304, b"", tag)
    story.add("vehicles", maker=maker, model="Heron", years={"from": 2019})
    assert client.get(url, headers={"If-None-Match": tag}).status_code == 304
    claim, body = story.claim("vehicle", tarn, "roof_limit", "75", handbook, condition="on_road")
    changed = client.get(url, headers={"If-None-Match": tag})
    assert (changed.status_code, changed.json()["unreviewed_lower"][0]["claim"]) == (200, claim)
    story.approve(claim, body, "reviewer")
    again = client.get(url, headers={"If-None-Match": changed.headers["etag"]})
    assert (again.status_code, again.json()["cap"]["gross"]["value"]) == (200, 75.0)
    assert again.headers["cache-control"] == "no-cache"


def test_a_withdrawn_figure_is_never_served(client: Client, people: People) -> None:
    trade = Trade(client, people)
    assert trade.cargo(trade.tarn, "on_road", trade.platform)["allowed_cargo"] == 50.0
    document = trade.document("orrin", edition="2025")
    trade.post(f"/claims/{trade.roof}/disputes", {"reason": "It is less.", "document": document})
    after = trade.cargo(trade.tarn, "on_road", trade.platform)
    assert (after["verdict"], after["allowed_cargo"], after["ceiling"]) == ("unknown", None, 50.0)


def test_a_write_from_outside_is_in_the_next_answer(registry: Registry, client: Client, people: People) -> None:
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    tarn = story.add("vehicles", maker=maker, model="Tarn", years={"from": 2019})
    claim, _ = story.claim("vehicle", tarn, "roof_limit", "75", story.document(maker), condition="on_road")
    url = f"{API}/vehicles/{tarn}/limit?condition=on_road"
    before = client.get(url)
    assert [each["claim"] for each in before.json()["unreviewed_lower"]] == [claim]
    outside = open_registry(registry.settings, checkpoints=False)
    with talking_to(create_app(outside)) as other:
        other.post(f"{API}/claims/{claim}/withdrawal", headers=people["contributor"])
    after = client.get(url, headers={"If-None-Match": before.headers["etag"]})
    assert (after.status_code, after.json()["unreviewed_lower"]) == (200, [])
    assert after.json()["refusal"]["kind"] == "withdrawn"


def test_nobody_sits_on_a_roof_that_is_driven(client: Client, people: People) -> None:
    asked = {"given_roof": {"limit": 75, "basis": "includes_carrier"}, "people": [{"mass": 80}]}
    for condition in ("on_road", "off_road"):
        answer = client.post(f"{API}/budget", json={**asked, "condition": condition})
        assert answer.status_code == 422, answer.text
        assert [each["pointer"] for each in answer.json()["errors"]] == ["/people"]
    assert client.post(f"{API}/budget", json={**asked, "condition": "parked"}).status_code == 200


def test_many_budgets_are_one_answer(client: Client, people: People) -> None:
    trade = Trade(client, people)
    one = {"vehicle": trade.tarn, "condition": "on_road", "carriers": [{"id": trade.platform}]}
    own = {"condition": "on_road", "given_roof": {"limit": 70, "basis": "includes_carrier"}}
    many = trade.post("/budgets", {"budgets": [one, own, one]}, "anonymous", 200)["budgets"]
    assert many == [trade.budget(**one), trade.budget(**own), trade.budget(**one)]
    wrong = client.post(f"{API}/budgets", json={"budgets": [one, {**one, "people": [{"mass": 80}]}]})
    assert [each["pointer"] for each in wrong.json()["errors"]] == ["/budgets/1/people"]
    misspelt = client.post(f"{API}/budgets", json={"budgets": [one, {**one, "fixing": "builtin"}]})
    assert [each["pointer"] for each in misspelt.json()["errors"]] == ["/budgets/1/fixing"]
    too_many = client.post(f"{API}/budgets", json={"budgets": [own] * 1001})
    assert [each["code"] for each in too_many.json()["errors"]] == ["too_many"]
    assert len(client.post(f"{API}/budgets", json={"budgets": [own] * 1000}).json()["budgets"]) == 1000


def test_a_budget_names_what_is_not_there(client: Client, people: People) -> None:
    asked = {"vehicle": "orrin-tarn", "condition": "on_road", "carriers": [{"id": "pellwick-slatten"}]}
    answer = client.post(f"{API}/budget", json=asked)
    assert (answer.status_code, answer.json()["code"]) == (422, "no_such_vehicle")
    assert [each["pointer"] for each in answer.json()["errors"]] == ["/vehicle"]


def test_as_of_an_entry_the_answer_is_the_same_for_ever(client: Client, people: People) -> None:
    trade = Trade(client, people)
    asked = {"vehicle": trade.tarn, "condition": "on_road", "carriers": [{"id": trade.platform}]}
    then = trade.budget(**asked)
    limit = trade.get(f"/vehicles/{trade.tarn}/limit", condition="on_road")
    trade.post(f"/claims/{trade.roof}/disputes", {"reason": "No.", "document": trade.document("orrin")})
    assert trade.budget(**asked)["receipt"]["digest"] != then["receipt"]["digest"]
    assert trade.budget(**asked, as_of=then["receipt"]["as_of"]) == then
    as_of = limit["receipt"]["as_of"]
    assert trade.get(f"/vehicles/{trade.tarn}/limit", condition="on_road", as_of=as_of) == limit
    begun = client.get(f"{API}/vehicles/{trade.tarn}/limit?condition=on_road&as_of=1")
    assert (begun.status_code, begun.json()["code"]) == (404, "no_such_vehicle")


def test_in_pounds_everything_is_on_the_safe_side(client: Client, people: People) -> None:
    trade = Trade(client, people)
    pounds = trade.budget(
        vehicle=trade.tarn,
        condition="on_road",
        carriers=[{"id": trade.platform}],
        gear=[{"name": "boxes", "mass": 22.046}],
        unit="lb",
    )
    assert pounds["unit"] == "lb"
    assert pounds["allowed_cargo"] == math.floor(50 / 0.45359237 * 1000) / 1000
    assert pounds["mass_on_roof"] == math.ceil((25 + 10) / 0.45359237 * 1000) / 1000


def test_other_figures_by_themselves(client: Client, people: People) -> None:
    trade = Trade(client, people)

    def figure(**query: Any) -> Any:
        return trade.get(f"/carriers/{trade.rough}/figure", **query)

    assert figure(quantity="own_mass")["value"] == 25.0
    assert figure(quantity="load_rating", condition="on_road")["figure"]["net"]["value"] == 100.0
    assert figure(condition="on_road") == figure(quantity="load_rating", condition="on_road")
    assert [each["value"] for each in figure(quantity="off_road_factor")["factors"]] == ["2/3", None]
    factor = trade.get(f"/vehicles/{trade.tarn}/limit", quantity="off_road_factor")
    assert [(each["applies_to"], each["value"]) for each in factor["factors"]] == [("roof_limit", None)]


def test_roofs_may_be_listed_or_repeated(client: Client, people: People) -> None:
    trade = Trade(client, people)
    url = f"{API}/vehicles/{trade.tarn}/limit?condition=on_road"
    answers = [
        client.get(f"{url}&{roofs}").json()
        for roofs in ("roofs=glass,raised_rail", "roofs=raised_rail&roofs=glass", "roofs=raised_rail%2Cglass&year=")
    ]
    assert answers[0]["figure"]["gross"]["value"] == 75.0
    assert answers[0] == answers[1] == answers[2]
