"""How it works, the data's licence, and the API's documentation: drawn from the rules, the settings and the document."""

import json
import re
import shutil
from html import unescape
from pathlib import Path

import pytest

from app.core.claim import Condition
from app.core.confidence import METHODS
from app.core.lifecycle import State
from app.core.mass import Unit
from app.web.pages.api_reading import described
from app.web.pages.explaining import growth, licence, table, worked
from app.web.pages.ladder import CAPS, RUNGS
from app.web.pages.writing import points, said
from tests.web.pages.tabs import Square, Tab, square
from tests.web.serving import serving
from tests.web.story import API
from tests.web.test_roles import REVIEW, STEWARD, TABLE

HEAVIEST = 45 * 1024
"""What a page itself may weigh, beside what every page loads."""


@pytest.fixture
def tab(town: Square) -> Tab:
    """Somebody who is not signed in."""
    return Tab(town.client)


def cells(html: str) -> list[str]:
    """The rows of tables, in words."""
    return [" ".join(unescape(re.sub("<[^>]+>", " ", row)).split()) for row in html.split("<tr")[1:]]


def test_every_point_cap_and_state_of_the_method_is_told(tab: Tab) -> None:
    tab.get("/how")
    rows = " | ".join(cells(tab.html))
    for method in METHODS.values():
        assert len([rung for _, rungs in table(method) for rung in rungs]) == len(method.points)
        for code, worth in method.points.items():
            words = RUNGS.get(code, "the most that age takes away")
            assert f"{words} {points(worth)}" in rows, code
        for code, most in method.caps.items():
            assert f"{CAPS[code]} {most:.2f}" in rows, code
    for state in State:
        assert said(state, "state") in tab.text
    assert "age.most" not in tab.text


def test_a_good_claim_grows_as_the_caps_let_it(tab: Tab) -> None:
    grown = list(growth(METHODS["m1"]))
    assert [each.confidence for each in grown][:2] == [0.60, 0.79]
    assert grown[2].confidence > 0.8
    assert grown[2].cap is None
    assert f"{int(grown[2].confidence * 100) / 100:.2f}" in tab.get("/how").text


def test_the_example_is_worked_out_in_both_units(tab: Tab) -> None:
    """The method's worked example: 75 including the carrier, a platform of 25; two thirds of it off road."""
    road, rough = (worked(condition, Unit.KG) for condition in (Condition.ON_ROAD, Condition.OFF_ROAD))
    assert (road.budget.allowed, rough.budget.allowed) == (50_000, 25_000)
    tab.get("/how")
    assert "50 kg may go up on sealed roads and 25 kg off road, where the sticker says 100 kg" in tab.text
    sheets = tab.html.split('<section class="sheet"')[1:]
    assert len(sheets) == 2
    for sheet, each in zip(sheets, (road, rough), strict=True):
        assert len(cells(sheet.partition("</section>")[0])) == len(each.steps)
    pounds = tab.request("GET", "/how", Cookie="unit=lb").text
    assert "110.2 lb may go up on sealed roads" in pounds
    assert "a platform of 55.2 lb" in pounds
    assert " kg" not in pounds.partition("How a budget is worked out")[2].partition("These sheets")[0]


def test_the_licence_is_the_operators_choice(sqlite_template: Path, tmp_path: Path, town: Square, tab: Tab) -> None:
    tab.get("/data")
    assert "Creative Commons Attribution 4.0" in tab.text
    assert 'href="https://creativecommons.org/licenses/by/4.0/" rel="license"' in tab.html
    shutil.copyfile(sqlite_template, tmp_path / "registry.sqlite3")
    own = "<i>Our own</i> terms"
    with square(f"sqlite:///{tmp_path / 'registry.sqlite3'}", tmp_path, data_licence=own) as theirs:
        other = Tab(theirs.client).get("/data")
        assert "<i>Our own" not in other.html
        assert own in unescape(other.html)
        assert unescape(other.get("/changes.atom").html).count(own) == 1
    serving(town.registry)
    assert licence("odbl-1.0").address == "https://opendatacommons.org/licenses/odbl/1-0/"
    assert licence("Something else") == ("Something else", None, licence("Something else").asks)


# The API


def test_every_call_has_a_page_that_says_all_of_it(tab: Tab) -> None:
    document = tab.client.get(f"{API}/openapi.json").json()
    tab.get("/api")
    assert len(tab.html.encode()) < HEAVIEST
    links = set(re.findall(r'href="(/api/[a-z]+/[a-z0-9-]+)"', tab.html))
    calls = [(topic, call) for topic, found in described(document).items() for call in found.values()]
    assert links == {f"/api/{topic}/{call.anchor}" for topic, call in calls}
    assert len(calls) == sum(map(len, document["paths"].values()))
    for topic, call in calls:
        tab.get(f"/api/{topic}/{call.anchor}")
        operation = document["paths"][call.path][call.method.lower()]
        shown = unescape(tab.html)
        assert tab.status == 200
        assert len(tab.html.encode()) < HEAVIEST, call.path
        for said_so in (call.path, operation["summary"], call.who):
            assert said_so in shown, call.path
        for parameter in operation.get("parameters", ()):
            assert f'<span class="fname">{parameter["name"]}' in tab.html, call.path
        for status, answer in operation["responses"].items():
            told = f"<b>{status}</b>" if int(status) >= 400 else f"<code>{status}</code> "
            assert told + answer["description"] in shown, (call.path, status)
        for body in operation.get("requestBody", {}).get("content", {}).values():
            example = body["example"]
            assert all(f'"{name}": ' in shown for name in example), call.path
    assert tab.get("/api/nothing").status == 404
    assert tab.get("/api/answers/nothing").status == 404


def test_fields_are_told_with_their_types_and_limits(tab: Tab) -> None:
    page = tab.get("/api/claims/post-claims").text
    assert "subject must be given object" in page
    assert "subject.kind must be given one of carrier, fitment, fixing, gear, vehicle" in page
    assert "citations[].document must be given a document's id, as in D1017" in page
    assert "citations list of object, at most 20" in page
    assert "scope.years.from must be given whole number from 1900 to 2100" in page
    budget = tab.get("/api/answers/post-budget").text
    assert "fixing.given.own_mass number from 0 to 100000 or null" in budget
    assert "unit one of kg, lb; kg unless given" in budget
    assert "allowed_cargo number or null" in budget


def test_who_may_is_what_the_table_of_roles_says(tab: Tab) -> None:
    calls = [
        call for found in described(tab.client.get(f"{API}/openapi.json").json()).values() for call in found.values()
    ]
    told = {(call.method, call.path): call.who.partition(",")[0] for call in calls}
    for row, words in ((REVIEW, "Reviewers and stewards"), (STEWARD, "Stewards")):
        assert {call for call, who in told.items() if who == words} == {
            call for call, each in TABLE.items() if each == row
        }


def test_the_example_on_the_first_page_is_one(tab: Tab) -> None:
    shown = re.search(r"-d '(.*?)'</pre>", unescape(tab.get("/api").html), re.DOTALL)
    assert shown is not None
    answer = tab.client.post(f"{API}/budget", json=json.loads(shown[1]))
    assert (answer.status_code, answer.json()["allowed_cargo"]) == (200, 50.0)
