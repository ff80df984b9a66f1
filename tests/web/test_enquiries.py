"""Enquiries over HTTP: entered, closed, listed, told by refusals; and the letter that asks."""

from typing import Any, Final

import pytest

from tests.web.people import People
from tests.web.story import API, Story
from tests.web.talking import Client

ASKED: dict[str, Any] = {
    "asked": "orrin",
    "quantity": "roof_limit",
    "conditions": ["on_road", "parked"],
    "channel": "email",
    "questions": "What may the roof carry? Is the rack counted?",
    "asked_on": "2026-01-05",
}


class Asking(Story):
    """A vehicle of which nothing is known, and its maker."""

    def __init__(self, client: Client, people: People) -> None:
        super().__init__(client, people)
        self.maker = self.publisher("Orrin", "vehicle_maker")
        self.tarn = self.add("vehicles", maker=self.maker, model="Tarn", series="T2", years={"from": 2019, "to": 2024})
        self.subject = {"kind": "vehicle", "id": self.tarn}

    def limit(self, **query: Any) -> Any:
        return self.get(f"/vehicles/{self.tarn}/limit", condition="on_road", **query)


@pytest.fixture
def asking(client: Client, people: People) -> Asking:
    return Asking(client, people)


def test_what_was_asked_and_what_came_back(asking: Asking) -> None:
    put = asking.post("/enquiries", {**ASKED, "subject": asking.subject, "language": "en"})
    assert put["id"].startswith("E")
    assert {key: put[key] for key in ASKED} == ASKED
    assert (put["subject"], put["asked_name"], put["state"]) == (asking.subject, "Orrin", "open")
    assert (put["answer_by"], put["outcome"], put["document"]) == ("2026-02-02", None, None)
    assert asking.get(f"/enquiries/{put['id']}") == put
    assert asking.limit()["refusal"]["kind"] == "no_claim"

    told = {"outcome": "quoted_carrier_rating", "note": "Of their own bars.", "answered_on": "2026-01-20"}
    closed = asking.post(f"/enquiries/{put['id']}/outcome", {**told, "ask_again": "2027-01-20"})
    assert (closed["state"], closed["closed_on"], closed["note"]) == ("closed", "2026-01-20", "Of their own bars.")
    assert asking.get("/enquiries", subject_kind="vehicle", subject=asking.tarn)["items"] == [closed]
    assert asking.get("/enquiries", state="open")["items"] == []
    assert asking.get("/enquiries", ask_again_before="2027-02-01", publisher="orrin")["items"] == [closed]

    refusal = asking.limit()["refusal"]
    assert refusal["kind"] == "asked_no_answer"
    assert refusal["enquiries"] == [
        {
            "id": put["id"],
            "publisher": "orrin",
            "outcome": "quoted_carrier_rating",
            "asked_on": "2026-01-05",
            "on": "2026-01-20",
        }
    ]
    assert "Asked Orrin on 5 January 2026: quoted only a carrier's rating, on 20 January 2026." in refusal["sentence"]
    assert asking.limit(as_of=int(put["id"][1:]))["refusal"]["kind"] == "no_claim"
    budget = asking.budget(vehicle=asking.tarn, condition="on_road")
    assert [each["enquiries"] for each in budget["refusals"]] == [refusal["enquiries"]]


def test_an_answer_that_something_depends_on_has_a_new_tag(asking: Asking, client: Client) -> None:
    url = f"{API}/vehicles/{asking.tarn}/limit?condition=on_road"
    first = client.get(url).headers["ETag"]
    assert client.get(url, headers={"If-None-Match": first}).status_code == 304
    id = asking.enquiry(**{**ASKED, "subject": asking.subject})
    asking.post(f"/enquiries/{id}/outcome", {"outcome": "declined"})
    again = client.get(url, headers={"If-None-Match": first})
    assert (again.status_code, again.headers["ETag"] == first) == (200, False)


def test_who_asked_or_a_steward_closes_it(asking: Asking) -> None:
    first, second = (asking.enquiry(**{**ASKED, "subject": asking.subject}) for _ in range(2))
    for by, status, code in (("reviewer", 403, "not_the_asker"), ("anonymous", 401, "token_missing")):
        refused = asking.post(f"/enquiries/{first}/outcome", {"outcome": "declined"}, by, status)
        assert refused["code"] == code
    assert asking.post(f"/enquiries/{first}/outcome", {"outcome": "no_answer"}, "steward")["outcome"] == "no_answer"
    late = asking.post(f"/enquiries/{first}/outcome", {"outcome": "not_rated"})
    assert (late["outcome"], late["closed_by"]) == ("not_rated", late["by"])
    again = asking.post(f"/enquiries/{first}/outcome", {"outcome": "declined"}, "contributor", 409)
    assert (again["code"], again["outcome"]) == ("already_closed", "not_rated")
    assert asking.get(f"/enquiries/{second}")["state"] == "open"


