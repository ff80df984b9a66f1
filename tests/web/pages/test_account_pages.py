"""One's own account by its pages: what is shown once, what is proven again, and what became of one's claims."""

import re
from collections.abc import Iterator
from pathlib import Path

import pyotp
import pytest

from app.core.permissions import Role
from tests.web.pages.tabs import Square, Tab, square
from tests.web.people import let_in
from tests.web.story import Story

pytestmark = pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)

HOSTILE = "<img src=x onerror=alert(1)>"
WEAK = "short"
FRESH = "violet anvil cider moss"


@pytest.fixture
def town(database_url: str, tmp_path: Path) -> Iterator[Square]:
    """Nobody yet; anybody may register."""
    with square(database_url, tmp_path, open_registration=True) as town:
        yield town


def test_somebody_registers_and_looks_at_their_page(town: Square) -> None:
    tab = Tab(town.client).get("/register")
    weak = tab.fill("/register", name=HOSTILE, _password=WEAK)
    assert weak.status == 422
    assert HOSTILE not in weak.html
    assert dict(weak.form("/register").fields) == {"name": HOSTILE, "_password": ""}
    assert 'id="password-fault"' in weak.html
    tab.fill("/register", name=HOSTILE, _password=FRESH)
    assert (tab.status, tab.at) == (200, "/account?done=registered")
    assert HOSTILE not in tab.html
    assert "You have not entered a claim yet" in tab.text
    assert "(this one)" in tab.text
    taken = Tab(town.client).get("/register").fill("/register", name=HOSTILE, _password=FRESH)
    assert (taken.status, taken.cookie) == (409, None)


def test_a_registry_that_is_closed_says_how_one_gets_an_account(database_url: str, tmp_path: Path) -> None:
    with square(database_url, tmp_path) as town:
        tab = Tab(town.client).get("/register")
        assert tab.status == 200
        assert "Ask them for one" in tab.text
        assert tab.post("/register", {"name": "alder", "_password": FRESH}).status == 403


def test_one_time_passwords_are_set_up_and_used(town: Square) -> None:
    known = {"_password": town.settle("rowan", Role.REVIEWER).password}
    tab = Tab(town.client).get("/sign-in").fill("/sign-in", _name="rowan", **known)
    other = Tab(town.client).get("/sign-in").fill("/sign-in", _name="rowan", **known)
    assert "Set up one-time passwords" in tab.get("/account").text
    page = "/account/one-time-password"
    wrong = tab.get(page).fill(page, _password="not this one, no")
    assert (wrong.status, "is wrong" in wrong.text) == (422, True)
    tab.fill(page, **known)
    assert tab.status == 200
    letters = re.findall(r"<span>([A-Z2-7]{4})</span>", tab.html)
    totp = pyotp.TOTP("".join(letters))
    assert len(letters) == 8
    assert "style=" not in tab.html
    assert re.search(r'<path class="ink" d="M\d', tab.html)
    slip = tab.fill(f"{page}/confirmation", _code="000000")
    assert slip.status == 422
    assert "".join(letters) not in slip.html
    tab.fill(f"{page}/confirmation", _code=totp.at(town.clock.now()))
    codes = re.findall(r"<li>([a-z2-7-]{20,})</li>", tab.html)
    assert (tab.status, len(codes)) == (200, 10)
    assert other.get("/account").status == 401
    assert "10 recovery codes left" in tab.get("/account").text
    assert codes[0] not in tab.html
    with_code = Tab(town.client).get("/sign-in").fill("/sign-in", _name="rowan", **known, _code=codes[0])
    assert "9 recovery codes left" in with_code.get("/account").text
    tab.get(page).fill("/account/recovery-codes", **known, _code=codes[1])
    renewed = re.findall(r"<li>([a-z2-7-]{20,})</li>", tab.html)
    assert not set(codes) & set(renewed)
    void = tab.get(page).fill(f"{page}/removal", **known, _code=codes[2])
    assert (void.status, void.at) == (422, f"{page}/removal")
    tab.get(page).fill(f"{page}/removal", **known, _code=renewed[0])
    assert tab.cookie is None
    assert "One-time passwords are off" in tab.text


