"""`letter`: the API's own letter, as it is printed and signed."""

import json

import pytest

from tests.cli.conftest import Run
from tests.web.people import People
from tests.web.story import API, Story
from tests.web.talking import Client

pytestmark = pytest.mark.usefixtures("here")


@pytest.fixture
def tarn(client: Client, people: People) -> str:
    """A vehicle of which nothing is known; its maker and its importer are."""
    story = Story(client, people)
    maker = story.publisher("Orrin", "vehicle_maker")
    story.publisher("Tuiweka Motor Imports", "importer")
    return story.add("vehicles", maker=maker, model="Tarn", series="T2", years={"from": 2019, "to": 2024})


def test_a_letter_is_the_api_s_own(run: Run, client: Client, tarn: str) -> None:
    ran = run("letter", tarn)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out == client.get(f"{API}/vehicles/{tarn}/letter", params={"format": "text"}).text
    assert "To: Orrin\n" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 72


def test_it_may_go_to_somebody_else_about_less_in_another_language(run: Run, client: Client, tarn: str) -> None:
    words = ["--to", "tuiweka-motor-imports", "--condition", "parked", "--condition", "off_road", "--language", "fr"]
    query = {"publisher": "tuiweka-motor-imports", "condition": "parked,off_road", "language": "fr"}
    shown = run("letter", tarn, *words, "--json")
    assert shown.out == client.get(f"{API}/vehicles/{tarn}/letter", params=query).text + "\n"
    assert json.loads(shown.out)["to_name"] == "Tuiweka Motor Imports"
    assert "À\u00a0: Tuiweka Motor Imports\n" in run("letter", tarn, *words).out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["orrin-tarn-t2"], "Did you mean orrin-tarn-t2-2019?"),
        (["orrin-tarn-t2-2019", "--to", "nobody"], "--to: There is no publisher 'nobody'."),
        (["orrin-tarn-t2-2019", "--language", "it"], "'it' is not one of"),
        (["orrin-tarn-t2-2019", "--condition", "sideways"], "'sideways' is not one of"),
    ],
)
def test_what_cannot_be_written_is_told(run: Run, tarn: str, words: list[str], told: str) -> None:
    ran = run("letter", *words)
    assert (ran.code, ran.out) == (2, "")
    assert told in " ".join(ran.err.split())
