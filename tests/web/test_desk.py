"""The desk, its figures and coverage over HTTP."""

import json
from typing import Any

import pytest

from app.bootstrap import Registry
from app.core.allowance import A_DAY, Submitted
from app.web.main import create_app
from tests.web.people import People
from tests.web.story import API, Story, Trade
from tests.web.talking import Client, talking_to

SAID: dict[str, Any] = {"condition": "on_road", "basis": "includes_carrier", "scope": {"bodies": ["wagon"]}}


class Desk(Story):
    """A vehicle and a claim that waits."""

    def __init__(self, client: Client, people: People) -> None:
        super().__init__(client, people)
        self.maker = self.publisher("Orrin", "vehicle_maker")
        self.vehicle = self.add("vehicles", maker=self.maker, model="Tarn", years={"from": 2019})
        self.paper = self.document(self.maker)

    def waiting(self, value: str = "61.25") -> tuple[str, Any]:
        return self.claim("vehicle", self.vehicle, "roof_limit", value, self.paper, **SAID)

    def seen(self, by: str, path: str = "/desk", **query: Any) -> Any:
        answer = self.client.get(API + path, params=query, headers=self.people[by])
        assert answer.status_code == 200, answer.text
        return answer.json()["items"]


def test_the_desk_shows_what_to_read_and_never_what_is_claimed(client: Client, people: People) -> None:
    desk = Desk(client, people)
    claim, _ = desk.waiting()
    (work,) = desk.seen("reviewer", kind="first_reading")
    assert work["claim"] == claim
    assert work["documents"] == [{"document": desk.paper, "page": "214", "locator": None}]
    assert (work["subject"], work["quantity"]) == ({"kind": "vehicle", "id": desk.vehicle}, "roof_limit")
    whole = json.dumps(work)
    assert [word for word in ("61.25", "on_road", "includes", "wagon", "exact", "bod") if word in whole] == []


def test_work_is_held_read_and_given_back(client: Client, people: People) -> None:
    desk = Desk(client, people)
    claim, body = desk.waiting()
    held = desk.post(f"/desk/first_reading.{claim}/hold", None, "reviewer", 200)
    assert held["work"] == f"first_reading.{claim}"
    assert desk.seen("second reviewer", kind="first_reading") == []
    refused = client.post(f"{API}/claims/{claim}/readings", json={**SAID, "stated": body["stated"]},
                          headers=people["second reviewer"])  # fmt: skip
    assert (refused.status_code, refused.json()["code"]) == (409, "held_by_another")
    assert refused.json()["held_until"] == held["until"]
    desk.post(f"/desk/first_reading.{claim}/release", None, "reviewer", 200)
    desk.approve(claim, body, "second reviewer")


def test_a_mismatch_is_judged_by_a_steward(client: Client, people: People) -> None:
    desk = Desk(client, people)
    claim, body = desk.waiting()
    reading = desk.read(claim, {**body, "stated": {"value": "50", "unit": "kg"}}, "reviewer")["reading"]
    assert desk.seen("second reviewer", kind="mismatch") == []
    assert [each["reading"] for each in desk.seen("steward", kind="mismatch")] == [reading]
    judgement = {"finding": "claim_goes_beyond", "reason": "The row is that of the van."}
    shown = desk.post(f"/readings/{reading}/judgements", judgement, "steward")
    (told,) = shown["judgements"]
    assert (told["reading"], told["finding"], told["reason"]) == (reading, *judgement.values())
    entry = desk.get(f"/claims/{claim}/history")["items"][-1]
    assert (entry["type"], "van" in json.dumps(entry)) == ("mismatch_judged", False)


def test_the_author_learns_what_is_wanted(client: Client, people: People) -> None:
    desk = Desk(client, people)
    claim, _ = desk.waiting()
    desk.post(f"/claims/{claim}/decisions", {"decision": "ask_evidence", "reason": "Which table?"}, "reviewer")
    assert [(each["claim"], each["asked_for"]) for each in desk.seen("contributor", "/desk/own")] == [
        (claim, "Which table?")
    ]
    assert desk.seen("reviewer", "/desk/own") == []


