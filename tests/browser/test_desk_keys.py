"""The desk by its own keys: a claim is read, compared and decided on without the mouse, and no key fires while somebody
writes."""

import re

from playwright.sync_api import expect

from tests.browser.conftest import Come
from tests.browser.visitor import MOST_BYTES, Account


def test_a_claim_is_read_and_decided_on_by_keys(come: Come, accounts: dict[str, Account]) -> None:
    visitor = come()
    page, keys = visitor.page, visitor.page.keyboard
    visitor.sign_in(accounts["quillon"])
    visitor.go("/desk?kind=first_reading")
    links = page.locator(".queue h3 a")
    keys.press("j")
    expect(links.first).to_be_focused()
    keys.press("j")
    keys.press("k")
    expect(links.first).to_be_focused()
    path = page.locator(".queue h3 a", has_text="Orrin Tarn T3").first.get_attribute("href")
    visitor.go(path or "")
    page.set_viewport_size({"width": 1280, "height": 800})
    button = page.get_by_role("button", name="This is what I read")
    box = button.bounding_box()
    assert box is not None and box["y"] + box["height"] < 800
    picture = page.locator(".paper .small")
    assert picture.evaluate("each => each.decode().then(() => each.naturalWidth)") == 720
    loaded = "performance.getEntries().reduce((sum, each) => sum + (each.encodedBodySize || 0), 0)"
    assert page.evaluate(loaded) < MOST_BYTES
    value = page.locator("#value")
    expect(value).to_be_focused()
    keys.press("Escape")
    keys.press("h")
    expect(page.locator(".hold")).to_contain_text("In your hands")

    expect(value).to_be_focused()
    keys.type("66.5kns")
    expect(value).to_have_value("66.5kns")
    value.fill("66.5")
    keys.press("Escape")
    for key in "k27yy":
        keys.press(key)
    expect(page.get_by_label("From the model year")).to_be_focused()
    keys.type("2025")
    keys.press("Tab")
    keys.type("2026")
    keys.press("Escape")
    size = page.locator(".zoom input:checked")
    keys.press("z")
    expect(size).to_have_value("twice")
    expect(page.locator(".paper .full")).to_be_visible()
    expect(value).to_have_value("66.5")
    keys.press("s")

    heading = page.locator("#compared")
    expect(heading).to_be_focused()
    expect(heading).to_contain_text(re.compile("The claim (stays within|goes beyond) what you read"))
    keys.press("3")
    expect(page.locator("#code")).to_be_focused()
    page.locator("#code").select_option("misread")
    keys.press("Escape")
    keys.press("r")
    keys.type("No such row: s n b 1.")
    expect(page.locator("[name=decision][value=reject]")).to_be_checked()
    keys.press("Control+Enter")
    expect(page.locator(".done")).to_contain_text("rejected.")
    assert re.search("/desk/[a-z_]+[.]", page.url)

    page.locator(".keys summary").click()
    page.get_by_role("button", name="Keys are on").click()
    page.locator("h1").click()
    keys.press("b")
    page.wait_for_timeout(100)
    assert "done=released" not in page.url