def test_another_password_ends_every_other_session(town: Square) -> None:
    tab = town.tab("alder")
    other = town.again("alder")
    page = "/account/password"
    for wrong, place in (
        ({"_current": "not this one, no", "_password": FRESH}, "is wrong"),
        ({"_current": town.passwords["alder"], "_password": WEAK}, 'id="password-fault"'),
        ({"_current": "", "_password": FRESH}, 'id="current-fault"'),
    ):
        tab.get(page).fill("", **wrong)
        assert (tab.status, place in tab.html) == (422, True)
        assert FRESH not in tab.html
    tab.get(page).fill("", _current=town.passwords["alder"], _password=FRESH)
    assert (tab.status, tab.at) == (200, "/account?done=password")
    assert other.get("/account").status == 401
    assert Tab(town.client).get("/sign-in").fill("/sign-in", _name="alder", _password=FRESH).status == 200


def test_a_token_is_shown_once_and_revoked_by_a_page_that_says_what_it_does(town: Square) -> None:
    tab = town.tab("alder")
    page = "/account/tokens"
    assert "You have no token" in tab.get(page).text
    for wrong, place in (
        ({"days": "soon"}, "days-fault"),
        ({"days": "4000"}, "days-fault"),
        ({"scopes": ""}, "scopes-fault"),
        ({"scopes": "review"}, "does not"),
        ({"_password": "not this one, no"}, "is wrong"),
    ):
        filled = {"name": HOSTILE, "days": "30", **town.proof("alder"), **wrong}
        tab.get(page).fill(page, **filled)
        assert tab.status in {403, 422}
        assert HOSTILE not in tab.html
        if tab.status == 422:
            assert dict(tab.form(page).fields)["name"] == HOSTILE
            assert place in tab.html
    tab.get(page).fill(page, name=HOSTILE, days="30", **town.proof("alder"))
    (token,) = set(re.findall(r"cantrail_[\w-]+", tab.html))
    shown = {"Authorization": f"Bearer {token}"}
    assert town.client.get("/api/v1/session", headers=shown).status_code == 200
    listed = tab.get(page)
    assert token not in listed.html
    assert HOSTILE not in listed.html
    (revoking,) = re.findall(r'href="(/account/tokens/[^"]+/revoking)"', listed.html)
    stranger = town.tab("elm")
    assert stranger.get(revoking).status == 404
    tab.get(revoking)
    key = dict(tab.form().fields)["_key"]
    for _ in range(2):
        tab.post(revoking, {"_key": key})
        assert (tab.status, tab.at) == (200, f"{page}?done=revoked")
    assert town.client.get("/api/v1/session", headers=shown).status_code == 401


def test_interests_are_declared_by_name_and_dropped(town: Square) -> None:
    people = let_in(town.registry)
    story = Story(town.client, people)
    for name in ("Orrin", "Orrin Racks", "Pellwick"):
        story.publisher(name, "vehicle_maker")
    tab = town.tab("alder")
    page = "/account/interests"
    assert "You have declared none" in tab.get(page).text
    unknown = tab.fill(page, publisher=HOSTILE, kind="sells")
    assert (unknown.status, HOSTILE in unknown.html) == (422, False)
    assert ("publisher", HOSTILE) in unknown.form(page).fields
    which = tab.get(page).fill(page, publisher="orr", kind="sells")
    assert which.status == 422
    assert "orrin-racks" in which.text
    tab.post(page, {"publisher": "orrin-racks", "kind": "sells"})
    tab.fill(page, publisher="pellWICK", kind="employer")
    assert (tab.status, tab.at) == (200, f"{page}?done=declared")
    assert "You sell things of orrin-racks" in tab.text
    assert "You work for pellwick" in tab.text
    tab.post(f"{page}/dropping", {"publisher": "orrin-racks", "kind": "sells"})
    assert "dropped, and in force until" in tab.text
    assert tab.post(page, {"publisher": "orrin", "kind": "likes"}).status == 422
    assert "2 declared" in tab.get("/account").text


