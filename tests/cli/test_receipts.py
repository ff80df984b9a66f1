"""`--keep`, `cantrail receipt` and `cantrail provenance`."""

import json

import pytest

from tests.cli.conftest import Run
from tests.cli.test_answers import reads_well, said
from tests.web.people import People
from tests.web.story import API, Trade
from tests.web.talking import Client

pytestmark = pytest.mark.usefixtures("here")


@pytest.fixture
def trade(client: Client, people: People) -> Trade:
    return Trade(client, people)


def test_an_answer_is_kept_and_looked_up(run: Run, client: Client, trade: Trade) -> None:
    asked = ("limit", trade.tarn, "--condition", "on_road", "--roof", "track", "--roof", "bare")
    kept = run(*asked, "--keep")
    digest = kept.out.splitlines()[-1]
    assert (kept.code, kept.err) == (0, "")
    assert digest == json.loads(run(*asked, "--json").out)["receipt"]["digest"]
    assert reads_well(kept)

    shown = run("receipt", digest)

    assert (shown.code, shown.err) == (0, "")
    assert "It still stands." in said(shown)
    assert shown.out.splitlines()[0] == kept.out.splitlines()[0]
    assert reads_well(shown)
    exact = client.get(f"{API}/receipts/{digest}")
    assert run("receipt", digest.removeprefix("sha256:"), "--json").out == exact.text + "\n"


def test_a_budget_that_was_lowered_says_so_by_its_exit_code(run: Run, trade: Trade) -> None:
    asked = ("budget", "--vehicle", trade.tarn, "--carrier", trade.platform, "--gear", "awning=14+-0.5")
    plain = json.loads(run(*asked, "--keep", "--json").out)
    scope = {"roofs": "all", "bodies": "all", "years": "all"}
    said_of_it = {"condition": "on_road", "basis": "includes_carrier", "scope": scope}
    lower = trade.vetted("vehicle", trade.tarn, "roof_limit", "40", trade.document("orrin"), **said_of_it)

    shown = run("receipt", plain["receipt"]["digest"])

    assert shown.code == 3
    assert "LOWERED SINCE" in shown.out
    assert f"claim decided {lower}" in said(shown)
    assert reads_well(shown)


def test_a_budget_from_a_file_and_one_as_of_then_are_kept(run: Run, trade: Trade, client: Client) -> None:
    body = {"vehicle": trade.tarn, "condition": "on_road", "min_confidence": 0.80, "gear": [{"mass": 7.10}]}
    with open("request.json", "w", encoding="utf-8") as file:  # noqa: PTH123 - the folder of the test's own command
        file.write(json.dumps(body).replace("7.1", "7.10"))
    plain = json.loads(run("budget", "request.json", "--json", "--keep").out)
    assert client.get(f"{API}/receipts/{plain['receipt']['digest']}").status_code == 200
    then = json.loads(run("limit", trade.tarn, "--as-of", "30", "--json", "--keep").out)["receipt"]
    assert run("receipt", then["digest"]).code == 0


def test_other_figures_are_shown_too(run: Run, trade: Trade, client: Client) -> None:
    for quantity, words in (("own_mass", "Own mass of"), ("off_road_factor", "Off-road factor of")):
        question = {"subject": {"kind": "carrier", "id": trade.platform}, "quantity": quantity}
        kept = client.post(f"{API}/receipts", json={"limit": question}).json()
        shown = run("receipt", kept["receipt"]["digest"])
        assert shown.code == 0
        assert words in shown.out


def test_what_is_not_kept_is_said_in_a_sentence(run: Run) -> None:
    ran = run("receipt", "sha256:00")
    assert (ran.code, ran.out) == (2, "")
    assert "No answer with this digest is kept" in ran.err


def test_provenance_is_what_the_api_gives(run: Run, trade: Trade, client: Client) -> None:
    exact = client.get(f"{API}/claims/{trade.roof}/provenance")
    ran = run("provenance", trade.roof)
    assert (ran.code, ran.out) == (0, exact.text + "\n")
    assert run("provenance", "C999999").code == 2
