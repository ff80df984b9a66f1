"""Every operation that is not for anybody, with credentials that are too old, too narrow, or another site's to send."""

from collections.abc import Callable
from datetime import timedelta
from typing import Final

import pytest

from app.bootstrap import Registry
from app.core.permissions import MAY, Role, Scope
from app.services import accounts
from tests.web.people import People
from tests.web.signed.town import API, SetClock, Town
from tests.web.story import Story
from tests.web.talking import Client
from tests.web.test_roles import BODIES, CLAIM, IN_SESSION, KNOWN, OPEN, REVIEW, STEWARD, SUBMIT, TABLE, sent

CLOSED: Final = [operation for operation, row in TABLE.items() if row is not OPEN]
PLAIN: Final = [operation for operation in CLOSED if operation[0] == "GET" and TABLE[operation] in {KNOWN, STEWARD}]
"""What is looked at needs a role and no scope."""


def url(path: str) -> str:
    return path.replace("{id}", "x1").replace("{slug}", "x1").replace("{work}", "x1")


def token(
    registry: Registry, clock: SetClock, *scopes: Scope, role: Role = Role.STEWARD, days: int = 1
) -> tuple[str, dict[str, str]]:
    with registry.database.write() as session:
        name = f"{role} {len(scopes)} {days}"
        accounts.let_in(session, name=name, role=role, now=clock.now())
        expires = clock.now() + timedelta(days=days)
        issued = accounts.issue_token(session, name=name, label="x", scopes=scopes, now=clock.now(), expires_at=expires)
    return issued.id, {"Authorization": f"Bearer {issued.token}"}


def test_an_expired_token_does_nothing(registry: Registry, clock: SetClock, client: Client) -> None:
    _, headers = token(registry, clock, *MAY[Role.STEWARD])
    clock.forward(days=1)
    for method, path in CLOSED:
        answer = client.request(method, url(path), headers=headers, **sent(method, path))
        assert (answer.status_code, answer.json()["code"]) == (401, "bad_token"), (method, path)


def test_a_revoked_token_does_nothing(registry: Registry, clock: SetClock, client: Client) -> None:
    id, headers = token(registry, clock, *MAY[Role.STEWARD])
    with registry.database.write() as session:
        accounts.revoke_token(session, id=id, now=clock.now())
    for method, path in CLOSED:
        answer = client.request(method, url(path), headers=headers, **sent(method, path))
        assert (answer.status_code, answer.json()["code"]) == (401, "bad_token"), (method, path)


@pytest.mark.parametrize(
    ("scopes", "rows"), [((), (SUBMIT, REVIEW, STEWARD)), ((Scope.REVIEW,), (SUBMIT,)), ((Scope.SUBMIT,), (REVIEW,))]
)
def test_a_token_reaches_no_further_than_its_scopes(
    scopes: tuple[Scope, ...], rows: tuple[tuple[bool, ...], ...], registry: Registry, clock: SetClock, client: Client
) -> None:
    _, headers = token(registry, clock, *scopes)
    tried = [operation for operation in CLOSED if TABLE[operation] in rows and operation not in PLAIN]
    assert tried
    for method, path in tried:
        answer = client.request(method, url(path), headers=headers, **sent(method, path))
        assert (answer.status_code, answer.json()["code"]) == (403, "token_scope"), (method, path, answer.text)


def test_no_token_stands_in_for_a_session(registry: Registry, clock: SetClock, client: Client) -> None:
    _, headers = token(registry, clock, *MAY[Role.STEWARD])
    for method, path in CLOSED:
        if TABLE[method, path] is IN_SESSION:
            answer = client.request(method, url(path), headers=headers, **sent(method, path))
            assert (answer.status_code, answer.json()["code"]) == (403, "session_needed"), (method, path)


@pytest.mark.parametrize("headers", [{}, {"Sec-Fetch-Site": "cross-site"}, {"Origin": "https://elsewhere.example"}])
def test_another_site_s_page_does_nothing_in_somebody_s_session(headers: dict[str, str], town: Town) -> None:
    steward = town.enter("steward", Role.STEWARD)
    for method, path in CLOSED:
        if method != "GET":
            answer = steward.client.request(
                method,
                url(path),
                headers={"Cookie": f"__Host-cantrail={steward.cookie}", **headers},
                **sent(method, path),
            )
            assert (answer.status_code, answer.json()["code"]) == (403, "cross_site"), (method, path)
    assert steward.is_in()


@pytest.mark.parametrize("role", Role)
def test_a_session_reaches_as_far_as_its_role(role: Role, town: Town) -> None:
    place = {Role.CONTRIBUTOR: 1, Role.REVIEWER: 2, Role.STEWARD: 3}[role]
    somebody = town.enter(f"somebody {role}", role)
    for method, path in CLOSED:
        row = TABLE[method, path]
        if row is IN_SESSION:
            continue
        answer = somebody.client.request(
            method,
            url(path),
            headers={"Cookie": f"__Host-cantrail={somebody.cookie}", "Sec-Fetch-Site": "same-origin"},
            **sent(method, path),
        )
        refused = answer.status_code in {401, 403}
        assert refused != row[place], (method, path, answer.text)
        assert not refused or answer.json()["code"] == "role_too_low", (method, path, answer.text)


def test_what_is_somebody_else_s_stays_theirs(registry: Registry, clock: SetClock, client: Client) -> None:
    people: People = {"anonymous": {}}
    for name, role in (("contributor", Role.CONTRIBUTOR), ("reviewer", Role.REVIEWER), ("steward", Role.STEWARD)):
        _, people[name] = token(registry, clock, *MAY[role], role=role)
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    vehicle = story.add("vehicles", maker=maker, model="Tarn", years={"from": 2019})
    about = {"kind": "vehicle", "id": vehicle}
    claim = story.post("/claims", {**CLAIM, "subject": about}, "contributor")["id"]
    reviewers = story.post("/claims", {**CLAIM, "subject": about, "condition": "parked"}, "reviewer")["id"]
    enquiry = story.enquiry(subject=about, asked=maker, conditions=["on_road"])

    def refusal(path: str, by: str, body: object = None) -> tuple[int, str]:
        answer = client.post(API + path, headers=people[by], **({} if body is None else {"json": body}))
        return answer.status_code, answer.json().get("code", "")

    assert refusal(f"/claims/{claim}/withdrawal", "reviewer") == (403, "not_the_author")
    assert refusal(f"/claims/{claim}/withdrawal", "steward") == (403, "not_the_author")
    assert refusal(f"/claims/{reviewers}/readings", "reviewer", BODIES["readings"]) == (403, "own_claim")
    assert refusal(f"/enquiries/{enquiry}/outcome", "reviewer", BODIES["outcome"]) == (403, "not_the_asker")
    assert refusal(f"/claims/{claim}/withdrawal", "contributor")[0] < 300
    assert client.get(f"{API}/claims/{claim}").json()["state"] == "withdrawn"


@pytest.mark.parametrize(
    "changed", [str.upper, str.title, lambda it: f"{it} ", lambda it: f" {it}", lambda it: it[:-1], lambda it: it * 2]
)
def test_a_password_counts_exactly_as_it_was_set(changed: Callable[[str], str], town: Town) -> None:
    somebody = town.settle("somebody")
    right, somebody.password = somebody.password, changed(somebody.password)
    somebody.sign_in(status=401)
    somebody.password = right
    somebody.sign_in()
