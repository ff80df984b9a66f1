"""Files: what is taken, what is refused, and how they are given back."""

from hashlib import sha256
from typing import Any

import pytest

from tests.web.people import People
from tests.web.story import API, Story, pdf
from tests.web.talking import Client

PNG = b"\x89PNG\r\n\x1a\n rest"
JPEG = b"\xff\xd8\xff rest"


def upload(client: Client, people: People, name: str, content: bytes, **fields: str) -> Any:
    return client.post(
        f"{API}/documents",
        data={"publisher": "orrin", "kind": "handbook", **fields},
        files={"file": (name, content, "application/x-whatever")},
        headers=people["contributor"],
    )


@pytest.fixture
def publisher(client: Client, people: People) -> None:
    Story(client, people).publisher("Orrin", "vehicle_maker")


@pytest.mark.usefixtures("publisher")
@pytest.mark.parametrize(
    ("name", "content", "media_type"),
    [
        ("a.pdf", pdf(), "application/pdf"),
        ("a.PNG", PNG, "image/png"),
        ("a.jpeg", JPEG, "image/jpeg"),
    ],
)
def test_a_file_comes_back_as_it_went_in(
    name: str, content: bytes, media_type: str, client: Client, people: People
) -> None:
    filed = upload(client, people, name, content, title="Handbook", published="2021-03-01", language="en", market="NZ")
    assert filed.status_code == 201, filed.text
    shown = filed.json()
    assert shown["sha256"] == sha256(content).hexdigest()
    assert (shown["media_type"], shown["size"], shown["title"]) == (media_type, len(content), "Handbook")
    assert client.get(f"{API}/documents/{shown['id']}").json() == shown
    assert client.get(f"{API}/documents?publisher=orrin").json()["items"] == [shown]
    file = client.get(f"{API}/documents/{shown['id']}/file")
    assert file.content == content
    assert file.headers["content-type"] == media_type
    assert file.headers["content-disposition"].startswith(f'attachment; filename="{shown["id"]}.')
    assert file.headers["content-security-policy"] == "sandbox; default-src 'none'"
    assert file.headers["x-content-type-options"] == "nosniff"


@pytest.mark.usefixtures("publisher")
@pytest.mark.parametrize(
    ("name", "content", "status", "code"),
    [
        ("a.pdf", b"<html>", 415, "file_type"),
        ("a.html", pdf(), 415, "file_name"),
        ("a.png", pdf(), 415, "file_name"),
        ("a.pdf", b"", 415, "file_type"),
        ("a.pdf", b"  %PDF-1.7", 415, "file_type"),
        ("a.pdf", b"%PDF-" + b" " * 20 * 1024 * 1024, 413, "file_too_large"),
        ("a.pdf", b"%PDF-" + b" " * 21 * 1024 * 1024, 413, "body_too_large"),
    ],
)
def test_a_file_that_is_not_taken(
    name: str, content: bytes, status: int, code: str, client: Client, people: People
) -> None:
    answer = upload(client, people, name, content)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert client.get(f"{API}/documents").json()["items"] == []


@pytest.mark.usefixtures("publisher")
def test_the_same_file_is_filed_once(client: Client, people: People) -> None:
    content = pdf()
    first = upload(client, people, "a.pdf", content)
    again = upload(client, people, "b.pdf", content)
    assert (again.status_code, again.json()["code"]) == (409, "document_exists")
    assert again.json()["document"] == first.json()["id"]


@pytest.mark.usefixtures("publisher")
def test_fields_that_make_no_sense(client: Client, people: People) -> None:
    answer = upload(client, people, "a.pdf", pdf(), kind="handbok", published="last spring", titel="Handbook")
    assert answer.status_code == 422
    assert {(each["pointer"], each["code"]) for each in answer.json()["errors"]} == {
        ("/kind", "not_one_of"),
        ("/published", "bad_format"),
        ("/titel", "unknown_member"),
    }
    nobody = upload(client, people, "a.pdf", pdf(), publisher="vasquell")
    assert (nobody.status_code, nobody.json()["code"]) == (422, "no_such_publisher")
    without = client.post(
        f"{API}/documents", data={"publisher": "orrin"}, files={"filr": ("a.pdf", pdf())}, headers=people["contributor"]
    )
    assert (without.status_code, without.json()["code"]) == (422, "file_missing")
