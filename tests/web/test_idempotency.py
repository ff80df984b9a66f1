"""A request that is sent again with its key is done once."""

from typing import Any

from tests.web.people import People
from tests.web.story import Story, pdf
from tests.web.talking import Client

ORRIN = {"name": "Orrin", "kind": "vehicle_maker"}


def publish(client: Client, headers: dict[str, str], key: str, body: Any) -> Any:
    return client.post("/api/v1/publishers", json=body, headers={**headers, "Idempotency-Key": key})


def test_the_same_request_is_answered_as_it_was(client: Client, people: People) -> None:
    first = publish(client, people["contributor"], "one", ORRIN)
    again = publish(client, people["contributor"], "one", ORRIN)
    assert (first.status_code, first.content) == (201, again.content)
    assert again.status_code == 201
    assert len(client.get("/api/v1/publishers").json()["items"]) == 1
    # What it was answered is kept, whatever has become of it since.
    story = Story(client, people)
    vehicle = story.add("vehicles", maker="orrin", model="Tarn", years={"from": 2019})
    claim, _ = story.claim("vehicle", vehicle, "roof_limit", "75", story.document("orrin"), condition="on_road")
    headers = {**people["contributor"], "Idempotency-Key": "two"}
    withdrawn = client.post(f"/api/v1/claims/{claim}/withdrawal", headers=headers)
    assert withdrawn.status_code == 200
    assert client.post(f"/api/v1/claims/{claim}/withdrawal", headers=headers).content == withdrawn.content


def test_another_request_with_the_key_is_refused(client: Client, people: People) -> None:
    publish(client, people["contributor"], "one", ORRIN)
    other = publish(client, people["contributor"], "one", {**ORRIN, "name": "Vasquell"})
    assert (other.status_code, other.json()["code"]) == (409, "idempotency_key_reused")
    elsewhere = client.post("/api/v1/vehicles", json=ORRIN, headers={**people["contributor"], "Idempotency-Key": "one"})
    assert elsewhere.status_code == 422
    assert len(client.get("/api/v1/publishers").json()["items"]) == 1


def test_a_key_is_its_accounts_own(client: Client, people: People) -> None:
    assert publish(client, people["contributor"], "one", ORRIN).status_code == 201
    assert publish(client, people["reviewer"], "one", ORRIN).json()["code"] == "near_duplicate"
    assert publish(client, people["disabled"], "one", ORRIN).status_code == 401


def test_what_was_refused_may_be_tried_again(client: Client, people: People) -> None:
    vehicle = {"maker": "orrin", "model": "Tarn", "years": {"from": 2019}}
    headers = {**people["contributor"], "Idempotency-Key": "one"}
    assert client.post("/api/v1/vehicles", json=vehicle, headers=headers).json()["code"] == "no_such_maker"
    publish(client, people["contributor"], "two", ORRIN)
    assert client.post("/api/v1/vehicles", json=vehicle, headers=headers).status_code == 201


def test_a_form_is_the_same_whatever_its_boundary(client: Client, people: People) -> None:
    publish(client, people["contributor"], "one", ORRIN)
    content = pdf()
    answers = [
        client.post(
            "/api/v1/documents",
            data={"publisher": "orrin", "kind": "handbook"},
            files={"file": ("page.pdf", each)},
            headers={**people["contributor"], "Idempotency-Key": "file"},
        )
        for each in (content, content, pdf())
    ]
    assert [each.status_code for each in answers] == [201, 201, 409]
    assert answers[0].content == answers[1].content
    assert answers[2].json()["code"] == "idempotency_key_reused"


def test_a_key_that_is_none(client: Client, people: People) -> None:
    for key in ("", "with a space", "x" * 201):
        answer = publish(client, people["contributor"], key, ORRIN)
        assert (answer.status_code, answer.json()["code"]) == (400, "bad_idempotency_key"), key
