"""Signing in by a page, and going on with what was typed when a session ended in the middle of a form."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from app.core.permissions import Role
from app.services import sessions
from app.web.pages.forms import CARRIED_MOST, local_path
from tests.web.pages.tabs import Square, Tab, square

pytestmark = pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)

HOSTILE = '<script>alert("x")</script>\'"&'
FORM = "/account/interests"
"""An address that takes a form, from somebody who is signed in."""


@pytest.fixture
def town(database_url: str, tmp_path: Path) -> Iterator[Square]:
    """Nobody yet."""
    with square(database_url, tmp_path) as town:
        yield town


@pytest.fixture
def somebody(town: Square) -> dict[str, str]:
    """A contributor, not signed in."""
    browser = town.settle("alder")
    return {"_name": "alder", "_password": browser.password}


def test_a_page_to_sign_in_on_and_the_way_out(town: Square, somebody: dict[str, str]) -> None:
    tab = Tab(town.client)
    tab.get("/sign-in?then=/account/claims").fill("/sign-in", **somebody)
    assert (tab.status, tab.at) == (200, "/account/claims")
    assert "no-store" in tab.headers["cache-control"]
    assert tab.get("/sign-in").at == "/sign-in"
    assert (tab.status, tab.headers["location"]) == (303, "/")
    before = tab.cookie
    tab.get("/account").fill("/sign-out")
    assert (tab.at, tab.cookie) == ("/", None)
    assert Tab(town.client, before).get("/account").status == 401
    assert tab.post("/sign-out", {}).status == 200


def test_what_was_wrong_is_not_told_and_a_password_is_not_shown_again(town: Square, somebody: dict[str, str]) -> None:
    town.tab("rowan", Role.REVIEWER)
    told = set()
    for tried in (
        {**somebody, "_password": "not this one, no"},
        {"_name": "nobody at all", "_password": "not this one, no"},
        {"_name": "rowan", "_password": town.passwords["rowan"]},
        {"_name": "rowan", "_password": town.passwords["rowan"], "_code": "000000"},
        {"_name": "alder", "_password": ""},
    ):
        tab = Tab(town.client).get("/sign-in").fill("/sign-in", **tried)
        assert tab.status == 401
        form = dict(tab.form("/sign-in").fields)
        assert (form["_name"], form["_password"], form["_code"]) == (tried["_name"], "", "")
        assert tab.cookie is None
        told.add(tab.html.partition('id="told"')[2].partition("</p>")[0])
    assert len(told) == 1
    hostile = Tab(town.client).get("/sign-in").fill("/sign-in", _name=HOSTILE, _password="x" * 20)
    assert HOSTILE not in hostile.html
    assert dict(hostile.form("/sign-in").fields)["_name"] == HOSTILE


def test_a_password_counts_exactly_as_it_was_typed(town: Square, somebody: dict[str, str]) -> None:
    spaced = {**somebody, "_password": f" {somebody['_password']}"}
    assert Tab(town.client).get("/sign-in").fill("/sign-in", **spaced).status == 401
    named = {**somebody, "_name": " alder "}
    assert Tab(town.client).get("/sign-in").fill("/sign-in", **named).status == 200


def test_guessing_is_slowed_and_it_says_until_when(town: Square, somebody: dict[str, str]) -> None:
    tab = Tab(town.client)
    for _ in range(10):
        assert tab.get("/sign-in").fill("/sign-in", _name="alder", _password="not this one, no").status == 401
    tab.get("/sign-in?then=/account").fill("/sign-in", **somebody)
    assert tab.status == 429
    assert 0 < int(tab.headers["retry-after"]) <= 900
    assert "Come back in" in tab.text
    assert dict(tab.form("/sign-in").fields)["_name"] == "alder"
    town.clock.forward(minutes=16)
    assert tab.fill("/sign-in", **somebody).at == "/account"


def test_nobody_is_sent_to_another_place(town: Square, somebody: dict[str, str]) -> None:
    for elsewhere in (
        "//evil.example",
        "https://evil.example/",
        "/\\evil.example",
        "/\t/evil.example",
        "javascript:alert(1)",
        "evil",
        "",
        "/a\\b",
        "/ /evil.example",
    ):
        assert local_path(elsewhere) == "/"
        tab = Tab(town.client)
        tab.request("POST", "/sign-in", [("_then", elsewhere), *somebody.items()])
        assert (tab.status, tab.headers["location"]) == (303, "/")
        tab = Tab(town.client)
        tab.request("POST", "/sign-in", [("_then", elsewhere), ("_posted", "yes"), *somebody.items()])
        assert tab.form("/").fields
    assert local_path("/plan?vehicle=x&q=a%20b#there") == "/plan?vehicle=x&q=a%20b#there"
    for circle in ("/sign-in", "/sign-out", "/sign-in?then=/sign-in"):
        tab = Tab(town.client)
        tab.request("POST", "/sign-in", [("_then", circle), *somebody.items()])
        assert tab.headers["location"] == "/account"


def test_what_was_typed_is_sent_after_signing_in(town: Square, somebody: dict[str, str]) -> None:
    tab = town.tab("hazel")
    typed = [
        ("publisher", HOSTILE),
        ("kind", "sells"),
        ("kind", "employer"),
        ("_key", "k1"),
        ("_password", "secret one"),
    ]
    with town.registry.database.write() as session:
        sessions.end_all(session, town.id_of("hazel"))
    tab.post(FORM, typed)
    assert tab.status == 401
    assert "What you typed is kept" in tab.text
    assert "secret one" not in tab.html
    assert HOSTILE not in tab.html
    # A slip on the way loses nothing.
    tab.fill("/sign-in", _name="alder", _password="not this one, no")
    assert tab.status == 401
    tab.fill("/sign-in", **somebody)
    assert (tab.status, tab.at) == (200, "/sign-in")
    assert "has not been sent yet" in tab.text
    assert HOSTILE not in tab.html
    assert tab.form(FORM).fields == [each for each in typed if each[0] != "_password"]
    tab.fill(FORM)
    assert (tab.status, tab.at) == (422, FORM)
    assert "No publisher here" in tab.text


def test_a_page_that_was_only_looked_at_is_shown_after_signing_in(town: Square, somebody: dict[str, str]) -> None:
    tab = Tab(town.client, "a cookie of long ago").get("/account/claims?cursor=7")
    assert tab.status == 401
    assert "You are not signed in any more" in tab.text
    tab.fill("/sign-in", **somebody)
    assert (tab.status, tab.at) == (200, "/account/claims?cursor=7")


def test_a_part_of_a_page_says_only_that_the_session_is_over(town: Square) -> None:
    tab = Tab(town.client, "a cookie of long ago").request("GET", "/account", None, **{"HX-Request": "true"})
    assert (tab.status, tab.headers["hx-reselect"]) == (401, "#session-over")
    assert 'id="session-over"' in tab.html
    assert "<main" not in tab.html


def test_a_file_is_asked_for_again_and_too_much_is_not_carried(town: Square, somebody: dict[str, str]) -> None:
    tab = Tab(town.client)
    answer = town.client.post(FORM, data={"publisher": "x"}, files={"file": ("page.pdf", b"%PDF-1.7")})
    tab.status, tab.html = answer.status_code, answer.text
    assert tab.status == 401
    tab.fill("/sign-in", **somebody)
    assert "Choose the document again" in tab.text
    assert ("publisher", "x") in tab.form(FORM).fields
    much = Tab(town.client).post(FORM, {"publisher": "y" * (CARRIED_MOST + 1)})
    assert (much.status, "y" * 100 in much.html) == (401, False)
    much.fill("/sign-in", **somebody)
    assert "too long to be carried along" in much.text
    many = Tab(town.client).post(FORM, [(f"f{number}", "") for number in range(2000)])
    assert "f1999" not in many.html


def test_what_another_site_sends_is_not_kept_for_its_visitor_to_send(town: Square, somebody: dict[str, str]) -> None:
    """Its visitor's cookie does not come along, so that it looks as if nobody was signed in."""
    tab = town.tab("hazel")
    cookie, tab.cookie = tab.cookie, None
    tab.request("POST", FORM, [("publisher", "theirs")], **{"Sec-Fetch-Site": "cross-site"})
    assert (tab.status, "theirs" in tab.html) == (403, False)
    tab.cookie = cookie
    tab.request("POST", FORM, [("publisher", "theirs")], **{"Sec-Fetch-Site": "cross-site"})
    assert (tab.status, "theirs" in tab.html) == (403, False)
    for path in ("/sign-in", "/register", "/password", "/sign-out"):
        tab = Tab(town.client)
        tab.request("POST", path, list(somebody.items()), **{"Sec-Fetch-Site": "cross-site"})
        assert (tab.status, tab.cookie) == (403, None)


