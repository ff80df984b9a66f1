"""From where somebody asks, as limits count it."""

from typing import Any

import pytest

from app.web.asking_address import address_of


@pytest.mark.parametrize(
    ("client", "address"),
    [
        (("192.0.2.7", 40000), "192.0.2.7"),
        (("::ffff:192.0.2.7", 40000), "192.0.2.7"),
        (("2001:db8:1:2:3:4:5:6", 40000), "2001:db8:1:2::/64"),
        (("2001:db8:1:2:ffff::1", 1), "2001:db8:1:2::/64"),
        (("fe80::1%eth0", 1), "fe80::/64"),
        (("testclient", 50000), "unknown"),
        (("", 0), "unknown"),
        (None, "unknown"),
    ],
)
def test_an_address_or_the_network_that_is_one_s_own(client: Any, address: str) -> None:
    assert address_of({"client": client, "headers": [(b"x-forwarded-for", b"203.0.113.9")]}) == address


def test_a_connection_without_an_address() -> None:
    assert address_of({}) == "unknown"
