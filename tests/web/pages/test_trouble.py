"""What goes wrong outside of the pages' own routes is told as a page to a browser, and as a problem to a program."""

import asyncio
from typing import Any, Final

import pytest
from starlette.responses import Response
from starlette.types import ASGIApp

from app.web.errors import problem
from app.web.main import API
from app.web.pages.rendering import PAGE_CSP
from app.web.pages.troubled import Troubled
from tests.web.pages.tabs import Square, Tab

BROWSER: Final = "text/html,application/xhtml+xml,*/*;q=0.8"
HOSTILE: Final = "<script>alert(1)</script>"


@pytest.fixture(scope="module")
def tab(town: Square) -> Tab:
    """Somebody who is not signed in."""
    return Tab(town.client)


def test_an_address_that_leads_nowhere_is_told_as_a_page(tab: Tab) -> None:
    tab.request("GET", "/no/such/page", Accept=BROWSER)
    assert (tab.status, "There is nothing here" in tab.text) == (404, True)
    assert tab.headers["content-security-policy"] == PAGE_CSP
    assert tab.headers["cache-control"] == "no-store"
    assert 'action="/find"' in tab.html
    assert tab.request("GET", f"/no/{HOSTILE}", Accept=BROWSER).html.count(HOSTILE) == 0
    for path, accept in (("/no/such/page", "*/*"), (f"{API}/no/such/call", BROWSER)):
        told = tab.request("GET", path, Accept=accept)
        assert (told.status, told.headers["content-type"]) == (404, "application/problem+json"), path


def test_a_step_of_a_form_that_is_opened_by_its_address_says_so(tab: Tab) -> None:
    tab.request("GET", "/submit/check", Accept=BROWSER)
    assert (tab.status, "a step of a form" in tab.text, tab.headers["allow"]) == (405, True, "POST")


async def _asked(app: ASGIApp, path: str = "/submit/document") -> tuple[int, dict[str, str], str]:
    heard: list[Any] = []

    async def receive() -> Any:
        return {"type": "http.request"}

    async def send(message: Any) -> None:
        heard.append(message)

    scope = {"type": "http", "method": "POST", "path": path, "headers": [(b"accept", BROWSER.encode())], "state": {}}
    await Troubled(app, prefix=API)(scope, receive, send)
    begun, *rest = heard
    headers = {name.decode(): value.decode() for name, value in begun["headers"]}
    return begun["status"], headers, b"".join(each.get("body", b"") for each in rest).decode()


@pytest.mark.parametrize(
    ("status", "code", "words"),
    [
        (429, "too_many_requests", "Too much at once"),
        (413, "body_too_large", "This is too large"),
        (500, "internal_error", "This did not work"),
        (403, "cross_site", "This is not for you to do"),
        (409, "conflict", "This was not done"),
    ],
)
def test_every_refusal_has_its_page(status: int, code: str, words: str) -> None:
    refusal = problem(status, code, f"Because {HOSTILE}.", headers={"Retry-After": "7"})
    came, headers, body = asyncio.run(_asked(refusal))
    assert (came, headers["retry-after"], headers["content-type"]) == (status, "7", "text/html; charset=utf-8")
    assert int(headers["content-length"]) == len(body.encode())
    assert (words in body, HOSTILE in body, "Because &lt;script&gt;" in body) == (True, False, True)
    assert asyncio.run(_asked(refusal, f"{API}/claims"))[1]["content-type"] == "application/problem+json"


def test_what_is_no_refusal_goes_by_as_it_is() -> None:
    assert asyncio.run(_asked(Response("there", 201)))[::2] == (201, "there")
