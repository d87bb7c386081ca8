"""Who is asking, where proxies stand in front of the book."""

import ipaddress

from django.conf import settings
from django.http import HttpRequest

#: Whoever holds one address of IPv6 may hold the whole of such a network: most providers give a household that much.
_IPV6_NETWORK = 56


def client_address(request: HttpRequest) -> str:
    """The address of the client: what the outermost trusted proxy wrote down, else that of the connection.

    Each proxy adds the address it was asked from at the end of X-Forwarded-For, so only as many entries from the end
    can be believed as there are trusted proxies (TRUSTED_PROXIES). What stands before them is the client's own
    invention. A header that is too short or holds no address is none.
    """
    trusted: int = settings.TRUSTED_PROXIES
    connection = str(request.META.get("REMOTE_ADDR", ""))
    written = request.headers.get("X-Forwarded-For", "").split(",")
    if not trusted or len(written) < trusted:
        return connection
    return _address(written[-trusted]) or connection


def client_network(request: HttpRequest) -> str:
    """What is counted as one client: its address, of IPv6 its network."""
    address = client_address(request)
    try:
        parsed = ipaddress.ip_address(address)
    except ValueError:  # a Unix socket has none: all who come that way are one
        return address
    if parsed.version == 4:
        return str(parsed)
    return str(ipaddress.ip_network(f"{parsed}/{_IPV6_NETWORK}", strict=False))


def _address(text: str) -> str:
    """An address as it is usually written, an IPv4 one inside IPv6 as IPv4; empty if it is none."""
    try:
        parsed = ipaddress.ip_address(text.strip())
    except ValueError:
        return ""
    return str(getattr(parsed, "ipv4_mapped", None) or parsed)
