"""What is logged of requests: one line each, by the route and not by the path, and nothing that nobody else may read."""

import io
import json
import logging
from collections.abc import Callable, Iterator
from typing import Any, Final

import pytest

from app.adapters import log_lines
from app.bootstrap import Registry
from app.core.permissions import Role
from app.services import accounts
from app.web.main import create_app
from tests.web.people import People
from tests.web.story import API, Trade
from tests.web.talking import Client, talking_to

READING: Final = {"stated": {"value": "75", "unit": "kg"}, "condition": "on_road"}

Lines = Callable[[], list[dict[str, Any]]]


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here stands in front of the database, whichever that is."""
    return sqlite_url


@pytest.fixture
def lines(client: Client) -> Iterator[Lines]:
    """All that is logged once the registry is there, as it is written."""
    named = [logging.getLogger(name) for name in ("", "uvicorn", "uvicorn.error", "uvicorn.access")]
    before = [(each, each.handlers[:], each.level, each.propagate, each.filters[:]) for each in named]
    stream = io.StringIO()
    log_lines.set_up(readable=False, stream=stream)
    yield lambda: [json.loads(line) for line in stream.getvalue().splitlines()]
    for each, handlers, level, propagate, filters in before:
        each.handlers, each.propagate, each.filters = handlers, propagate, filters
        each.setLevel(level)


def test_each_request_is_one_line(lines: Lines, client: Client, people: People) -> None:
    answer = client.post(f"{API}/claims/C77/withdrawal", headers=people["contributor"] | {"X-Request-ID": "a-1"})
    assert answer.status_code == 404
    told = lines()
    assert len(told) == 1, told
    (line,) = told
    assert line["event"] == "request"
    assert line["request_id"] == "a-1"
    assert line["method"] == "POST"
    assert line["route"] == f"{API}/claims/{{id}}/withdrawal"
    assert line["status"] == 404
    assert line["code"] == "no_such_claim"
    assert line["account"].startswith("a-")
    assert line["address"] == "127.0.0.1"
    assert line["ms"] > 0
    assert line["timestamp"].endswith("Z")
    assert "C77" not in json.dumps(line)


def test_paths_and_queries_are_not_written_down(lines: Lines, client: Client) -> None:
    hostile = "/nowhere/%0a%7b%22event%22:%22forged%22%7d?token=hunter-of-roofs"
    client.get(hostile)
    client.get(f"{API}/vehicles/%E2%80%AEevil/claims?cursor=hunter-of-roofs")
    client.get(f"{API}/vehicles/hunter-of-roofs/limit?condition=on_road")
    written = json.dumps(lines())
    assert len(lines()) == 3
    for each in ("forged", "hunter-of-roofs", "evil", "nowhere"):
        assert each not in written
    assert [line.get("route") for line in lines()] == [
        None,
        f"{API}/vehicles/{{id}}/claims",
        f"{API}/vehicles/{{id}}/limit",
    ]


def test_answers_that_go_well_are_counted_and_not_told(
    lines: Lines, registry: Registry, client: Client, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    trade = Trade(client, people)
    before = len(lines())
    monkeypatch.setattr("app.web.logging_requests.COUNTED_FOR_S", 0.0)
    for _ in range(3):
        client.get(f"{API}/vehicles/{trade.tarn}/limit?condition=on_road")
    told = lines()[before:]
    assert [(line["event"], line["counted"]) for line in told] == [("answers", "{'200': 1}")] * 3
    registry.settings = registry.settings.model_copy(update={"log_answers": True, "log_addresses": False})
    before = len(lines())
    with talking_to(create_app(registry)) as other:
        other.get(f"{API}/vehicles/{trade.tarn}/limit?condition=on_road")
    (line,) = lines()[before:]
    assert (line["event"], line["route"]) == ("request", f"{API}/vehicles/{{id}}/limit")
    assert "address" not in line


def test_a_mistake_is_told_with_its_trace_and_its_request(lines: Lines, client: Client, registry: Registry) -> None:
    def broken(*_: Any, **__: Any) -> None:
        raise ZeroDivisionError("cantrail_hunter-of-roofs")

    registry.answers.ready_limit = registry.answers.limit = broken  # type: ignore[assignment]
    answer = client.get(f"{API}/vehicles/x/limit?condition=on_road")
    assert answer.status_code == 500
    (line,) = [line for line in lines() if line["event"] == "mistake"]
    assert line["request_id"] == answer.headers["x-request-id"]
    assert line["status"] == 500
    assert "ZeroDivisionError" in line["exception"]
    assert "hunter-of-roofs" not in json.dumps(lines())


def test_who_keeps_watch_is_told(lines: Lines, registry: Registry, client: Client, people: People) -> None:
    body = {"name": "Orrin", "kind": "vehicle_maker"}
    client.post(f"{API}/publishers", json=body)
    client.post(f"{API}/publishers", json=body, headers={"Authorization": "Bearer cantrail_made_up"})
    client.post(f"{API}/publishers", json=body, headers=people["disabled"])
    client.post(f"{API}/claims/C1/readings", json=READING, headers=people["contributor"])
    client.post(f"{API}/session", json={"name": "reviewer", "password": "hunter-of-roofs-2"})
    told = [(line["status"], line.get("security")) for line in lines()]
    assert told == [
        (401, "not_signed_in"),
        (401, "not_signed_in"),
        (401, "not_signed_in"),
        (403, "refused"),
        (401, "sign_in_failed"),
    ]
    assert all(line["level"] == "warning" for line in lines())


def test_no_secret_of_a_whole_story_is_in_the_log(
    lines: Lines, registry: Registry, client: Client, people: People
) -> None:
    trade = Trade(client, people)
    hostile = 'Drummel\n{"event":"request","status":200}\u202e\x1b[31m'
    answer = client.post(f"{API}/publishers", json={"name": hostile, "kind": "shop"}, headers=people["contributor"])
    assert answer.status_code in {201, 422}
    for who in people.values():
        client.post(f"{API}/claims/{trade.roof}/disputes", json={"reason": "Some reason of mine."}, headers=who)
        client.get(f"{API}/session", headers=who)
    client.post(f"{API}/session", json={"name": "contributor", "password": "hunter-of-roofs-2", "code": "123456"})
    client.get(f"{API}/vehicles", headers={"Cookie": "__Host-cantrail=hunter-of-roofs-3"})
    with registry.database.write() as session:
        accounts.set_role(session, name="contributor", role=Role.REVIEWER, now=registry.clock.now())
    assert len(lines()) > 60
    written = json.dumps(lines())
    secrets = [headers["Authorization"].removeprefix("Bearer ") for headers in people.values() if headers]
    for secret in [*secrets, "hunter-of-roofs", "123456", "Some reason of mine", "Drummel", "cantrail_"]:
        assert secret not in written
    for name in ("second reviewer", "third reviewer", "handbook", "page.pdf"):
        assert name not in written
    assert {line["event"] for line in lines()} <= {"request", "answers"}
