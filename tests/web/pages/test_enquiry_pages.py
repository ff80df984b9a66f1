"""Enquiries on pages: entered once, shown, closed once; and the letter that asks, as it goes on paper."""

import re
from html import unescape

import pytest

from app.core.letter_words import Language
from app.core.permissions import Role
from app.web.pages.letter_setting import set_letter
from tests.services.test_answering import counted
from tests.web.pages.tabs import Square, Tab
from tests.web.people import let_in
from tests.web.story import Story

HOSTILE = "</textarea><script>alert(1)</script>"


class Asking(Story):
    """A vehicle of which nothing is known, its maker and an importer, and people who sign in."""

    def __init__(self, town: Square) -> None:
        super().__init__(town.client, let_in(town.registry))
        self.publisher("Orrin", "vehicle_maker")
        self.post("/publishers", {"name": "Alder Imports", "kind": "importer", "importer_of": ["orrin"]})
        self.tarn = self.add("vehicles", maker="orrin", model="Tarn", series="T2", years={"from": 2019, "to": 2024})
        self.subject = {"kind": "vehicle", "id": self.tarn}
        self.asker = town.tab("rowan")
        self.steward = town.tab("hawthorn", Role.STEWARD)


@pytest.fixture(scope="module")
def asking(town: Square) -> Asking:
    """Somebody who asks."""
    return Asking(town)


@pytest.fixture
def anybody(town: Square) -> Tab:
    """Somebody who is not signed in."""
    return Tab(town.client)


def new(tab: Tab, vehicle: str, **said: str) -> list[tuple[str, str]]:
    """The form as it stands on the page, filled in."""
    tab.get(f"/enquiries/new?vehicle={vehicle}&condition=parked")
    assert tab.status == 200, tab.text
    kept = dict(tab.form("/enquiries/new").fields)
    words = re.search(r"<textarea[^>]*>(.*?)</textarea>", tab.html, re.DOTALL)
    assert words is not None
    given = {"quantity": "roof_limit", "channel": "letter", "questions": unescape(words[1])}
    return list({**kept, **given, **said}.items())


def test_an_enquiry_is_entered_once_from_what_the_letter_asks(asking: Asking, anybody: Tab) -> None:
    fields = new(asking.asker, asking.tarn)
    assert dict(fields)["asked"] == "orrin"
    assert dict(fields)["conditions"] == "parked"
    assert "1. What may the roof carry in this case?" in dict(fields)["questions"]
    asking.asker.post("/enquiries/new", fields)
    id = asking.asker.at.rpartition("/")[2]
    assert (asking.asker.status, id[0]) == (200, "E")
    entered = asking.get(f"/enquiries/{id}")
    assert (entered["asked"], entered["conditions"], entered["asked_on"]) == ("orrin", ["parked"], "2026-01-05")
    asking.asker.post("/enquiries/new", fields)
    assert asking.asker.at == f"/enquiries/{id}"
    anybody.get(f"/enquiries?subject_kind=vehicle&subject={asking.tarn}")
    assert re.findall(r'href="/enquiries/(E\d+)"', anybody.html) == [id]
    assert "Orrin about the roof limit of Orrin Tarn T2 , parked" in anybody.text
    assert "open until 2 February 2026" in anybody.text


def test_what_is_wrong_stands_beside_its_field_and_nothing_typed_is_lost(asking: Asking) -> None:
    fields = new(asking.asker, asking.tarn, asked="Nobody Ltd", questions=f"{HOSTILE} kept", asked_on="2026-02-30")
    asking.asker.post("/enquiries/new", fields)
    assert asking.asker.status == 422
    assert "<script>alert" not in asking.asker.html
    assert f"{HOSTILE} kept" in unescape(asking.asker.html)
    assert 'value="Nobody Ltd"' in asking.asker.html
    assert 'aria-describedby="fault-asked"' in asking.asker.html
    assert '<p class="fault" id="fault-asked"' in asking.asker.html
    assert 'value="parked" checked' in asking.asker.html
    fields = new(asking.asker, asking.tarn, asked_on="2026-02-30")
    asking.asker.post("/enquiries/new", fields)
    assert "The calendar has no day 2026-02-30" in asking.asker.text
    for wrong in ({"subject_kind": "person"}, {"subject": "nothing"}, {"quantity": "own_mass"}, {"channel": "pigeon"}):
        asking.asker.post("/enquiries/new", new(asking.asker, asking.tarn, **wrong))
        assert (asking.asker.status, 'class="fault"' in asking.asker.html) == (422, True), wrong


def test_who_is_not_signed_in_is_asked_to_and_keeps_what_was_typed(asking: Asking, anybody: Tab) -> None:
    assert anybody.get(f"/enquiries/new?vehicle={asking.tarn}").status == 401
    anybody.post("/enquiries/new", new(asking.asker, asking.tarn, questions="Kept, I hope?"))
    assert anybody.status == 401
    assert 'value="Kept, I hope?"' in anybody.html


