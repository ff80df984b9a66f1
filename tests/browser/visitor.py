"""Somebody at a browser."""

import re
from typing import Final, NamedTuple

import pyotp
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import ConsoleMessage, Locator, Page

MOST_BYTES: Final = 150_000
"""What a page may weigh with everything that it loads."""


class Account(NamedTuple):
    """What somebody signs in with."""

    name: str
    password: str
    one_time_password: str | None


class Visitor:
    """Somebody at a browser, and what their pages complained of."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.complaints: list[str] = []
        self._expected: str | None = None
        page.on("console", self._heard)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def expect(self, status: int) -> None:
        """A refusal with this status is no complaint from now on: browsers tell of each."""
        self._expected = f"status of {status} "

    def go(self, path: str) -> int:
        """Go to a page. Gives its status."""
        answer = self.page.goto(path)
        assert answer is not None
        return answer.status

    def sign_in(self, account: Account) -> None:
        """Sign in by the form."""
        self.go("/sign-in")
        self.page.get_by_label("Name", exact=True).fill(account.name)
        self.page.get_by_label("Password", exact=True).fill(account.password)
        if account.one_time_password is not None:
            code = pyotp.TOTP(account.one_time_password).now()
            self.page.get_by_label(re.compile("One-time password")).fill(code)
        self.page.get_by_role("button", name="Sign in").click()
        self.page.wait_for_url(re.compile(r"^(?!.*/sign-in)"))

    def press(self, name: str) -> None:
        """Press a button and wait for what comes of it."""
        self.page.get_by_role("button", name=name).first.click()
        self.page.wait_for_load_state()

    def follow(self, name: str | re.Pattern[str]) -> None:
        """Follow a link."""
        self.page.get_by_role("link", name=name).first.click()
        self.page.wait_for_load_state()

    def tab_to(self, wanted: Locator, most: int = 60) -> None:
        """Go on by the keyboard alone until something has the focus."""
        for _ in range(most):
            if wanted.evaluate("each => each === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"{wanted} is not reached by {most} presses of Tab")

    def barriers(self) -> list[str]:
        """What axe finds on the page as it stands, in the light and, where it is of colours, in the dark."""
        found = Axe().run(self.page).response["violations"]
        self.page.emulate_media(color_scheme="dark")
        found += Axe().run(self.page, options={"runOnly": ["color-contrast"]}).response["violations"]
        self.page.emulate_media(color_scheme="light")
        return [f"{each['id']}: {node['html'][:160]}" for each in found for node in each["nodes"]]

    def overflows(self) -> list[str]:
        """What stands out of the page to the right, if it scrolls sideways."""
        found: list[str] = self.page.evaluate("""() => {
            const wide = document.documentElement.clientWidth
            if (document.documentElement.scrollWidth <= wide) return []
            return [...document.querySelectorAll('main *, header *, footer *')]
                .filter(each => each.getBoundingClientRect().right > wide + 1)
                .map(each => each.outerHTML.slice(0, 120)).slice(0, 5)
        }""")
        return found

    def weight(self) -> int:
        """How many bytes the page and all that it loads are, as they come over the line; pictures of evidence aside."""
        found: int = self.page.evaluate("""() => {
            const all = [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]
            return all.filter(each => each.initiatorType !== 'img').reduce((sum, each) => sum + each.encodedBodySize, 0)
        }""")
        return found

    def _heard(self, message: ConsoleMessage) -> None:
        if message.type in {"error", "warning"} and not (self._expected and self._expected in message.text):
            self.complaints.append(f"{self.page.url}: {message.text}")
