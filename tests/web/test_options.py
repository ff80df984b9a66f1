"""What else could be done with a load, over HTTP: every number is a budget's own, then as now."""

from typing import Any

import pytest

from app.bootstrap import Registry
from app.services import options
from tests.web.people import People
from tests.web.story import API, Trade
from tests.web.talking import Client

MAIN = (
    "verdict",
    "reasons",
    "allowed_cargo",
    "ceiling",
    "remaining",
    "remaining_worst",
    "carrier_alone_exceeds",
    "mass_on_roof",
    "binding",
    "vetted",
    "confidence",
    "weakest",
)


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here stands in front of the database, whichever that is."""
    return sqlite_url


class Fitted(Trade):
    """The worked example with what fits the vehicle: two platforms, bars, and bars that nobody has confirmed."""

    def __init__(self, client: Client, people: People) -> None:
        super().__init__(client, people)
        self.fits = {each: self._fits(each) for each in (self.platform, self.rough, self.bars)}
        self.doubtful = self._carrier("Tarn Bars", "crossbars", "4", "75", "pellwick", self.sheet)
        self.fits[self.doubtful] = self.add("fitments", vehicle=self.tarn, carrier=self.doubtful)

    def _fits(self, carrier: str) -> str:
        id = self.add("fitments", vehicle=self.tarn, carrier=carrier)
        self.confirmed("fitments", id, self.sheet)
        return id

    def asked(self, *gear: dict[str, Any], condition: str = "on_road", **more: Any) -> dict[str, Any]:
        carriers = [{"id": self.platform}]
        return {"vehicle": self.tarn, "condition": condition, "carriers": carriers, "gear": list(gear), **more}

    def options(self, **body: Any) -> Any:
        return self.post("/budget/options", body, "anonymous", 200)


def main(answer: Any) -> dict[str, Any]:
    return {name: answer[name] for name in MAIN}


def test_it_says_what_budgets_say_and_where_nothing_helps(client: Client, people: People) -> None:
    # One registry serves all: to build it takes longest.
    trade = Fitted(client, people)
    every_number_is_that_of_a_budget(trade)
    nothing_helps(trade)
    in_pounds_what_is_left_behind_is_enough_by_the_budget_too(trade)
    what_makes_no_sense_is_refused(trade)


def every_number_is_that_of_a_budget(trade: Fitted) -> None:
    tent = {"name": "tent", "mass": 48, "stays": True}
    asked = trade.asked(tent, {"name": "can", "mass": 10, "tolerance": 1, "quantity": 2})
    found = trade.options(**asked)
    plain = {**asked, "gear": [{k: v for k, v in each.items() if k != "stays"} for each in asked["gear"]]}
    assert main(found["asked"]) == main(trade.budget(**plain))
    racks = [(each["carriers"][0], each["difference"], each["confirmed"]) for each in found["alternatives"]]
    assert racks == [
        (trade.bars, 20.0, True),
        (trade.rough, 0.0, True),
        (trade.platform, 0.0, True),
        (trade.doubtful, 21.0, False),
    ]
    assert [each["is_asked"] for each in found["alternatives"]] == [False, False, True, False]
    assert {each["carriers"][0]: each["fitment"] for each in found["alternatives"]} == trade.fits
    for each in found["alternatives"]:
        assert each["fixing"] == "built_in"
        other = [{"id": each["carriers"][0]}]
        assert main(each) == main(trade.budget(**{**plain, "carriers": other, "fixing": "built_in"}))
    for each in found["conditions"]:
        assert main(each) == main(trade.budget(**{**plain, "condition": each["condition"]}))
    assert [each["condition"] for each in found["conditions"]] == ["on_road", "off_road", "parked"]
    # 50 kg may go up; the tent of 48 stays, so both cans go: 11 kg each at most.
    leave = found["leave_behind"]
    assert (leave["outcome"], leave["pieces"], leave["mass"], leave["lightest"]) == ("leave", 2, 22.0, True)
    assert leave["things"] == [{"gear": 1, "name": "can", "pieces": 2, "quantity": 2, "mass": 22.0}]
    assert main(leave["then"]) == main(trade.budget(**{**plain, "gear": plain["gear"][:1]}))
    # 70 kg with the bars: 68 + 2 just fits. What nobody confirmed to fit is no way.
    assert [(each["kind"], each["carriers"], each["remaining_worst"]) for each in found["ways"]] == [
        ("leave_behind", [trade.platform], 2.0),
        ("other_carrier", [trade.bars], 0.0),
    ]
    for key in ("cautions", "receipt", "notes"):
        assert found[key]
    assert trade.options(**asked) == found


def test_as_of_an_entry_it_is_the_same_for_ever(
    client: Client, people: People, registry: Registry, monkeypatch: pytest.MonkeyPatch
) -> None:
    trade = Fitted(client, people)
    asked = trade.asked({"name": "can", "mass": 20, "quantity": 4}, condition="off_road")
    first = client.post(f"{API}/budget/options", json=asked)
    then = first.json()
    assert first.headers["etag"] == f'"{then["receipt"]["digest"][7:39]}"'
    assert first.headers["access-control-allow-origin"] == "*"
    registry.answers.demand.taken()
    client.post(f"{API}/budget/options", json=asked)
    assert not registry.answers.demand.taken()
    # One more rack that fits, and one that weighs more than was said.
    light = trade._carrier("Feather", "crossbars", "3", "75", "pellwick", trade.sheet)
    trade._fits(light)
    heavier = trade.vetted("carrier", trade.bars, "own_mass", "8", trade.sheet, basis="includes_fixing")
    now = trade.options(**asked)
    assert now["receipt"]["digest"] != then["receipt"]["digest"]
    assert heavier
    # Of the platform for rough roads it is known what it bears there; of the others nobody has said so.
    racks = [(each["carriers"][0], each["off_road_unsaid"], each["difference"]) for each in now["alternatives"]]
    assert racks[:3] == [(trade.rough, False, None), (light, True, 22.0), (trade.bars, True, 17.0)]
    assert racks[-1][0] == trade.doubtful
    known = trade.options(**{**asked, "carriers": [{"id": trade.rough}]})
    assert [each["difference"] for each in known["alternatives"]][:2] == [0.0, None]
    assert [each["carriers"] for each in known["ways"] if each["kind"] == "other_carrier"] == []
    assert trade.options(**asked, as_of=then["receipt"]["as_of"]) == then
    assert trade.options(**asked, as_of=now["receipt"]["as_of"]) == now
    # However many fit: a bounded number is compared, those that are confirmed first.
    monkeypatch.setattr(options, "MOST_COMPARED", 2)
    some = trade.options(**asked)
    assert (len(some["alternatives"]), some["not_compared"]) == (2, 3)
    assert all(each["confirmed"] for each in some["alternatives"])


def nothing_helps(trade: Fitted) -> None:
    within = trade.options(**trade.asked({"name": "can", "mass": 20}))
    assert (within["leave_behind"]["outcome"], within["leave_behind"]["things"], within["ways"]) == ("nothing", [], [])
    stays = trade.options(**trade.asked({"name": "safe", "mass": 90, "stays": True}, {"name": "can", "mass": 20}))
    assert (stays["leave_behind"]["outcome"], stays["ways"]) == ("what_stays_exceeds", [])
    unknown = trade.options(**trade.asked({"name": "crate"}, {"name": "can", "mass": 20}))
    assert unknown["asked"]["verdict"] == "unknown"
    assert [each["name"] for each in unknown["leave_behind"]["things"]] == ["crate"]
    assert unknown["leave_behind"]["things"][0]["mass"] is None
    assert unknown["alternatives"][0]["difference"] == 20.0
    own = {"condition": "on_road", "given_roof": {"limit": 20}, "carriers": [{"given": {"own_mass": 25}}]}
    alone = trade.options(**{**own, "carriers": [{"given": {"own_mass": 25, "load_rating": 90}}]})
    assert (alone["leave_behind"]["outcome"], alone["alternatives"]) == ("rack_alone_exceeds", [])
    assert (alone["asked"]["carriers"], alone["asked"]["fixing"]) == (["given"], None)
    assert trade.options(**own)["leave_behind"]["outcome"] == "limit_unknown"
    parked = trade.options(**trade.asked({"name": "can", "mass": 20}, condition="parked", people=[{"mass": 80}]))
    assert [each["without_people"] for each in parked["conditions"]] == [True, True, False]
    assert parked["leave_behind"]["outcome"] == "what_stays_exceeds"
    assert parked["ways"] == []


def what_makes_no_sense_is_refused(trade: Fitted) -> None:
    client = trade.client
    refused = client.post(f"{API}/budget/options", json={"vehicle": "orrin-nothing", "condition": "on_road"})
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "/vehicle")
    riding = client.post(f"{API}/budget/options", json=trade.asked(people=[{"mass": 80}]))
    assert riding.json()["errors"][0]["code"] == "people_while_driving"
    marked = client.post(f"{API}/budget", json=trade.asked({"name": "can", "mass": 20, "stays": True}))
    assert marked.json()["errors"][0]["pointer"] == "/gear/0/stays"


def in_pounds_what_is_left_behind_is_enough_by_the_budget_too(trade: Fitted) -> None:
    gear = [{"name": "a", "mass": 33.333, "quantity": 3}, {"name": "b", "mass": 27.777, "tolerance": 0.111}]
    found = trade.options(**trade.asked(*gear, unit="lb"))
    leave = found["leave_behind"]
    assert [(each["name"], each["pieces"]) for each in leave["things"]] == [("b", 1)]
    assert leave["mass"] >= 27.888
    kept = trade.budget(**trade.asked(gear[0], unit="lb"))
    assert (main(leave["then"]), kept["verdict"]) == (main(kept), "within")
    assert found["alternatives"][0]["difference"] == 44.092
