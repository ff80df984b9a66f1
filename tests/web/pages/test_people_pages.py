"""Stewards' pages: whom to trust with more, or no more, each after a page that says what it does."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.core.account_entries import AccountDisabled, AccountEnabled, AccountReset, RoleGiven
from app.core.permissions import Role
from app.persistence import ledger
from app.services import accounts
from tests.web.pages.tabs import Square, Tab, square

pytestmark = pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)

HOSTILE = "<b onclick=alert(1)>mallow"
FRESH = "violet anvil cider moss"


@pytest.fixture
def town(database_url: str, tmp_path: Path) -> Iterator[Square]:
    """Nobody yet."""
    with square(database_url, tmp_path) as town:
        yield town


@pytest.fixture
def steward(town: Square) -> Tab:
    """A steward, signed in with one-time passwords."""
    return town.tab("hollow", Role.STEWARD)


def entered(town: Square, name: str) -> list[str]:
    with town.registry.database.read() as session:
        stream = f"account:{accounts.named(session, name).id}"
        return [each.payload.type for each in ledger.entries_of(session, streams=[stream], up_to=None)]


def test_people_are_looked_up_by_name_and_shown_in_pages(
    town: Square, steward: Tab, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(5):
        town.settle(f"Osier {number}")
    town.settle(HOSTILE)
    town.settle("100% sure")
    found = steward.get("/people?name=OSIER")
    assert len(re.findall(r"Osier \d", found.text)) == 5
    assert "hollow" not in found.text
    assert "100% sure" in steward.get("/people?name=%25").text
    assert "Osier" not in steward.text
    assert HOSTILE not in steward.get("/people?name=mallow").html
    assert HOSTILE in steward.text
    assert "Nobody has “nowhere”" in re.sub(r"\s+", " ", steward.get("/people?name=nowhere").text)
    stewards = steward.get("/people?role=steward").html
    assert (stewards.count('<th scope="row">'), "Osier" in stewards) == (1, False)
    by_id = steward.get(f"/people?name={town.id_of('Osier 3')}")
    assert re.findall(r"Osier \d", by_id.text) == ["Osier 3"]
    monkeypatch.setattr("app.web.pages.people.ON_A_PAGE", 2)
    path, seen = "/people?name=osier", []
    for _ in range(3):
        steward.get(path)
        seen += re.findall(r"Osier (\d)", steward.text)
        more = re.findall(r'<p class="more"><a href="([^"]+)"', steward.html)
        path = more[0].replace("&amp;", "&") if more else ""
    assert (sorted(seen), path) == (["0", "1", "2", "3", "4"], "")


def test_a_role_is_given_after_the_record_was_shown(town: Square, steward: Tab) -> None:
    member = town.tab("alder")
    page = f"/people/{town.id_of('alder')}"
    shown = steward.get(f"{page}/role")
    assert "Track record" in shown.text
    form = dict(shown.form().fields)
    assert re.fullmatch(r"sha256:[0-9a-f]{64}", form["record"])
    stale = [("record", f"sha256:{'0' * 64}"), ("role", "reviewer"), ("_key", "k0")]
    steward.post(f"{page}/role", stale)
    assert (steward.status, "has changed since it was shown" in steward.text) == (409, True)
    assert dict(steward.form().fields)["record"] == form["record"]
    assert dict(steward.form().fields)["role"] == "reviewer"
    assert steward.post(f"{page}/role", {"record": form["record"], "role": "king"}).status == 422
    assert steward.post(f"{page}/role", {"role": "reviewer"}).status == 422
    given = {"record": form["record"], "role": "reviewer", "_key": form["_key"]}
    for _ in range(2):
        steward.post(f"{page}/role", given)
        assert (steward.status, steward.at) == (200, f"{page}?done=role")
    assert entered(town, "alder") == [RoleGiven.type]
    assert "Reviewer since" in steward.text
    assert "given the role of reviewer, by" in steward.text
    assert member.get("/account").status == 401


def test_disabling_ends_a_page_that_is_open(town: Square, steward: Tab) -> None:
    member = town.tab("alder")
    member.get("/account/interests")
    page = f"/people/{town.id_of('alder')}"
    assert "its sessions and tokens end at once" in steward.get(f"{page}/disabling").text
    form = dict(steward.form().fields)
    for _ in range(2):
        steward.post(f"{page}/disabling", form)
        assert (steward.status, steward.at) == (200, f"{page}?done=disabling")
    assert "The account is disabled." in steward.text
    assert entered(town, "alder") == [AccountDisabled.type]
    # The form that was open is refused, and nobody signs in to send it.
    member.fill("/account/interests", publisher="orrin")
    assert member.status == 401
    member.fill("/sign-in", _name="alder", **town.proof("alder"))
    assert member.status == 401
    assert member.get("/account").status == 401
    steward.get(f"{page}/enabling").fill()
    assert entered(town, "alder") == [AccountDisabled.type, AccountEnabled.type]
    assert town.again("alder").get("/account").status == 200


def test_sessions_and_tokens_are_ended_and_the_account_goes_on(town: Square, steward: Tab) -> None:
    member = town.tab("alder")
    member.get("/account/tokens").fill("/account/tokens", name="shed", **town.proof("alder"))
    (token,) = set(re.findall(r"cantrail_[\w-]+", member.html))
    steward.get(f"/people/{town.id_of('alder')}/shutting-out").fill()
    assert steward.status == 200
    assert member.get("/account").status == 401
    assert town.client.get("/api/v1/session", headers={"Authorization": f"Bearer {token}"}).status_code == 401
    assert "You have no token" in town.again("alder").get("/account/tokens").text
    assert entered(town, "alder") == []


def test_a_reset_code_is_shown_once_and_whoever_gave_it_does_not_promote(town: Square, steward: Tab) -> None:
    member = town.tab("alder")
    page = f"/people/{town.id_of('alder')}"
    steward.get(f"{page}/reset-code").fill()
    (code,) = re.findall(r'<p class="secret whole">([a-z2-7-]+)</p>', steward.html)
    assert code not in steward.get(f"{page}/reset-code").html
    assert entered(town, "alder") == [AccountReset.type]
    Tab(town.client).get("/password").fill("/password", name="alder", _reset=code, _password=FRESH)
    assert member.get("/account").status == 401
    assert Tab(town.client).get("/sign-in").fill("/sign-in", _name="alder", _password=FRESH).status == 200
    form = dict(steward.get(f"{page}/role").form().fields)
    steward.post(f"{page}/role", {**form, "role": "reviewer"})
    assert (steward.status, "reset code" in steward.text) == (403, True)
    town.tab("rowan", Role.REVIEWER)
    reviewer = steward.get(f"/people/{town.id_of('rowan')}/reset-code")
    assert "Only the operator resets" in reviewer.text
    assert steward.post(f"/people/{town.id_of('rowan')}/reset-code", {}).status == 403


def test_who_is_forgotten_is_named_nowhere(town: Square, steward: Tab) -> None:
    town.tab("alder")
    id = town.id_of("alder")
    assert "cannot be taken back" in steward.get(f"/people/{id}/forgetting").text
    steward.fill()
    assert steward.status == 200
    assert "alder" not in steward.html
    assert "alder" not in steward.get("/people").html
    assert "alder" not in steward.get(f"/people/{id}/enabling").html
    steward.fill()
    assert (steward.status, "was forgotten" in steward.text) == (409, True)


def test_nobody_governs_their_own_account_and_others_see_nothing(town: Square, steward: Tab) -> None:
    own = f"/people/{town.id_of('hollow')}"
    assert "This is you." in steward.get(own).text
    for act in ("disabling", "forgetting", "shutting-out", "reset-code"):
        assert steward.post(f"{own}/{act}", {"_key": act}).status == 403
    member, reviewer = town.tab("alder"), town.tab("rowan", Role.REVIEWER)
    for tab in (member, reviewer):
        assert tab.get("/people").status == 403
        assert tab.get(own).status == 403
        assert "hollow" not in tab.html
        assert tab.post(f"{own}/disabling", {"_key": "x"}).status == 403
    assert steward.get("/people/a-0000000000000000").status == 404
    assert steward.get(f"{own}/burning").status == 404
    assert steward.post(f"{own}/burning", {}).status == 404
