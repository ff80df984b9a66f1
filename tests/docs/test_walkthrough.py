"""docs/walkthrough.md says what it sends and to whom: here it is sent."""

import json
import re
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from fpdf import FPDF

from app.bootstrap import open_registry
from app.core.permissions import MAY, Role
from app.services import accounts, rebuilding
from app.settings import Settings
from app.web.main import create_app
from tests.web.talking import Client, talking_to

WALKTHROUGH = Path(__file__).parents[2] / "docs" / "walkthrough.md"
STEP = re.compile(r"```http\n(GET|POST) (\S+) as (\w+)(?: with (\S+))?\n(.*?)```", re.DOTALL)
PEOPLE = {"pipistrel": Role.CONTRIBUTOR, "quillon": Role.REVIEWER, "tambour": Role.REVIEWER}


def handbook() -> bytes:
    """A page that says what the walkthrough says of it."""
    book = FPDF()
    book.set_font("helvetica", size=11)
    book.add_page()
    book.cell(0, 8, "Maximum roof load, roof rack included: 75 kg")
    return bytes(book.output())


class Step(NamedTuple):
    method: str
    path: str
    by: str
    file: str
    body: str


def steps() -> list[Step]:
    return [Step(*found) for found in STEP.findall(WALKTHROUGH.read_text(encoding="utf-8"))]


def send(client: Client, step: Step, headers: dict[str, str]) -> Any:
    path = f"/api/v1{step.path}"
    if step.file:
        form = json.loads(step.body)
        answer = client.post(path, data=form, files={"file": (step.file, handbook())}, headers=headers)
    elif step.method == "POST":
        answer = client.post(path, json=json.loads(step.body), headers=headers)
    else:
        answer = client.get(path, headers=headers)
    assert answer.status_code in {200, 201}, (step, answer.text)
    return answer.json()


@pytest.fixture
def answers(database_url: str, tmp_path: Path) -> list[Any]:
    registry = open_registry(Settings(data_dir=tmp_path, database_url=database_url))
    tokens = {}
    with registry.database.write() as session:
        now = registry.clock.now()
        rebuilding.begin(session, now=now)
        for name, role in PEOPLE.items():
            accounts.add(session, name=name, role=role, now=now)
            issued = accounts.issue_token(session, name=name, label="walk", scopes=MAY[role], now=now)
            tokens[name] = {"Authorization": f"Bearer {issued.token}"}
    with talking_to(create_app(registry)) as client:
        return [send(client, step, tokens.get(step.by, {})) for step in steps()]


def test_the_walkthrough_comes_out_as_it_says(answers: list[Any]) -> None:
    publisher, vehicle, document, claim, before, *reviews, limit, confidence, budget = answers

    assert (publisher["slug"], vehicle["id"], document["id"], claim["id"]) == (
        "orrin",
        "orrin-tarn-t2-2019",
        "D4",
        "C5",
    )
    assert before["figure"] is None
    assert before["refusal"]["kind"] == "below_confidence"
    assert [reviews[0]["reading"], reviews[2]["reading"]] == ["R7", "R10"]
    assert limit["figure"]["gross"]["value"] == 75.0
    assert limit["vetted"]
    assert confidence["confidence"] >= 0.8
    assert (budget["allowed_cargo"], budget["remaining"], budget["verdict"]) == (50.0, 36.0, "marginal")
    assert budget["reasons"] == ["fixing_not_said"]
    assert budget["trap"]["carrier_rating"] == 100.0
