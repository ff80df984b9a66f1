"""From where a request comes, as far as limits on asking go."""

from collections.abc import Mapping
from ipaddress import IPv4Address, IPv6Network, ip_address
from typing import Any, Final

NOWHERE: Final = "unknown"
"""A connection without an address: a socket in the file system."""


def address_of(scope: Mapping[str, Any]) -> str:
    """The address that an ASGI connection comes from: an IPv4 address, or the /64 network of an IPv6 one, because
    whoever has one such address has all of its network.

    It is the connection's own. Behind a proxy the server puts the proxy's word in its place, for proxies that it is told
    to trust and for no others.
    """
    client = scope.get("client")
    if not client:
        return NOWHERE
    try:
        found = ip_address(str(client[0]).partition("%")[0])
    except ValueError:
        return NOWHERE
    if isinstance(found, IPv4Address):
        return str(found)
    if found.ipv4_mapped is not None:
        return str(found.ipv4_mapped)
    return str(IPv6Network((found, 64), strict=False))