def test_one_s_own_claims_and_what_became_of_them(town: Square) -> None:
    people = let_in(town.registry)
    story = Story(town.client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    paper = story.document(maker)
    tarn = story.add("vehicles", maker=maker, model="Tarn <b>", years={"from": 2019})
    town.passwords["contributor"], town.secrets["contributor"] = FRESH, None
    town.registry.signing_in.set_password("contributor", FRESH)
    tab = town.again("contributor")
    assert "You have not entered a claim yet" in tab.get("/account/claims").text
    said = {"condition": "on_road", "basis": "includes_carrier", "bound": "at_least"}
    first, body = story.claim("vehicle", tarn, "roof_limit", "75", paper, **said)
    story.approve(first, body, "reviewer")
    second, body = story.claim("vehicle", tarn, "roof_limit", "80", paper, condition="parked", basis="includes_carrier")
    story.post(
        f"/claims/{second}/decisions",
        {"decision": "reject", "code": "misread", "reason": f"It says 60. {HOSTILE}"},
        "reviewer",
    )
    third, _ = story.claim("vehicle", tarn, "roof_limit", "50", paper, condition="off_road", basis="includes_carrier")
    story.post(f"/claims/{third}/decisions", {"decision": "ask_evidence", "reason": "Which page?"}, "reviewer")
    text = tab.get("/account/claims").text
    assert "at least 75 kg as roof limit on sealed roads, rack included, for Orrin Tarn <b>" in text
    assert "One reviewer has approved it: it may lower what is known, and raises nothing before a second has." in text
    assert re.search(r"Rejected on 5 January 2026: misread\. It says 60\.", text)
    assert "A reviewer asked for evidence on 5 January 2026. Which page?" in text
    assert HOSTILE not in tab.html
    assert "Tarn <b>" not in tab.html
    assert text.index(third) < text.index(second) < text.index(first)
    account = tab.get("/account").text
    assert "3 : 1 approved, 1 needing evidence, 1 rejected" in account
    assert "1 misread" in account
    elsewhere = town.tab("elm").get("/account/claims").text
    assert first not in elsewhere


def test_a_long_list_of_claims_is_shown_in_pages(town: Square, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("app.web.pages.own_account.ON_A_PAGE", 2)
    people = let_in(town.registry)
    story = Story(town.client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    tarn = story.add("vehicles", maker=maker, model="Tarn", years={"from": 2019})
    made = [
        story.post(
            "/claims",
            {
                "subject": {"kind": "vehicle", "id": tarn},
                "quantity": "roof_limit",
                "condition": "on_road",
                "stated": {"value": f"{60 + number}", "unit": "kg"},
                "source_type": "unverified",
            },
        )["id"]
        for number in range(5)
    ]
    town.passwords["contributor"], town.secrets["contributor"] = FRESH, None
    town.registry.signing_in.set_password("contributor", FRESH)
    tab = town.again("contributor")
    path, seen = "/account/claims", []
    for _ in range(3):
        tab.get(path)
        seen += re.findall(r'href="/claims/(C\d+)"', tab.html)
        path = (re.findall(r'href="(/account/claims\?cursor=\d+)"', tab.html) or [""])[0]
    assert (seen, path) == (made[::-1], "")
    assert tab.get("/account/claims?cursor=what").status == 422


def test_signing_out_everywhere(town: Square) -> None:
    tab = town.tab("alder")
    others = [town.again("alder") for _ in range(2)]
    page = tab.get("/account")
    assert page.html.count("<tr><td>") == 3
    tab.post("/account/sessions/ending", {"others": "yes"})
    assert "You are signed out everywhere else" in tab.text
    assert [each.get("/account").status for each in others] == [401, 401]
    tab.post("/account/sessions/ending", {})
    assert (tab.cookie, "You are signed out everywhere." in tab.text) == (None, True)


def test_a_forgotten_password_is_set_anew_with_a_recovery_code(town: Square) -> None:
    browser = town.enter("rowan", Role.REVIEWER)
    tab = Tab(town.client).get("/password")
    given = {"name": "rowan", "_reset": browser.recovery[0], "_password": FRESH}
    for wrong in ({"_reset": "aaaa"}, {"name": "nobody"}, {}):
        tab.get("/password").fill("/password", **{**given, **wrong})
        assert (tab.status, "is wrong" in tab.text) == (422, True)
        assert browser.recovery[0] not in tab.html
        assert dict(tab.form("/password").fields)["name"] == {**given, **wrong}["name"]
    tab.fill("/password", **given, _code=browser.code())
    assert (tab.status, tab.at) == (200, "/sign-in?done=password")
    assert not browser.is_in()
    tab.fill("/sign-in", _name="rowan", _password=FRESH, _code=browser.code())
    assert tab.cookie is not None
