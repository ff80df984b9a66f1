"""Everything that is refused is told as a problem: its status, its code, and a sentence that says what to do."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any, Final

import pytest

from app.bootstrap import Registry
from app.core.errors import CantrailError, Kind
from app.web.main import create_app
from tests.web.people import People
from tests.web.story import Story, pdf
from tests.web.talking import Client, talking_to

JSON = {"Content-Type": "application/json"}


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here stands in front of the database, whichever that is."""
    return sqlite_url


def told(answer: Any, status: int, code: str) -> Any:
    body = answer.json()
    assert (answer.status_code, body["code"]) == (status, code), answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert body["type"] == f"urn:problem-type:cantrail:{code}"
    assert body["status"] == status
    assert body["title"]
    assert body["detail"]
    return body


def test_everything_wrong_with_a_body_is_told_at_once(client: Client, people: People) -> None:
    body = {
        "subject": {"kind": "vehicel", "id": "orrin-tarn"},
        "quantity": "roof_limit",
        "stated": {"value": 75},
        "conditon": "on_road",
        "scope": {"years": {"from": "2019"}, "roofs": ["bare", "flat"], "markets": ["nz"]},
        "source_type": "manual_page",
        "citations": [{"document": "1017"}],
    }
    found = told(client.post("/api/v1/claims", json=body, headers=people["contributor"]), 422, "bad_input")
    assert {(each["pointer"], each["code"]) for each in found["errors"]} == {
        ("/conditon", "unknown_member"),
        ("/subject/kind", "not_one_of"),
        ("/stated/value", "wrong_type"),
        ("/stated/unit", "missing"),
        ("/scope/years/from", "wrong_type"),
        ("/scope/roofs/1", "not_one_of"),
        ("/scope/markets/0", "bad_format"),
        ("/citations/0/document", "bad_format"),
    }
    sentences = {each["pointer"]: each["message"] for each in found["errors"]}
    assert sentences["/conditon"] == "There is no `conditon` here. Did you mean `condition`?"
    assert "vehicle, carrier, fixing, fitment, gear" in sentences["/subject/kind"]
    assert "Did you mean vehicle?" in sentences["/subject/kind"]
    assert "claim" not in sentences["/citations/0/document"]
    assert "as in D1017" in sentences["/citations/0/document"]


def test_what_makes_no_sense_is_pointed_at(client: Client, people: People) -> None:
    story = Story(client, people)
    vehicle = story.add("vehicles", maker=story.publisher("Orrin", "vehicle_maker"), model="Tarn", years={"from": 2019})
    body = {
        "subject": {"kind": "vehicle", "id": vehicle},
        "quantity": "roof_limit",
        "stated": {"value": "75 kg", "unit": "kg"},
        "applies_to": "both",
        "source_type": "unverified",
    }
    found = told(client.post("/api/v1/claims", json=body, headers=people["contributor"]), 422, "bad_statement")
    assert [each["pointer"] for each in found["errors"]] == ["/stated/value", "/condition", "/applies_to"]


@pytest.mark.parametrize(
    ("raw", "status", "code", "words"),
    [
        (b'{"condition": "on_road",\n "gear": [}', 400, "malformed_json", "line 2, column 11"),
        (b'{"condition": "on_road"', 400, "malformed_json", "too early"),
        (b"", 400, "malformed_json", "empty"),
        (b'{"vehicle": "\xff"}', 400, "not_utf8", "UTF-8"),
        (b"[" * 100_000, 422, "nested_too_deep", "deep"),
        (b'{"condition": "on_road", "condition": "off_road"}', 422, "bad_input", "twice"),
        (b'{"condition": "on_road", "gear": [{"name": "a\\u0000"}]}', 422, "bad_input", "NUL"),
        (b'{"condition": "on_road", "min_confidence": NaN}', 400, "malformed_json", "line 1"),
        (b'"on_road"', 422, "bad_input", "an object"),
        (b'{"condition": "on_road"} {}', 400, "malformed_json", "trailing"),
    ],
)
def test_what_is_no_clear_json(raw: bytes, status: int, code: str, words: str, client: Client) -> None:
    found = told(client.post("/api/v1/budget", content=raw, headers=JSON), status, code)
    assert words in found["detail"]


def test_a_body_of_another_type(client: Client, people: People) -> None:
    headers = {**people["contributor"], "Content-Type": "text/plain"}
    told(client.post("/api/v1/publishers", content="{}", headers=headers), 415, "not_json")
    told(client.post("/api/v1/documents", json={}, headers=people["contributor"]), 415, "not_a_form")


def test_a_body_that_is_too_large(client: Client, people: People) -> None:
    large = b" " * (1024 * 1024 + 1)
    for path in ("/api/v1/budget", "/api/v1/publishers"):
        headers = {**people["contributor"], **JSON}
        told(client.post(path, content=large, headers=headers), 413, "body_too_large")
    told(client.post("/api/v1/budgets", content=large, headers=JSON), 400, "malformed_json")
    told(client.post("/api/v1/budgets", content=large * 8, headers=JSON), 413, "body_too_large")