def test_the_same_request_with_the_same_key_is_done_once(asking: Asking, client: Client, people: People) -> None:
    headers = {**people["contributor"], "Idempotency-Key": "ask-1"}
    body = {**ASKED, "subject": asking.subject}
    first, again = (client.post(f"{API}/enquiries", json=body, headers=headers) for _ in range(2))
    assert (first.status_code, again.status_code, again.text) == (201, 201, first.text)
    assert len(asking.get("/enquiries")["items"]) == 1
    other = client.post(f"{API}/enquiries", json={**body, "asked_on": "2026-01-04"}, headers=headers)
    assert (other.status_code, other.json()["code"]) == (409, "idempotency_key_reused")


NONSENSE: Final[list[tuple[dict[str, Any], str, str]]] = [
    ({"condition": "on_road"}, "/condition", "unknown_member"),
    ({"conditions": ["sideways"]}, "/conditions/0", "not_one_of"),
    ({"conditions": ["on_road"] * 4}, "/conditions", "too_many"),
    ({"channel": "pigeon"}, "/channel", "not_one_of"),
    ({"questions": ""}, "/questions", "too_short"),
    ({"questions": "x" * 4001}, "/questions", "too_long"),
    ({"questions": "a\0b"}, "/questions", "bad_character"),
    ({"asked_on": "yesterday"}, "/asked_on", "bad_format"),
    ({"asked_on": "2026-02-30"}, "/asked_on", "bad_day"),
    ({"asked_on": "2199-01-01"}, "/asked_on", "day_ahead"),
    ({"answer_by": "2026-01-04"}, "/answer_by", "days_backwards"),
    ({"language": "English"}, "/language", "bad_format"),
    ({"asked": "Orrin Ltd"}, "/asked", "bad_format"),
    ({"subject": {"kind": "person", "id": "x"}}, "/subject/kind", "not_one_of"),
    ({"subject": {"kind": "vehicle", "id": "%00"}}, "/subject/id", "no_such_vehicle"),
]


def test_what_makes_no_sense_is_refused(asking: Asking) -> None:
    for other, pointer, code in NONSENSE:
        refused = asking.post("/enquiries", {**ASKED, "subject": asking.subject, **other}, "contributor", 422)
        assert (pointer, code) in [(each["pointer"], each["code"]) for each in refused["errors"]], other
    assert asking.get("/enquiries")["items"] == []


def test_a_subject_is_asked_for_with_its_kind(asking: Asking, client: Client) -> None:
    refused = client.get(f"{API}/enquiries?subject={asking.tarn}")
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "/subject_kind")


def test_enquiries_go_on_from_a_cursor(asking: Asking) -> None:
    ids = [asking.enquiry(**{**ASKED, "subject": asking.subject}) for _ in range(3)]
    page = asking.get("/enquiries", limit=2)
    rest = asking.get("/enquiries", limit=2, cursor=page["next"])
    assert [each["id"] for each in [*page["items"], *rest["items"]]] == ids
    assert rest["next"] is None


# The letter


def test_a_letter_to_the_maker(asking: Asking) -> None:
    letter = asking.get(f"/vehicles/{asking.tarn}/letter")
    assert (letter["to"], letter["to_name"], letter["language"]) == ("orrin", "Orrin", "en")
    assert letter["subject"] == "Subject: roof load of the Orrin Tarn T2 (model years 2019 to 2024)"
    assert len(letter["questions"]) == 8
    assert max(map(len, letter["text"].split("\n"))) <= 72


def test_a_letter_as_text_is_ready_to_print(asking: Asking, client: Client) -> None:
    dealer = asking.publisher("Autohaus Grünwald", "dealer")
    query = {"format": "text", "language": "de", "publisher": dealer, "condition": "off_road,parked"}
    answer = client.get(f"{API}/vehicles/{asking.tarn}/letter", params=query)
    assert answer.headers["content-type"] == "text/plain; charset=utf-8"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "An: Autohaus Grünwald\n" in answer.text
    assert "auf befestigten Straßen" not in answer.text
    assert "- im Stand" in answer.text


@pytest.mark.parametrize(
    ("query", "status", "pointer", "code"),
    [
        ("publisher=nobody", 422, "/publisher", "no_such_publisher"),
        ("language=it", 422, "/language", "bad_input"),
        ("condition=sideways", 422, "/condition/0", "bad_input"),
        ("format=pdf", 422, "/format", "bad_input"),
        ("year=2020", 422, "/year", "bad_input"),
    ],
)
def test_letters_that_are_not_written(
    asking: Asking, client: Client, query: str, status: int, pointer: str, code: str
) -> None:
    answer = client.get(f"{API}/vehicles/{asking.tarn}/letter?{query}")
    told = answer.json()
    assert (answer.status_code, told["code"]) == (status, code), answer.text
    assert [each["pointer"] for each in told["errors"]] == [pointer]


def test_a_letter_about_nothing(client: Client) -> None:
    answer = client.get(f"{API}/vehicles/nothing/letter")
    assert (answer.status_code, answer.json()["code"]) == (404, "no_such_vehicle")
