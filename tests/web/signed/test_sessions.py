"""A session: how long it lasts, what ends it, and from where something may be done in it."""

from collections.abc import Callable

import pytest
from sqlmodel import select

from app.bootstrap import Registry
from app.core.permissions import Role
from app.persistence.models import WebSession
from app.services import accounts, daily, sessions
from app.web.cookies import COOKIE
from tests.web.signed.town import API, Browser, SetClock, Town
from tests.web.talking import Client

PUBLISHER = {"name": "Orrin", "kind": "vehicle_maker"}


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here stands in front of the database, whichever that is."""
    return sqlite_url


def test_the_cookie_is_the_hosts_own_and_no_script_s(town: Town) -> None:
    answer = town.settle("oxbow").sign_in()
    (line,) = answer.headers.get_list("set-cookie")
    name, _, rest = line.partition("=")
    parts = {part.strip().lower() for part in rest.split(";")[1:]}
    assert name == "__Host-cantrail"
    assert parts == {"httponly", "secure", "samesite=lax", "path=/", "max-age=43200"}
    assert answer.headers["cache-control"] == "no-store"
    assert len(rest.split(";")[0]) == 43


def test_a_cookie_jar_of_a_browser_carries_a_session(town: Town) -> None:
    browser = town.settle("oxbow")
    body = {"name": "oxbow", "password": browser.password}
    secure = f"https://registry{API}"
    assert town.client.post(f"{secure}/session", json=body).status_code == 201
    shown = town.client.get(f"{secure}/session")
    assert (shown.status_code, shown.json()["name"], shown.json()["scopes"]) == (200, "oxbow", ["submit"])
    origin = {"Origin": "https://registry"}
    assert town.client.post(f"{secure}/publishers", json=PUBLISHER, headers=origin).status_code == 201
    assert town.client.request("DELETE", f"{secure}/session", headers=origin).status_code == 204
    assert town.client.get(f"{secure}/session").status_code == 401


@pytest.mark.parametrize(
    ("role", "minutes"), [(Role.CONTRIBUTOR, 120), (Role.REVIEWER, 30), (Role.STEWARD, 30)], ids=str
)
def test_it_ends_when_nothing_was_asked_for_a_while(town: Town, clock: SetClock, role: Role, minutes: int) -> None:
    browser = town.enter("oxbow", role)
    for _ in range(3):
        clock.forward(minutes=minutes - 1)
        assert browser.is_in()
    clock.forward(minutes=minutes)
    assert not browser.is_in()


def test_it_ends_after_half_a_day_whatever_is_asked(town: Town, clock: SetClock) -> None:
    browser = town.enter("oxbow")
    for _ in range(11):
        clock.forward(hours=1)
        assert browser.is_in()
    clock.forward(minutes=59)
    assert browser.is_in()
    clock.forward(minutes=1)
    assert not browser.is_in()


def test_signing_in_makes_another_and_ends_the_one_that_was_shown(town: Town) -> None:
    browser = town.enter("oxbow")
    before = browser.cookie
    browser.sign_in()
    assert browser.cookie != before
    assert browser.is_in()
    browser.cookie = before
    assert not browser.is_in()


def sign_out(town: Town, browser: Browser) -> None:
    assert browser.request("DELETE", "/session").status_code == 204


def sign_out_everywhere(town: Town, browser: Browser) -> None:
    assert town_other(town, browser).request("DELETE", "/sessions").status_code == 204


def change_password(town: Town, browser: Browser) -> None:
    other = town_other(town, browser)
    body = {"current": browser.password, "password": "kettle marble wharf thistle"}
    assert other.post("/account/password", body).status_code == 204
    assert other.is_in()


def reset_password(town: Town, browser: Browser) -> None:
    with town.registry.database.write() as session:
        code = accounts.reset(session, name=browser.name, one_time_password=False, now=town.clock.now()).code
    body = {"name": browser.name, "reset": code, "password": "kettle marble wharf thistle"}
    assert town.browser("x", "x").post("/password-resets", body).status_code == 204


def operator_sets_password(town: Town, browser: Browser) -> None:
    town.registry.signing_in.set_password(browser.name, "kettle marble wharf thistle")


def change_role(town: Town, browser: Browser) -> None:
    with town.registry.database.write() as session:
        accounts.set_role(session, name=browser.name, role=Role.REVIEWER, now=town.clock.now())


def disable(town: Town, browser: Browser) -> None:
    with town.registry.database.write() as session:
        accounts.disable(session, name=browser.name, now=town.clock.now())


def forget(town: Town, browser: Browser) -> None:
    with town.registry.database.write() as session:
        accounts.forget(session, name=browser.name, now=town.clock.now())


def turn_one_time_passwords_on(town: Town, browser: Browser) -> None:
    other = town_other(town, browser)
    other.enrol()
    assert other.is_in()


def town_other(town: Town, browser: Browser) -> Browser:
    other = town.another(browser)
    other.sign_in()
    return other


@pytest.mark.parametrize(
    "end",
    [
        sign_out,
        sign_out_everywhere,
        change_password,
        reset_password,
        operator_sets_password,
        change_role,
        disable,
        forget,
        turn_one_time_passwords_on,
    ],
)
def test_what_ends_it(town: Town, end: Callable[[Town, Browser], None]) -> None:
    browser = town.enter("oxbow")
    before = browser.cookie
    assert browser.is_in()
    end(town, browser)
    browser.cookie = before
    assert not browser.is_in()
    refused = browser.post("/publishers", PUBLISHER)
    assert (refused.status_code, refused.json()["code"]) == (401, "session_over")


def test_signing_out_leaves_others_and_other_browsers_alone(town: Town) -> None:
    browser, somebody = town.enter("oxbow"), town.enter("marram")
    other = town_other(town, browser)
    sign_out(town, browser)
    assert other.is_in()
    assert somebody.is_in()


@pytest.mark.parametrize(
    ("headers", "may"),
    [
        ({"Sec-Fetch-Site": "same-origin"}, True),
        ({"Sec-Fetch-Site": "same-origin", "Origin": "http://evil.example"}, True),
        ({"Sec-Fetch-Site": "same-site"}, False),
        ({"Sec-Fetch-Site": "cross-site"}, False),
        ({"Sec-Fetch-Site": "cross-site", "Origin": "http://registry"}, False),
        ({"Sec-Fetch-Site": "none"}, False),
        ({"Origin": "http://registry"}, True),
        ({"Origin": "https://registry"}, False),
        ({"Origin": "http://registry:8080"}, False),
        ({"Origin": "http://registry.evil.example"}, False),
        ({"Origin": "null"}, False),
        ({"Referer": "http://registry/page"}, False),
        ({}, False),
    ],
    ids=str,
)
def test_from_where_something_may_be_changed(town: Town, headers: dict[str, str], may: bool) -> None:
    browser = town.enter("oxbow")
    for method, path, body in (
        ("POST", "/publishers", PUBLISHER),
        ("PUT", "/account/interests", {"interests": []}),
        ("DELETE", "/session", None),
    ):
        answer = browser.request(method, path, body, headers)
        if may:
            assert answer.status_code in {200, 201, 204}, answer.text
        else:
            assert (answer.status_code, answer.json()["code"]) == (403, "cross_site")


@pytest.mark.parametrize("site", ["cross-site", "same-site", "none"])
def test_another_site_cannot_sign_anybody_in(town: Town, site: str) -> None:
    browser = town.settle("oxbow")
    body = {"name": "oxbow", "password": browser.password}
    answer = town.client.post(f"{API}/session", json=body, headers={"Sec-Fetch-Site": site})
    assert (answer.status_code, answer.json()["code"]) == (403, "cross_site")
    assert "set-cookie" not in answer.headers


def test_a_program_signs_in_without_saying_from_which_page(town: Town) -> None:
    browser = town.settle("oxbow")
    body = {"name": "oxbow", "password": browser.password}
    assert town.client.post(f"{API}/session", json=body).status_code == 201


def test_reading_in_a_session_works_from_anywhere(town: Town) -> None:
    browser = town.enter("oxbow")
    assert browser.request("GET", "/session", headers={"Sec-Fetch-Site": "cross-site"}).status_code == 200


def test_a_token_wins_over_a_session(town: Town, registry: Registry, client: Client) -> None:
    browser = town.enter("oxbow")
    town.settle("marram")
    with registry.database.write() as session:
        token = accounts.issue_token(session, name="marram", label="x", scopes=["submit"], now=town.clock.now())  # type: ignore[list-item]
    headers = {"Authorization": f"Bearer {token.token}", "Cookie": f"{COOKIE}={browser.cookie}"}
    assert client.get(f"{API}/session", headers=headers).json()["name"] == "marram"
    headers["Authorization"] = "Bearer cantrail_of_nobody"
    answer = client.get(f"{API}/session", headers=headers)
    assert (answer.status_code, answer.json()["code"]) == (401, "bad_token")
    headers["Authorization"] = "Basic b3hib3c6eA=="
    answer = client.get(f"{API}/session", headers=headers)
    assert (answer.status_code, answer.json()["code"]) == (401, "token_missing")


def test_a_write_in_a_session_is_done_once_for_each_key(town: Town) -> None:
    browser = town.enter("oxbow")
    headers = {"Sec-Fetch-Site": "same-origin", "Idempotency-Key": "once"}
    first = browser.request("POST", "/publishers", PUBLISHER, headers)
    again = browser.request("POST", "/publishers", PUBLISHER, headers)
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.content == again.content


@pytest.mark.parametrize("role", [Role.REVIEWER, Role.STEWARD], ids=str)
def test_who_reviews_only_reads_and_enrols_until_one_time_passwords_are_on(town: Town, role: Role) -> None:
    browser = town.settle("sedge", role)
    shown = browser.sign_in().json()
    assert (shown["needs_one_time_password"], shown["scopes"]) == (True, [])
    id = town.id_of("sedge")
    for method, path, body in (
        ("POST", "/publishers", PUBLISHER),
        ("POST", "/claims/C1/readings", {}),
        ("GET", "/accounts", None),
        ("GET", f"/accounts/{id}", None),
        ("GET", "/account/tokens", None),
        ("POST", "/account/tokens", {"name": "x", "password": browser.password, "scopes": ["submit"]}),
        ("PUT", "/account/interests", {"interests": []}),
        ("POST", f"/accounts/{id}/disabling", None),
    ):
        answer = browser.request(method, path, body)
        assert answer.status_code in {403, 422}, (path, answer.text)
        if path != "/claims/C1/readings":
            assert answer.json()["code"] == "one_time_password_needed", (path, answer.text)
    assert browser.get("/publishers").status_code == 200
    browser.enrol()
    assert browser.get("/session").json()["needs_one_time_password"] is False
    assert browser.post("/publishers", PUBLISHER).status_code == 201


def test_somebody_promoted_signs_in_anew_and_enrols(town: Town) -> None:
    browser = town.enter("oxbow")
    change_role(town, browser)
    assert not browser.is_in()
    assert browser.sign_in().json()["needs_one_time_password"] is True
    assert browser.post("/publishers", PUBLISHER).json()["code"] == "one_time_password_needed"
    browser.enrol()
    assert browser.post("/publishers", PUBLISHER).status_code == 201


def test_the_daily_run_removes_what_is_over(town: Town, registry: Registry, clock: SetClock) -> None:
    browser = town.enter("oxbow")
    clock.forward(hours=11)
    other = town.another(browser)
    other.sign_in()
    clock.forward(hours=1)
    with registry.database.write() as session:
        daily.run(daily.system_work(session, clock.now(), registry.store))
    with registry.database.read() as session:
        (kept,) = session.exec(select(WebSession)).all()
    assert other.cookie is not None
    assert kept.token_sha256 == sessions.hashed(other.cookie)
    assert other.is_in()
