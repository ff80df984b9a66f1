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


def said(ran: Ran) -> str:
    """What was printed, wherever its lines were broken."""
    return " ".join(ran.out.split())


def test_a_limit(run: Run, client: Client, people: People) -> None:
    trade = Trade(client, people)
    ran = run("limit", trade.tarn, "--condition", "on_road")
    assert (ran.code, ran.err) == (0, "")
    assert "75 kg" in ran.out
    first, second = ran.out.splitlines()[:2]
    assert first == f"75 kg (rack counted), on sealed roads: the roof limit of {trade.tarn}."
    assert re.fullmatch(r"Vetted, confidence 0\.9\d\d, 1 independent source\.", second)
    assert re.search(rf"^ +75  rack counted  exact +{trade.roof}$", ran.out, re.MULTILINE)
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
    assert "Nobody has entered a claim" in said(ran)
    claim, body = story.claim("vehicle", vehicle, "roof_limit", "75", story.document(maker), condition="on_road")
    story.approve(claim, body, "reviewer")
    ran = run("limit", vehicle)
    assert ran.code == 4
    assert "no more than 75 kg" in said(ran)
    assert reads_well(ran)
    assert run("limit", vehicle, "--json").code == 4


@pytest.mark.parametrize(
    ("kg", "words", "code", "says"),
    [
        ("40", (), 0, "WITHIN: 10 kg may still go up, then the roof stops you."),
        ("50", (), 0, "WITHIN, with nothing to spare: the roof stops you."),
        ("50+-0.5", (), 5, "MARGINAL: 0 kg left, or 0.5 kg too much if all weighs the most it may."),
        ("60", (), 3, "OVER by 10 kg: the roof stops you at 50 kg, not the rack."),
        (
            "40",
            ("--min-confidence", "1"),
            4,
            "UNKNOWN: the roof limit is not known, and what a part of the rack weighs",
        ),
    ],
)
def test_a_budgets_exit_code_is_its_verdict(
    kg: str, words: tuple[str, ...], code: int, says: str, run: Run, client: Client, people: People
) -> None:
    trade = Trade(client, people)
    asked = ["--vehicle", trade.tarn, "--carrier", trade.platform, "--gear", f"boxes={kg}", *words]
    ran = run("budget", *asked)
    assert (ran.code, ran.err) == (code, "")
    assert said(ran).startswith(says)
    assert reads_well(ran)
    assert run("budget", *asked, "--json").code == code


def test_a_budget_shows_its_working(run: Run, client: Client, people: People) -> None:
    trade = Trade(client, people)
    ran = run(
        "budget", "--vehicle", trade.tarn, "--condition", "off_road", "--carrier", trade.rough, "--gear", "tin=30"
    )
    assert ran.code == 3
    assert ran.out.startswith("OVER by 5 kg: the roof, reduced off road, stops you at 25 kg, not the rack.\n")
    line = next(each for each in ran.out.splitlines() if each.startswith("* "))
    assert re.fullmatch(r"\* vehicle roof reduced +50  rack counted  exact +0\.9\d\d +25", line)
    working = [each for each in ran.out.splitlines() if re.search(r" -?\d+(  C\d+.*)?$", each)]
    points = {re.search(r"\d(?=  C|$)", each).start() for each in working[3:]}  # type: ignore[union-attr]
    assert len(points) == 1
    for words in ("over by", "The trap", "says 100 kg; 25 kg is really", "Before you drive"):
        assert words in said(ran)
    assert reads_well(ran)


def test_a_budget_with_what_is_not_known(run: Run, client: Client, people: People) -> None:
    trade = Trade(client, people)
    racks = trade.publisher("Straggmere", "carrier_maker")
    unsaid = trade.add("carriers", maker=racks, model="Hesk", kind="crossbars")
    ran = run("budget", "--vehicle", trade.tarn, "--carrier", unsaid, "--gear", "tin=10")
    assert ran.code == 4
    assert said(ran).startswith("UNKNOWN: what a part of the rack weighs is not known, and what a part of the rack may")
    assert "No more than 75 kg" in said(ran)
    assert reads_well(ran)
    assert run("budget", "--vehicle", trade.tarn, "--carrier", unsaid, "--gear", "tin=76").out.startswith(
        "OVER: no more than 75 kg may be carried, whatever is not known yet."
    )
    for words, code, says in (
        (["--roof-limit", "20", "--carrier", trade.platform, "--gear", "tin=1"], 3, "OVER by 6 kg: the rack alone is"),
        (["--roof-limit", "60", "--gear", "rooftop_tent"], 4, "UNKNOWN: 100 kg may be more than the roof limit you"),
        (["--roof-limit", "40", "--gear", "rooftop_tent"], 3, "OVER by 10 to 60 kg: the roof limit you gave stops you"),
        (["--vehicle", trade.tarn, "--condition", "parked", "--gear", "tin=70"], 0, "WITHIN: at least 5 kg may still"),
    ):
        ran = run("budget", *words)
        assert ran.code == code
        assert said(ran).startswith(says)
        assert reads_well(ran)


