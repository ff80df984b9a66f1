"""People with passwords and authenticators, and browsers that keep a cookie."""

from datetime import UTC, datetime, timedelta
from http.cookies import SimpleCookie
from typing import Any

import httpx
import pyotp
from pwdlib import PasswordHash
from pwdlib.hashers.argon2 import Argon2Hasher

from app.bootstrap import Registry
from app.core.permissions import Role
from app.services import accounts
from app.services.passwords import Passwords
from app.services.signing_in import SigningIn
from app.web.cookies import COOKIE
from tests.web.talking import Client

API = "/api/v1"
WORDS = "lantern otter gravel spoon"
"""Everybody's password, with their number behind it."""


class SetClock:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.at = datetime(2026, 1, 5, 9, tzinfo=UTC)

    def now(self) -> datetime:
        return self.at

    def forward(self, **some: float) -> None:
        self.at += timedelta(**some)


def quick(**some: Any) -> Passwords:
    """Hashing as it is, with hardly any memory and time."""
    return Passwords(PasswordHash((Argon2Hasher(time_cost=1, memory_cost=8, parallelism=1),)), **some)


class Browser:
    """Keeps a cookie and sends it, as from a page of the registry."""

    def __init__(self, client: Client, clock: SetClock, name: str, password: str) -> None:
        self.client = client
        self.clock = clock
        self.name = name
        self.password = password
        self.cookie: str | None = None
        self.secret: str | None = None
        self.recovery: list[str] = []
        self._last_code = ""

    def request(
        self, method: str, path: str, body: Any = None, headers: dict[str, str] | None = None
    ) -> httpx.Response:
        sent = {"Sec-Fetch-Site": "same-origin"} if headers is None else dict(headers)
        if self.cookie is not None:
            sent["Cookie"] = f"{COOKIE}={self.cookie}"
        answer = self.client.request(method, API + path, headers=sent, **({} if body is None else {"json": body}))
        for line in answer.headers.get_list("set-cookie"):
            morsel = SimpleCookie(line)[COOKIE]
            self.cookie = morsel.value or None
        return answer

    def get(self, path: str) -> httpx.Response:
        return self.request("GET", path)

    def post(self, path: str, body: Any = None) -> httpx.Response:
        return self.request("POST", path, body)

    def code(self) -> str:
        """A code of this moment; where it was used already, the clock goes on to the next one."""
        assert self.secret is not None
        totp = pyotp.TOTP(self.secret)
        while (code := totp.at(self.clock.now())) == self._last_code:
            self.clock.forward(seconds=30)
        self._last_code = code
        return code

    def proof(self) -> dict[str, str]:
        return {"password": self.password, **({} if self.secret is None else {"code": self.code()})}

    def sign_in(self, *, status: int = 201) -> httpx.Response:
        answer = self.post("/session", {"name": self.name, **self.proof()})
        assert answer.status_code == status, answer.text
        return answer

    def enrol(self) -> None:
        """Set up one-time passwords."""
        begun = self.post("/account/one-time-password", {"password": self.password})
        assert begun.status_code == 201, begun.text
        self.secret = begun.json()["secret"]
        on = self.post("/account/one-time-password/confirmation", {"code": self.code()})
        assert on.status_code == 201, on.text
        self.recovery = on.json()["codes"]

    def is_in(self) -> bool:
        answer = self.get("/session")
        assert answer.status_code in {200, 401}
        return answer.status_code == 200


class Town:
    """Accounts, and a browser for each."""

    def __init__(self, registry: Registry, client: Client, clock: SetClock) -> None:
        self.registry = registry
        self.client = client
        self.clock = clock
        registry.signing_in = SigningIn(registry.database, registry.sealer, quick(at_once=8, wait_s=5))
        self._number = 0

    def settle(self, name: str, role: Role = Role.CONTRIBUTOR) -> Browser:
        """Somebody with a password, not signed in."""
        self._number += 1
        password = f"{WORDS} {self._number}"
        with self.registry.database.write() as session:
            accounts.let_in(session, name=name, role=role, now=self.clock.now())
        self.registry.signing_in.set_password(name, password)
        return self.browser(name, password)

    def browser(self, name: str, password: str) -> Browser:
        return Browser(self.client, self.clock, name, password)

    def another(self, of: Browser) -> Browser:
        """The same person at another browser."""
        other = self.browser(of.name, of.password)
        other.secret = of.secret
        other._last_code = of._last_code
        return other

    def enter(self, name: str, role: Role = Role.CONTRIBUTOR) -> Browser:
        """Somebody signed in, with one-time passwords where their role needs them."""
        browser = self.settle(name, role)
        browser.sign_in()
        if role is not Role.CONTRIBUTOR:
            browser.enrol()
        return browser

    def id_of(self, name: str) -> str:
        with self.registry.database.read() as session:
            return accounts.named(session, name).id