def test_the_figures_of_reviewing_are_published(client: Client, people: People) -> None:
    before = client.get(f"{API}/desk/figures").json()
    assert before["mismatch"] == {"readings": 0, "mismatches": 0, "rate": None, "interval": None}
    assert {each["waiting"] for each in before["ages"]} == {0}


def test_the_figures_count_what_happened(registry: Registry, client: Client, people: People) -> None:
    desk = Desk(client, people)
    for number, value in enumerate(("60", "61", "62", "63")):
        claim, body = desk.waiting(value)
        if number == 0:
            desk.read(claim, {**body, "stated": {"value": "50", "unit": "kg"}}, "reviewer")
            rejected = {"decision": "reject", "code": "misread", "reason": "The row above is meant."}
            desk.post(f"/claims/{claim}/decisions", rejected, "reviewer")
        elif number < 3:
            desk.approve(claim, body, "reviewer")
    shown = client.get(f"{API}/desk/figures").json()
    assert shown["mismatch"] == {
        "readings": 3,
        "mismatches": 1,
        "rate": 0.3333,
        "interval": {"low": 0.0615, "high": 0.7923},
    }
    assert [each["quantity"] for each in shown["by_quantity"]] == ["roof_limit"]
    assert [each["month"] for each in shown["by_month"]] == [f"{registry.clock.now():%Y-%m}"]
    ages = {each["kind"]: each for each in shown["ages"]}
    assert (ages["first_reading"]["waiting"], ages["second_reading"]["waiting"]) == (1, 2)
    assert ages["second_reading"]["oldest_days"] == 0.0
    assert len(shown["weeks"]) == 12
    assert {key: shown["weeks"][-1][key] for key in ("approve", "reject", "ask_evidence")} == {
        "approve": 2,
        "reject": 1,
        "ask_evidence": 0,
    }
    assert shown["rejections"] == [{"code": "misread", "number": 1}]
    # Everybody may ask: they are not counted again at once.
    desk.waiting("64")
    assert client.get(f"{API}/desk/figures").json()["as_of"] == shown["as_of"]


def test_what_is_asked_for_orders_coverage_once_the_server_has_written_it_down(
    registry: Registry, people: People
) -> None:
    with talking_to(create_app(registry)) as client:
        trade = Trade(client, people)
        asked = f"/vehicles/{trade.heron}/limit"
        for _ in range(3):
            trade.get(asked, condition="parked")
        registry.bookkeeper.write()
        first = trade.get("/coverage", limit=1)
        (found,) = first["items"]
        assert (found["vehicle"], found["condition"], found["asked"]) == (trade.heron, "parked", 3)
        rest = trade.get("/coverage", cursor=first["next"])["items"]
        assert (trade.heron, "on_road") not in {(each["vehicle"], each["condition"]) for each in rest}
        assert trade.get("/coverage", maker="pellwick")["items"] == []


def test_a_newcomer_is_told_when_to_come_again(registry: Registry, client: Client, people: People) -> None:
    desk = Desk(client, people)
    claim = {"subject": {"kind": "vehicle", "id": desk.vehicle}, "quantity": "roof_limit", **SAID}
    for number in range(A_DAY[Submitted.CLAIMS]):
        stated = {"value": str(40 + number), "unit": "kg"}
        desk.post("/claims", {**claim, "stated": stated, "source_type": "unverified"})
    more = {**claim, "stated": {"value": "39", "unit": "kg"}, "source_type": "unverified"}
    answer = client.post(f"{API}/claims", json=more, headers=people["contributor"])
    told = answer.json()
    assert (answer.status_code, told["code"], told["allowance"]) == (429, "daily_allowance", 40)
    assert 0 < int(answer.headers["Retry-After"]) == told["retry_after"] <= 86_401
    assert told["free_at"][:10] > f"{registry.clock.now():%Y-%m-%d}"


@pytest.mark.parametrize("query", ["kind=none", "cursor=x", "limit=0"])
def test_a_page_of_the_desk_that_is_none(query: str, client: Client, people: People) -> None:
    answer = client.get(f"{API}/desk?{query}", headers=people["reviewer"])
    assert answer.status_code == 422
