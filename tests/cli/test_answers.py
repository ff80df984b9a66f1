"""`limit` and `budget`: the API's own answer, readable, and an exit code that a script can go by."""

import io
import json
import re
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Ran, Run
from tests.web.people import People
from tests.web.story import API, Story, Trade
from tests.web.talking import Client

pytestmark = pytest.mark.usefixtures("here")


def reads_well(ran: Ran) -> bool:
    return bool(ran.out.strip()) and max(map(len, ran.out.splitlines())) <= 80


def test_a_limit(run: Run, client: Client, people: People) -> None:
    trade = Trade(client, people)
    ran = run("limit", trade.tarn, "--condition", "on_road")
    assert (ran.code, ran.err) == (0, "")
    assert "75 kg" in ran.out
    assert "carrier counted" in ran.out
    assert trade.roof in ran.out
    assert "confidence 0.9" in ran.out
    assert reads_well(ran)
    asked = {
        "condition": "off_road",
        "year": 2021,
        "body": "wagon",
        "roofs": "glass,track",
        "market": "NZ",
        "unit": "lb",
    }
    exact = client.get(f"{API}/vehicles/{trade.tarn}/limit", params={**asked, "min_confidence": 0.85, "as_of": 60})
    words = ["--year", "2021", "--body", "wagon", "--roof", "glass", "--roof", "track", "--market", "NZ"]
    words += ["--condition", "off_road", "--min-confidence", "0.85", "--unit", "lb", "--as-of", "60", "--json"]
    assert run("limit", trade.tarn, *words).out == exact.text + "\n"


def test_a_limit_that_nobody_can_name(run: Run, client: Client, people: People) -> None:
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    vehicle = story.add("vehicles", maker=maker, model="Tarn", years={"from": 2019})
    ran = run("limit", vehicle)
    assert ran.code == 4
    assert "Nobody has entered a claim" in ran.out
    claim, body = story.claim("vehicle", vehicle, "roof_limit", "75", story.document(maker), condition="on_road")
    story.approve(claim, body, "reviewer")
    ran = run("limit", vehicle)
    assert ran.code == 4
    assert "no more than 75 kg" in " ".join(ran.out.split())
    assert reads_well(ran)
    assert run("limit", vehicle, "--json").code == 4


@pytest.mark.parametrize(
    ("kg", "words", "code", "says"),
    [
        ("40", (), 0, "WITHIN: 10 kg may still go up, then the roof stops you."),
        ("50+-0.5", (), 5, "MARGINAL"),
        ("60", (), 3, "OVER by 10 kg: the roof stops you at 50 kg of cargo."),
        ("40", ("--min-confidence", "1"), 4, "UNKNOWN"),
    ],
)
def test_a_budgets_exit_code_is_its_verdict(
    kg: str, words: tuple[str, ...], code: int, says: str, run: Run, client: Client, people: People
) -> None:
    trade = Trade(client, people)
    asked = ["--vehicle", trade.tarn, "--carrier", trade.platform, "--gear", f"boxes={kg}", *words]
    ran = run("budget", *asked)
    assert (ran.code, ran.err) == (code, "")
    assert ran.out.splitlines()[0].startswith(says)
    assert reads_well(ran)
    assert run("budget", *asked, "--json").code == code


def test_a_budget_shows_its_working(run: Run, client: Client, people: People) -> None:
    trade = Trade(client, people)
    ran = run(
        "budget", "--vehicle", trade.tarn, "--condition", "off_road", "--carrier", trade.rough, "--gear", "tin=30"
    )
    assert ran.code == 3
    line = next(each for each in ran.out.splitlines() if each.startswith("* vehicle_roof_reduced"))
    assert re.fullmatch(r"\* vehicle_roof_reduced +50\.0  carrier counted exact +0\.9\d\d +25\.0", line)
    for words in ("25.000", "-30.000", "over by", "The trap", "rating says 100 kg", "Before you drive"):
        assert words in ran.out
    assert reads_well(ran)


