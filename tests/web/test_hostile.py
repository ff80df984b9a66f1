"""Requests to every operation that nobody honest sends: each is refused in a sentence, and none is the server's fault.

Each operation is sent one of three odd things, and each odd thing goes to one of three operations; at night, all to all.
"""

import itertools
import re
from typing import Any

import pytest

from app.bootstrap import Registry
from tests.night import share
from tests.web.people import People
from tests.web.serving import serving
from tests.web.talking import Client

ODD = [
    "%00",
    "a%00b",
    "%ff",
    "%F0%9F%9A%99",
    "..%2f..%2fetc%2fpasswd",
    "x" * 3000,
    "-1",
    "C99999999999999999999",
    "%20",
    "'",
]
BODIES = [
    b"",
    b"null",
    b"[]",
    b"{}",
    b"[" * 100_000,
    b'{"a":' * 50_000,
    b'"\\ud800"',
    b'{"reason":"\\u0000","name":"\\u0000","q":"\\u0000"}',
    b'{"name":"\xff"}',
    b"\xef\xbb\xbf{}",
    b'{"years":{"from":1e400},"mass":NaN}',
    b'{"years":{"from":' + b"9" * 6000 + b"}}",
    b'{"condition":"on_road","given_roof":{"limit":"NaN"}}',
    b'{"condition":"on_road","given_roof":{"limit":1e999999}}',
    b'{"condition":"on_road","given_roof":{"limit":1e-999999}}',
    b'{"condition":"on_road","given_roof":{"limit":75},"min_confidence":"Infinity"}',
    b'{"condition":"on_road","given_roof":{"limit":75},"as_of":"' + b"9" * 30 + b'"}',
    b'{"condition":"on_road","given_roof":{"limit":75},"as_of":"0000-00-00T00:00:00Z"}',
    b'{"condition":"on_road","vehicle":"a","vehicle":"b"}',
]
HEADERS: list[dict[str, str | bytes]] = [
    {"Content-Type": "application/json; charset=utf-16"},
    {"Content-Type": "text/plain"},
    {"Content-Type": "multipart/form-data"},
    {"Content-Type": "multipart/form-data; boundary=x"},
    {"If-None-Match": 'W/"a", "b", ,'},
    {"Idempotency-Key": "é".encode()},
    {"Authorization": "Basic Zm9vOmJhcg=="},
    {"Authorization": b"Bearer \xff\xfe"},
]


@pytest.fixture
def operations(registry: Registry) -> list[tuple[str, str, Any]]:
    described = serving(registry).openapi()["paths"]
    return [
        (method.upper(), path, operation)
        for path, methods in described.items()
        for method, operation in methods.items()
    ]


def is_a_clean_refusal(answer: Any) -> bool:
    if answer.status_code < 400:
        return True
    told = answer.json()
    return (
        answer.status_code < 500
        and answer.headers["content-type"] == "application/problem+json"
        and told["status"] == answer.status_code
        and bool(re.fullmatch(r"[a-z][a-z0-9_]*", told["code"]))
        and "Traceback" not in answer.text
    )


def test_odd_paths(client: Client, people: People, operations: list[tuple[str, str, Any]]) -> None:
    turns = itertools.count()
    for method, path, _ in operations:
        for odd in share(ODD, 3, next(turns)) if "{" in path else ():
            url = re.sub(r"\{[^}]+\}", odd, path)
            answer = client.request(method, url, headers=people["steward"], params=None)
            assert is_a_clean_refusal(answer), (method, url[:80], answer.text[:300])


def test_odd_queries(client: Client, operations: list[tuple[str, str, Any]]) -> None:
    turns = itertools.count()
    for method, path, operation in operations:
        names = [each["name"] for each in operation.get("parameters", ()) if each["in"] == "query"]
        for name in [*names, "unheard_of"] if method == "GET" else ():
            for odd in share(ODD, 3, next(turns)):
                url = re.sub(r"\{[^}]+\}", "x", path) + f"?{name}={odd}&{name}={odd}"
                answer = client.get(url)
                assert is_a_clean_refusal(answer), (url[:80], answer.text[:300])


def test_odd_bodies(client: Client, people: People, operations: list[tuple[str, str, Any]]) -> None:
    turns = itertools.count()
    for method, path, _ in operations:
        url = re.sub(r"\{[^}]+\}", "x", path)
        for body in share(BODIES, 3, next(turns)) if method == "POST" else ():
            headers = {**people["steward"], "Content-Type": "application/json"}
            answer = client.post(url, content=body, headers=headers)
            assert is_a_clean_refusal(answer), (url, body[:60], answer.text[:300])


def test_odd_headers(client: Client, people: People, operations: list[tuple[str, str, Any]]) -> None:
    turns = itertools.count()
    for method, path, _ in operations:
        url = re.sub(r"\{[^}]+\}", "x", path)
        for odd in share(HEADERS, 3, next(turns)):
            answer = client.request(method, url, content=b"{}", headers={**people["steward"], **odd})
            assert is_a_clean_refusal(answer), (url, odd, answer.text[:300])


def test_odd_forms(client: Client, people: People) -> None:
    file = ("page.pdf", b"%PDF-1.7")
    forms: list[dict[str, Any]] = [
        {"data": {"publisher": "x\0", "kind": "handbook"}, "files": {"file": file}},
        {"data": {"publisher": "x", "kind": "handbook", "title": "a\0b"}, "files": {"file": file}},
        {"data": {"publisher": ["x", "y"], "kind": "handbook"}, "files": {"file": file}},
        {"data": {"publisher": "x", "kind": "handbook", "file": "no file"}},
        {"data": {"publisher": "x", "kind": "handbook"}, "files": {"other": file}},
        {"data": {"publisher": "x", "kind": "handbook"}, "files": {"file": ("../../\0.pdf", b"%PDF-1.7")}},
        {"data": {f"field{number}": "x" for number in range(50)}, "files": {"file": file}},
        {"content": b"--x\r\nnot a form", "headers": {"Content-Type": "multipart/form-data; boundary=x"}},
    ]
    for form in forms:
        headers = {**people["contributor"], **form.pop("headers", {})}
        answer = client.post("/api/v1/documents", headers=headers, **form)
        assert is_a_clean_refusal(answer), (form, answer.text[:300])
        assert answer.status_code >= 400
