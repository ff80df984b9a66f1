"""The OpenAPI document says everything, and nothing that is not so."""

import re
from typing import Any

import pytest

from app.bootstrap import Registry
from tests.web.people import People
from tests.web.schemas import mismatches, references, resolved
from tests.web.serving import serving
from tests.web.story import API, Trade
from tests.web.talking import Client

PROBLEM = "application/problem+json"


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here stands in front of the database, whichever that is."""
    return sqlite_url


@pytest.fixture
def document(client: Client) -> Any:
    answer = client.get(f"{API}/openapi.json")
    assert answer.status_code == 200
    return answer.json()


def operations(document: Any) -> list[tuple[str, str, Any]]:
    return [(method, path, each) for path, methods in document["paths"].items() for method, each in methods.items()]


def bodies(operation: Any) -> list[tuple[str, Any]]:
    """Every body that an operation takes or gives, but files."""
    sent = list(operation.get("requestBody", {}).get("content", {}).items())
    for answer in operation["responses"].values():
        sent += answer.get("content", {}).items()
    return [(kind, body) for kind, body in sent if body["schema"].get("format") != "binary"]


def test_every_operation_is_described(document: Any) -> None:
    identities = [each["operationId"] for _, _, each in operations(document)]
    assert len(set(identities)) == len(identities)
    for method, path, operation in operations(document):
        assert operation["summary"], path
        assert operation["tags"], path
        named = set(re.findall(r"\{(\w+)\}", path))
        assert {each["name"] for each in operation["parameters"] if each["in"] == "path"} == named if named else True
        if path.startswith(API):
            assert {"500"} < operation["responses"].keys(), (method, path)
        if method == "post":
            assert {"415", "422", "413", "400"} <= operation["responses"].keys(), path


def test_every_reference_leads_somewhere(document: Any) -> None:
    for reference in references(document):
        assert resolved(reference, document)
    assert "HTTPValidationError" not in document["components"]["schemas"]


def test_every_body_has_an_example_that_is_one(document: Any) -> None:
    for method, path, operation in operations(document):
        for kind, body in bodies(operation):
            assert "example" in body, (method, path)
            assert mismatches(body["example"], body["schema"], document) == [], (method, path, kind)


def test_every_refusal_is_a_problem(document: Any) -> None:
    for _, path, operation in operations(document):
        for status, answer in operation["responses"].items():
            if int(status) >= 400 and path.startswith(API):
                assert answer["content"].keys() == {PROBLEM}, path
                assert answer["content"][PROBLEM]["example"]["status"] == int(status)


def test_what_is_written_says_that_it_needs_a_token(document: Any) -> None:
    scheme = document["components"]["securitySchemes"]["bearer"]
    assert (scheme["type"], scheme["scheme"]) == ("http", "bearer")
    for method, path, operation in operations(document):
        if path.startswith((f"{API}/account", f"{API}/session", f"{API}/password-resets")):
            continue
        # To ask is not to write, and neither is to have an answer kept: it is the same one for whoever asks.
        writes = method == "post" and not path.startswith(f"{API}/budget") and path != f"{API}/receipts"
        wanted = "401" in operation["responses"]
        assert wanted or not writes, path
        assert operation.get("security", []) == ([{"bearer": []}, {"session": []}] if wanted else []), path
        named = {each["name"] for each in operation.get("parameters", ())}
        assert ("Idempotency-Key" in named) == writes, path


def test_the_examples_of_what_is_sent_are_taken(registry: Registry, people: People, document: Any) -> None:
    """They may name what is not there, but they are never misspelt."""
    from tests.web.talking import talking_to

    with talking_to(serving(registry)) as client:
        for method, path, operation in operations(document):
            body = operation.get("requestBody", {}).get("content", {}).get("application/json")
            if body is None:
                continue
            url = re.sub(r"\{[^}]+\}", "x1", path)
            answer = client.request(method, url, json=body["example"], headers=people["steward"])
            told = answer.json() if answer.status_code == 422 else {}
            misspelt = [each for each in told.get("errors", ()) if not each["code"].startswith("no_such_")]
            assert told.get("code") != "bad_input" or misspelt == [], (path, answer.text)


def test_what_is_answered_is_what_is_described(client: Client, people: People, document: Any) -> None:
    trade = Trade(client, people)
    fitment = trade.add("fitments", vehicle=trade.tarn, carrier=trade.platform)
    fixing = trade.add("fixings", maker="pellwick", model="Cleft", holds=["gutter"], feet=4)
    tents = trade.publisher("Bivvenholt", "gear_maker")
    tent = trade.add("gear", maker=tents, model="Dormelle", category="rooftop_tent")
    paper = trade.document("orrin", edition="2025", title="Handbook")
    dispute = trade.post(f"/claims/{trade.roof}/disputes", {"reason": "It is less.", "document": paper})["id"]
    enquiry = trade.enquiry(subject={"kind": "vehicle", "id": trade.tarn}, asked="orrin", conditions=["parked"])
    merger = {"kind": "vehicle", "subject": trade.heron, "into": trade.tarn, "reason": "One and the same."}
    ids = {
        "vehicles": trade.tarn,
        "carriers": trade.rough,
        "fixings": fixing,
        "gear": tent,
        "fitments": fitment,
        "publishers": tents,
        "documents": paper,
        "claims": trade.roof,
        "disputes": dispute,
        "enquiries": enquiry,
        "accounts": "a-nobody",
        "placements": trade.post("/mergers", merger, "steward")["id"],
        "receipts": trade.kept(vehicle=trade.heron, condition="on_road"),
    }
    queries = ["?condition=on_road", "?condition=off_road&year=2020", "?quantity=own_mass", "?quantity=off_road_factor"]
    seen = 0
    for method, path, operation in operations(document):
        content = operation["responses"].get("200", {}).get("content", {}).get("application/json")
        if method != "get" or content is None:
            continue
        url = re.sub(r"\{[^}]+\}", lambda _, path=path: ids[path.split("/")[3]], path)  # type: ignore[misc]
        asked = [url + query for query in queries] if path.endswith(("/limit", "/figure")) else [url]
        for each in asked:
            answer = client.get(each)
            if answer.status_code == 200:
                assert mismatches(answer.json(), content["schema"], document) == [], each
                seen += 1
    assert seen > 35
    schema = document["paths"][f"{API}/budget"]["post"]["responses"]["200"]["content"]["application/json"]["schema"]
    for condition in ("on_road", "off_road", "parked"):
        asked_of = {"vehicle": trade.heron, "condition": condition, "carriers": [{"id": trade.rough}]}
        assert mismatches(trade.budget(**asked_of, gear=[{"id": tent}]), schema, document) == []
        assert mismatches(trade.budget(**asked_of, fixing={"id": fixing}), schema, document) == []
