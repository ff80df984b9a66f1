"""Hostile text in every field is text: nothing of it runs, nothing of it turns a figure round, and no page breaks."""

import re
from pathlib import Path
from typing import Final

import pytest
from fpdf import FPDF

from app.bootstrap import Registry, open_registry
from app.services import looking
from app.settings import Settings
from tests.browser.conftest import Come
from tests.browser.visitor import Account, Clock, Visitor

TARN: Final = "orrin-tarn-t2-2019"
RUNS: Final = """<script>alert(1)</script>"><img src=x onerror=alert(2)>'{{7*7}}"""
TURNS: Final = "\u202e\u2067tarn\u200b\u200d 10 kg"
HOSTILE: Final = f"{RUNS} {TURNS}"
LONG: Final = "W" * 5000

FORMS: Final = (
    "/",
    "/submit",
    f"/submit?vehicle={TARN}&publisher=orrin",
    "/submit/publisher",
    f"/submit?vehicle={TARN}&document={{document}}",
    "/claims/C1124/dispute",
    f"/enquiries/new?vehicle={TARN}",
    "/vehicles/new",
    "/account/tokens",
    f"/plan?vehicle={TARN}",
    "/register",
)
"""Every form in which somebody types who is no reviewer."""


@pytest.fixture(scope="module")
def registry(folder: Path, clock: Clock) -> Registry:
    """The registry, open to whoever makes an account."""
    settings = Settings(data_dir=folder, database_url=None, rate_limits=False, open_registration=True)
    return open_registry(settings, clock=clock)


def paper_of(registry: Registry) -> str:
    """A document of the vehicle's maker."""
    with registry.database.read() as session:
        return looking.documents(session, cursor=None, limit=1, publisher="orrin").items[0].id


def wrong_with(visitor: Visitor) -> list[str]:
    """What hostile text has done to a page, if anything."""
    found = visitor.overflows()
    if visitor.page.locator("main script, [onerror], img[src=x]").count():
        found.append("markup came in")
    if visitor.page.evaluate("/[\\u202a-\\u202e\\u2066-\\u2069]/.test(document.body.innerText)"):
        found.append("text is turned round")
    if "49" in visitor.page.title():
        found.append("a template came in")
    return found


def send_everywhere(visitor: Visitor, text: str) -> int:
    """Put a text into each field of the page that takes any, and send it as a browser without its checks would. Gives
    the status."""
    visitor.page.evaluate(
        """text => {
            for (const form of document.querySelectorAll('main form')) form.noValidate = true
            for (const each of document.querySelectorAll('main input, main textarea'))
                if (['text', 'search', 'url', 'password', 'textarea'].includes(each.type)) each.value = text
        }""",
        text,
    )
    with visitor.page.expect_navigation() as sent:
        visitor.page.locator("main button.main").last.click()
    return sent.value.status


def test_no_form_is_broken_by_what_is_typed(come: Come, registry: Registry, accounts: dict[str, Account]) -> None:
    visitor = come(width=320)
    visitor.expect(409, 422)
    visitor.sign_in(accounts["marram"])
    found: dict[str, list[str]] = {}
    for form in FORMS:
        visitor.go(form.format(document=paper_of(registry)))
        status = send_everywhere(visitor, f"{HOSTILE} {LONG}")
        wrong = wrong_with(visitor)
        if status not in {200, 409, 422}:
            wrong.append(f"status {status}")
        if wrong:
            found[form] = wrong
    assert found == {}