def test_whoever_asked_closes_it_once_and_a_late_answer_still_counts(asking: Asking, town: Square) -> None:
    put = asking.asker.post("/enquiries/new", new(asking.asker, asking.tarn))
    id = put.at.rpartition("/")[2]
    other = Tab(town.client).get(f"/enquiries/{id}")
    assert "What came of it?" not in other.text
    asking.asker.get(f"/enquiries/{id}").fill(f"/enquiries/{id}", outcome="answered", note=f"{HOSTILE} said so")
    assert asking.asker.status == 422
    assert "File what was answered as a document" in asking.asker.text
    assert f"{HOSTILE} said so" in unescape(asking.asker.html)
    assert 'value="answered" checked' in asking.asker.html
    closing = dict(asking.asker.form(f"/enquiries/{id}").fields) | {"outcome": "no_answer"}
    for _ in range(2):
        asking.asker.post(f"/enquiries/{id}", closing)
        assert (asking.asker.status, asking.asker.at) == (200, f"/enquiries/{id}")
    asking.steward.get(f"/enquiries/{id}")
    assert "If one came after all" in asking.steward.text
    assert "did not answer" not in asking.steward.text
    asking.steward.fill(f"/enquiries/{id}", outcome="not_rated", note=HOSTILE)
    assert (asking.steward.status, "not rated for roof loads" in asking.steward.text) == (200, True)
    assert "<script>alert" not in asking.steward.html
    assert "What came of it?" not in asking.steward.text
    again = asking.steward.post(f"/enquiries/{id}", {**closing, "_key": "another"})
    assert again.status == 409
    assert other.post(f"/enquiries/{id}", {**closing, "_key": "third"}).status == 401


def test_the_list_is_newest_first_narrowed_and_goes_on(asking: Asking, anybody: Tab) -> None:
    asking.enquiry(asked="orrin", subject=asking.subject, conditions=["on_road"])
    with counted() as few:
        anybody.get("/enquiries?publisher=orrin")
    ids = [asking.enquiry(asked="alder-imports", subject=asking.subject, conditions=["on_road"]) for _ in range(22)]
    with counted() as many:
        anybody.get("/enquiries?publisher=alder-imports&state=open")
    # Whatever a row shows is read for all of them at once.
    assert len(many) == len(few)
    first = re.findall(r'href="/enquiries/(E\d+)"', anybody.html)
    assert first == ids[:-21:-1]
    more = unescape(re.findall(r'href="(/enquiries\?[^"]*cursor=[^"]*)"', anybody.html)[0])
    assert re.findall(r'href="/enquiries/(E\d+)"', anybody.get(more).html) == [ids[1], ids[0]]
    asking.asker.post("/enquiries/new", new(asking.asker, asking.tarn, asked="Alder Imports"))
    assert re.findall(r'href="/enquiries/(E\d+)"', anybody.get("/enquiries?publisher=Alder Imports").html)[1] == ids[-1]
    assert "Nobody has asked anything like this yet" in anybody.get("/enquiries?outcome=declined").text
    assert anybody.get("/enquiries?subject=x").status == 422
    assert anybody.get("/enquiries/E999999").status == 404


def test_the_letter_says_on_paper_what_it_says_as_text(asking: Asking, anybody: Tab) -> None:
    for language in Language:
        anybody.get(f"/vehicles/{asking.tarn}/letter?language={language}&condition=parked,on_road")
        written = asking.get(f"/vehicles/{asking.tarn}/letter", language=language, condition="parked,on_road")
        paper = anybody.html.partition('<article class="paper"')[2].partition("</article>")[0]
        assert paper.startswith(f' lang="{language}"')
        words = unescape(re.sub("<[^>]+>", " ", paper.partition(">")[2])).split()
        plain = re.sub(r"\.{8,}|^ *- |^ *\d+\. ", " ", written["text"], flags=re.MULTILINE).split()
        assert words == plain, language
        assert paper.count("<li>") == len(written["questions"]) + 2
    assert f"/api/v1/vehicles/{asking.tarn}/letter?format=text" in anybody.html
    assert anybody.get(f"/vehicles/{asking.tarn}/letter?publisher=Alder+Imports").status == 200
    assert "To: Alder Imports" in anybody.get(f"/vehicles/{asking.tarn}/letter?publisher=alder-imports").text
    assert anybody.get(f"/vehicles/{asking.tarn}/letter?publisher=nobody").status == 422
    assert anybody.get("/vehicles/nothing/letter").status == 404


def test_the_lines_of_a_letter_are_joined_as_they_were_broken() -> None:
    blocks = set_letter(
        "To: ..........\n\nA line\nbroken.\n\nKnown:\n- a: 75 kg\n  counted\n- b\n\n1. One\n   more\n2. Two:\n   - x\n     y\n   End.\n"
    )
    assert [each.kind for each in blocks] == ["write", "paragraph", "list", "questions"]
    assert (blocks[0].text, blocks[1].text) == ("To: ", "A line broken.")
    assert blocks[2].cases == ["a: 75 kg counted", "b"]
    assert blocks[3].questions == [("One more", [], ""), ("Two:", ["x y"], "End.")]
