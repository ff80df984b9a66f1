"""`options`, and what `budget` says would help: the API's own answer, readable in 80 columns."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Ran, Run
from tests.web.people import People
from tests.web.story import API, Trade
from tests.web.talking import Client

pytestmark = pytest.mark.usefixtures("here")


def said(ran: Ran) -> str:
    assert max(map(len, ran.out.splitlines())) <= 80
    return " ".join(ran.out.split())


def test_what_would_help(run: Run, client: Client, people: People, tmp_path: Path) -> None:
    trade = Trade(client, people)
    for carrier in (trade.platform, trade.bars):
        fits = trade.add("fitments", vehicle=trade.tarn, carrier=carrier)
        trade.confirmed("fitments", fits, trade.sheet)
    car = ["--vehicle", trade.tarn, "--carrier", trade.platform]

    ran = run("budget", *car, "--gear", "tent=48", "--gear", "2xcan=10+-0.5")
    assert (ran.code, ran.err) == (3, "")
    told = said(ran)[said(ran).index("What would help:") :]
    # Both cans go, or the tent: one thing is fewer than two, however heavy.
    assert (
        "- Leave 1 thing behind, 48 kg: the rest is allowed even if all of it is as heavy as it may be. tent." in told
    )
    assert f"- Another rack, {trade.bars}, fixing built in: 1 kg left." in told
    assert "What would help" not in run("budget", *car, "--gear", "tent=48").out

    words = [*car, "--stays", "tent=48", "--gear", "2xcan=10+-0.5"]
    ran = run("options", *words)
    assert (ran.code, ran.err) == (3, "")
    assert said(ran).startswith("As asked, on sealed roads: 18 kg too much. OVER.")
    assert re.search(rf"^  {trade.bars}, [a-z ]+ 70 +2 +\+20  within$", ran.out, re.MULTILINE)
    assert re.search(rf"^  \* {trade.platform}, [a-z ]+ 50 +-18 +0  over$", ran.out, re.MULTILINE)
    assert re.search(r"^  parked +50 +-18 +0  ", ran.out, re.MULTILINE)
    assert "- Leave 2 things behind, 21 kg" in said(ran)
    assert "2 of 2 can." in said(ran)
    assert "Before you drive" in said(ran)

    asked: dict[str, Any] = {
        "vehicle": trade.tarn,
        "condition": "on_road",
        "carriers": [{"id": trade.platform}],
        "gear": [
            {"name": "can", "mass": 10, "tolerance": 0.5, "quantity": 2, "stays": False},
            {"name": "tent", "mass": 48, "stays": True},
        ],
    }
    exact = client.post(f"{API}/budget/options", json=asked)
    assert exact.status_code == 200
    shown = json.loads(run("options", *words, "--json").out)
    file = tmp_path / "asked.json"
    file.write_text(json.dumps(asked))
    assert run("options", str(file), "--json").out == exact.text + "\n"
    # As options write them, absent members are the defaults of the same question.
    assert shown == exact.json()

    many = run("options", *car, *(word for n in range(8) for word in ("--gear", f"box{n}=10")))
    assert "Or just as well: box" in said(many)
    assert "There may be other choices that are just as good." in said(many)
    nothing = run("options", *car, "--stays", "safe=90", "--gear", "can=1")
    assert "Leaving the rest behind does not help: what stays is too much by itself." in said(nothing)
    for wrong, says in (
        (["--gear", "can=20", "--stays", "999xcan=2"], "--gear 999xcan=2: 999 is not"),
        (["--person", "80"], "--person: Nobody rides"),
        ([str(file)], "leave the options out"),
    ):
        refused = run("options", *car, *wrong)
        assert refused.code == 2
        assert says in refused.err
