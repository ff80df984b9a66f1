"""Somebody at a browser."""

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final, Literal

import pyotp
from playwright.sync_api import ConsoleMessage, Dialog, Locator, Page

from tests.browser.barriers import Barriers

MOST_BYTES: Final = 150_000
"""What a page may weigh with everything that it loads."""


Name = str | re.Pattern[str]
"""What something is called on the page."""


class Clock:
    """The machine's clock, but put forward to a time that somebody would have to wait for."""

    def __init__(self) -> None:
        self._ahead = timedelta()

    def now(self) -> datetime:
        return datetime.now(UTC) + self._ahead

    def reach(self, when: datetime) -> None:
        """It is then, if it is not later already."""
        self._ahead += max(when - self.now(), timedelta())


class Account:
    """What somebody signs in with, by the registry's clock."""

    def __init__(self, name: str, password: str, secret: str | None, clock: Clock) -> None:
        self.name = name
        self.password = password
        self._clock = clock
        self._totp = None if secret is None else pyotp.TOTP(secret)
        self._step = 0

    def code(self) -> str | None:
        """A one-time password of now that was not used yet, or None where there are none."""
        if self._totp is None:
            return None
        self._clock.reach(datetime.fromtimestamp((self._step + 1) * self._totp.interval, UTC))
        self._step = self._totp.timecode(self._clock.now())
        return self._totp.generate_otp(self._step)


class Visitor:
    """Somebody at a browser, and what their pages complained of."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.complaints: list[str] = []
        self._expected: tuple[str, ...] = ()
        self._barriers = Barriers(page)
        page.on("console", self._heard)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("dialog", self._asked)

    def expect(self, *statuses: int) -> None:
        """A refusal with one of these statuses is no complaint from now on: browsers tell of each."""
        self._expected = tuple(f"status of {status} " for status in statuses)

    def lose_connection(self) -> None:
        """Nothing is reached any more, and that is no complaint."""
        self._expected = (*self._expected, "ERR_INTERNET_DISCONNECTED", "htmx:error")
        self.page.context.set_offline(True)

    def go(self, path: str) -> int:
        """Go to a page. Gives its status."""
        answer = self.page.goto(path)
        assert answer is not None
        return answer.status

    def sign_in(self, account: Account) -> None:
        """Sign in by the form."""
        self.go("/sign-in")
        self.prove(account)

    def prove(self, account: Account) -> None:
        """Say on the page to sign in on who one is."""
        self.fill("_name", account.name)
        self.fill("_password", account.password)
        code = account.code()
        if code is not None:
            self.fill("_code", code)
        self.press("Sign in")

    def press(self, name: Name) -> None:
        """Press a button and wait for the page that comes of it."""
        self._onward(self._named("button", name))

    def follow(self, name: Name) -> None:
        """Follow a link and wait for its page."""
        self._onward(self._named("link", name))

    def unfold(self, name: str) -> None:
        """Open what a page holds folded."""
        self.activate(self.page.locator("summary", has_text=name).first)

    def fill(self, name: str, text: str) -> None:
        """Put text into a field, in place of what is there."""
        self.field(name).fill(text)

    def choose(self, name: str, value: str) -> None:
        """Choose from a list."""
        self.field(name).select_option(value)

    def tick(self, name: str, value: str) -> None:
        """Choose one of several, or tick a box."""
        self.field(name, value).locator("xpath=ancestor::label").click()

    def attach(self, name: str, path: Path) -> None:
        """Choose a file."""
        self.field(name).set_input_files(path)

    def activate(self, wanted: Locator) -> None:
        """Press whatever can be pressed."""
        wanted.click()

    def field(self, name: str, value: str | None = None) -> Locator:
        """A field of the page by its name; one of those with the same name by its value, too."""
        one = "" if value is None else f'[value="{value}"]'
        return self.page.locator(f'main [name="{name}"]{one}:not([type="hidden"])').locator("visible=true").first

    def text(self) -> str:
        """What the page says, in single spaces."""
        return " ".join(self.page.locator("main").inner_text().split())

    def _onward(self, wanted: Locator) -> None:
        with self.page.expect_navigation():
            self.activate(wanted)

    def _named(self, role: Literal["button", "link"], name: Name) -> Locator:
        """One on the page itself, or where there is none one of those that every page has."""
        here = self.page.locator("main").get_by_role(role, name=name).locator("visible=true")
        return (here if here.count() else self.page.get_by_role(role, name=name)).first

    def barriers(self) -> list[str]:
        """What axe finds on the page as it stands, in the light and, where it is of colours, in the dark."""
        return self._barriers.here()

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
        """How many bytes the page and all that it loads are, as they come over the line."""
        found: int = self.page.evaluate("""() => {
            const all = [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]
            return all.reduce((sum, each) => sum + each.encodedBodySize, 0)
        }""")
        return found

    def _asked(self, dialog: Dialog) -> None:
        self.complaints.append(f"{self.page.url}: a dialog says {dialog.message}")
        dialog.dismiss()

    def _heard(self, message: ConsoleMessage) -> None:
        is_expected = any(each in message.text for each in self._expected)
        if message.type in {"error", "warning"} and not is_expected:
            self.complaints.append(f"{self.page.url}: {message.text}")
