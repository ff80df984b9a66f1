"""Every page, looked at and sent to by everybody: who is not trusted with it is refused, and whoever is not signed in is
asked to."""

import re
from collections.abc import Iterable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any, Final

import pytest
from fastapi.routing import APIRoute

from app.core.permissions import Role
from app.persistence import stores
from app.services import accounts, sessions
from tests.web.pages.tabs import Square, Tab, square
from tests.web.serving import serving

EVERYBODY: Final = ("anonymous", "contributor", "reviewer", "steward", "disabled", "expired")
OPEN: Final = (True, True, True, True, True, True)
SIGNED_IN: Final = (False, True, True, True, False, False)
REVIEW: Final = (False, False, True, True, False, False)
STEWARD: Final = (False, False, False, True, False, False)
NOBODY: Final = frozenset({"anonymous", "disabled", "expired"})

ROWS: Final[dict[tuple[bool, ...], tuple[str, ...]]] = {
    OPEN: (
        "GET /",
        "POST /unit",
        "GET /static/{digest}/{name}",
        "GET /sign-in",
        "POST /sign-out",
        "GET /register",
        "GET /password",
        "GET /find",
        "GET /vehicles/{id}",
        "GET /vehicles/{id}/timeline",
        "GET /carriers/{id}",
        "GET /fixings/{id}",
        "GET /gear/{id}",
        "GET /fitments/{id}",
        "GET /publishers/{slug}",
        "GET /claims/{id}",
        "GET /api",
        "GET /api/{topic:topic}",
        "GET /api/{topic:topic}/{anchor}",
        "GET /changes",
        "GET /changes.atom",
        "GET /coverage",
        "GET /data",
        "GET /desk-figures",
        "GET /disputes/{id}",
        "GET /documents/{id}",
        "GET /documents/{id}/pages/{number}",
        "GET /enquiries",
        "GET /enquiries/{id}",
        "GET /how",
        "GET /placements",
        "GET /placements/{id}",
        "GET /plan",
        "POST /receipts",
        "GET /receipts/{digest}",
        "GET /receipts/{digest}/card",
        "GET /submit",
        "GET /submit/publisher",
        "GET /vehicles/{id}/letter",
    ),
    SIGNED_IN: (
        "GET /account",
        "GET /account/claims",
        "POST /account/sessions/ending",
        "GET /account/interests",
        "POST /account/interests",
        "POST /account/interests/dropping",
        "GET /account/password",
        "POST /account/password",
        "GET /account/one-time-password",
        "POST /account/one-time-password",
        "POST /account/one-time-password/confirmation",
        "POST /account/one-time-password/removal",
        "POST /account/recovery-codes",
        "GET /account/tokens",
        "POST /account/tokens",
        "GET /account/tokens/{id}/revoking",
        "POST /account/tokens/{id}/revoking",
        "GET /vehicles/new",
        "POST /vehicles/new",
        "GET /fitments/new",
        "POST /fitments/new",
        "GET /carriers/new",
        "POST /carriers/new",
        "GET /fixings/new",
        "POST /fixings/new",
        "GET /gear/new",
        "POST /gear/new",
        "GET /claims/{id}/dispute",
        "POST /claims/{id}/dispute",
        "GET /claims/{id}/cite",
        "POST /claims/{id}/cite",
        "GET /claims/{id}/withdraw",
        "POST /claims/{id}/withdraw",
        "GET /desk/own",
        "GET /documents/{id}/copy",
        "POST /documents/{id}/copy",
        "POST /documents/{id}/fetch",
        "GET /enquiries/new",
        "POST /enquiries/new",
        "POST /enquiries/{id}",
        "POST /submit/check",
        "POST /submit/claim",
        "POST /submit/document",
        "POST /submit/evidence",
        "POST /submit/publisher",
        "POST /submit/says",
    ),
    REVIEW: (
        "GET /desk",
        "POST /desk/next",
        "GET /desk/proposed",
        "POST /desk/proposed/{id}",
        "GET /desk/{work}",
        "POST /desk/{work}/confirmation",
        "POST /desk/{work}/copy",
        "POST /desk/{work}/decision",
        "GET /desk/{work}/evidence",
        "POST /desk/{work}/hold",
        "POST /desk/{work}/judgement",
        "POST /desk/{work}/reading",
        "POST /desk/{work}/release",
        "POST /desk/{work}/settlement",
    ),
    STEWARD: (
        "GET /vehicles/{id}/correction",
        "POST /vehicles/{id}/correction",
        "GET /carriers/{id}/correction",
        "POST /carriers/{id}/correction",
        "GET /fixings/{id}/correction",
        "POST /fixings/{id}/correction",
        "GET /gear/{id}/correction",
        "POST /gear/{id}/correction",
        "GET /fitments/{id}/correction",
        "POST /fitments/{id}/correction",
        "GET /vehicles/{id}/merger",
        "POST /vehicles/{id}/merger",
        "GET /carriers/{id}/merger",
        "POST /carriers/{id}/merger",
        "GET /fixings/{id}/merger",
        "POST /fixings/{id}/merger",
        "GET /gear/{id}/merger",
        "POST /gear/{id}/merger",
        "GET /vehicles/{id}/split",
        "POST /vehicles/{id}/split",
        "GET /carriers/{id}/split",
        "POST /carriers/{id}/split",
        "GET /fixings/{id}/split",
        "POST /fixings/{id}/split",
        "GET /gear/{id}/split",
        "POST /gear/{id}/split",
        "GET /placements/{id}/undoing",
        "POST /placements/{id}/undoing",
        "GET /documents/{id}/takedown",
        "POST /documents/{id}/takedown",
        "GET /receipts/{digest}/removal",
        "POST /receipts/{digest}/removal",
        "GET /people",
        "GET /people/{id}",
        "GET /people/{id}/role",
        "POST /people/{id}/role",
        "GET /people/{id}/reset-code",
        "POST /people/{id}/reset-code",
        "GET /people/{id}/disabling",
        "POST /people/{id}/disabling",
        "GET /people/{id}/enabling",
        "POST /people/{id}/enabling",
        "GET /people/{id}/shutting-out",
        "POST /people/{id}/shutting-out",
        "GET /people/{id}/forgetting",
        "POST /people/{id}/forgetting",
    ),
}
ASKS_WHO: Final = {"POST /sign-in": 401, "POST /register": 403, "POST /password": 422}
"""Anybody may send these, and is refused for what they say and not for who they are."""

