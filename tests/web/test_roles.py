"""Every operation, tried by everybody: what is written needs a token of a live account whose role reaches to it."""

from typing import Any, Final

import pytest

from app.bootstrap import Registry
from app.core.permissions import Role, Scope
from app.services import accounts
from app.web.main import create_app
from tests.web.people import People
from tests.web.story import Story, pdf
from tests.web.talking import Client

EVERYBODY: Final = ("anonymous", "contributor", "reviewer", "steward", "disabled")
OPEN: Final = (True, True, True, True, True)
SUBMIT: Final = (False, True, True, True, False)
REVIEW: Final = (False, False, True, True, False)
STEWARD: Final = (False, False, False, True, False)

TABLE: Final[dict[tuple[str, str], tuple[bool, ...]]] = {
    ("GET", "/healthz"): OPEN,
    ("GET", "/readyz"): OPEN,
    **{
        ("GET", f"/api/v1/{path}"): OPEN
        for path in (
            "vehicles",
            "vehicles/{id}",
            "vehicles/{id}/claims",
            "vehicles/{id}/limit",
            "carriers",
            "carriers/{id}",
            "carriers/{id}/claims",
            "carriers/{id}/figure",
            "fixings",
            "fixings/{id}",
            "fixings/{id}/claims",
            "fixings/{id}/figure",
            "gear",
            "gear/categories",
            "gear/{id}",
            "gear/{id}/claims",
            "gear/{id}/figure",
            "fitments",
            "fitments/{id}",
            "fitments/{id}/claims",
            "fitments/{id}/figure",
            "publishers",
            "publishers/{slug}",
            "documents",
            "documents/{id}",
            "documents/{id}/file",
            "documents/{id}/snapshots/{sha256}",
            "documents/{id}/pages/{number}",
            "documents/{id}/pages/{number}/picture",
            "documents/{id}/resembling",
            "claims/{id}",
            "claims/{id}/confidence",
            "claims/{id}/history",
            "disputes/{id}",
            "enquiries",
            "enquiries/{id}",
            "vehicles/{id}/letter",
            "changes",
        )
    },
    ("POST", "/api/v1/budget"): OPEN,
    ("POST", "/api/v1/budgets"): OPEN,
    **{
        ("POST", f"/api/v1/{path}"): SUBMIT
        for path in (
            "publishers",
            "vehicles",
            "carriers",
            "fixings",
            "gear",
            "fitments",
            "documents",
            "documents/{id}/fetches",
            "documents/{id}/copies",
            "derivations",
            "claims",
            "claims/{id}/citations",
            "claims/{id}/withdrawal",
            "claims/{id}/disputes",
            "enquiries",
            "enquiries/{id}/outcome",
        )
    },
    ("POST", "/api/v1/documents/{id}/takedown"): STEWARD,
    **{
        ("POST", f"/api/v1/{path}"): REVIEW
        for path in (
            "vehicles/{id}/confirmations",
            "carriers/{id}/confirmations",
            "fixings/{id}/confirmations",
            "gear/{id}/confirmations",
            "fitments/{id}/confirmations",
            "claims/{id}/readings",
            "claims/{id}/decisions",
            "disputes/{id}/settlements",
        )
    },
}

CLAIM: Final = {
    "subject": {"kind": "vehicle", "id": "orrin-tarn-2019"},
    "quantity": "roof_limit",
    "condition": "on_road",
    "stated": {"value": "75", "unit": "kg"},
    "source_type": "unverified",
}
BODIES: Final[dict[str, Any]] = {
    "budget": {"vehicle": "orrin-tarn-2019", "condition": "on_road"},
    "derivations": {"method": "accessory_pages", "rows": []},
    "copies": {"of": "D1", "copied": True},
    "takedown": {"code": "rights", "reason": "Asked for."},
    "budgets": {"budgets": [{"vehicle": "orrin-tarn-2019", "condition": "on_road"}]},
    "publishers": {"name": "Orrin", "kind": "vehicle_maker"},
    "vehicles": {"maker": "orrin", "model": "Tarn", "years": {"from": 2019}},
    "carriers": {"maker": "pellwick", "model": "Slatten", "kind": "platform"},
    "fixings": {"maker": "pellwick", "model": "Cleft", "holds": ["gutter"]},
    "gear": {"maker": "bivvenholt", "model": "Dormelle", "category": "rooftop_tent"},
    "fitments": {"vehicle": "orrin-tarn-2019", "carrier": "pellwick-slatten"},
    "claims": CLAIM,
    "enquiries": {
        "subject": {"kind": "vehicle", "id": "orrin-tarn-2019"},
        "asked": "orrin",
        "quantity": "roof_limit",
        "conditions": ["on_road"],
        "channel": "letter",
        "questions": "What may the roof carry?",
        "asked_on": "2026-01-05",
    },
    "outcome": {"outcome": "declined"},
    "citations": {"document": "D1"},
    "disputes": {"reason": "It is less."},
    "confirmations": {},
    "readings": {"stated": {"value": "75", "unit": "kg"}, "condition": "on_road"},
    "decisions": {"decision": "ask_evidence", "reason": "Which page?"},
    "settlements": {"settlement": "uphold", "reason": "It stands."},
}