def test_who_shows_no_token_is_told_before_anything_is_read(client: Client) -> None:
    answer = client.post("/api/v1/claims", content=b"{", headers=JSON)
    told(answer, 401, "token_missing")
    assert answer.headers["www-authenticate"].startswith("Bearer")


def test_what_is_not_there(client: Client, people: People) -> None:
    for path, code in {
        "/api/v1/claims/C1": "no_such_claim",
        "/api/v1/vehicles/orrin-tarn": "no_such_vehicle",
        "/api/v1/vehicles/orrin-tarn/limit?condition=on_road": "no_such_vehicle",
        "/api/v1/fitments/F1/figure?condition=on_road": "no_such_fitment",
        "/api/v1/documents/D1/file": "no_such_document",
        "/api/v1/disputes/P1": "no_such_dispute",
        "/api/v1/publishers/orrin": "no_such_publisher",
        "/api/v1/nothing": "no_such_route",
        "/nothing": "no_such_route",
    }.items():
        told(client.get(path), 404, code)


def test_nobody_is_sent_elsewhere(client: Client) -> None:
    for path in ("/api/v1/vehicles/", "/api/v1/budget/", "/healthz/"):
        told(client.get(path, headers={"Host": "elsewhere.example"}), 404, "no_such_route")


def test_a_method_that_is_not_for_this(client: Client) -> None:
    answer = client.request("DELETE", "/api/v1/vehicles")
    told(answer, 405, "method_not_allowed")
    assert answer.headers["allow"] == "GET, POST"


def test_a_near_duplicate_names_what_it_resembles(client: Client, people: People) -> None:
    story = Story(client, people)
    story.publisher("Pellwick", "carrier_maker")
    again = {"name": "Pelwick", "kind": "carrier_maker"}
    found = told(client.post("/api/v1/publishers", json=again, headers=people["contributor"]), 409, "near_duplicate")
    assert found["resembles"] == [{"id": "pellwick", "name": "Pellwick"}]
    assert story.post("/publishers", {**again, "distinct_from": ["pellwick"]})["slug"] == "pelwick"


class FailingStore:
    """A store of evidence that fails as it is told to."""

    def __init__(self, error: Exception) -> None:
        self._error = error

    def put(self, content: bytes) -> str:
        raise self._error

    def exists(self, sha256: str) -> bool:
        raise self._error

    def get(self, sha256: str) -> bytes:
        raise self._error

    def remove(self, sha256: str) -> None:
        raise self._error

    def older_than(self, age: timedelta) -> Iterator[str]:
        raise self._error


def upload_to_a_failing_store(registry: Registry, people: People, error: Exception) -> Any:
    registry.store = FailingStore(error)
    with talking_to(create_app(registry), raises=False) as client:
        Story(client, people).publisher("Orrin", "vehicle_maker")
        answer = client.post(
            "/api/v1/documents",
            data={"publisher": "orrin", "kind": "handbook"},
            files={"file": ("page.pdf", pdf())},
            headers=people["contributor"],
        )
        assert client.get("/api/v1/documents").json() == {"items": [], "next": None}
        return answer


def test_storage_that_fails(registry: Registry, people: People) -> None:
    error = CantrailError(Kind.UNAVAILABLE, "storage_unavailable", "The disk is full. Try again in a moment.")
    answer = upload_to_a_failing_store(registry, people, error)
    told(answer, 503, "storage_unavailable")
    assert answer.headers["retry-after"]


def test_a_mistake_of_our_own_tells_nothing_of_the_inside(registry: Registry, people: People) -> None:
    answer = upload_to_a_failing_store(registry, people, RuntimeError("the secret of the inside"))
    told(answer, 500, "internal_error")
    assert "secret" not in answer.text


NONSENSE: Final = (
    ("condition=offroad", "/condition", "not_one_of"),
    ("condition=on_road&condition=off_road", "/condition", "given_twice"),
    ("condition=on_road&yaer=2020", "/yaer", "unknown_member"),
    ("condition=on_road&year=MMXX", "/year", "wrong_type"),
    ("condition=on_road&year=1800", "/year", "out_of_range"),
    ("condition=on_road&roofs=bare,flat", "/roofs/1", "not_one_of"),
    ("condition=on_road&year=2001", "/year", "ruled_out"),
    ("condition=on_road&min_confidence=2", "/min_confidence", "bad_confidence"),
    ("condition=on_road&as_of=tomorrow", "/as_of", "bad_time"),
    ("condition=on_road&as_of=100000", "/as_of", "not_yet"),
    ("quantity=own_mass", "/quantity", "wrong_quantity"),
    ("", "/condition", "condition_missing"),
)


def test_a_question_that_makes_no_sense(client: Client, people: People) -> None:
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    vehicle = story.add("vehicles", maker=maker, model="Tarn", years={"from": 2019, "to": 2024})
    story.confirmed("vehicles", vehicle, story.document(maker))
    for query, pointer, code in NONSENSE:
        answer = client.get(f"/api/v1/vehicles/{vehicle}/limit?{query}")
        assert answer.status_code == 422, (query, answer.text)
        assert [(each["pointer"], each["code"]) for each in answer.json()["errors"]] == [(pointer, code)], query