def test_no_figure_is_rounded_up(run: Run, client: Client) -> None:
    ran = run("budget", "--roof-limit", "1234.567", "--gear", "tin=0.001", "--unit", "lb")
    assert ran.out.startswith("WITHIN: 1234.56")
    assert not re.search(r"\b123[5-9]", ran.out)


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
        (("limit", "orrin-tarn"), "There is no vehicle 'orrin-tarn' in the registry"),
        (("limit", "orrin-tarn", "--condition", "offroad"), "--condition"),
        (("limit", "orrin-tarn", "--unit", "stone"), "none of: kg, lb"),
        (("limit", "orrin-tarn", "--roof", "rail"), "raised_rail"),
        (("limit", "orrin-tarn", "--min-confidence", "high"), "number"),
        (("limit", "orrin-tarn", "--year", "1500", "--body", "wagn"), '--body: "wagn" is none of'),
        (("budget",), "--vehicle: Name a vehicle, or give its roof limit yourself with --roof-limit."),
        (("budget", "--roof-limit", "70", "--gear", "awning=heavy"), "--gear awning=heavy: This is no gear."),
        (("budget", "--roof-limit", "70", "--gear", "awning=14kg"), "--gear awning=14kg: This is no gear."),
        (("budget", "--roof-limit", "70", "--gear", "awning=1.2.3"), "--gear awning=1.2.3: '1.2.3' is no number."),
        (("budget", "--roof-limit", "70", "--gear", "a=1", "--gear", "999xcan=2"), "--gear 999xcan=2: 999 is not"),
        (("budget", "--roof-limit", "70", "--gear", "awnig"), "Did you mean awning?"),
        (("budget", "--roof-limit", "70", "--person", "80"), "--person: Nobody rides"),
        (("budget", "--roof-limit", "seventy"), "--roof-limit: 'seventy' is no number."),
        (("budget", "--roof-limit", "-70"), "--roof-limit: A mass is a number from 0"),
        (("budget", "--roof-basis", "not_stated", "--vehicle", "a"), "--roof-basis: A basis is of a limit"),
        (("budget", "--roof-limit", "70", "--roof-basis", "brutto"), '--roof-basis: "brutto" is none of'),
        (("budget", "--roof-limit", "70", "--carrier", "x"), "--carrier x: There is no carrier 'x'"),
        (("budget", "--vehicle", "orrin-tarn", "--as-of", "soon"), "--as-of: Give an entry's number, or a time"),
        (("budget", "nowhere.json"), "nowhere.json cannot be read"),
        (("budget", "nowhere.json", "--gear", "a=1"), "leave the options out"),
        (("limit",), "VEHICLE"),
        (("fly",), "fly"),
    ],
)
def test_what_makes_no_sense_is_said_in_a_sentence(words: tuple[str, ...], says: str, run: Run, client: Client) -> None:
    ran = run(*words)
    assert (ran.code, ran.out) == (2, "")
    assert says in ran.err


def test_what_is_misspelt_is_found(run: Run, client: Client, people: People) -> None:
    trade = Trade(client, people)
    assert f"Did you mean {trade.tarn}" in run("limit", "orin-tarn").err
    ran = run("budget", "--vehicle", trade.tarn, "--carrier", "pelwick-slaten")
    assert (ran.code, ran.out) == (2, "")
    assert "--carrier pelwick-slaten: There is no carrier 'pelwick-slaten'" in ran.err
    assert f"Did you mean {trade.platform}" in ran.err
    assert "in the registry yet" in run("limit", trade.tarn, "--as-of", "1").err


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b'{"condition": "on_road",', "not JSON"),
        (b"\xff", "not JSON"),
        (b"[" * 100_000, "nested too deep"),
        (b'{"condition": "on_road", "given_roof": {"limit": 70.0001}}', "/given_roof/limit: A mass has at most 3"),
        (b'{"condition": "on_road", "given_roof": {"limt": 70}}', "Did you mean `limit`?"),
        (b'{"condition": "on_road", "condition": "parked", "given_roof": {"limit": 70}}', "twice"),
    ],
)
def test_a_file_that_makes_no_sense(content: bytes, says: str, run: Run, client: Client, tmp_path: Path) -> None:
    (tmp_path / "asked.json").write_bytes(content)
    ran = run("budget", "asked.json")
    assert (ran.code, ran.out) == (2, "")
    assert says in ran.err
