"""What goes wrong outside of the pages' own routes is told as a page to a browser, and as a problem to a program."""

import asyncio
from types import SimpleNamespace
from typing import Any, Final

import pytest
from starlette.responses import Response
from starlette.types import ASGIApp

from app.core.errors import CantrailError, Fault, Kind
from app.services.faults import bad_input
from app.web.errors import problem
from app.web.main import API
from app.web.pages.forms import Faulty
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


async def _asked(app: ASGIApp, path: str = "/submit/document", state: Any = None) -> tuple[int, dict[str, str], str]:
    heard: list[Any] = []

    async def receive() -> Any:
        return {"type": "http.request"}

    async def send(message: Any) -> None:
        heard.append(message)

    scope = {"type": "http", "method": "POST", "path": path, "headers": [(b"accept", BROWSER.encode())], "state": {}}
    scope["state"] = {} if state is None else {"asked": state}
    await Troubled(app, prefix=API)(scope, receive, send)
    begun, *rest = heard
    headers = {name.decode(): value.decode() for name, value in begun["headers"]}
    return begun["status"], headers, b"".join(each.get("body", b"") for each in rest).decode()


@pytest.mark.parametrize(
    ("status", "code", "words"),
    [
        (429, "too_many_requests", "Too much at once"),
        (413, "file_too_large", "This is too large"),
        (500, "a_mistake", "This did not work"),
        (503, "storage_unavailable", "This cannot be done now"),
        (403, "role_too_low", "This is not for you to do"),
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


@pytest.mark.parametrize(
    ("code", "told", "shown"),
    [
        ("internal_error", "Something.", "and not by what you did"),
        ("body_too_large", "This body is larger than 20544 KiB.", "A file has 20 MiB at most"),
        ("idempotency_key_reused", "This Idempotency-Key was used.", "This form was sent once already"),
        ("no_such_carrier", "There is no carrier. Find its id with the list of carriers.", "There is no carrier."),
        ("held_by_another", "Until 2026-03-04T05:06:07.000000Z.", "Until 4 March 2026, 05:06 UTC."),
        (
            "storage_unavailable",
            "Or send it again with the same idempotency key.",
            "Or send the same form again: it is",
        ),
    ],
)
def test_words_for_programs_are_told_to_people_in_theirs(code: str, told: str, shown: str) -> None:
    _, _, body = asyncio.run(_asked(problem(409, code, told)))
    assert shown in body
    assert not any(
        word in body for word in ("same idempotency", "Idempotency-Key", "list of carriers", "KiB", "05:06:07")
    )
    assert shown in Faulty(CantrailError(Kind.CONFLICT, code, told)).message


def test_what_is_wrong_with_a_field_is_told_without_its_name_in_the_interface() -> None:
    asked = Fault("/asked", "missing", "`asked` is missing: give an id of lower-case letters, digits and hyphens.")
    bound = Fault("/bound", "no_bound_here", "A factor is exact: leave `bound` out.")
    both = Faulty(bad_input([asked, bound]))
    assert both.message == "2 things need another look."
    assert both.fields == [("asked", "This is missing."), ("bound", "A factor is exact: leave bound out.")]
    assert Faulty(bad_input([asked])).message == "This is missing."


def test_a_part_of_a_page_that_is_refused_takes_the_place_of_what_stood_there(tab: Tab) -> None:
    htmx: dict[str, Any] = {"HX-Request": "true"}
    tab.request("GET", "/vehicles/none-such/timeline?before=14&x=%3Cb%3E", Accept=BROWSER, **htmx)
    assert (tab.status, tab.headers["hx-reselect"], tab.headers["hx-reswap"]) == (404, "#trouble", "innerHTML")
    assert 'id="trouble">Not answered. There is no vehicle' in tab.html
    assert 'href="/vehicles/none-such/timeline?before=14&amp;x=%3Cb%3E"' in tab.html
    assert "<h1" not in tab.html
    assert tab.request("GET", "/no/such/page", Accept=BROWSER).headers.get("hx-reselect") is None


def test_what_went_wrong_in_the_registry_is_told_with_its_number_in_the_log() -> None:
    asked = SimpleNamespace(request_id=b"a1-7")
    assert "a1-7, for whoever runs this registry" in asyncio.run(_asked(problem(500, "a_mistake", "."), state=asked))[2]
    assert "a1-7" not in asyncio.run(_asked(problem(409, "conflict", "."), state=asked))[2]


def test_what_is_no_refusal_goes_by_as_it_is() -> None:
    assert asyncio.run(_asked(Response("there", 201)))[::2] == (201, "there")
