"""Corrections, mergers and splits over HTTP."""

from typing import Any

import pytest

from tests.web.people import People
from tests.web.story import API, Story
from tests.web.talking import Client

REASON = "D1 says so on page 3."
KNOWN = {"condition": "on_road", "year": 2021, "body": "dual_cab", "roofs": "bare", "market": "NZ"}


@pytest.fixture
def story(client: Client, people: People) -> Story:
    return Story(client, people)


def furnish(story: Story) -> tuple[str, str, str]:
    """A maker with two vehicles, each with a figure."""
    maker = story.publisher("Orrin", "vehicle_maker")
    paper = story.document(maker)
    one = story.add("vehicles", maker=maker, model="Tarn", years={"from": 2019, "to": 2024})
    two = story.add("vehicles", maker=maker, model="Mere", years={"from": 2019, "to": 2024})
    scope = {"roofs": "all", "bodies": "all", "years": "all"}
    said = {"condition": "on_road", "basis": "includes_carrier", "scope": scope}
    story.vetted("vehicle", one, "roof_limit", "100", paper, **said)
    claim = story.vetted("vehicle", two, "roof_limit", "75", story.document(maker), **said)
    return one, two, claim


def gross(story: Story, vehicle: str, **asked: Any) -> float:
    return float(story.get(f"/vehicles/{vehicle}/limit", **KNOWN, **asked)["figure"]["gross"]["value"])


def test_a_merger_is_proposed_confirmed_and_undone(story: Story) -> None:
    one, two, claim = furnish(story)
    before = story.get(f"/vehicles/{two}/limit", **KNOWN)["receipt"]
    body = {"kind": "vehicle", "subject": two, "into": one, "reason": REASON}

    proposed = story.post("/mergers", body, "steward")
    assert (proposed["state"], proposed["kind"], proposed["reason"]) == ("proposed", "merger", REASON)
    assert [each["id"] for each in story.get("/placements", state="proposed")["items"]] == [proposed["id"]]
    own = story.post(f"/placements/{proposed['id']}/confirmations", {}, "steward", status=403)
    assert own["code"] == "own_proposal"
    assert gross(story, one) == 100

    merged = story.post(f"/placements/{proposed['id']}/confirmations", {}, "reviewer")
    assert (merged["state"], merged["decided"] > 0) == ("in_force", True)
    assert [gross(story, each) for each in (one, two)] == [75, 75]
    assert story.get(f"/vehicles/{two}")["merged_into"] == one
    assert [each["id"] for each in story.get("/vehicles")["items"]] == [one]
    assert story.get(f"/claims/{claim}")["subject"] == {"kind": "vehicle", "id": one}
    assert story.get(f"/vehicles/{two}/limit", **KNOWN, as_of=before["as_of"])["receipt"] == before
    refused = story.post(
        "/claims",
        {
            "subject": {"kind": "vehicle", "id": two},
            "quantity": "roof_limit",
            "condition": "on_road",
            "stated": {"value": "70", "unit": "kg"},
            "source_type": "unverified",
        },
        status=409,
    )
    assert (refused["code"], refused["into"]) == ("merged", one)

    undoing = story.post(f"/placements/{merged['id']}/undoings", {"reason": REASON}, "steward")
    assert (undoing["kind"], undoing["undoes"]) == ("undoing", merged["id"])
    story.post(f"/placements/{undoing['id']}/confirmations", {}, "reviewer")
    assert [gross(story, each) for each in (one, two)] == [100, 75]
    shown = story.get("/placements", kind="vehicle", subject=one)["items"]
    assert [each["state"] for each in shown] == ["undone", "in_force"]
    assert "merged_into" not in story.get(f"/vehicles/{two}")


def test_a_split_is_proposed_refused_withdrawn_and_confirmed(story: Story) -> None:
    one, two, claim = furnish(story)
    body = {"kind": "vehicle", "subject": two, "onto": one, "claims": [claim], "reason": REASON}
    first = story.post("/splits", body, "steward")["id"]
    assert story.post("/splits", body, "steward", status=409)["code"] == "already_proposed"
    assert story.post(f"/placements/{first}/refusals", {"reason": REASON}, "reviewer")["state"] == "refused"
    second = story.post("/splits", body, "steward")["id"]
    assert story.post(f"/placements/{second}/withdrawal", {}, "steward")["state"] == "withdrawn"
    third = story.post("/splits", body, "steward")["id"]
    story.post(f"/placements/{third}/confirmations", {}, "reviewer")
    assert gross(story, one) == 75
    assert story.get(f"/placements/{third}")["claims"] == [claim]
    assert [each["type"] for each in story.get(f"/claims/{claim}/history")["items"]][-1] == "claims_placed"
    page = story.get("/placements", limit=2)
    assert [each["id"] for each in page["items"]] == [first, second]
    assert [each["id"] for each in story.get("/placements", cursor=page["next"])["items"]] == [third]


def test_a_record_is_corrected(story: Story) -> None:
    one, *_ = furnish(story)
    body = {
        "model": "Tern",
        "series": "T2",
        "years": {"from": 2019, "to": 2023},
        "bodies": ["wagon"],
        "roofs": None,
        "markets": None,
        "reason": REASON,
    }
    shown = story.post(f"/vehicles/{one}/corrections", body, "steward")
    assert (shown["id"], shown["model"], shown["years"]["to"], shown["confirmations"]) == (one, "Tern", 2023, 0)
    assert story.get("/vehicles", q="Tern")["items"][0]["id"] == one
    unsaid = {name: value for name, value in body.items() if name != "bodies"}
    told = story.post(f"/vehicles/{one}/corrections", unsaid, "steward", status=422)
    assert told["errors"][0]["pointer"] == "/bodies"


def test_lists_and_names_that_make_no_sense_are_refused(story: Story, client: Client, people: People) -> None:
    assert client.get(f"{API}/placements", params={"kind": "vehicle"}).json()["code"] == "kind_and_subject"
    assert client.get(f"{API}/placements/M1").status_code == 404
    fitments = {"kind": "fitment", "subject": "f1", "into": "f2", "reason": REASON}
    assert story.post("/mergers", fitments, "steward", status=422)["errors"][0]["pointer"] == "/kind"
