"""Lists go on from a cursor to their end, each thing once; finding forgives typing errors."""

from typing import Any

import pytest

from tests.web.people import People
from tests.web.story import API, Story, Trade
from tests.web.talking import Client


def pages(client: Client, path: str, limit: int) -> list[list[Any]]:
    found: list[list[Any]] = []
    cursor = None
    while True:
        query = {"limit": limit} | ({} if cursor is None else {"cursor": cursor})
        page = client.get(f"{API}{path}", params=query).json()
        found.append(page["items"])
        cursor = page["next"]
        if cursor is None:
            return found


def test_every_list_goes_on_to_its_end(client: Client, people: People) -> None:
    trade = Trade(client, people)
    maker = trade.publisher("Vasquell", "vehicle_maker")
    for year in range(2010, 2015):
        trade.add("vehicles", maker=maker, model="Brindle", years={"from": year, "to": year})
    for path in ("/vehicles", "/carriers", "/publishers", "/documents", f"/claims/{trade.roof}/history",
                 f"/carriers/{trade.rough}/claims"):  # fmt: skip
        whole = client.get(f"{API}{path}").json()
        assert whole["next"] is None
        for limit in (1, 2, len(whole["items"])):
            found = pages(client, path, limit)
            assert [each for page in found for each in page] == whole["items"], path
            assert all(len(page) == limit for page in found[:-1])
            assert found[-1]


def test_the_feed_of_changes_misses_nothing(client: Client, people: People) -> None:
    trade = Trade(client, people)
    seen: list[Any] = []
    after: str | None = "0"
    while after is not None:
        page = trade.get("/changes", after=after, limit=7)
        seen += page["items"]
        after = page["next"]
    assert [each["entry"]["seq"] for each in seen] == list(range(1, page["head"] + 1))
    assert seen[0]["entry"]["type"] == "method_adopted"
    effects = [effect["effect"] for each in seen for effect in each["plates"]]
    assert "set" in effects
    assert trade.get("/changes", after=page["head"])["items"] == []


@pytest.mark.parametrize("query", ["limit=0", "limit=201", "limit=many", "cursor=%2B1"])
def test_a_page_that_is_none(query: str, client: Client) -> None:
    answer = client.get(f"{API}/documents?{query}")
    assert answer.status_code == 422
    assert [each["pointer"] for each in answer.json()["errors"]] == ["/" + query.partition("=")[0]]


def test_a_filter_is_never_passed_over(client: Client) -> None:
    for asked, pointer, code in (
        ("vehicles?makr=orrin", "/makr", "unknown_member"),
        ("vehicles?category=awning", "/category", "unknown_member"),
        ("vehicles?maker=orrin&maker=vasquell", "/maker", "given_twice"),
        ("vehicles?maker=Orrin%20Ltd", "/maker", "bad_format"),
        ("carriers?year=1800", "/year", "out_of_range"),
        ("fitments?year=2020", "/year", "unknown_member"),
        ("publishers?q=orrin", "/q", "unknown_member"),
        ("documents?limit=201", "/limit", "out_of_range"),
        ("claims/C1/history?after=5", "/after", "unknown_member"),
        ("enquiries?state=done", "/state", "not_one_of"),
        ("enquiries?ask_again_before=soon", "/ask_again_before", "bad_format"),
        ("changes?after=first", "/after", "bad_format"),
        ("changes?cursor=5", "/cursor", "unknown_member"),
    ):
        answer = client.get(f"{API}/{asked}")
        assert (answer.status_code, answer.json()["code"]) == (422, "bad_input"), answer.text
        assert [(each["pointer"], each["code"]) for each in answer.json()["errors"]] == [(pointer, code)]


def test_a_filter_that_is_left_empty_is_left_out(client: Client, people: People) -> None:
    story = Story(client, people)
    tarn = story.add("vehicles", maker=story.publisher("Orrin", "vehicle_maker"), model="Tarn", years={"from": 2019})
    found = client.get(f"{API}/vehicles?q=&maker=&year=&cursor=&limit=").json()
    assert [each["id"] for each in found["items"]] == [tarn]


def test_finding_forgives_typing_errors(client: Client, people: People) -> None:
    story = Story(client, people)
    orrin, vasquell = story.publisher("Orrin", "vehicle_maker"), story.publisher("Vasquell", "vehicle_maker")
    tarn = story.add("vehicles", maker=orrin, model="Tarn", series="T2", years={"from": 2019, "to": 2024})
    older = story.add("vehicles", maker=orrin, model="Tarn", series="T1", years={"from": 2008, "to": 2018})
    brindle = story.add("vehicles", maker=vasquell, model="Brindle", years={"from": 2015})

    def found(**query: Any) -> list[str]:
        return [each["id"] for each in story.get("/vehicles", **query)["items"]]

    assert found(q="orin tarn t2")[0] == tarn
    assert found(q="brindel") == [brindle]
    assert found(q="tarn", year=2012) == [older]
    assert found(q="tarn", maker=vasquell) == []
    assert found(maker=orrin) == [older, tarn]
    assert found(year=2020) == [tarn, brindle]
    assert found(q="tarn", limit=1) == found(q="tarn")[:1]
    assert found(q="xyzzy") == []


def test_gear_is_listed_by_category(client: Client, people: People) -> None:
    story = Story(client, people)
    maker = story.publisher("Bivvenholt", "gear_maker")
    tent = story.add("gear", maker=maker, model="Dormelle", category="rooftop_tent")
    story.add("gear", maker=maker, model="Sunward", category="awning")
    assert [each["id"] for each in story.get("/gear", category="rooftop_tent")["items"]] == [tent]
    categories = story.get("/gear/categories")
    assert categories["source"] == "common practice, no source"
    assert {"id": "rooftop_tent", "name": "Rooftop tent", "usual_low": 50.0, "usual_high": 100.0} in categories["items"]
