"""What is answered about accounts and sessions is what the OpenAPI document says."""

import re
from typing import Any, Final

import httpx
import pytest

from app.core.permissions import Role
from app.web.cookies import COOKIE
from tests.web.schemas import mismatches
from tests.web.signed.town import API, Town

ANONYMOUS: Final = {("post", "/session"), ("post", "/password-resets"), ("post", "/accounts")}
EITHER: Final = {("get", "/session"), ("get", "/accounts"), ("get", "/accounts/{id}")}


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here stands in front of the database, whichever that is."""
    return sqlite_url


@pytest.fixture
def document(town: Town) -> Any:
    return town.client.get(f"{API}/openapi.json").json()


def ours(document: Any) -> dict[tuple[str, str], Any]:
    return {
        (method, path.removeprefix(API)): operation
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
        if path.startswith((f"{API}/account", f"{API}/session", f"{API}/password-resets"))
    }


def test_each_says_whether_it_takes_a_session_and_takes_no_key(document: Any) -> None:
    assert document["components"]["securitySchemes"]["session"]["name"] == COOKIE
    for which, operation in ours(document).items():
        wanted: list[dict[str, list[str]]] = [{"session": []}]
        if which in ANONYMOUS:
            wanted = []
        elif which in EITHER:
            wanted = [{"bearer": []}, {"session": []}]
        assert operation["security"] == wanted, which
        assert "Idempotency-Key" not in {each["name"] for each in operation.get("parameters", ())}
        assert ("401" in operation["responses"]) == (which != ("post", "/accounts"))


def test_what_is_answered_is_described(town: Town, document: Any) -> None:
    steward, browser = town.enter("hollow", Role.STEWARD), town.enter("oxbow")
    id = town.id_of("oxbow")
    browser.post("/publishers", {"name": "Orrin", "kind": "vehicle_maker"})
    reviewer = town.enter("sedge", Role.REVIEWER)
    digest = steward.get(f"/accounts/{id}").json()["record"]["digest"]
    newcomer = {"name": "newcomer", "password": "thistle wharf kettle marble"}
    interests = {"interests": [{"publisher": "orrin", "kind": "sells"}]}
    seen: set[tuple[str, str]] = set()

    def said(method: str, path: str, answer: httpx.Response) -> None:
        operation = ours(document)[method, path]
        assert str(answer.status_code) in operation["responses"], (method, path, answer.text)
        content = operation["responses"][str(answer.status_code)].get("content")
        if content is None:
            assert answer.content == b""
        else:
            (kind,) = content
            assert mismatches(answer.json(), content[kind]["schema"], document) == [], (method, path)
        seen.add((method, path))

    said("post", "/session", reviewer.sign_in())
    said("post", "/session", reviewer.post("/session", {"name": "sedge", "password": "wrong"}))
    said("get", "/session", browser.get("/session"))
    said("post", "/accounts", town.client.post(f"{API}/accounts", json=newcomer))
    said("get", "/accounts", steward.get("/accounts"))
    said("get", "/accounts/{id}", steward.get(f"/accounts/{id}"))
    said("get", "/account/interests", browser.get("/account/interests"))
    said("put", "/account/interests", browser.request("PUT", "/account/interests", interests))
    said("put", "/account/interests", browser.request("PUT", "/account/interests", {"interests": []}))
    said("get", "/account/interests", browser.get("/account/interests"))
    made = browser.post("/account/tokens", {"name": "x", "scopes": ["submit"], **browser.proof()})
    said("post", "/account/tokens", made)
    said("get", "/account/tokens", browser.get("/account/tokens"))
    said("delete", "/account/tokens/{id}", browser.request("DELETE", f"/account/tokens/{made.json()['id']}"))
    begun = browser.post("/account/one-time-password", browser.proof())
    said("post", "/account/one-time-password", begun)
    browser.secret = begun.json()["secret"]
    on = browser.post("/account/one-time-password/confirmation", {"code": browser.code()})
    said("post", "/account/one-time-password/confirmation", on)
    said("post", "/account/recovery-codes", browser.post("/account/recovery-codes", browser.proof()))
    change = {"current": browser.password, "password": "thistle wharf kettle marble", "code": browser.code()}
    said("post", "/account/password", browser.post("/account/password", change))
    browser.password = change["password"]
    said(
        "post",
        "/account/one-time-password/removal",
        browser.post("/account/one-time-password/removal", browser.proof()),
    )
    browser.secret = None
    said("post", "/accounts/{id}/reset-code", steward.post(f"/accounts/{id}/reset-code", {}))
    unknown = {"name": "oxbow", "reset": "abcdef", "password": "kettle marble wharf thistle"}
    said("post", "/password-resets", browser.post("/password-resets", unknown))
    role = {"role": "reviewer", "record": digest}
    said("post", "/accounts/{id}/role", steward.post(f"/accounts/{id}/role", role))
    for what in ("disabling", "enabling", "forgetting"):
        said("post", f"/accounts/{{id}}/{what}", steward.post(f"/accounts/{id}/{what}"))
    said("delete", "/sessions", steward.request("DELETE", "/sessions"))
    said("delete", "/session", reviewer.request("DELETE", "/session"))
    assert seen == ours(document).keys()


def test_every_example_of_a_body_can_be_read(town: Town, document: Any) -> None:
    steward = town.enter("hollow", Role.STEWARD)
    for (method, path), operation in ours(document).items():
        body = operation.get("requestBody", {}).get("content", {}).get("application/json")
        if body is None or path in {"/session", "/account/password"}:
            continue
        answer = steward.request(method.upper(), re.sub(r"\{[^}]+\}", "x1", path), body["example"])
        told = answer.json() if answer.status_code == 422 else {}
        assert told.get("code") != "bad_input", (path, answer.text)
