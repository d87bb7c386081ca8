"""Whom a request comes from: what a trusted proxy wrote down, and nothing that a client made up."""

import pytest
from django.test import RequestFactory

from config.proxies import client_address, client_network


def request(forwarded: str | None, connection: str = "10.0.0.9"):
    headers = {} if forwarded is None else {"X-Forwarded-For": forwarded}
    return RequestFactory(REMOTE_ADDR=connection).get("/", headers=headers)


@pytest.mark.parametrize(
    ("proxies", "forwarded", "found"),
    [
        (0, None, "10.0.0.9"),
        (0, "192.0.2.1", "10.0.0.9"),
        (1, None, "10.0.0.9"),
        (1, "192.0.2.1", "192.0.2.1"),
        (1, "198.51.100.7, 192.0.2.1", "192.0.2.1"),
        (2, "198.51.100.7, 192.0.2.1, 10.0.0.8", "192.0.2.1"),
        # Fewer entries than proxies: it came past one of them.
        (2, "192.0.2.1", "10.0.0.9"),
        (1, "nonsense", "10.0.0.9"),
        (1, "192.0.2.1,", "10.0.0.9"),
        (1, "::ffff:192.0.2.1", "192.0.2.1"),
        (1, "2001:DB8::7", "2001:db8::7"),
    ],
)
def test_the_client_is_whom_the_trusted_proxy_names(settings, proxies, forwarded, found):
    settings.TRUSTED_PROXIES = proxies
    assert client_address(request(forwarded)) == found


@pytest.mark.parametrize(
    ("connection", "network"),
    [("192.0.2.1", "192.0.2.1"), ("2001:db8:1:2ff:3::4", "2001:db8:1:200::/56"), ("", "")],
)
def test_a_client_of_ipv6_is_its_network(settings, connection, network):
    assert client_network(request(None, connection)) == network