def test_options_and_files_ask_the_same(run: Run, client: Client, people: People, tmp_path: Path) -> None:
    trade = Trade(client, people)
    asked: dict[str, Any] = {
        "vehicle": trade.tarn,
        "context": {"year": 2021, "body": "wagon", "roofs": ["raised_rail"], "market": "NZ"},
        "condition": "parked",
        "carriers": [{"id": trade.bars}, {"id": trade.platform}],
        "fixing": "built_in",
        "gear": [
            {"name": "awning", "mass": 14.1, "tolerance": 1.05, "quantity": 2},
            {"category": "rooftop_tent"},
        ],
        "people": [{"mass": 70.3}],
        "given_roof": {"limit": 72.5, "basis": "includes_carrier"},
        "min_confidence": 0.85,
        "parked_multiple": 3,
        "unit": "lb",
    }
    exact = client.post(f"{API}/budget", json=asked).text + "\n"
    words = ["--vehicle", trade.tarn, "--year", "2021", "--body", "wagon", "--roof", "raised_rail", "--market", "NZ"]
    words += ["--condition", "parked", "--carrier", trade.bars, "--carrier", trade.platform, "--fixing", "built_in"]
    words += ["--gear", "2xawning=14.1+-1.05", "--gear", "rooftop_tent", "--person", "70.3", "--roof-limit", "72.5"]
    words += ["--roof-basis", "includes_carrier", "--min-confidence", "0.85", "--parked-multiple", "3", "--unit", "lb"]
    assert run("budget", *words, "--json").out == exact
    file = tmp_path / "asked.json"
    file.write_text(json.dumps(asked))
    assert run("budget", str(file), "--json").out == exact
    assert reads_well(run("budget", str(file)))


def test_a_request_on_standard_input(run: Run, client: Client, people: People, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = b'{"condition": "on_road", "given_roof": {"limit": 70}, "gear": [{"name": "box", "mass": 71}]}'
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(asked)))
    ran = run("budget", "-", "--json")
    assert ran.code == 3
    assert ran.out == client.post(f"{API}/budget", content=asked).text + "\n"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("limit", "orrin-tarn"), "There is no vehicle"),
        (("limit", "orrin-tarn", "--condition", "offroad"), "--condition"),
        (("limit", "orrin-tarn", "--unit", "stone"), "none of: kg, lb"),
        (("limit", "orrin-tarn", "--roof", "rail"), "raised_rail"),
        (("limit", "orrin-tarn", "--min-confidence", "high"), "number"),
        (("budget",), "Name a vehicle"),
        (("budget", "--vehicle", "orrin-tarn", "--gear", "awning=heavy"), "awning"),
        (("budget", "--roof-limit", "70", "--person", "80"), "Nobody rides"),
        (("budget", "--roof-limit", "-70"), "roof"),
        (("budget", "nowhere.json"), "nowhere.json cannot be read"),
        (("limit",), "vehicle"),
        (("fly",), "fly"),
    ],
)
def test_what_makes_no_sense_is_said_in_a_sentence(words: tuple[str, ...], says: str, run: Run, client: Client) -> None:
    ran = run(*words)
    assert (ran.code, ran.out) == (2, "")
    assert says in ran.err


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b'{"condition": "on_road",', "not JSON"),
        (b"\xff", "not JSON"),
        (b'{"condition": "on_road", "given_roof": {"limt": 70}}', "Did you mean `limit`?"),
        (b'{"condition": "on_road", "condition": "parked", "given_roof": {"limit": 70}}', "twice"),
    ],
)
def test_a_file_that_makes_no_sense(content: bytes, says: str, run: Run, client: Client, tmp_path: Path) -> None:
    (tmp_path / "asked.json").write_bytes(content)
    ran = run("budget", "asked.json")
    assert (ran.code, ran.out) == (2, "")
    assert says in ran.err
