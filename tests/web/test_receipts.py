"""Kept answers and provenance over HTTP."""

from typing import Any, Final

import pytest
from prov.model import ProvDocument
from sqlalchemy import text

from app.bootstrap import Registry
from tests.web.people import People
from tests.web.story import API, Trade
from tests.web.talking import Client


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is kept is kept and looked up on both databases by the service's own tests."""
    return sqlite_url


@pytest.fixture
def trade(client: Client, people: People) -> Trade:
    return Trade(client, people)


def asked(trade: Trade) -> dict[str, Any]:
    return {
        "vehicle": trade.tarn,
        "condition": "off_road",
        "context": {"year": 2021, "roofs": ["glass", "track"]},
        "carriers": [{"id": trade.platform}],
        "gear": [{"name": "awning", "mass": 14.5, "tolerance": 0.5}],
        "min_confidence": 0.80,
    }


def test_anybody_keeps_an_answer_and_anybody_looks_it_up(client: Client, trade: Trade) -> None:
    budget = asked(trade)
    answered = client.post(f"{API}/budget", json=budget).json()

    kept = client.post(f"{API}/receipts", json={"budget": budget})

    assert kept.status_code == 201, kept.text
    assert kept.json()["receipt"] == answered["receipt"]
    assert kept.json()["answer"] == answered
    assert kept.headers["Location"] == kept.json()["address"]
    shown = client.get(kept.headers["Location"])
    assert (shown.status_code, shown.json()["standing"], shown.json()["answer"]) == (200, "stands", answered)
    assert client.get(f"{API}/receipts/{answered['receipt']['digest']}").json() == shown.json()
    again = client.post(f"{API}/receipts", json={"budget": {**budget, "as_of": answered["receipt"]["as_of"]}})
    assert again.json() == kept.json()


def test_a_figure_of_an_address_is_kept_with_its_subject(client: Client, trade: Trade) -> None:
    limit = trade.get(f"/vehicles/{trade.tarn}/limit", condition="on_road", year=2021, roofs="track,bare", unit="lb")
    question = {
        "subject": {"kind": "vehicle", "id": trade.tarn},
        "condition": "on_road",
        "context": {"year": 2021, "roofs": ["track", "bare"]},
        "unit": "lb",
    }

    kept = client.post(f"{API}/receipts", json={"limit": question}).json()

    assert kept["answer"] == limit
    figure = trade.get(f"/carriers/{trade.platform}/figure", quantity="own_mass")
    weighed = {"subject": {"kind": "carrier", "id": trade.platform}, "quantity": "own_mass"}
    assert client.post(f"{API}/receipts", json={"limit": weighed}).json()["answer"] == figure


def test_what_changed_it_is_told(client: Client, trade: Trade) -> None:
    kept = client.post(f"{API}/receipts", json={"budget": asked(trade)}).json()
    scope = {"roofs": "all", "bodies": "all", "years": "all"}
    said = {"condition": "on_road", "basis": "includes_carrier", "scope": scope}
    lower = trade.vetted("vehicle", trade.tarn, "roof_limit", "40", trade.document("orrin"), **said)

    shown = client.get(kept["address"]).json()

    assert shown["standing"] in {"lowered", "emptied"}
    assert shown["changes"][0]["claim"] == lower
    assert {"seq", "at", "type", "claim", "effect"} == shown["changes"][0].keys()
    assert shown["next"] is None
    after = shown["changes"][0]["seq"]
    assert client.get(kept["address"], params={"cursor": after}).json()["changes"] == shown["changes"][1:]
    assert client.get(kept["address"], params={"cursor": "x"}).json()["code"] == "bad_cursor"


def test_a_steward_removes_one(client: Client, people: People, trade: Trade) -> None:
    kept = client.post(f"{API}/receipts", json={"budget": asked(trade)}).json()
    removed = client.post(f"{kept['address']}/removal", headers=people["steward"])
    assert (removed.status_code, removed.json()["digest"]) == (200, kept["receipt"]["digest"])
    gone = client.get(kept["address"])
    assert (gone.status_code, gone.json()["code"]) == (404, "receipt_removed")
    kept_again = client.post(f"{API}/receipts", json={"budget": asked(trade)})
    assert (kept_again.status_code, kept_again.json()["code"]) == (409, "receipt_removed")


def test_one_that_comes_out_otherwise_is_an_error_for_all_to_see(
    client: Client, trade: Trade, registry: Registry
) -> None:
    kept = client.post(f"{API}/receipts", json={"budget": asked(trade)}).json()
    with registry.database.write() as session:
        session.connection().execute(text("UPDATE kept_receipt SET request = replace(request, '14.5', '14.4')"))
    broken = client.get(kept["address"])
    assert (broken.status_code, broken.json()["code"]) == (503, "receipt_broken")
    assert "allowed_cargo" not in broken.text


ASKS_NOTHING: Final[list[tuple[Any, str]]] = [
    ({"budget": {"vehicle": "none", "condition": "on_road"}}, "/budget/vehicle"),
    ({"limit": {"subject": {"kind": "boat", "id": "x"}, "condition": "on_road"}}, "/limit/subject/kind"),
    ({"limit": {"condition": "on_road"}}, "/limit/subject"),
    ({"answer": {}}, "/answer"),
    ([], ""),
]


def test_a_body_that_asks_nothing_is_refused(client: Client) -> None:
    for body, pointer in ASKS_NOTHING:
        refused = client.post(f"{API}/receipts", json=body)
        assert refused.status_code == 422, (body, refused.text)
        assert pointer in [each["pointer"] for each in refused.json()["errors"]], body


def test_provenance_is_prov_json(client: Client, trade: Trade) -> None:
    answer = client.get(f"{API}/claims/{trade.roof}/provenance")
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "application/json")
    read = ProvDocument.deserialize(content=answer.text, format="json")
    history = trade.get(f"/claims/{trade.roof}/history")["items"]
    found = {str(each.identifier) for each in read.get_records()}
    assert {f"cantrail:entry/{each['seq']}" for each in history} <= found
    assert client.get(f"{API}/claims/C999999/provenance").status_code == 404
