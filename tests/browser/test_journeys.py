"""A fitter with a customer waiting: from a name to a verdict, with a mouse, without scripts, and by keyboard alone."""

import re
from typing import Final

from playwright.sync_api import expect

from tests.browser.conftest import Come, Way
from tests.browser.visitor import Visitor

TARN: Final = "orrin-tarn-t2-2019"
PLATFORM: Final = "pellwick-slatten-rough-p2-2021"


def test_from_the_front_page_to_a_verdict_on_a_phone(come: Come, way: Way) -> None:
    visitor = come(width=360, **way)
    visitor.go("/")
    to_the_planner(visitor)
    plan_a_load(visitor, way, allowed="25 kg", awning="14", left="11 kg", over="1 kg")


def test_from_the_front_page_to_a_verdict_in_pounds(come: Come) -> None:
    visitor = come(width=360)
    visitor.go("/")
    visitor.press(re.compile("pounds"))
    to_the_planner(visitor)
    assert not re.search(r"\d kg\b", visitor.text())
    plan_a_load(visitor, {}, allowed="55.1 lb", awning="30.9", left="24.2 lb", over="1.8 lb")
    assert not re.search(r"\d kg\b", visitor.text())


def to_the_planner(visitor: Visitor) -> None:
    """From a name with typing errors to the planner, by the question that the vehicle's page asks."""
    visitor.fill("q", "orin tarm t2")
    visitor.press("Find")
    visitor.follow("Orrin Tarn T2")
    assert "Which body has it?" in visitor.text()
    visitor.follow("Dual cab")
    assert "Which body has it?" not in visitor.text()
    visitor.follow("Plan a load")
    assert "body=dual_cab" in visitor.page.url


def plan_a_load(visitor: Visitor, way: Way, *, allowed: str, awning: str, left: str, over: str) -> None:
    """A rack and two things, and what comes of each."""
    visitor.tick("condition", "off_road")
    visitor.choose("carrier", PLATFORM)
    answered(visitor, way, f"{allowed} may go up. The roof as reduced off road sets the limit, not the rack.")
    visitor.fill("gear.1.name", "awning")
    visitor.fill("gear.1.mass", awning)
    answered(visitor, way, f"{left} left. The roof as reduced off road sets the limit, not the rack.")
    visitor.press("Add another")
    visitor.fill("gear.2.name", "boards")
    visitor.fill("gear.2.mass", "12" if left.endswith("kg") else "26")
    answered(visitor, way, f"{over} too much")
    expect(visitor.page.locator("#answer .stamp").first).to_have_class("stamp over")
    assert visitor.overflows() == []


def answered(visitor: Visitor, way: Way, sentence: str) -> None:
    """The verdict is there: at once, or where there are no scripts when it is asked for."""
    if way.get("scripts") is False:
        visitor.press("Work it out")
    expect(visitor.page.locator("#answer .verdict p")).to_contain_text(sentence)


def test_a_plan_is_answered_anew_at_once_and_nothing_else_moves(come: Come) -> None:
    visitor = come(width=360)
    page = visitor.page
    verdict = page.locator("#answer .verdict p")
    visitor.go(f"/vehicles/{TARN}?body=dual_cab")
    visitor.follow("Plan a load")
    page.evaluate("window.isSamePage = true")
    visitor.choose("carrier", PLATFORM)
    expect(verdict).to_contain_text("50 kg may go up")
    visitor.tick("condition", "off_road")
    expect(verdict).to_contain_text("25 kg may go up")
    mass = visitor.field("gear.1.mass")
    mass.focus()
    page.keyboard.type("20")
    expect(verdict).to_contain_text("5 kg left")
    page.keyboard.type(".5")
    expect(verdict).to_contain_text("4.5 kg left")
    expect(mass).to_be_focused()
    expect(mass).to_have_value("20.5")
    expect(page.locator("#answer .bar-of-verdict")).to_have_attribute("role", "status")

    visitor.expect(422)
    page.keyboard.type("x")
    expect(page.locator("#answer")).to_contain_text("Not answered yet")
    page.keyboard.press("Backspace")
    expect(verdict).to_contain_text("4.5 kg left")
    visitor.lose_connection()
    page.keyboard.press("Backspace")
    expect(page.get_by_role("alert").filter(has_text="no connection")).to_be_visible()
    expect(verdict).to_be_hidden()
    page.context.set_offline(False)
    page.keyboard.type("5")
    expect(verdict).to_contain_text("4.5 kg left")
    expect(verdict).to_be_visible()
    expect(page.get_by_role("alert")).to_be_hidden()
    assert page.evaluate("window.isSamePage")
    assert "condition=off_road" in page.url
    assert "gear.1.mass=20.5" in page.url

    visitor.press(re.compile("pounds"))
    expect(verdict).to_contain_text("9.9 lb left")
    expect(visitor.field("gear.1.mass")).to_have_value("45.195")
    visitor.press(re.compile("kilograms"))
    # There and back, a thing that is carried is what it was.
    expect(verdict).to_contain_text("4.5 kg left")

    visitor.follow(re.compile("^C[0-9]+$"))
    assert "/claims/" in page.url
    page.go_back()
    expect(verdict).to_contain_text("4.5 kg left")
    expect(visitor.field("gear.1.mass")).to_have_value("20.5")
    page.reload()
    expect(verdict).to_contain_text("4.5 kg left")
