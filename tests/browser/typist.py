"""Somebody at a browser who has no mouse."""

from pathlib import Path
from typing import Final

from playwright.sync_api import Locator, Page

from tests.browser.visitor import Visitor

NO_MOUSE: Final = "addEventListener('pointerdown', () => console.error('A mouse was pressed.'), true)"
"""A script for every page: whoever uses a mouse all the same is found out, as by a complaint of the page."""

MOST_TABS: Final = 90
"""So many presses of Tab are put up with on the way to anything."""

STOPS_BETWEEN: Final = """each => {
    const stops = 'a[href], button, select, textarea, input:not([type=radio], [type=hidden])'
    const from = document.activeElement
    if (from.compareDocumentPosition(each) & 2) return -1
    return [...document.querySelectorAll(stops)].filter(one =>
        one.tabIndex >= 0 && !one.disabled && one.checkVisibility({visibilityProperty: true}) &&
        from.compareDocumentPosition(one) & 4 && one.compareDocumentPosition(each) & 4).length
}"""
"""At how many places Tab stops for certain between where the focus is and something further on; -1 where it is behind."""


class Typist(Visitor):
    """A visitor by keyboard alone: Tab, Enter, Space, arrows, letters."""

    def __init__(self, page: Page) -> None:
        super().__init__(page)
        # The browser's window for files is caught only where somebody waits for it before it opens.
        page.on("filechooser", lambda _: None)

    def fill(self, name: str, text: str) -> None:
        """Type into a field, in place of what is there."""
        self.tab_to(self.field(name))
        self.page.keyboard.press("Control+a")
        self.page.keyboard.press("Delete")
        self.page.keyboard.type(text)

    def choose(self, name: str, value: str) -> None:
        """Go down or up a list by arrows."""
        field = self.field(name)
        self.tab_to(field)
        steps: int = field.evaluate(
            "(each, value) => [...each.options].findIndex(one => one.value === value) - each.selectedIndex", value
        )
        self._press("ArrowDown" if steps > 0 else "ArrowUp", abs(steps))
        assert field.input_value() == value

    def tick(self, name: str, value: str) -> None:
        """Go along several by arrows, or press Space on a box."""
        field = self.field(name, value)
        if field.get_attribute("type") == "checkbox":
            self.tab_to(field)
            self.page.keyboard.press("Space")
            return
        self._tab(field, "document.activeElement.name === each.name && document.activeElement.form === each.form")
        for _ in range(field.evaluate("each => each.form.elements[each.name].length")):
            if field.evaluate("each => each === document.activeElement"):
                break
            self.page.keyboard.press("ArrowDown")
        if not field.is_checked():
            self.page.keyboard.press("Space")
        assert field.is_checked()

    def attach(self, name: str, path: Path) -> None:
        """Open the browser's own window for files, and choose there."""
        self.tab_to(self.field(name))
        with self.page.expect_file_chooser() as chooser:
            self.page.keyboard.press("Space")
        chooser.value.set_files(path)

    def activate(self, wanted: Locator) -> None:
        """Press Enter on it."""
        self.tab_to(wanted)
        self.page.keyboard.press("Enter")

    def strike(self, key: str) -> None:
        """Strike one key, and wait for the page that comes of it."""
        with self.page.expect_navigation():
            self.page.keyboard.press(key)

    def leave_field(self) -> None:
        """Go from a field for text to something that takes no letters."""
        typing = "['text', 'search', 'textarea'].includes(document.activeElement.type)"
        while self.page.evaluate(typing):
            self.page.keyboard.press("Tab")

    def tab_to(self, wanted: Locator) -> None:
        """Go to something by Tab, or back to it by Shift and Tab."""
        self._tab(wanted, "each === document.activeElement")

    def _tab(self, wanted: Locator, there: str) -> None:
        between: int = wanted.evaluate(STOPS_BETWEEN)
        key, sure = ("Shift+Tab", 0) if between < 0 else ("Tab", between)
        # Nobody looks at each stop of a long way.
        self._press(key, min(sure, MOST_TABS))
        for _ in range(MOST_TABS - sure):
            if wanted.evaluate(f"each => {there}"):
                return
            self.page.keyboard.press(key)
        raise AssertionError(f"{wanted} is not reached by {MOST_TABS} presses of Tab")

    def _press(self, key: str, times: int) -> None:
        for _ in range(times):
            self.page.keyboard.press(key)
