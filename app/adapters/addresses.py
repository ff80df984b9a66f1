"""Which addresses are fetched: whole ones, spelt plainly, of hosts that stand outside for everyone to reach."""

import re
from collections.abc import Iterable
from ipaddress import AddressValueError, IPv4Address, IPv6Address, ip_address, ip_network
from typing import Final
from urllib.parse import urljoin

import httpx
import idna
import msgspec

from app.core.errors import CantrailError, invalid

LONGEST: Final = 2000
"""How many characters an address may have."""

_ADDRESS: Final = re.compile(r"(https?)://([^/?#]+)([^#]*)(?:#.*)?", re.ASCII | re.IGNORECASE)
_AUTHORITY: Final = re.compile(r"(\[[^\[\]]*\]|[^\[\]:]+)(?::(.*))?")
_LABEL: Final = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?")
# A last label with digits is an IP address in some spelling (0x7f000001, 017700000001), to one library or another.
_LAST_LABEL: Final = re.compile(r"[a-z]{2,63}|xn--[a-z0-9-]{0,58}[a-z0-9]")
_LONGEST_NAME: Final = 253

_INSIDE_NAMES: Final = (
    "arpa",
    "corp",
    "home",
    "internal",
    "intranet",
    "lan",
    "local",
    "localdomain",
    "localhost",
    "onion",
    "private",
)

# `is_global` holds for some of these, in one version of Python or another.
_NEVER: Final = tuple(
    ip_network(network)
    for network in (
        "0.0.0.0/8",  # this network
        "10.0.0.0/8",  # private
        "100.64.0.0/10",  # shared between a provider and its customers
        "127.0.0.0/8",  # loopback
        "168.63.129.16/32",  # a cloud's metadata, at an address that looks public
        "169.254.0.0/16",  # link-local, and most clouds' metadata
        "172.16.0.0/12",  # private
        "192.0.0.0/24",  # protocol assignments, and a cloud's metadata
        "192.0.2.0/24",  # documentation
        "192.31.196.0/24",  # name servers for private addresses
        "192.52.193.0/24",  # multicast tunnels
        "192.88.99.0/24",  # relays to 6to4
        "192.168.0.0/16",  # private
        "192.175.48.0/24",  # name servers for private addresses
        "198.18.0.0/15",  # benchmarking
        "198.51.100.0/24",  # documentation
        "203.0.113.0/24",  # documentation
        "224.0.0.0/4",  # multicast
        "240.0.0.0/4",  # reserved, and broadcast
        "2001::/23",  # protocol assignments: Teredo, benchmarking, ORCHID
        "2001:db8::/32",  # documentation
        "2002::/16",  # 6to4: an IPv4 address inside
        "2620:4f:8000::/48",  # name servers for private addresses
        "3fff::/20",  # documentation
    )
)
# All that is given out of IPv6. Outside it are loopback, unspecified, IPv4 mapped, compatible and translated (NAT64),
# unique local and its metadata addresses, link-local, site-local and multicast.
_GIVEN_OUT: Final = ip_network("2000::/3")


class Place(msgspec.Struct, frozen=True):
    """An address taken apart: what is asked for, the host as name servers and TLS know it, the port, and, where the
    host is an IP address itself, that one."""

    url: httpx.URL
    host: str
    port: int
    ip: str | None


def read_address(address: str) -> Place:
    """Take an address apart. Raises `address_refused` for one that is never fetched, whatever its host resolves to."""
    if len(address) > LONGEST:
        raise _refused("An address has at most 2,000 characters: give a shorter one, or upload the file.")
    if not _is_plain(address):
        raise _refused("An address holds no spaces, backslashes or invisible characters: copy it once more.")
    whole = _ADDRESS.fullmatch(address)
    if whole is None:
        raise _refused("Give a whole address: http:// or https://, then a host.")
    scheme, authority, rest = whole[1].lower(), whole[2], whole[3]
    if "@" in authority:
        raise _refused("An address with a user name or a password in it is not fetched: leave them out.")
    named = _AUTHORITY.fullmatch(authority)
    if named is None:
        raise _refused_host()
    if named[2] not in {None, "80", "443"}:
        raise _refused("Only the ports 80 and 443 are fetched from: leave the port out.")
    ip = _ip(named[1])
    host = str(ip) if ip is not None else _name(named[1])
    port = int(named[2] or {"http": 80, "https": 443}[scheme])
    bracketed = f"[{host}]" if isinstance(ip, IPv6Address) else host
    # httpx only escapes what stands behind the host: nothing is left for it to read otherwise than it was read here.
    url = httpx.URL(f"{scheme}://{bracketed}:{port}{rest}")
    return Place(url, host, port, None if ip is None else host)


def led_on(place: Place, location: str) -> Place:
    """Where a redirect leads, checked like any address. Raises `address_refused`, in words that do not tell where."""
    try:
        # Joining drops tabs and line ends without a word: what is not plain is told before.
        return read_address(urljoin(str(place.url), location) if _is_plain(location) else location)
    except (CantrailError, ValueError) as error:
        raise _refused(
            "This address leads on to one that is never fetched. Open it yourself, and upload it."
        ) from error


def public(found: Iterable[str]) -> tuple[str, ...]:
    """The IP addresses that a host was found at. Raises `address_refused` if so much as one of them is inside."""
    addresses = tuple(found)
    if not all(_is_public_text(address) for address in addresses):
        raise _refused_inside()
    return addresses


def is_public(ip: IPv4Address | IPv6Address) -> bool:
    """Whether an IP address is one that anyone may reach from anywhere, and that leads nowhere else."""
    if isinstance(ip, IPv6Address) and (ip.scope_id is not None or ip not in _GIVEN_OUT):
        return False
    return ip.is_global and not ip.is_multicast and not any(ip in network for network in _NEVER)


def _is_public_text(address: str) -> bool:
    try:
        return is_public(ip_address(address))
    except ValueError:
        return False


def _is_plain(address: str) -> bool:
    """Nothing that one reader drops, or takes for a slash, and another does not."""
    return address.isprintable() and " " not in address and "\\" not in address


def _ip(host: str) -> IPv4Address | IPv6Address | None:
    """The public IP address that stands for a host, in its one plain spelling; None for what should be a name."""
    try:
        ip = IPv6Address(host[1:-1]) if host.startswith("[") else IPv4Address(host)
    except AddressValueError as error:
        if host.startswith("["):
            raise _refused_host() from error
        return None
    if not is_public(ip):
        raise _refused_inside()
    return ip


def _name(host: str) -> str:
    """A host's name as name servers know it."""
    name = host.lower()
    if len(name) > _LONGEST_NAME:
        raise _refused_host()
    if not name.isascii() or "xn--" in name:
        try:
            name = idna.encode(name, strict=True).decode("ascii")
        except UnicodeError as error:
            raise _refused_host() from error
    labels = name.split(".")
    if (
        len(labels) == 1
        or _LAST_LABEL.fullmatch(labels[-1]) is None
        or not all(_LABEL.fullmatch(label) for label in labels)
    ):
        raise _refused_host()
    if labels[-1] in _INSIDE_NAMES:
        raise _refused_inside()
    return name


def _refused(message: str) -> CantrailError:
    return invalid("/address", "address_refused", message)


def _refused_host() -> CantrailError:
    return _refused("The address does not name a host on the public internet in the usual spelling: check it.")


def _refused_inside() -> CantrailError:
    return _refused(
        "This address is inside some network, or leads there, and is never fetched. Give one that anyone can open, "
        "or upload the file."
    )