SECRET: Final = frozenset({"account", "people", "sign-in", "register", "password"})
"""The first parts of addresses whose pages no browser keeps."""

ENDS: Final = frozenset({"POST /sign-out", "POST /account/sessions/ending"})
"""After these, whoever was signed in is so no more."""

TABLE: Final = {page: row for row, pages in ROWS.items() for page in pages}


def pages_of(routes: Iterable[Any], prefix: str = "") -> Iterator[str]:
    """Every operation that is no part of the interface for programs, as `METHOD path`."""
    for route in routes:
        if isinstance(route, APIRoute):
            if not route.include_in_schema:
                yield from (f"{method} {prefix}{route.path}" for method in sorted((route.methods or set()) - {"HEAD"}))
        elif hasattr(route, "original_router"):
            yield from pages_of(route.original_router.routes, prefix + route.include_context.prefix)


@pytest.fixture(scope="module")
def town(sqlite_template: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Square]:
    """Somebody of every role, each known by a password of nobody's: their sessions are opened here."""
    path: Path = tmp_path_factory.mktemp("roles")
    url = f"sqlite:///{path / 'registry.sqlite3'}"
    (path / "registry.sqlite3").write_bytes(Path(sqlite_template).read_bytes())
    with square(url, path) as town:
        with town.registry.database.write() as session:
            for role in Role:
                accounts.add(session, name=role, role=role, now=town.clock.now())
            for name in ("disabled", "expired"):
                accounts.add(session, name=name, role=Role.STEWARD, now=town.clock.now())
            stores.disable_account(session, account=accounts.named(session, "disabled"), now=town.clock.now())
        yield town


def tab_of(town: Square, who: str) -> Tab:
    """Somebody's tab, in a session of their own."""
    if who == "anonymous":
        return Tab(town.client)
    with town.registry.database.write() as session:
        began = town.clock.now() - (sessions.LASTS if who == "expired" else timedelta())
        account = accounts.named(session, who)
        opened = sessions.open_session(session, account, second_factor=True, now=began)
    return Tab(town.client, opened.secret)


def tried(town: Square, who: str, pages: Iterable[str]) -> Iterator[tuple[str, Tab]]:
    """Each of some pages with what came of it, without anything filled in."""
    tab = tab_of(town, who)
    for page in pages:
        method, _, path = page.partition(" ")
        yield page, tab.request(method, re.sub(r"\{\w+\}", "x1", path), None if method == "GET" else [])
        if page in ENDS:
            tab = tab_of(town, who)


def test_the_table_has_every_page(town: Square) -> None:
    there = set(pages_of(serving(town.registry).routes))
    listed = TABLE.keys() | ASKS_WHO.keys()
    assert not there - listed, f"not in the table: {sorted(there - listed)}"
    assert not listed - there, f"in the table, and nowhere else: {sorted(listed - there)}"


@pytest.mark.parametrize("who", EVERYBODY)
def test_who_may_look_and_send(who: str, town: Square) -> None:
    may = EVERYBODY.index(who)
    wrong = []
    for page, tab in tried(town, who, TABLE):
        row = TABLE[page]
        refused = {401 if who in NOBODY else 403}
        if row[may]:
            is_so = tab.status not in {401, 403} and tab.status < 500
        else:
            is_so = tab.status in refused and ('action="/sign-in"' in tab.html) == (who in NOBODY)
        if not is_so:
            wrong.append((page, tab.status, tab.text[:200]))
        if tab.headers.get("content-type", "").startswith("text/html"):
            kept = {"no-store"} if page.split("/")[1] in SECRET else {"no-store", "private, no-cache"}
            assert tab.headers["cache-control"] in kept, page
            assert "script-src 'self'" in tab.headers["content-security-policy"], page
    assert not wrong


@pytest.mark.parametrize("who", EVERYBODY)
def test_who_asks_to_be_let_in_is_refused_for_what_they_say(who: str, town: Square) -> None:
    assert {page: tab.status for page, tab in tried(town, who, ASKS_WHO)} == ASKS_WHO


def test_who_reviews_without_one_time_passwords_does_nothing_but_read_and_set_them_up(town: Square) -> None:
    with town.registry.database.write() as session:
        account = accounts.named(session, Role.STEWARD)
        opened = sessions.open_session(session, account, second_factor=False, now=town.clock.now())
    before = {"GET /account", "GET /account/claims", "POST /account/sessions/ending", "GET /account/password"}
    before |= {page for page in TABLE if page.startswith(("GET /account/one-time", "POST /account/one-time"))}
    before |= {"POST /account/password"}
    before -= {"POST /account/one-time-password/removal"}
    for page, row in TABLE.items():
        method, _, path = page.partition(" ")
        if row is OPEN or page in before:
            continue
        filled = re.sub(r"\{\w+\}", "x1", path)
        tab = Tab(town.client, opened.secret).request(method, filled, None if method == "GET" else [])
        assert (tab.status, "one-time passwords" in tab.text) == (403, True), page
