"""What every answer goes out with, and what no route ever sees."""

from typing import Any, Final

import anyio
import pytest
from fastapi import FastAPI

from app.bootstrap import Registry
from app.web.edge import body_bytes
from app.web.headers import LONGEST_PATH, MOST_HEADERS
from tests.web.people import People
from tests.web.serving import serving
from tests.web.story import API, Trade
from tests.web.talking import Client, talking_to

EVERY: Final = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}
DATA_CSP: Final = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
BUDGET: Final = {"condition": "on_road", "given_roof": {"limit": 75}}


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here stands in front of the database, whichever that is."""
    return sqlite_url


def holds_every_header(answer: Any) -> bool:
    names = [name.lower() for name, _ in answer.headers.multi_items()]
    return (
        {name: answer.headers.get(name) for name in EVERY} == EVERY
        and len(names) == len(set(names))
        and "server" not in names
        and bool(answer.headers["x-request-id"])
        and "cache-control" in names
        and "content-security-policy" in names
    )


def test_every_answer_has_them_whatever_it_is(client: Client, people: People, registry: Registry) -> None:
    trade = Trade(client, people)
    limit = f"{API}/vehicles/{trade.tarn}/limit?condition=on_road"
    tag = client.get(limit).headers["etag"]
    answers = {
        200: client.get(limit),
        304: client.get(limit, headers={"If-None-Match": tag}),
        201: client.post(f"{API}/publishers", json={"name": "Oxbow", "kind": "person"}, headers=people["contributor"]),
        400: client.post(f"{API}/budget", content=b"{", headers={"Content-Type": "application/json"}),
        401: client.post(f"{API}/publishers", json={}),
        403: client.post(
            f"{API}/documents/D1/takedown", json={"code": "rights", "reason": "x"}, headers=people["contributor"]
        ),
        404: client.get("/nowhere"),
        405: client.request("PUT", f"{API}/budget"),
        415: client.post(f"{API}/budget", content=b"x", headers={"Content-Type": "text/plain"}),
        422: client.post(f"{API}/budget", json={}),
        414: client.get("/" + "x" * LONGEST_PATH),
        431: client.get(limit, headers={f"X-{number}": "x" for number in range(MOST_HEADERS)}),
    }
    for status, answer in answers.items():
        assert answer.status_code == status, answer.text
        assert holds_every_header(answer), (status, answer.headers)
        assert answer.headers["content-security-policy"] == DATA_CSP

    def broken(*_: Any, **__: Any) -> None:
        raise ZeroDivisionError

    registry.answers.ready_limit = registry.answers.limit = broken  # type: ignore[assignment]
    answer = client.get(limit)
    assert answer.status_code == 500
    assert holds_every_header(answer)


def test_files_are_saved_and_never_shown(client: Client, people: People) -> None:
    trade = Trade(client, people)
    answer = client.get(f"{API}/documents/{trade.handbook}/file")
    assert answer.status_code == 200
    assert holds_every_header(answer)
    assert answer.headers["content-disposition"].startswith("attachment; filename=")
    assert answer.headers["content-security-policy"] == "sandbox; default-src 'none'"
    assert answer.headers["cache-control"] == "private, max-age=3600"


def test_what_came_over_tls_is_asked_for_over_tls_only(registry: Registry) -> None:
    app = serving(registry)
    over = {scheme: headers_of(app, scheme=scheme) for scheme in ("http", "https")}
    assert "strict-transport-security" not in over["http"]
    assert over["https"]["strict-transport-security"].startswith("max-age=31536000")


def headers_of(app: FastAPI, *, scheme: str) -> dict[str, str]:
    told: list[Any] = []

    async def receive() -> Any:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        told.append(message)

    scope = {"type": "http", "method": "GET", "path": "/healthz", "raw_path": b"/healthz", "query_string": b""}
    anyio.run(app, {**scope, "scheme": scheme, "headers": [], "client": None, "root_path": ""}, receive, send)
    return {name.decode(): value.decode() for name, value in told[0]["headers"]}


def test_pages_of_any_origin_may_read_and_ask_but_as_nobody(client: Client, people: People) -> None:
    elsewhere = {"Origin": "https://elsewhere.example"}
    open_to_all = [
        client.get(f"{API}/vehicles", headers=elsewhere),
        client.post(f"{API}/budget", json=BUDGET, headers=elsewhere),
        client.post(f"{API}/budgets", json={"budgets": [BUDGET]}, headers=elsewhere),
        client.get(f"{API}/vehicles/nothing", headers=elsewhere),
    ]
    for answer in open_to_all:
        assert answer.headers["access-control-allow-origin"] == "*"
        assert "access-control-allow-credentials" not in answer.headers
        assert answer.headers["cross-origin-resource-policy"] == "cross-origin"
    shut = [
        client.get(f"{API}/vehicles", headers={**elsewhere, "Cookie": "a=b"}),
        client.get(f"{API}/vehicles", headers={**elsewhere, **people["reviewer"]}),
        client.post(f"{API}/publishers", json={}, headers=elsewhere),
        client.get("/readyz", headers=elsewhere),
    ]
    for answer in shut:
        assert "access-control-allow-origin" not in answer.headers
        assert answer.headers["cross-origin-resource-policy"] == "same-origin"


def preflight(client: Client, path: str, method: str) -> Any:
    headers = {"Origin": "https://elsewhere.example", "Access-Control-Request-Method": method}
    return client.request("OPTIONS", path, headers=headers)


def test_browsers_are_told_what_a_page_may_ask(client: Client) -> None:
    for path, method in (
        (f"{API}/budget", "POST"),
        (f"{API}/budget/options", "POST"),
        (f"{API}/budgets", "POST"),
        (f"{API}/vehicles", "GET"),
    ):
        answer = preflight(client, path, method)
        assert answer.status_code == 204
        assert answer.headers["access-control-allow-origin"] == "*"
        allowed = answer.headers["access-control-allow-headers"].lower()
        assert "content-type" in allowed
        assert "authorization" not in allowed
        assert "access-control-allow-credentials" not in answer.headers
    for path, method in ((f"{API}/publishers", "POST"), (f"{API}/vehicles", "DELETE"), ("/readyz", "GET")):
        answer = preflight(client, path, method)
        assert answer.status_code in {404, 405}
        assert "access-control-allow-origin" not in answer.headers


@pytest.mark.parametrize("method", ["TRACE", "TRACK", "CONNECT", "PROPFIND", "get", "X" * 200])
def test_methods_that_nothing_here_has_are_refused(method: str, client: Client) -> None:
    for path in ("/", "/healthz", f"{API}/budget", f"{API}/vehicles/x/limit"):
        # The client that talks would write `get` in capitals.
        if method == "get":
            continue
        answer = client.request(method, path)
        assert answer.status_code == 405, path
        assert "GET" in answer.headers["allow"]


def test_what_is_somebodys_own_is_kept_by_no_cache(client: Client, people: People) -> None:
    for path in ("/vehicles", "/changes", "/openapi.json"):
        answer = client.get(API + path, headers=people["steward"])
        assert answer.headers["cache-control"] == "no-store", path
    assert client.get(f"{API}/vehicles").headers["cache-control"] == "no-cache"


def test_a_server_answers_to_its_own_names_only(registry: Registry) -> None:
    registry.settings = registry.settings.model_copy(update={"hosts": "registry, roofs.example,[2001:db8::1]"})
    with talking_to(serving(registry)) as client:
        for host in ("registry", "ROOFS.example:443", "[2001:db8::1]:8000", "[2001:db8::1]"):
            assert client.get("/healthz", headers={"Host": host}).status_code == 200, host
        for host in ("elsewhere.example", "", "registry.elsewhere.example", "registry:x", "2001:db8::1"):
            answer = client.get(f"{API}/vehicles/x/limit", headers={"Host": host})
            assert (answer.status_code, answer.json()["code"]) == (421, "unknown_host"), host
            assert host == "" or host not in answer.text


def test_a_request_keeps_the_id_that_it_came_with(client: Client) -> None:
    answer = client.get("/healthz", headers={"X-Request-ID": "from-the-proxy.1_a"})
    assert answer.headers["x-request-id"] == "from-the-proxy.1_a"
    for odd in ("", "a b", "x" * 65, "é".encode(), "a;b", "<x>"):
        made = client.get("/healthz", headers={"X-Request-ID": odd}).headers["x-request-id"]
        assert made not in {odd, ""}
    assert len({client.get("/healthz").headers["x-request-id"] for _ in range(20)}) == 20


def test_a_body_that_drips_is_not_waited_for_without_end(
    registry: Registry, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.web.edge.PATIENCE_S", -1000.0)
    assert body_bytes is not None
    app = serving(registry)
    for path in (f"{API}/budget", f"{API}/budgets", f"{API}/publishers", f"{API}/documents"):
        told: list[Any] = []

        async def receive() -> Any:
            await anyio.sleep(0.01)
            return {"type": "http.request", "body": b" ", "more_body": True}

        async def send(message: Any, told: list[Any] = told) -> None:
            told.append(message)

        kind = b"multipart/form-data; boundary=x" if path.endswith("documents") else b"application/json"
        headers = [(b"content-type", kind), (b"authorization", people["contributor"]["Authorization"].encode())]
        scope = {"type": "http", "method": "POST", "path": path, "raw_path": path.encode(), "query_string": b""}
        asked = {**scope, "scheme": "http", "headers": headers, "client": None, "root_path": ""}
        anyio.run(app, asked, receive, send)
        assert told[0]["status"] == 408, path
        assert (b"connection", b"close") in told[0]["headers"]


def test_where_to_report_a_weakness(registry: Registry, client: Client) -> None:
    path = "/.well-known/security.txt"
    missing = client.get(path)
    assert (missing.status_code, missing.json()["code"]) == (404, "no_security_contact")
    registry.settings = registry.settings.model_copy(update={"security_contact": "mailto:safety@registry.example"})
    answer = client.get(path)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/plain; charset=utf-8"
    lines = dict(line.split(": ", 1) for line in answer.text.splitlines())
    assert lines["Contact"] == "mailto:safety@registry.example"
    left = registry.clock.now().fromisoformat(lines["Expires"]) - registry.clock.now()
    assert 170 < left.days < 365
