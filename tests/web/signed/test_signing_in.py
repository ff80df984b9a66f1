"""Who gets in: the same answer to everything wrong, guessing that is slow, and a victim who gets in meanwhile."""

from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Any

import httpx
import pytest
from pwdlib import PasswordHash
from pwdlib.hashers.argon2 import Argon2Hasher
from sqlmodel import func, select

from app.adapters.sealing import FileSealer
from app.bootstrap import Registry
from app.core.errors import CantrailError
from app.core.permissions import Role
from app.persistence.models import SignInCount
from app.persistence.session import WriteSession
from app.services import accounts, attempts
from app.services.passwords import Passwords
from app.services.people_inputs import SignIn
from app.services.sessions import Opened
from app.services.signing_in import SigningIn
from app.web.errors import STATUSES
from tests.web.signed.town import API, WORDS, SetClock, Town, quick


def knock(town: Town, name: str, password: str, *, address: str = "192.0.2.1", **more: Any) -> httpx.Response | Opened:
    """Try to sign in from an address."""
    try:
        return town.registry.signing_in.sign_in(SignIn(name, password, **more), address=address, now=town.clock.now())
    except CantrailError as error:
        return httpx.Response(STATUSES[error.kind], json={"code": error.code, "detail": error.message})


def codes(answers: list[Any]) -> list[str]:
    return [answer.json()["code"] if isinstance(answer, httpx.Response) else "in" for answer in answers]


def test_everything_wrong_is_answered_the_same(town: Town, registry: Registry) -> None:
    town.settle("oxbow")
    reviewer = town.enter("sedge", Role.REVIEWER)
    with registry.database.write() as session:
        accounts.add(session, name="without", role=Role.CONTRIBUTOR, now=town.clock.now())
    gone = town.settle("gone")
    with registry.database.write() as session:
        accounts.disable(session, name="gone", now=town.clock.now())
    bodies: list[dict[str, str]] = [
        {"name": "nobody", "password": "lantern otter gravel spoon 1"},
        {"name": "oxbow", "password": "wrong"},
        {"name": "OXBOW", "password": f"{WORDS} 1"},
        {"name": "without", "password": "wrong"},
        {"name": "gone", "password": gone.password},
        {"name": "sedge", "password": reviewer.password},
        {"name": "sedge", "password": reviewer.password, "code": "000000"},
        {"name": "sedge", "password": reviewer.password, "code": "abcdef-abcdef-abcdef-abcdef"},
        {"name": "sedge", "password": "wrong", "code": reviewer.recovery[0]},
    ]
    answers = [town.client.post(f"{API}/session", json=body) for body in bodies]
    assert {answer.status_code for answer in answers} == {401}
    assert len({answer.content for answer in answers}) == 1
    assert answers[0].json()["code"] == "sign_in_failed"
    assert len({tuple(answer.headers.keys()) for answer in answers}) == 1
    assert not any("set-cookie" in answer.headers for answer in answers)


