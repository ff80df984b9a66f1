"""The published codes of RFC 4226 (appendix D) and RFC 6238 (appendix B), through the library that makes ours."""

from base64 import b32encode
from datetime import UTC, datetime

import pyotp
import pytest

from app.services.one_time_passwords import _step

SEED = b32encode(b"12345678901234567890").decode()


@pytest.mark.parametrize(
    ("count", "code"),
    list(
        enumerate(("755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489"))
    ),
)
def test_counted_codes(count: int, code: str) -> None:
    assert pyotp.HOTP(SEED).at(count) == code


@pytest.mark.parametrize(
    ("seconds", "code"),
    [
        (59, "94287082"),
        (1111111109, "07081804"),
        (1111111111, "14050471"),
        (1234567890, "89005924"),
        (2000000000, "69279037"),
        (20000000000, "65353130"),
    ],
)
def test_timed_codes(seconds: int, code: str) -> None:
    assert pyotp.TOTP(SEED, digits=8).at(seconds) == code
    # Six digits are the last six of eight, and the step that we find is the one of the appendix.
    assert _step(SEED, code[2:], datetime.fromtimestamp(seconds, UTC)) == seconds // 30
