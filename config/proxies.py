"""The client's address when there are proxies in front of the book."""

import ipaddress

from django.conf import settings
from django.http import HttpRequest

#: Most providers give a household a whole IPv6 network of this prefix length, so it counts as one client.
_IPV6_NETWORK = 56


def client_address(request: HttpRequest) -> str:
    """The client's address as the outermost trusted proxy saw it, else the connection's.

    Each proxy adds the address it was called from at the end of X-Forwarded-For. So only the last TRUSTED_PROXIES
    entries can be believed; a client can invent the ones before. A header that is too short or holds no address does
    not count.
    """
    trusted: int = settings.TRUSTED_PROXIES
    connection = str(request.META.get("REMOTE_ADDR", ""))
    written = request.headers.get("X-Forwarded-For", "").split(",")
    if not trusted or len(written) < trusted:
        return connection
    return _address(written[-trusted]) or connection


def client_network(request: HttpRequest) -> str:
    """What counts as one client: an IPv4 address or an IPv6 network."""
    address = client_address(request)
    try:
        parsed = ipaddress.ip_address(address)
    except ValueError:  # a Unix socket has no address, so all its callers count as one
        return address
    if parsed.version == 4:
        return str(parsed)
    return str(ipaddress.ip_network(f"{parsed}/{_IPV6_NETWORK}", strict=False))


def _address(text: str) -> str:
    """An address in its usual form, with IPv4 inside IPv6 as IPv4; empty if the text is not an address."""
    try:
        parsed = ipaddress.ip_address(text.strip())
    except ValueError:
        return ""
    return str(getattr(parsed, "ipv4_mapped", None) or parsed)
