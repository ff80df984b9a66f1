"""Every operation, tried by everybody: what is written needs a token of a live account whose role reaches to it."""

import re
from typing import Any, Final

import pytest

from app.bootstrap import Registry
from app.core.permissions import Role, Scope
from app.services import accounts
from tests.web.people import People
from tests.web.serving import serving
from tests.web.story import Story, pdf
from tests.web.talking import Client

EVERYBODY: Final = ("anonymous", "contributor", "reviewer", "steward", "disabled")
OPEN: Final = (True, True, True, True, True)
SUBMIT: Final = (False, True, True, True, False)
REVIEW: Final = (False, False, True, True, False)
STEWARD: Final = (False, False, False, True, False)
KNOWN: Final = (False, True, True, True, False)
IN_SESSION: Final = (False, False, False, False, False)
"""No token is enough: tests/web/signed tries these with sessions."""

ASKS_WHO: Final = {
    ("POST", "/api/v1/session"): (401, "sign_in_failed"),
    ("POST", "/api/v1/password-resets"): (401, "sign_in_failed"),
    ("POST", "/api/v1/accounts"): (403, "registration_closed"),
}
"""Anybody may ask, and is refused for what they say and not for who they are."""

TABLE: Final[dict[tuple[str, str], tuple[bool, ...]]] = {
    ("GET", "/healthz"): OPEN,
    ("GET", "/readyz"): OPEN,
    ("GET", "/.well-known/security.txt"): OPEN,
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
            "claims/{id}/provenance",
            "disputes/{id}",
            "enquiries",
            "enquiries/{id}",
            "placements",
            "placements/{id}",
            "desk/figures",
            "coverage",
            "vehicles/{id}/letter",
            "changes",
            "ledger/checkpoint",
            "ledger/key",
            "ledger/entries",
            "ledger/proof/inclusion",
            "ledger/proof/consistency",
        )
    },
    ("POST", "/api/v1/budget"): OPEN,
    ("POST", "/api/v1/budget/options"): OPEN,
    ("POST", "/api/v1/budgets"): OPEN,
    ("POST", "/api/v1/receipts"): OPEN,
    ("GET", "/api/v1/receipts/{digest}"): OPEN,
    ("POST", "/api/v1/receipts/{digest}/removal"): STEWARD,
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
    ("GET", "/api/v1/desk"): REVIEW,
    ("GET", "/api/v1/desk/own"): SUBMIT,
    ("POST", "/api/v1/desk/{work}/hold"): REVIEW,
    ("POST", "/api/v1/desk/{work}/release"): REVIEW,
    ("POST", "/api/v1/readings/{id}/judgements"): STEWARD,
    ("GET", "/api/v1/accounts"): STEWARD,
    ("GET", "/api/v1/accounts/{id}"): STEWARD,
    ("GET", "/api/v1/session"): KNOWN,
    **{
        (method, f"/api/v1/{path}"): IN_SESSION
        for method, path in (
            ("DELETE", "session"),
            ("DELETE", "sessions"),
            ("POST", "account/password"),
            ("POST", "account/one-time-password"),
            ("POST", "account/one-time-password/confirmation"),
            ("POST", "account/one-time-password/removal"),
            ("POST", "account/recovery-codes"),
            ("GET", "account/tokens"),
            ("POST", "account/tokens"),
            ("DELETE", "account/tokens/{id}"),
            ("GET", "account/interests"),
            ("PUT", "account/interests"),
            ("POST", "accounts/{id}/role"),
            ("POST", "accounts/{id}/disabling"),
            ("POST", "accounts/{id}/enabling"),
            ("POST", "accounts/{id}/reset-code"),
            ("POST", "accounts/{id}/forgetting"),
        )
    },
    **{
        ("POST", f"/api/v1/{path}"): STEWARD
        for path in (
            "vehicles/{id}/corrections",
            "carriers/{id}/corrections",
            "fixings/{id}/corrections",
            "gear/{id}/corrections",
            "fitments/{id}/corrections",
            "mergers",
            "splits",
            "placements/{id}/undoings",
        )
    },
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
            "placements/{id}/confirmations",
            "placements/{id}/refusals",
        )
    },
    ("POST", "/api/v1/placements/{id}/withdrawal"): SUBMIT,
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
    "options": {"vehicle": "orrin-tarn-2019", "condition": "on_road"},
    "derivations": {"method": "accessory_pages", "rows": []},
    "copies": {"of": "D1", "copied": True},
    "takedown": {"code": "rights", "reason": "Asked for."},
    "budgets": {"budgets": [{"vehicle": "orrin-tarn-2019", "condition": "on_road"}]},
    "receipts": {"budget": {"vehicle": "orrin-tarn-2019", "condition": "on_road"}},
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
    "session": {"name": "nobody", "password": "lantern otter gravel"},
    "password-resets": {"name": "nobody", "reset": "abcdef", "password": "lantern otter gravel"},
    "accounts": {"name": "newcomer", "password": "lantern otter gravel"},
    "password": {"current": "x", "password": "lantern otter gravel"},
    "one-time-password": {"password": "x"},
    "confirmation": {"code": "123456"},
    "removal": {"password": "x"},
    "recovery-codes": {"password": "x"},
    "tokens": {"name": "x", "password": "x", "scopes": ["submit"]},
    "interests": {"interests": []},
    "role": {"role": "reviewer", "record": f"sha256:{'0' * 64}"},
    "reset-code": {},
    "settlements": {"settlement": "uphold", "reason": "It stands."},
    "judgements": {"finding": "page_unclear", "reason": "Two tables."},
    "vehicles/corrections": {
        "model": "Tarn",
        "series": None,
        "years": {"from": 2019},
        "bodies": None,
        "roofs": None,
        "markets": None,
        "reason": "As the page has it.",
    },
    "carriers/corrections": {
        "model": "Slatten",
        "series": None,
        "kind": "platform",
        "first_year": None,
        "bars": 2,
        "fixing": None,
        "reason": "As the page has it.",
    },
    "fixings/corrections": {
        "model": "Cleft",
        "series": None,
        "first_year": None,
        "feet": 4,
        "holds": ["gutter"],
        "reason": "As the page has it.",
    },
    "gear/corrections": {
        "model": "Dormelle",
        "series": None,
        "first_year": None,
        "category": "awning",
        "reason": "As the page has it.",
    },
    "fitments/corrections": {"fixing": None, "roofs": None, "reason": "As the page has it."},
    "mergers": {"kind": "vehicle", "subject": "orrin-tarn", "into": "orrin-tarn-2019", "reason": "They are one."},
    "splits": {"kind": "vehicle", "subject": "orrin-tarn", "onto": "orrin-tarn-2019", "reason": "They are two."},
    "undoings": {"reason": "They are two."},
    "refusals": {"reason": "They are two."},
    "placements/withdrawal": {},
}


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here stands in front of the database, whichever that is."""
    return sqlite_url


def sent(method: str, path: str) -> dict[str, Any]:
    if method == "GET":
        return {}
    last = path.rpartition("/")[2]
    if last == "documents":
        return {"data": {"publisher": "orrin", "kind": "handbook"}, "files": {"file": ("page.pdf", pdf())}}
    body = BODIES.get("/".join(path.split("/")[-3::2]), BODIES.get(last))
    return {} if body is None else {"json": body}


def test_the_table_has_every_operation(registry: Registry) -> None:
    described = serving(registry).openapi()["paths"]
    assert {(method.upper(), path) for path, methods in described.items() for method in methods} == (
        TABLE.keys() | ASKS_WHO.keys()
    )


@pytest.mark.parametrize("who", EVERYBODY)
def test_who_may_do_what(who: str, client: Client, people: People) -> None:
    may = EVERYBODY.index(who)
    for (method, path), row in TABLE.items():
        url = re.sub(r"\{(id|slug|digest)\}", "x1", path)
        answer = client.request(method, url, headers=people[who], **sent(method, path))
        if row[may]:
            assert answer.status_code not in {401, 403}, (method, path, answer.text)
            assert answer.status_code < 500, (method, path, answer.text)
            continue
        expected = (401, "token_missing") if who == "anonymous" else (401, "bad_token") if who == "disabled" else None
        expected = expected or (403, "session_needed" if row is IN_SESSION else "role_too_low")
        told = answer.json()
        assert (answer.status_code, told["code"]) == expected, (method, path, answer.text)
        assert ("WWW-Authenticate" in answer.headers) == (answer.status_code == 401)


@pytest.mark.parametrize("who", EVERYBODY)
def test_who_asks_to_be_let_in_is_asked_for_more_than_a_token(
    who: str, registry: Registry, client: Client, people: People
) -> None:
    registry.settings.data_dir.mkdir(exist_ok=True)
    registry.sealer.make()
    for (method, path), expected in ASKS_WHO.items():
        answer = client.request(method, path, headers=people[who], **sent(method, path))
        assert (answer.status_code, answer.json()["code"]) == expected


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


def test_a_role_taken_away_takes_the_tokens_that_reach_beyond_it_along(
    registry: Registry, client: Client, people: People
) -> None:
    with registry.database.write() as session:
        accounts.set_role(session, name="reviewer", role=Role.CONTRIBUTOR, now=registry.clock.now())
    answer = client.post("/api/v1/claims/C1/readings", json=BODIES["readings"], headers=people["reviewer"])
    assert (answer.status_code, answer.json()["code"]) == (401, "bad_token")


def test_nobody_decides_on_their_own(client: Client, people: People) -> None:
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    vehicle = story.add("vehicles", maker=maker, model="Tarn", years={"from": 2019})
    own = story.post("/claims", {**CLAIM, "subject": {"kind": "vehicle", "id": vehicle}}, "reviewer")["id"]
    reading = client.post(f"/api/v1/claims/{own}/readings", json=BODIES["readings"], headers=people["reviewer"])
    assert (reading.status_code, reading.json()["code"]) == (403, "own_claim")
    theirs = client.post(f"/api/v1/claims/{own}/withdrawal", headers=people["contributor"])
    assert (theirs.status_code, theirs.json()["code"]) == (403, "not_the_author")
