"""Who is trusted: promotion after the track record was shown, disabling, forgetting, and the ledger's word on each."""

from collections.abc import Callable
from typing import Any

import pytest

from app.bootstrap import Registry
from app.core.account_entries import OPERATOR
from app.core.errors import CantrailError
from app.core.permissions import Role, Scope
from app.persistence import ledger
from app.persistence.queries import accounts as queries
from app.persistence.session import WriteSession
from app.services import accounts
from tests.web.people import let_in
from tests.web.signed.town import API, Browser, Town
from tests.web.story import Story


@pytest.fixture
def steward(town: Town) -> Browser:
    """A steward, signed in with one-time passwords."""
    return town.enter("hollow", Role.STEWARD)


def shown(steward: Browser, id: str) -> Any:
    answer = steward.get(f"/accounts/{id}")
    assert answer.status_code == 200, answer.text
    return answer.json()


def entries(registry: Registry, id: str) -> list[tuple[str, str]]:
    with registry.database.read() as session:
        found = ledger.entries_of(session, streams=[f"account:{id}"], up_to=None)
    return [(entry.payload.type, entry.actor) for entry in found]


def test_a_steward_promotes_after_the_record_was_shown(town: Town, steward: Browser, registry: Registry) -> None:
    browser = town.enter("oxbow")
    id = town.id_of("oxbow")
    record = shown(steward, id)["record"]
    made_up = steward.post(f"/accounts/{id}/role", {"role": "reviewer", "record": f"sha256:{'0' * 64}"})
    assert (made_up.status_code, made_up.json()["code"]) == (409, "record_changed")
    unsaid = steward.post(f"/accounts/{id}/role", {"role": "reviewer"})
    assert unsaid.status_code == 422
    given = steward.post(f"/accounts/{id}/role", {"role": "reviewer", "record": record["digest"]})
    assert (given.status_code, given.json()["role"]) == (200, "reviewer")
    assert not browser.is_in()
    assert entries(registry, id) == [("role_given", town.id_of("hollow"))]
    (entry,) = given.json()["record"]["trusted"]
    assert (entry["event"], entry["role"], entry["by"]) == ("role_given", "reviewer", town.id_of("hollow"))
    with registry.database.read() as session:
        (kept,) = ledger.entries_of(session, streams=[f"account:{id}"], up_to=None)
    assert kept.payload.record == record["digest"]  # type: ignore[attr-defined]


def test_what_was_done_since_it_was_shown_is_looked_at_first(town: Town, steward: Browser) -> None:
    browser = town.enter("oxbow")
    id = town.id_of("oxbow")
    digest = shown(steward, id)["record"]["digest"]
    assert shown(steward, id)["record"]["digest"] == digest
    maker = browser.post("/publishers", {"name": "Orrin", "kind": "vehicle_maker"}).json()["slug"]
    vehicle = browser.post("/vehicles", {"maker": maker, "model": "Tarn", "years": {"from": 2019}}).json()["id"]
    claim = {
        "subject": {"kind": "vehicle", "id": vehicle},
        "quantity": "roof_limit",
        "condition": "on_road",
        "stated": {"value": "75", "unit": "kg"},
        "source_type": "unverified",
    }
    assert browser.post("/claims", claim).status_code == 201
    late = steward.post(f"/accounts/{id}/role", {"role": "reviewer", "record": digest})
    assert (late.status_code, late.json()["code"]) == (409, "record_changed")
    assert shown(steward, id)["record"]["claims"] == {"submitted": 1}