def test_a_hash_is_checked_even_where_there_is_none(town: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    town.settle("oxbow")
    checked: list[str] = []
    verify = Argon2Hasher.verify

    def counting(self: Argon2Hasher, password: str | bytes, hash: str | bytes) -> bool:
        checked.append(str(hash))
        return verify(self, password, hash)

    monkeypatch.setattr(Argon2Hasher, "verify", counting)
    for name in ("oxbow", "nobody"):
        knock(town, name, "wrong")
    assert len(checked) == 2
    assert [each.split("$")[1:4] for each in checked[:1]] == [each.split("$")[1:4] for each in checked[1:]]


def test_the_owner_gets_in_while_others_guess(town: Town) -> None:
    browser = town.settle("oxbow")
    assert codes([knock(town, "oxbow", browser.password, address="198.51.100.7")]) == ["in"]
    guesses = [knock(town, "oxbow", f"guess {n}", address=f"192.0.2.{n}") for n in range(60)]
    assert codes(guesses) == ["sign_in_failed"] * attempts.STRANGERS_TRIES + ["too_many_tries"] * 30
    # A stranger with the right password waits, too; the owner is let in where they were before, again and again.
    assert codes([knock(town, "oxbow", browser.password, address="203.0.113.9")]) == ["too_many_tries"]
    for _ in range(30):
        assert codes([knock(town, "oxbow", browser.password, address="198.51.100.7")]) == ["in"]


def test_others_behind_the_same_address_do_not_slow_somebody_known_there(town: Town) -> None:
    browser = town.settle("oxbow")
    town.settle("marram")
    address = "198.51.100.7"
    assert codes([knock(town, "oxbow", browser.password, address=address)]) == ["in"]
    guesses = [knock(town, f"name {n}", "guess", address=address) for n in range(60)]
    assert codes(guesses)[-1] == "too_many_tries"
    assert codes([knock(town, "marram", f"{WORDS} 2", address=address)]) == ["too_many_tries"]
    assert codes([knock(town, "oxbow", browser.password, address=address)]) == ["in"]


def test_one_address_has_few_tries_for_one_account_and_then_waits(town: Town, clock: SetClock) -> None:
    browser = town.settle("oxbow")
    assert codes([knock(town, "oxbow", browser.password)]) == ["in"]
    tried = [knock(town, "oxbow", "guess") for _ in range(12)]
    assert codes(tried) == ["sign_in_failed"] * attempts.PAIR_TRIES + ["too_many_tries"] * 2
    assert codes([knock(town, "oxbow", browser.password)]) == ["too_many_tries"]
    clock.forward(minutes=15)
    assert codes([knock(town, "oxbow", browser.password)]) == ["in"]


def test_a_right_password_with_wrong_codes_counts_as_guessing(town: Town) -> None:
    browser = town.enter("sedge", Role.REVIEWER)
    tried = [knock(town, "sedge", browser.password, address="192.0.2.99", code=f"{n:06}") for n in range(12)]
    assert codes(tried)[-1] == "too_many_tries"


def test_a_name_that_nobody_has_is_slowed_alike(town: Town) -> None:
    town.settle("oxbow")
    for name in ("oxbow", "nobody"):
        tried = [knock(town, name, "guess", address=f"192.0.2.{n}") for n in range(32)]
        assert codes(tried) == ["sign_in_failed"] * 30 + ["too_many_tries"] * 2


def test_it_is_counted_for_every_server_and_across_restarts(town: Town, registry: Registry) -> None:
    town.settle("oxbow")
    for n in range(20):
        knock(town, "oxbow", "guess", address=f"192.0.2.{n}")
    registry.signing_in = SigningIn(registry.database, registry.sealer, quick())
    tried = [knock(town, "oxbow", "guess", address=f"198.51.100.{n}") for n in range(12)]
    assert codes(tried) == ["sign_in_failed"] * 10 + ["too_many_tries"] * 2


def test_over_http_it_says_when_to_come_back(town: Town) -> None:
    town.settle("oxbow")
    body = {"name": "oxbow", "password": "guess"}
    answers = [town.client.post(f"{API}/session", json=body) for _ in range(11)]
    assert (answers[-1].status_code, answers[-1].json()["code"]) == (429, "too_many_tries")
    assert 0 < int(answers[-1].headers["retry-after"]) <= 900


def test_rows_are_bounded_and_cleaned(town: Town, registry: Registry, clock: SetClock) -> None:
    with registry.database.write() as session:
        for n in range(1000):
            with suppress(CantrailError):
                attempts.begin(session, Flat(), name=f"name {n}", account=None, address=f"192.0.2.{n}", now=clock.now())
        assert session.exec(select(func.count()).select_from(SignInCount)).one() <= 3 * 16**2
    clock.forward(minutes=16)

    def clean(session: WriteSession) -> int:
        attempts.clean(session, now=clock.now())
        return session.exec(select(func.count()).select_from(SignInCount)).one()

    assert registry.database.run(clean) == 0


class Flat:
    """Marks so few ways that buckets soon repeat."""

    def seal(self, secret: str, about: str) -> str:
        return secret

    def unseal(self, sealed: str, about: str) -> str:
        return sealed

    def mark(self, text: str) -> str:
        return f"000{sha256(text.encode()).hexdigest()[:2]}" + "0" * 59


def test_when_too_many_sign_in_at_once_one_is_told_to_come_back(town: Town, registry: Registry) -> None:
    browser = town.settle("oxbow")
    passwords = quick(at_once=1, wait_s=0.01)
    registry.signing_in = SigningIn(registry.database, registry.sealer, passwords)
    assert passwords.check("x", None).right is False
    with passwords._turn():
        answer = town.client.post(f"{API}/session", json={"name": "oxbow", "password": browser.password})
    assert (answer.status_code, answer.json()["code"]) == (503, "signing_in_busy")
    assert int(answer.headers["retry-after"]) > 0
    browser.sign_in()


def test_a_hash_made_in_an_older_way_is_made_anew(town: Town, registry: Registry) -> None:
    browser = town.settle("oxbow")
    newer = PasswordHash((Argon2Hasher(time_cost=2, memory_cost=16, parallelism=1),))
    registry.signing_in = SigningIn(registry.database, registry.sealer, Passwords(newer))
    browser.sign_in()
    with registry.database.read() as session:
        kept = accounts.named(session, "oxbow").password_hash
    assert kept is not None
    assert "m=16,t=2" in kept
    browser.sign_in()


class TestLettingOneselfIn:
    """A registry may be open to anybody; who comes is a contributor."""

    BODY = {"name": "newcomer", "password": "thistle wharf kettle marble"}  # noqa: RUF012

    def test_anybody_becomes_a_contributor(self, town: Town) -> None:
        answer = town.client.post(f"{API}/accounts", json=self.BODY)
        assert answer.status_code == 201, answer.text
        assert answer.json()["role"] == "contributor"
        browser = town.browser("newcomer", self.BODY["password"])
        browser.sign_in()
        assert browser.post("/publishers", {"name": "Orrin", "kind": "vehicle_maker"}).status_code == 201

    def test_a_closed_registry_lets_nobody_in(self, town: Town, registry: Registry) -> None:
        registry.settings = registry.settings.model_copy(update={"open_registration": False})
        answer = town.client.post(f"{API}/accounts", json=self.BODY)
        assert (answer.status_code, answer.json()["code"]) == (403, "registration_closed")

    def test_a_name_is_one_account_s(self, town: Town) -> None:
        town.settle("newcomer")
        answer = town.client.post(f"{API}/accounts", json=self.BODY)
        assert (answer.status_code, answer.json()["code"]) == (409, "name_taken")

    @pytest.mark.parametrize("name", ["a-0123456789abcdef", " ", "two\nlines", "\u202egnirts"])
    def test_a_name_can_be_read_and_is_no_pseudonym(self, town: Town, name: str) -> None:
        answer = town.client.post(f"{API}/accounts", json={**self.BODY, "name": name})
        assert (answer.status_code, answer.json()["code"]) == (422, "bad_name")

    @pytest.mark.parametrize(
        ("password", "code"),
        [
            ("brief7", "password_too_short"),
            ("x" * 129, "password_too_long"),
            ("newcomer likes otters", "password_has_name"),
            ("passwordpassword", "password_common"),
        ],
    )
    def test_a_weak_password_is_refused_and_not_repeated(self, town: Town, password: str, code: str) -> None:
        answer = town.client.post(f"{API}/accounts", json={**self.BODY, "password": password})
        assert (answer.status_code, answer.json()["code"]) == (422, code)
        assert answer.json()["errors"][0]["pointer"] == "/password"
        assert password not in answer.text

    def test_one_address_makes_few_accounts_in_a_while(self, town: Town) -> None:
        answers = [town.client.post(f"{API}/accounts", json={**self.BODY, "name": f"newcomer {n}"}) for n in range(52)]
        assert answers[-1].status_code == 429


class TestAForgottenPassword:
    """A code takes its place, once."""

    NEW = "thistle wharf kettle marble"

    def reset(self, town: Town, name: str, reset: str, **more: str) -> httpx.Response:
        return town.client.post(
            f"{API}/password-resets", json={"name": name, "reset": reset, "password": self.NEW, **more}
        )

    def test_a_given_code_sets_a_new_password_once(self, town: Town, registry: Registry) -> None:
        browser = town.settle("oxbow")
        town.settle("marram")
        with registry.database.write() as session:
            code = accounts.reset(session, name="oxbow", one_time_password=False, now=town.clock.now()).code
        assert self.reset(town, "marram", code).status_code == 401
        assert self.reset(town, "oxbow", code.upper().replace("-", " ")).status_code == 204
        assert self.reset(town, "oxbow", code).status_code == 401
        browser.sign_in(status=401)
        browser.password = self.NEW
        browser.sign_in()

    def test_it_is_good_for_a_day(self, town: Town, registry: Registry, clock: SetClock) -> None:
        town.settle("oxbow")
        with registry.database.write() as session:
            code = accounts.reset(session, name="oxbow", one_time_password=False, now=clock.now()).code
        clock.forward(hours=24)
        answer = self.reset(town, "oxbow", code)
        assert (answer.status_code, answer.json()["code"]) == (401, "sign_in_failed")

    def test_where_one_time_passwords_are_on_it_takes_one_too(self, town: Town, registry: Registry) -> None:
        browser = town.enter("sedge", Role.REVIEWER)
        with registry.database.write() as session:
            code = accounts.reset(session, name="sedge", one_time_password=False, now=town.clock.now()).code
        assert self.reset(town, "sedge", code).status_code == 401
        assert self.reset(town, "sedge", code, code="000000").status_code == 401
        town.clock.forward(minutes=1)
        assert self.reset(town, "sedge", code, code=browser.code()).status_code == 204

    def test_a_recovery_code_takes_its_place_but_not_the_one_time_password_s_as_well(self, town: Town) -> None:
        browser = town.enter("sedge", Role.REVIEWER)
        one, other = browser.recovery[:2]
        assert self.reset(town, "sedge", one, code=one).status_code == 401
        assert self.reset(town, "sedge", one, code=other).status_code == 401
        town.clock.forward(minutes=1)
        assert self.reset(town, "sedge", one, code=browser.code()).status_code == 204
        browser.password = self.NEW
        browser.sign_in()

    def test_a_weak_new_password_uses_nothing_up(self, town: Town, registry: Registry) -> None:
        town.settle("oxbow")
        with registry.database.write() as session:
            code = accounts.reset(session, name="oxbow", one_time_password=False, now=town.clock.now()).code
        weak = {"name": "oxbow", "reset": code, "password": "oxbowoxbowoxbow"}
        assert town.client.post(f"{API}/password-resets", json=weak).status_code == 422
        assert self.reset(town, "oxbow", code).status_code == 204


def test_without_the_key_of_secrets_nobody_signs_in_and_it_is_said_why(town: Town, tmp_path: Path) -> None:
    browser = town.settle("oxbow")
    missing = FileSealer(tmp_path / "missing")
    town.registry.signing_in = SigningIn(town.registry.database, missing, quick())
    answer = browser.post("/session", {"name": "oxbow", "password": browser.password})
    assert (answer.status_code, answer.json()["code"]) == (503, "no_sealing_key")