def test_who_reviews_is_led_to_one_time_passwords_first(town: Square) -> None:
    browser = town.settle("rowan", Role.REVIEWER)
    known = {"_name": "rowan", "_password": browser.password}
    tab = Tab(town.client).get("/sign-in?then=/account/tokens").fill("/sign-in", **known)
    assert tab.at == "/account/one-time-password"
    assert tab.get("/account/tokens").status == 403
    sent = Tab(town.client)
    sent.request("POST", "/sign-in", [("_then", FORM), ("_posted", "yes"), ("_carried.kind", "sells"), *known.items()])
    assert "First set up one-time passwords" in sent.text
    assert ("kind", "sells") in sent.form(FORM).fields


def test_looking_at_pages_keeps_a_session_open(town: Square) -> None:
    tab = town.tab("hazel")
    for _ in range(5):
        town.clock.forward(minutes=90)
        assert tab.get("/account").status == 200
    town.clock.forward(minutes=121)
    assert tab.get("/account").status == 401


def test_who_keeps_watch_is_told_and_no_password_is_written_down(
    town: Square, somebody: dict[str, str], caplog: pytest.LogCaptureFixture
) -> None:
    steward = town.tab("hollow", Role.STEWARD)
    caplog.clear()
    tab = Tab(town.client).get("/sign-in").fill("/sign-in", _name="alder", _password="not this one, no")
    tab.fill("/sign-in", **somebody)
    tab.get("/account/password").fill("", _current="not this one, no", _password="violet anvil cider moss")
    tab.get("/password").fill("/password", name="alder", _reset="aaaa-bbbb", _password="violet anvil cider moss")
    steward.get(f"/people/{town.id_of('alder')}/disabling").fill()
    tab.post("/account/interests", {"publisher": "x"})
    told = [record.__dict__["security"] for record in caplog.records if "security" in record.__dict__]
    assert told == [
        "sign_in_failed",
        "signed_in",
        "not_signed_in",
        "password_reset_failed",
        "account_disabled",
        "not_signed_in",
    ]
    known = {record.__dict__.get("account") for record in caplog.records}
    assert {town.id_of("alder"), town.id_of("hollow")} <= known
    written = " ".join(str(record.__dict__) for record in caplog.records)
    for secret in ("not this one", somebody["_password"], "violet anvil", "aaaa-bbbb", "alder", tab.cookie or ""):
        assert not secret or secret not in written
