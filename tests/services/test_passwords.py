"""Which passwords are taken."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from pwdlib import PasswordHash
from zxcvbn.frequency_lists import FREQUENCY_LISTS

from app.core.errors import CantrailError
from app.services.passwords import LEAST, MOST, Passwords, refuse_weak
from tests.night import share


def code(password: str, *own: str) -> str | None:
    try:
        refuse_weak(password, own)
    except CantrailError as error:
        return error.code
    return None


@pytest.mark.parametrize(
    "password",
    [
        "trailing lantern otter",
        "x9#Kp2!vLm8q",
        "wyvern-marrow-gusset" * 6,
        "одиннадцать кротов поют",
        "🦦🛶🪵🧭🌧️ rain on tin roofs",
        "   spaces at both ends   ",
    ],
)
def test_any_characters_are_taken(password: str) -> None:
    assert code(password) is None


@pytest.mark.parametrize(
    ("password", "expected"),
    [
        ("", "password_too_short"),
        ("x9#Kp2!vLm8", "password_too_short"),
        ("🦦" * 11, "password_too_short"),
        ("x9#Kp2!vLm8q" * 11, "password_too_long"),
    ],
)
def test_length_is_all_that_is_asked_of_its_form(password: str, expected: str) -> None:
    assert code(password) == expected
    assert (LEAST, MOST) == (12, 128)


@pytest.mark.parametrize(
    "password",
    [
        "password1234",
        "Password1234!",
        "P@ssw0rd2024!",
        "qwertyuiop12",
        "aaaaaaaaaaaaaaaa",
        "abcabcabcabcabcabc",
        "123456789012",
        "iloveyou2023",
        "letmeinletmein",
        "a" * 128,
    ],
)
def test_what_everybody_would_try_is_refused(password: str) -> None:
    assert code(password) == "password_common"


def test_every_listed_one_that_is_long_enough_is_refused() -> None:
    listed = {word for words in FREQUENCY_LISTS.values() for word in words if len(word) >= LEAST}
    assert len(listed) >= 3000
    assert [word for word in share(sorted(listed), 4) if code(word) is None] == []


@pytest.mark.parametrize(
    "password", ["cantrail lantern otter", "CANTRAIL-gravel-9", "my oxbow lake is deep", "OxBow!gravel!9"]
)
def test_one_s_own_name_and_the_registry_s_are_no_part_of_it(password: str) -> None:
    assert code(password, "oxbow lane", "oxbow", "lane") == "password_has_name"


def test_a_short_word_of_a_name_may_occur() -> None:
    assert code("trailing lantern otter", "al", "al ott", "ott") is None


def test_hashing_is_argon2id_with_the_recommended_cost_and_a_salt_of_its_own() -> None:
    passwords = Passwords()
    one, other = passwords.hashed("trailing lantern otter"), passwords.hashed("trailing lantern otter")
    assert one.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert one != other
    assert passwords.check("trailing lantern otter", one) == (True, None)
    assert passwords.check("trailing lantern otter ", one) == (False, None)
    assert passwords.check("Trailing lantern otter", one) == (False, None)


def test_only_so_many_are_hashed_at_once() -> None:
    passwords = Passwords(at_once=2, wait_s=0.01)
    kept = passwords.hashed("trailing lantern otter")
    passwords.check("x", kept)

    def check(_: int) -> str:
        try:
            return str(passwords.check("trailing lantern otter", kept).right)
        except CantrailError as error:
            return error.code

    with ThreadPoolExecutor(16) as pool:
        found = set(pool.map(check, range(16)))
    assert found == {"True", "signing_in_busy"}
    assert passwords.check("trailing lantern otter", kept).right


def test_no_hash_of_nothing_is_ever_right() -> None:
    passwords = Passwords(PasswordHash.recommended())
    assert passwords.check(passwords._stand_in, None) == (False, None)
    assert passwords.check("", None) == (False, None)