def test_the_record_counts_what_was_done(town: Town, registry: Registry) -> None:
    people = let_in(registry)
    story = Story(town.client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    handbook = story.document(maker)
    vehicle = story.add("vehicles", maker=maker, model="Tarn", years={"from": 2019, "to": 2024})
    limit = {"condition": "on_road", "basis": "includes_carrier", "scope": {"roofs": "all"}}
    kept = story.vetted("vehicle", vehicle, "roof_limit", "75", handbook, **limit)
    rejected, body = story.claim("vehicle", vehicle, "roof_limit", "80", handbook, **{**limit, "condition": "parked"})
    differing = {**body, "stated": {"value": "60", "unit": "kg"}}
    story.read(rejected, differing, "reviewer")
    reject = {"decision": "reject", "code": "misread", "reason": "It says 60."}
    story.post(f"/claims/{rejected}/decisions", reject, "reviewer")
    other = story.document(maker)
    dispute = story.post(f"/claims/{kept}/disputes", {"reason": "Less.", "document": other}, "third reviewer")
    refute = {"settlement": "refute", "code": "superseded_edition", "reason": "The newer edition."}
    settled = f"/disputes/{dispute['id']}/settlements"
    story.post(settled, refute, "fourth reviewer")
    story.post(settled, refute, "steward")
    token = people["steward"]

    def record(name: str) -> Any:
        return town.client.get(f"{API}/accounts/{town.id_of(name)}", headers=token).json()["record"]

    author, reader, doubter = record("contributor"), record("reviewer"), record("third reviewer")
    assert author["claims"] == {"rejected": 2}
    assert author["rejections"] == {"misread": 1, "superseded_edition": 1}
    assert (reader["readings"], reader["mismatches"], reader["mismatch_rate"]) == (2, 1, 0.5)
    assert reader["decisions"] == {"approve": 1, "reject": 1}
    assert reader["overturned"] == 1
    assert doubter["disputes"] == {"open": 0, "upheld": 0, "refuted": 1, "lapsed": 0}


@pytest.mark.parametrize("what", ["role", "disabling", "enabling", "forgetting", "reset-code"])
def test_nobody_governs_their_own_account(town: Town, steward: Browser, what: str) -> None:
    town.settle("bell", Role.STEWARD)
    id = town.id_of("hollow")
    bodies = {"role": {"role": "contributor", "record": shown(steward, id)["record"]["digest"]}, "reset-code": {}}
    answer = steward.post(f"/accounts/{id}/{what}", bodies.get(what))
    assert (answer.status_code, answer.json()["code"]) == (403, "own_account")


@pytest.mark.parametrize("what", ["role", "disabling", "enabling", "forgetting", "reset-code"])
def test_only_stewards_in_a_session_govern(town: Town, registry: Registry, what: str) -> None:
    reviewer = town.enter("sedge", Role.REVIEWER)
    town.settle("hollow", Role.STEWARD)
    town.settle("oxbow")
    url = f"/accounts/{town.id_of('oxbow')}/{what}"
    bodies = {"role": {"role": "reviewer", "record": f"sha256:{'0' * 64}"}, "reset-code": {}}
    refused = reviewer.post(url, bodies.get(what))
    assert (refused.status_code, refused.json()["code"]) == (403, "role_too_low")
    with registry.database.write() as session:
        issued = accounts.issue_token(
            session,
            name="hollow",
            label="x",
            scopes=["submit", "review"],  # type: ignore[list-item]
            now=town.clock.now(),
        )
    headers = {"Authorization": f"Bearer {issued.token}"}
    body = {} if bodies.get(what) is None else {"json": bodies[what]}
    by_token = town.client.post(API + url, headers=headers, **body)
    assert (by_token.status_code, by_token.json()["code"]) == (403, "session_needed")
    anonymous = town.client.post(API + url, **body)
    assert (anonymous.status_code, anonymous.json()["code"]) == (401, "token_missing")


def test_the_last_steward_stays(town: Town, registry: Registry) -> None:
    town.settle("hollow", Role.STEWARD)
    town.settle("bell", Role.STEWARD)
    now = town.clock.now()
    with registry.database.write() as session:
        accounts.disable(session, name="bell", now=now)
    undoing: list[Callable[[WriteSession], object]] = [
        lambda session: accounts.disable(session, name="hollow", now=now),
        lambda session: accounts.set_role(session, name="hollow", role=Role.REVIEWER, now=now),
        lambda session: accounts.forget(session, name="hollow", now=now),
    ]
    for undo in undoing:
        with pytest.raises(CantrailError) as refused, registry.database.write() as session:
            undo(session)
        assert refused.value.code == "last_steward"
    with registry.database.write() as session:
        accounts.enable(session, name="bell", now=now)
        accounts.set_role(session, name="hollow", role=Role.REVIEWER, now=now)


def test_disabling_ends_everything_at_once(town: Town, steward: Browser, registry: Registry) -> None:
    browser = town.enter("oxbow")
    token = browser.post("/account/tokens", {"name": "x", "scopes": ["submit"], **browser.proof()}).json()["token"]
    headers = {"Authorization": f"Bearer {token}"}
    assert town.client.get(f"{API}/session", headers=headers).status_code == 200
    id = town.id_of("oxbow")
    assert steward.post(f"/accounts/{id}/disabling").status_code == 204
    assert steward.post(f"/accounts/{id}/disabling").status_code == 204
    assert not browser.is_in()
    assert town.client.get(f"{API}/session", headers=headers).json()["code"] == "bad_token"
    browser.sign_in(status=401)
    assert shown(steward, id)["disabled"] is True
    assert steward.post(f"/accounts/{id}/enabling").status_code == 204
    browser.sign_in()
    assert town.client.get(f"{API}/session", headers=headers).json()["code"] == "bad_token"
    by = town.id_of("hollow")
    assert entries(registry, id) == [("account_disabled", by), ("account_enabled", by)]


def test_who_is_forgotten_leaves_a_pseudonym(town: Town, steward: Browser, registry: Registry) -> None:
    browser = town.enter("Wren Aldous")
    made = browser.post("/account/tokens", {"name": "Wren's laptop", "scopes": ["submit"], **browser.proof()})
    assert made.status_code == 201
    browser.post("/publishers", {"name": "Orrin", "kind": "vehicle_maker"})
    browser.request("PUT", "/account/interests", {"interests": [{"publisher": "orrin", "kind": "employer"}]})
    id = town.id_of("Wren Aldous")
    assert steward.post(f"/accounts/{id}/forgetting").status_code == 204
    gone = shown(steward, id)
    assert (gone["name"], gone["forgotten"], gone["disabled"], gone["interests"]) == (id, True, True, [])
    assert not browser.is_in()
    browser.sign_in(status=401)
    browser.name = id
    browser.sign_in(status=401)
    back = steward.post(f"/accounts/{id}/enabling")
    assert (back.status_code, back.json()["code"]) == (409, "account_forgotten")
    with registry.database.read() as session:
        assert queries.account_named(session, name="Wren Aldous") is None
        assert all("Wren" not in str(entry) for entry in ledger.every_entry(session))
    town.settle("Wren Aldous")


def test_names_are_for_stewards_and_oneself(town: Town, steward: Browser, registry: Registry) -> None:
    browser, reviewer = town.enter("oxbow"), town.enter("sedge", Role.REVIEWER)
    own, other = town.id_of("oxbow"), town.id_of("sedge")
    assert browser.get(f"/accounts/{own}").json()["name"] == "oxbow"
    for somebody in (browser, reviewer):
        for path in ("/accounts", f"/accounts/{other if somebody is browser else own}", "/accounts/a-nobody"):
            refused = somebody.get(path)
            assert (refused.status_code, refused.json()["code"]) == (403, "role_too_low")
    assert steward.get("/accounts/a-nobody").json()["code"] == "no_such_account"
    listed = steward.get("/accounts?limit=2").json()
    rest = steward.get(f"/accounts?limit=2&cursor={listed['next']}").json()
    assert {each["name"] for each in listed["items"] + rest["items"]} == {"hollow", "oxbow", "sedge"}
    assert rest["next"] is None
    assert [each["name"] for each in steward.get("/accounts?role=reviewer").json()["items"]] == ["sedge"]


def test_a_steward_gives_contributors_a_reset_code_and_nobody_else(town: Town, steward: Browser) -> None:
    browser = town.enter("oxbow")
    town.enter("sedge", Role.REVIEWER)
    made = steward.post(f"/accounts/{town.id_of('oxbow')}/reset-code", {})
    assert made.status_code == 201
    assert made.headers["cache-control"] == "no-store"
    new = {"name": "oxbow", "reset": made.json()["code"], "password": "thistle wharf kettle marble"}
    assert browser.post("/password-resets", new).status_code == 204
    refused = steward.post(f"/accounts/{town.id_of('sedge')}/reset-code", {"one_time_password": True})
    assert (refused.status_code, refused.json()["code"]) == (403, "operator_only")


def test_a_steward_takes_over_no_reviewer_by_way_of_a_demotion(town: Town, steward: Browser) -> None:
    town.enter("sedge", Role.REVIEWER)
    id = town.id_of("sedge")
    digest = shown(steward, id)["record"]["digest"]
    assert steward.post(f"/accounts/{id}/role", {"role": "contributor", "record": digest}).status_code == 200
    refused = steward.post(f"/accounts/{id}/reset-code", {})
    assert (refused.status_code, refused.json()["code"]) == (403, "operator_only")


def test_a_token_from_before_a_demotion_is_dead_for_good(town: Town, registry: Registry) -> None:
    town.settle("sedge", Role.REVIEWER)
    now = town.clock.now()
    with registry.database.write() as session:
        both, narrow = (
            accounts.issue_token(session, name="sedge", label="laptop", scopes=scopes, now=now)
            for scopes in ({Scope.SUBMIT, Scope.REVIEW}, {Scope.SUBMIT})
        )
        accounts.set_role(session, name="sedge", role=Role.CONTRIBUTOR, now=now)
        accounts.set_role(session, name="sedge", role=Role.REVIEWER, now=now)
    with registry.database.read() as session:
        assert accounts.authenticate(session, secret=narrow.token, now=now).role is Role.REVIEWER
        with pytest.raises(CantrailError, match="unknown, expired or revoked"):
            accounts.authenticate(session, secret=both.token, now=now)


def test_a_reset_code_from_before_a_promotion_is_void(town: Town, steward: Browser, registry: Registry) -> None:
    browser = town.enter("oxbow")
    id = town.id_of("oxbow")
    code = steward.post(f"/accounts/{id}/reset-code", {}).json()["code"]
    digest = shown(steward, id)["record"]["digest"]
    other = town.enter("marram", Role.STEWARD)
    assert other.post(f"/accounts/{id}/role", {"role": "reviewer", "record": digest}).status_code == 200
    new = {"name": "oxbow", "reset": code, "password": "thistle wharf kettle marble"}
    assert browser.post("/password-resets", new).status_code == 401


def test_a_steward_does_not_trust_an_account_that_they_could_have_taken_over(
    town: Town, steward: Browser, registry: Registry
) -> None:
    browser = town.enter("oxbow")
    id = town.id_of("oxbow")
    code = steward.post(f"/accounts/{id}/reset-code", {"one_time_password": True}).json()["code"]
    new = {"name": "oxbow", "reset": code, "password": "thistle wharf kettle marble"}
    assert browser.post("/password-resets", new).status_code == 204
    record = shown(steward, id)["record"]
    assert [(each["event"], each["by"]) for each in record["trusted"]] == [("account_reset", town.id_of("hollow"))]
    for role in ("reviewer", "steward"):
        refused = steward.post(f"/accounts/{id}/role", {"role": role, "record": record["digest"]})
        assert (refused.status_code, refused.json()["code"]) == (403, "reset_by_you")
    other = town.enter("marram", Role.STEWARD)
    assert other.post(f"/accounts/{id}/role", {"role": "reviewer", "record": record["digest"]}).status_code == 200
    assert entries(registry, id)[-2:] == [("account_reset", town.id_of("hollow")), ("role_given", town.id_of("marram"))]


def test_what_the_operator_does_is_in_the_ledger_as_that(town: Town, registry: Registry) -> None:
    town.settle("sedge", Role.REVIEWER)
    id = town.id_of("sedge")
    with registry.database.write() as session:
        accounts.set_role(session, name="sedge", role=Role.REVIEWER, now=town.clock.now())
        accounts.disable(session, name="sedge", now=town.clock.now())
    assert entries(registry, id) == [("role_given", OPERATOR), ("account_disabled", OPERATOR)]
