"""One's own tokens: made in a session, shown once, good for a while, used and revoked."""

from datetime import timedelta

import pytest

from app.bootstrap import Registry
from app.core.permissions import Role
from app.services import accounts
from tests.web.signed.town import API, SetClock, Town

PUBLISHER = {"name": "Orrin", "kind": "vehicle_maker"}


def test_it_is_shown_once_and_acts_for_its_owner(town: Town) -> None:
    browser = town.enter("oxbow")
    made = browser.post("/account/tokens", {"name": "counter", "scopes": ["submit"], **browser.proof()})
    assert (made.status_code, made.headers["cache-control"]) == (201, "no-store")
    secret = made.json()["token"]
    listed = browser.get("/account/tokens")
    assert secret not in listed.text
    (line,) = listed.json()["items"]
    assert (line["name"], line["scopes"], line["last_used_at"]) == ("counter", ["submit"], None)
    headers = {"Authorization": f"Bearer {secret}"}
    assert town.client.post(f"{API}/publishers", json=PUBLISHER, headers=headers).status_code == 201
    assert browser.request("DELETE", f"/account/tokens/{line['id']}").status_code == 204
    assert browser.get("/account/tokens").json()["items"] == []
    again = town.client.post(f"{API}/publishers", json=PUBLISHER, headers=headers)
    assert (again.status_code, again.json()["code"]) == (401, "bad_token")


def test_it_ends_after_its_days_and_says_what_an_unknown_one_says(town: Town, clock: SetClock) -> None:
    browser = town.enter("oxbow")
    made = browser.post("/account/tokens", {"name": "x", "scopes": ["submit"], **browser.proof()}).json()
    assert made["expires_at"].startswith((clock.now() + timedelta(days=90)).date().isoformat())
    headers = {"Authorization": f"Bearer {made['token']}"}
    clock.forward(days=90, seconds=-1)
    assert town.client.get(f"{API}/session", headers=headers).status_code == 200
    clock.forward(seconds=1)
    over = town.client.get(f"{API}/session", headers=headers)
    unknown = town.client.get(f"{API}/session", headers={"Authorization": "Bearer cantrail_unknown"})
    assert (over.status_code, over.content) == (unknown.status_code, unknown.content)


@pytest.mark.parametrize("days", [0, 367, 5000])
def test_it_is_good_for_a_year_at_most(town: Town, days: int) -> None:
    browser = town.enter("oxbow")
    body = {"name": "x", "scopes": ["submit"], "days": days, **browser.proof()}
    assert browser.post("/account/tokens", body).status_code == 422


def test_it_reaches_no_further_than_its_owner(town: Town) -> None:
    browser = town.enter("oxbow")
    body = {"name": "x", "scopes": ["review"], **browser.proof()}
    refused = browser.post("/account/tokens", body)
    assert (refused.status_code, refused.json()["code"]) == (403, "role_too_low")
    reviewer = town.enter("sedge", Role.REVIEWER)
    made = reviewer.post("/account/tokens", {"name": "x", "scopes": ["review"], **reviewer.proof()})
    assert made.json()["scopes"] == ["review"]


def test_making_one_takes_the_password_and_no_token_makes_another(town: Town) -> None:
    browser = town.enter("oxbow")
    wrong = browser.post("/account/tokens", {"name": "x", "scopes": ["submit"], "password": "wrong"})
    assert (wrong.status_code, wrong.json()["code"]) == (401, "sign_in_failed")
    body = {"name": "x", "scopes": ["submit"], **browser.proof()}
    headers = {"Authorization": f"Bearer {browser.post('/account/tokens', body).json()['token']}"}
    by_token = town.client.post(f"{API}/account/tokens", json=body, headers=headers)
    assert (by_token.status_code, by_token.json()["code"]) == (403, "session_needed")


def test_another_s_token_is_none_of_one_s_business(town: Town) -> None:
    browser, other = town.enter("oxbow"), town.enter("marram")
    made = other.post("/account/tokens", {"name": "x", "scopes": ["submit"], **other.proof()}).json()
    for id in (made["id"], "k-nothing"):
        refused = browser.request("DELETE", f"/account/tokens/{id}")
        assert (refused.status_code, refused.json()["code"]) == (404, "no_such_token")
    headers = {"Authorization": f"Bearer {made['token']}"}
    assert town.client.get(f"{API}/session", headers=headers).status_code == 200


def test_its_last_use_is_written_now_and_then(town: Town, clock: SetClock, registry: Registry) -> None:
    browser = town.enter("oxbow")
    made = browser.post("/account/tokens", {"name": "x", "scopes": ["submit"], **browser.proof()}).json()
    headers = {"Authorization": f"Bearer {made['token']}"}

    def used() -> str | None:
        (line,) = browser.get("/account/tokens").json()["items"]
        return str(line["last_used_at"])

    clock.forward(minutes=1)
    first = clock.now()
    assert town.client.get(f"{API}/session", headers=headers).status_code == 200
    assert used() == first.strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    clock.forward(minutes=4)
    town.client.post(f"{API}/publishers", json=PUBLISHER, headers=headers)
    assert used() == first.strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    clock.forward(minutes=1)
    town.client.post(f"{API}/publishers", json={**PUBLISHER, "name": "Other"}, headers=headers)
    assert used() == clock.now().strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def test_tokens_come_a_page_at_a_time_and_are_not_without_number(town: Town, registry: Registry) -> None:
    browser = town.enter("oxbow")
    with registry.database.write() as session:
        for n in range(50):
            accounts.issue_token(session, name="oxbow", label=f"token {n}", scopes=[], now=town.clock.now())
    listed = browser.get("/account/tokens?limit=30").json()
    rest = browser.get(f"/account/tokens?limit=30&cursor={listed['next']}").json()
    assert (len(listed["items"]), len(rest["items"]), rest["next"]) == (30, 20, None)
    full = browser.post("/account/tokens", {"name": "x", "scopes": ["submit"], **browser.proof()})
    assert (full.status_code, full.json()["code"]) == (409, "too_many_tokens")
