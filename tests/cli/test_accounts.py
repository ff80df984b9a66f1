"""Accounts on the command line: made, let in with a password, helped out and forgotten."""

import io
import re
import sys
from collections.abc import Callable

import pytest

from app.bootstrap import Registry
from app.core.account_entries import OPERATOR
from app.core.errors import CantrailError
from app.persistence import ledger
from app.services import accounts
from app.services.people_inputs import PasswordReset, SignIn
from tests.cli.conftest import Run

WORDS = "thistle wharf kettle marble"
Piped = Callable[[str], None]


@pytest.fixture
def piped(monkeypatch: pytest.MonkeyPatch) -> Piped:
    """What is piped into the next command."""
    return lambda text: monkeypatch.setattr(sys, "stdin", io.StringIO(text))


@pytest.fixture
def keyed(registry: Registry) -> Registry:
    """A registry whose key of secrets is there."""
    registry.settings.data_dir.mkdir(exist_ok=True)
    registry.sealer.make()
    return registry


def lets_in(registry: Registry, name: str, password: str) -> bool:
    try:
        registry.signing_in.sign_in(SignIn(name, password), address="192.0.2.1", now=registry.clock.now())
    except CantrailError as error:
        if error.code != "sign_in_failed":
            raise
        return False
    return True


@pytest.mark.usefixtures("here")
def test_somebody_is_let_in_with_a_password(run: Run, piped: Piped, keyed: Registry) -> None:
    piped(f"{WORDS}\n")
    ran = run("account", "add", "oxbow", "--role", "reviewer", "--password")
    assert (ran.code, ran.err) == (0, "")
    assert WORDS not in ran.out
    assert lets_in(keyed, "oxbow", WORDS)
    with keyed.database.read() as session:
        id = accounts.named(session, "oxbow").id
        (entry,) = ledger.entries_of(session, streams=[f"account:{id}"], up_to=None)
    assert (entry.payload.type, entry.actor) == ("role_given", OPERATOR)
    assert "oxbow" not in str(entry)


@pytest.mark.usefixtures("here")
def test_a_weak_password_adds_nobody(run: Run, piped: Piped, registry: Registry) -> None:
    piped("password1234\n")
    ran = run("account", "add", "oxbow", "--password")
    assert ran.code == 2
    assert "most common" in ran.err
    assert "password1234" not in ran.err
    assert "oxbow" not in run("account", "list").out


@pytest.mark.usefixtures("here")
def test_a_password_is_typed_twice_and_not_shown(run: Run, monkeypatch: pytest.MonkeyPatch, keyed: Registry) -> None:
    run("account", "add", "oxbow")
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    typed = iter([WORDS, "another thing altogether", WORDS, WORDS])
    monkeypatch.setattr("app.cli.accounts.getpass", lambda _: next(typed))
    refused = run("account", "password", "oxbow")
    assert (refused.code, refused.err) == (2, "cantrail: The two differ. Nothing was changed.\n")
    assert not lets_in(keyed, "oxbow", WORDS)
    assert run("account", "password", "oxbow").code == 0
    assert lets_in(keyed, "oxbow", WORDS)


@pytest.mark.usefixtures("here")
def test_a_forgotten_password_is_set_with_a_code(run: Run, keyed: Registry) -> None:
    run("account", "add", "oxbow")
    ran = run("account", "reset-code", "oxbow", "--one-time-password")
    found = re.match(r"([a-z2-7]{6}(?:-[a-z2-7]{6}){3})\n", ran.out)
    assert found is not None
    keyed.signing_in.reset_password(PasswordReset("oxbow", found[1], WORDS), address="192.0.2.1", now=keyed.clock.now())
    assert lets_in(keyed, "oxbow", WORDS)


@pytest.mark.usefixtures("here")
def test_accounts_are_listed_disabled_enabled_and_forgotten(run: Run, registry: Registry) -> None:
    run("account", "add", "oxbow", "--role", "steward")
    run("account", "add", "bell", "--role", "steward")
    assert "may act again" not in run("account", "disable", "oxbow").out
    listed = run("account", "list").out.splitlines()
    assert [line.split()[1:] for line in listed] == [["steward", "active", "bell"], ["steward", "disabled", "oxbow"]]
    last = run("account", "role", "bell", "reviewer")
    assert (last.code, "last steward" in last.err) == (1, True)
    assert run("account", "enable", "oxbow").code == 0
    gone = run("account", "forget", "bell")
    id = re.search(r"a-[0-9a-f]{16}", gone.out)
    assert id is not None
    assert "bell" not in run("account", "list").out
    assert id[0] in run("account", "list").out
    unknown = run("account", "forget", "bell")
    assert (unknown.code, unknown.err) == (2, "cantrail: There is no account named 'bell'.\n")


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("name", ["", " ", "a-0123456789abcdef", "two\nlines"])
def test_a_name_can_be_read(run: Run, registry: Registry, name: str) -> None:
    assert run("account", "add", name).code == 2