def sent(method: str, path: str) -> dict[str, Any]:
    if method == "GET":
        return {}
    last = path.rpartition("/")[2]
    if last == "documents":
        return {"data": {"publisher": "orrin", "kind": "handbook"}, "files": {"file": ("page.pdf", pdf())}}
    return {"json": BODIES[last]} if last in BODIES else {}


def test_the_table_has_every_operation(registry: Registry) -> None:
    described = create_app(registry).openapi()["paths"]
    assert {(method.upper(), path) for path, methods in described.items() for method in methods} == TABLE.keys()


@pytest.mark.parametrize("who", EVERYBODY)
def test_who_may_do_what(who: str, client: Client, people: People) -> None:
    may = EVERYBODY.index(who)
    for (method, path), row in TABLE.items():
        url = path.replace("{id}", "x1").replace("{slug}", "x1")
        answer = client.request(method, url, headers=people[who], **sent(method, path))
        if row[may]:
            assert answer.status_code not in {401, 403}, (method, path, answer.text)
            assert answer.status_code < 500, (method, path, answer.text)
            continue
        expected = (401, "token_missing") if who == "anonymous" else (401, "bad_token") if who == "disabled" else None
        told = answer.json()
        assert (answer.status_code, told["code"]) == (expected or (403, "role_too_low")), (method, path, answer.text)
        assert ("WWW-Authenticate" in answer.headers) == (answer.status_code == 401)


def test_a_token_reaches_no_further_than_its_scopes(registry: Registry, client: Client, people: People) -> None:
    with registry.database.write() as session:
        now = registry.clock.now()
        narrow = accounts.issue_token(session, name="reviewer", label="reading", scopes=[Scope.REVIEW], now=now)
    headers = {"Authorization": f"Bearer {narrow.token}"}
    refused = client.post("/api/v1/publishers", json=BODIES["publishers"], headers=headers)
    assert (refused.status_code, refused.json()["code"]) == (403, "token_scope")
    with registry.database.write() as session:
        accounts.revoke_token(session, id=narrow.id, now=now)
    gone = client.post("/api/v1/publishers", json=BODIES["publishers"], headers=headers)
    assert (gone.status_code, gone.json()["code"]) == (401, "bad_token")


def test_a_role_taken_away_takes_its_scopes_along(registry: Registry, client: Client, people: People) -> None:
    with registry.database.write() as session:
        accounts.set_role(session, name="reviewer", role=Role.CONTRIBUTOR)
    story = Story(client, people)
    assert story.publisher("Orrin", "vehicle_maker") == "orrin"
    answer = client.post("/api/v1/claims/C1/readings", json=BODIES["readings"], headers=people["reviewer"])
    assert (answer.status_code, answer.json()["code"]) == (403, "role_too_low")


def test_nobody_decides_on_their_own(client: Client, people: People) -> None:
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    vehicle = story.add("vehicles", maker=maker, model="Tarn", years={"from": 2019})
    own = story.post("/claims", {**CLAIM, "subject": {"kind": "vehicle", "id": vehicle}}, "reviewer")["id"]
    reading = client.post(f"/api/v1/claims/{own}/readings", json=BODIES["readings"], headers=people["reviewer"])
    assert (reading.status_code, reading.json()["code"]) == (403, "own_claim")
    theirs = client.post(f"/api/v1/claims/{own}/withdrawal", headers=people["contributor"])
    assert (theirs.status_code, theirs.json()["code"]) == (403, "not_the_author")
