"""Nothing that lets anybody in is kept in clear: not in the database, its log, the ledger, answers or idempotency rows."""

import logging
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from app.bootstrap import Registry
from app.core.permissions import Role
from app.persistence.base import Row
from app.services import accounts
from app.web.cookies import COOKIE
from tests.web.signed.town import API, Browser, Town

NEW = "thistle wharf kettle marble"


def everything(registry: Registry, folder: Path) -> bytes:
    """All that is stored: every row as text, and the bytes of the database's own files."""
    found = []
    with registry.database.read() as session:
        for table in Row.metadata.sorted_tables:
            rows = session.connection().execute(text(f'SELECT * FROM "{table.name}"')).all()
            found += [value if isinstance(value, bytes) else str(value).encode() for row in rows for value in row]
    files = [path for path in folder.rglob("*") if path.is_file()]
    assert not registry.database.is_sqlite or any(b"SQLite" in path.read_bytes() for path in files)
    return b"\n".join([*found, *(path.read_bytes() for path in files if path.name != "sealing-key")])


def use_everything(town: Town, registry: Registry) -> list[str]:
    """Do whatever shows or takes a secret, and give all the secrets."""
    keyed = {"Sec-Fetch-Site": "same-origin", "Idempotency-Key": "again"}
    browser = town.enter("sedge", Role.REVIEWER)
    secrets = [browser.password, str(browser.cookie), str(browser.secret), *browser.recovery]
    body = {"name": "counter", "scopes": ["submit"], **browser.proof()}
    token = browser.request("POST", "/account/tokens", body, keyed).json()["token"]
    headers = {"Authorization": f"Bearer {token}", "Idempotency-Key": "kept"}
    publisher = {"name": "Orrin", "kind": "vehicle_maker"}
    assert town.client.post(f"{API}/publishers", json=publisher, headers=headers).status_code == 201
    made = browser.request("POST", "/account/recovery-codes", browser.proof(), keyed).json()["codes"]
    change = {"current": browser.password, "password": NEW, "code": browser.code()}
    assert browser.request("POST", "/account/password", change, keyed).status_code == 204
    with registry.database.write() as session:
        reset = accounts.reset(session, name="sedge", one_time_password=False, now=town.clock.now()).code
    secrets += [token, *made, NEW, str(browser.cookie), reset]
    wrong: list[tuple[str, Any]] = [
        ("/session", {"name": "sedge", "password": NEW, "code": made[0], "extra": NEW}),
        ("/session", {"name": "sedge", "password": [NEW]}),
        ("/session", {"name": 5, "password": NEW}),
        ("/accounts", {"name": "sedge", "password": NEW}),
        ("/password-resets", {"name": "sedge", "reset": reset, "password": "sedge-sedge-sedge"}),
    ]
    for path, sent in wrong:
        answer = town.client.post(API + path, json=sent)
        assert answer.status_code >= 400
        assert not [each for each in secrets if each in answer.text], path
    return secrets


def test_no_secret_is_stored_or_logged(
    town: Town, registry: Registry, tmp_path: Path, caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    with caplog.at_level(logging.DEBUG):
        secrets = use_everything(town, registry)
    assert len(secrets) == len(set(secrets)) > 25
    stored = everything(registry, tmp_path)
    assert b"sedge" in stored
    assert [each for each in secrets if each.encode() in stored] == []
    told = caplog.text + "".join(capfd.readouterr())
    assert [each for each in secrets if each in told] == []


@pytest.mark.parametrize(
    "value", ["4417230011223344", ["4417230011223344"], {"x": "4417230011223344"}, 4417230011223344]
)
def test_an_answer_repeats_no_password_that_was_sent_wrongly(town: Town, value: Any) -> None:
    sent = value if not isinstance(value, str) else value * 20
    for path, body in (
        ("/session", {"name": "oxbow", "password": sent}),
        ("/password-resets", {"name": "oxbow", "reset": sent, "password": NEW}),
    ):
        answer = town.client.post(API + path, json=body)
        assert answer.status_code == 422
        assert "44172300" not in answer.text


def test_what_is_asked_in_a_session_about_oneself_takes_no_key(town: Town, registry: Registry) -> None:
    browser: Browser = town.enter("oxbow")
    keyed = {"Sec-Fetch-Site": "same-origin", "Idempotency-Key": "again"}
    body = {"name": "x", "scopes": ["submit"], **browser.proof()}
    one, other = (browser.request("POST", "/account/tokens", body, keyed).json()["token"] for _ in range(2))
    assert one != other
    with registry.database.read() as session:
        assert session.connection().execute(text("SELECT count(*) FROM idempotency_key")).scalar_one() == 0


def test_a_session_is_kept_by_its_hash_alone(town: Town, registry: Registry) -> None:
    browser = town.enter("oxbow")
    with registry.database.read() as session:
        (kept,) = session.connection().execute(text("SELECT token_sha256 FROM web_session")).scalars()
    answer = town.client.get(f"{API}/session", headers={"Cookie": f"{COOKIE}={kept}"})
    assert (answer.status_code, answer.json()["code"]) == (401, "session_over")
    assert browser.is_in()
