"""A browser's tab without scripts: it keeps the cookie, follows where it is sent, and fills in the forms that it sees."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from html.parser import HTMLParser
from http.cookies import SimpleCookie
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import httpx
import pyotp

from app.adapters.sealing import FileSealer
from app.bootstrap import open_registry
from app.core.permissions import Role
from app.services import rebuilding
from app.settings import Settings
from app.web.cookies import COOKIE
from tests.outside import PlainReader, WrittenWeb
from tests.web.serving import serving
from tests.web.signed.town import SetClock, Town
from tests.web.talking import Client, talking_to

Fields = Sequence[tuple[str, str]]


class Form:
    """A form as it stands on a page, with what is filled in already."""

    def __init__(self, action: str) -> None:
        self.action = action
        self.fields: list[tuple[str, str]] = []


class Forms(HTMLParser):
    """The forms of a page that are sent by POST, and the words of its main part."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.found: list[Form] = []
        self.words: list[str] = []
        self._within: Form | None = None
        self.feed(html.partition("<main")[2])

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "form" and given.get("method") == "post":
            self._within = Form(given.get("action") or "")
            self.found.append(self._within)
        elif tag == "input" and self._within is not None and given.get("name"):
            if given.get("type") not in {"checkbox", "radio"} or "checked" in given:
                self._within.fields.append((given["name"] or "", given.get("value") or ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._within = None

    def handle_data(self, data: str) -> None:
        self.words.extend(data.split())


class Tab:
    """One tab of somebody, or of nobody yet."""

    def __init__(self, client: Client, cookie: str | None = None) -> None:
        self.client = client
        self.cookie = cookie
        self.at = "/"
        self.status = 0
        self.html = ""
        self.headers = httpx.Headers()

    @property
    def text(self) -> str:
        """What is read on the page."""
        return " ".join(Forms(self.html).words)

    def request(self, method: str, path: str, fields: Fields | None = None, **headers: str) -> "Tab":
        sent = {"Sec-Fetch-Site": "same-origin", **headers}
        if self.cookie is not None:
            sent["Cookie"] = f"{COOKIE}={self.cookie}"
        body: dict[str, Any] = {}
        if fields is not None:
            sent["Content-Type"] = "application/x-www-form-urlencoded"
            body["content"] = urlencode(fields)
        answer = self.client.request(method, path, headers=sent, **body)
        for line in answer.headers.get_list("set-cookie"):
            if COOKIE in SimpleCookie(line):
                self.cookie = SimpleCookie(line)[COOKIE].value or None
        self.at, self.status, self.html, self.headers = path, answer.status_code, answer.text, answer.headers
        return self

    def get(self, path: str) -> "Tab":
        """Look at a page."""
        return self.request("GET", path)

    def post(self, path: str, fields: Mapping[str, str] | Fields, **headers: str) -> "Tab":
        """Send a form, and follow where it leads."""
        given = list(fields.items()) if isinstance(fields, Mapping) else fields
        self.request("POST", path, given, **headers)
        return self.get(self.headers["location"]) if self.status == 303 else self

    def form(self, action: str = "") -> Form:
        """The form of this page that goes to an address, or the only one that says none."""
        found = [each for each in Forms(self.html).found if each.action.partition("?")[0] == action]
        assert len(found) == 1, (action, [each.action for each in Forms(self.html).found])
        return found[0]

    def fill(self, action: str = "", **filled: str) -> "Tab":
        """Fill a form of this page in and send it."""
        form = self.form(action)
        kept = [(name, text) for name, text in form.fields if name not in filled]
        return self.post(form.action or self.at.partition("?")[0], [*kept, *filled.items()])


class Square(Town):
    """A town whose people have tabs."""

    def tab(self, name: str, role: Role = Role.CONTRIBUTOR) -> Tab:
        """Somebody signed in, with one-time passwords where their role needs them."""
        browser = self.enter(name, role)
        tab = Tab(self.client, browser.cookie)
        self.passwords[name], self.secrets[name] = browser.password, browser.secret
        return tab

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self.passwords: dict[str, str] = {}
        self.secrets: dict[str, str | None] = {}

    def again(self, name: str) -> Tab:
        """Somebody who is there already, at another tab of another browser."""
        tab = Tab(self.client).get("/sign-in")
        tab.fill("/sign-in", _name=name, **self.proof(name))
        assert tab.cookie is not None, tab.text
        return tab

    def proof(self, name: str) -> dict[str, str]:
        """The password and a code that was not used yet, as a form has them."""
        given = {"_password": self.passwords[name]}
        secret = self.secrets[name]
        if secret is not None:
            self.clock.forward(seconds=30)
            given["_code"] = pyotp.TOTP(secret).at(self.clock.now())
        return given


@contextmanager
def square(database_url: str, tmp_path: Path, **settings: Any) -> Iterator[Square]:
    """A registry that has just begun, with a clock that is set by hand."""
    clock = SetClock()
    settled = Settings(data_dir=tmp_path / "data", database_url=database_url, **settings)
    settled.data_dir.mkdir()
    FileSealer(settled.sealing_key).make()
    registry = open_registry(settled, clock=clock, reader=PlainReader(), fetcher=WrittenWeb())
    try:
        with registry.database.write() as session:
            rebuilding.begin(session, now=clock.now())
        with talking_to(serving(registry)) as client:
            yield Square(registry, client, clock)
    finally:
        registry.close()
