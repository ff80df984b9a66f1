"""One-time passwords over HTTP: set up, shown once, used once, lost and begun again."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from urllib.parse import parse_qs, urlsplit

import pyotp
import pytest

from app.bootstrap import Registry
from app.core.errors import CantrailError
from app.core.permissions import Role
from app.persistence.models import Purpose
from app.services import accounts, one_time_passwords
from tests.web.signed.town import Browser, SetClock, Town

THREADS = 32


def test_a_secret_is_shown_once_and_counts_once_confirmed(town: Town) -> None:
    browser = town.enter("oxbow")
    begun = browser.post("/account/one-time-password", {"password": browser.password})
    shown = begun.json()
    address = urlsplit(shown["address"])
    assert (address.scheme, address.netloc, address.path) == ("otpauth", "totp", "/Cantrail:oxbow")
    assert parse_qs(address.query)["secret"] == [shown["secret"]]
    assert parse_qs(address.query)["issuer"] == ["Cantrail"]
    assert begun.headers["cache-control"] == "no-store"
    assert browser.get("/session").json()["one_time_password"] is False
    other = town.another(browser)
    other.sign_in()
    wrong = browser.post("/account/one-time-password/confirmation", {"code": "000000"})
    assert (wrong.status_code, wrong.json()["code"]) == (422, "wrong_code")
    browser.secret = shown["secret"]
    on = browser.post("/account/one-time-password/confirmation", {"code": browser.code()})
    assert on.status_code == 201
    assert len(set(on.json()["codes"])) == 10
    assert browser.get("/session").json()["one_time_password"] is True
    assert browser.get("/session").json()["recovery_codes"] == 10
    again = browser.post("/account/one-time-password", browser.proof())
    assert (again.status_code, again.json()["code"]) == (409, "one_time_password_on")
    none = browser.post("/account/one-time-password/confirmation", {"code": browser.code()})
    assert (none.status_code, none.json()["code"]) == (409, "nothing_to_confirm")


def test_beginning_takes_the_password(town: Town) -> None:
    browser = town.enter("oxbow")
    refused = browser.post("/account/one-time-password", {"password": "wrong"})
    assert (refused.status_code, refused.json()["code"]) == (401, "sign_in_failed")


def test_a_code_is_taken_once(town: Town, clock: SetClock) -> None:
    browser = town.enter("sedge", Role.REVIEWER)
    clock.forward(minutes=5)
    body = {"name": "sedge", "password": browser.password, "code": browser.code()}
    assert browser.post("/session", body).status_code == 201
    assert browser.post("/session", body).status_code == 401


@pytest.mark.parametrize(("off", "good"), [(-60, False), (-30, True), (0, True), (30, True), (60, False)])
def test_a_clock_may_be_half_a_minute_off(town: Town, clock: SetClock, off: int, good: bool) -> None:
    browser = town.enter("sedge", Role.REVIEWER)
    clock.forward(minutes=5)
    assert browser.secret is not None
    code = pyotp.TOTP(browser.secret).at(int(clock.now().timestamp()) + off)
    answer = browser.post("/session", {"name": "sedge", "password": browser.password, "code": code})
    assert (answer.status_code == 201) is good


def test_a_code_older_than_one_that_was_used_is_taken_no_more(town: Town, clock: SetClock) -> None:
    browser = town.enter("sedge", Role.REVIEWER)
    clock.forward(minutes=5)
    assert browser.secret is not None
    now = int(clock.now().timestamp())
    for off, status in ((30, 201), (0, 401), (-30, 401), (30, 401)):
        code = pyotp.TOTP(browser.secret).at(now + off)
        answer = browser.post("/session", {"name": "sedge", "password": browser.password, "code": code})
        assert answer.status_code == status, off


def test_a_recovery_code_works_once(town: Town) -> None:
    browser = town.enter("sedge", Role.REVIEWER)
    first = browser.recovery[0]
    for code, status in ((first, 201), (first, 401), (browser.recovery[1].upper().replace("-", ""), 201)):
        answer = browser.post("/session", {"name": "sedge", "password": browser.password, "code": code})
        assert answer.status_code == status
    assert browser.get("/session").json()["recovery_codes"] == 8


def test_recovery_codes_made_again_void_the_earlier_ones(town: Town) -> None:
    browser = town.enter("sedge", Role.REVIEWER)
    made = browser.post("/account/recovery-codes", browser.proof())
    assert made.status_code == 201
    assert set(made.json()["codes"]).isdisjoint(browser.recovery)
    old = {"name": "sedge", "password": browser.password, "code": browser.recovery[0]}
    assert browser.post("/session", old).status_code == 401
    assert browser.post("/session", {**old, "code": made.json()["codes"][0]}).status_code == 201


def test_recovery_codes_are_for_those_with_one_time_passwords(town: Town) -> None:
    browser = town.enter("oxbow")
    refused = browser.post("/account/recovery-codes", browser.proof())
    assert (refused.status_code, refused.json()["code"]) == (409, "one_time_password_off")


def test_turning_them_off_takes_both_and_ends_everything(town: Town) -> None:
    browser = town.enter("sedge", Role.REVIEWER)
    for proof in ({"password": browser.password}, {"password": "wrong", "code": browser.recovery[0]}):
        assert browser.post("/account/one-time-password/removal", proof).status_code == 401
    assert browser.post("/account/one-time-password/removal", browser.proof()).status_code == 204
    assert not browser.is_in()
    browser.secret = None
    assert browser.sign_in().json()["needs_one_time_password"] is True
    lost = {"name": "sedge", "password": browser.password, "code": browser.recovery[3]}
    assert browser.post("/session", lost).json()["recovery_codes"] == 0


def test_the_operator_ends_those_of_somebody_who_lost_the_authenticator(town: Town, registry: Registry) -> None:
    browser = town.enter("sedge", Role.REVIEWER)
    with registry.database.write() as session:
        code = accounts.reset(session, name="sedge", one_time_password=True, now=town.clock.now()).code
    assert not browser.is_in()
    body = {"name": "sedge", "reset": code, "password": "thistle wharf kettle marble"}
    assert browser.post("/password-resets", body).status_code == 204
    browser.secret, browser.password = None, body["password"]
    assert browser.sign_in().json()["needs_one_time_password"] is True


def together(registry: Registry, clock: SetClock, account: str, code: str) -> int:
    """How many of many threads a code lets in."""
    start = Barrier(THREADS)

    def use(_: int) -> bool:
        start.wait()
        try:
            return registry.database.run(
                lambda session: one_time_passwords.uses(session, registry.sealer, account, code, clock.now())
            )
        except CantrailError:
            return False

    with ThreadPoolExecutor(THREADS) as pool:
        return sum(pool.map(use, range(THREADS)))


def test_of_many_who_use_one_code_at_once_one_gets_in(town: Town, registry: Registry, clock: SetClock) -> None:
    browser = town.enter("sedge", Role.REVIEWER)
    account = town.id_of("sedge")
    clock.forward(minutes=5)
    assert together(registry, clock, account, browser.code()) == 1
    assert together(registry, clock, account, browser.recovery[0]) == 1


def test_a_code_is_its_account_s_and_its_purpose_s(town: Town, registry: Registry, clock: SetClock) -> None:
    browser = town.enter("sedge", Role.REVIEWER)
    town.enter("tambour", Role.REVIEWER)
    with registry.database.write() as session:
        other = town.id_of("tambour")
        assert not one_time_passwords.uses(session, registry.sealer, other, browser.recovery[0], clock.now())
        mine = town.id_of("sedge")
        assert not one_time_passwords.uses_code(session, mine, browser.recovery[0], Purpose.RESET, clock.now())
        assert one_time_passwords.uses(session, registry.sealer, mine, browser.recovery[0], clock.now())


@pytest.mark.parametrize("code", ["", "12345", "1234567", "١٢٣٤٥٦", "12 345", "１２３４５６"])
def test_what_is_no_code_is_none(town: Town, code: str) -> None:
    browser: Browser = town.enter("sedge", Role.REVIEWER)
    answer = browser.post("/session", {"name": "sedge", "password": browser.password, "code": code})
    assert answer.status_code in {401, 422}