def test_what_is_kept_is_shown_as_text_wherever_it_is_shown(
    come: Come, registry: Registry, accounts: dict[str, Account], tmp_path: Path
) -> None:
    author, steward, reviewer = come(width=320), come(width=320), come(width=320)
    author.go("/register")
    author.fill("name", RUNS)
    author.fill("_password", "seven brass lanterns drift")
    author.press("Make it")
    document, claim = claim_it(author, tmp_path)
    steward.sign_in(accounts["hollowick"])
    reviewer.sign_in(accounts["verjuice"])
    found: dict[str, list[str]] = {}
    for visitor, path in [
        (author, "/account"),
        (author, f"/documents/{document}"),
        (author, f"/claims/{claim}"),
        (author, f"/vehicles/{TARN}"),
        (author, dispute_it(author)),
        (author, ask(author)),
        (author, "/enquiries"),
        *((author, path) for path in enter_a_vehicle(author)),
        *((author, path) for path in keep_a_plan(author)),
        (steward, "/people"),
        (reviewer, f"/desk/first_reading.{claim}"),
    ]:
        visitor.go(path)
        wrong = wrong_with(visitor)
        if RUNS not in visitor.page.locator("body").inner_text():
            wrong.append("it is not shown")
        if wrong:
            found[path] = wrong
    assert found == {}


def enter_a_vehicle(author: Visitor) -> tuple[str, str, str]:
    author.go("/vehicles/new")
    author.fill("maker", "Orrin")
    author.fill("model", RUNS)
    author.fill("from", "2016")
    author.press("Enter it")
    found = re.search("vehicle=([a-z0-9-]+)", author.page.url)
    assert found is not None, author.text()
    return f"/vehicles/{found[1]}", f"/plan?vehicle={found[1]}", f"/submit?vehicle={found[1]}"


def claim_it(author: Visitor, folder: Path) -> tuple[str, str]:
    """A document and a claim on it, with all that can be written freely."""
    page = FPDF()
    page.add_page()
    page.set_font("Helvetica", size=12)
    page.multi_cell(0, 8, RUNS)
    path = folder / "'><img src=x onerror=alert(3)>.pdf"
    page.output(str(path))
    author.go(f"/submit?vehicle={TARN}&publisher=orrin")
    author.attach("file", path)
    author.choose("kind", "handbook")
    author.fill("edition", HOSTILE)
    author.unfold("Title, dates")
    author.fill("title", HOSTILE)
    author.press("File it and go on")
    assert wrong_with(author) == []
    author.fill("value", "74")
    author.tick("unit", "kg")
    author.fill("locator", HOSTILE)
    author.fill("quote", f"{HOSTILE} {LONG[:3800]}")
    author.tick("condition", "on_road")
    author.tick("basis", "includes_carrier")
    author.press("Check it")
    assert wrong_with(author) == []
    assert RUNS in author.text()
    author.press("Enter it")
    found = re.search(r"/claims/(C\d+)", author.page.url)
    cited = re.search(r"\bD\d+\b", author.text())
    assert found is not None
    assert cited is not None
    return cited[0], found[1]


def dispute_it(author: Visitor) -> str:
    author.go("/claims/C1173/dispute")
    author.fill("reason", f"{HOSTILE} {LONG[:3800]}")
    author.press("Dispute it")
    found = re.search(r"\bP\d+\b", author.text())
    assert found is not None
    return f"/disputes/{found[0]}"


def ask(author: Visitor) -> str:
    author.go("/enquiries/new?vehicle=orrin-mossick-m1-2020")
    author.fill("asked", "orrin")
    author.fill("questions", f"{HOSTILE} {LONG[:3800]}")
    author.tick("conditions", "on_road")
    author.fill("asked_on", "2026-03-02")
    author.press("Enter it")
    return author.page.url


def keep_a_plan(author: Visitor) -> tuple[str, str]:
    author.go(f"/plan?vehicle={TARN}")
    author.fill("gear.1.name", RUNS)
    author.fill("gear.1.mass", "300")
    author.press("Add another")
    author.fill("gear.2.name", LONG[:80])
    author.fill("gear.2.mass", "12")
    author.press("Work it out")
    assert wrong_with(author) == []
    author.press("Keep this answer")
    return author.page.url, author.page.url + "/card"
