"""What the README shows is what happens."""

import json
import re
import shlex
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from app.bootstrap import open_registry
from app.cli.main import app
from app.settings import Settings
from app.web.main import create_app
from tests.web.talking import talking_to

TOP = Path(__file__).parents[2]
README = (TOP / "README.md").read_text(encoding="utf-8")


@pytest.fixture
def demo(demo_folder: Path) -> Settings:
    return Settings(data_dir=demo_folder, database_url=None)


def test_the_first_paragraph_states_the_job() -> None:
    paragraphs = README.split("\n\n")
    assert paragraphs[0] == "# Cantrail"
    assert paragraphs[1].startswith("Cantrail is a registry of what a vehicle's roof may carry")


def test_ci_runs_the_readmes_test_command() -> None:
    commands = re.findall(r"```sh\n(python3 -m venv[^\n]*)\n```", README)
    assert len(commands) == 2
    assert (TOP / ".ci" / "run").read_text(encoding="utf-8").rstrip().endswith(commands[1])


def test_the_budget_of_the_readme_allows_25_kg(demo: Settings) -> None:
    found = re.search(r"-d '(\{.*?\})'", README, re.DOTALL)
    assert found is not None
    registry = open_registry(demo)
    with talking_to(create_app(registry)) as client:
        answer = client.post("/api/v1/budget", json=json.loads(found[1])).json()
    assert answer["allowed_cargo"] == 25.0
    assert answer["trap"]["carrier_rating"] == 100.0
    assert answer["vetted"]


def commands(of: str) -> list[list[str]]:
    text = README.replace("\\\n", " ")
    return [shlex.split(line)[1:] for line in text.splitlines() if line.startswith(f"cantrail {of} ")]


@pytest.mark.parametrize("words", [*commands("limit"), *commands("budget")], ids=" ".join)
def test_commands_of_the_readme_run(words: list[str], demo: Settings) -> None:
    ran: Any = CliRunner().invoke(app, ["--data-dir", str(demo.data_dir), *words])
    assert ran.exit_code == 0, ran.output
    assert "Before you drive" in ran.output
