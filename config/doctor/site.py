"""The settings, as far as each alone could be used and they still do not make a site."""

import socket
from email.utils import parseaddr
from urllib.parse import urlsplit

from django.conf import settings

from config.doctor.wrong import Wrong
from config.site import is_this_machine, site_url


def site() -> str:
    """The address that members type, and what must go with it."""
    if is_this_machine():
        if not settings.EMBEDDED:
            raise Wrong("SITE_URL: is not set to an address that other machines can open, and links in mails need one.")
        return f"{site_url()} is for this machine alone."
    if settings.DEBUG:
        raise Wrong("DEBUG: is on, so that error pages show the settings to everybody; set it to 0.")
    if not settings.SITE_IS_SECURE:
        raise Wrong(
            "SITE_URL: is plain http, so that passwords travel in clear; put a proxy with a certificate in front of the"
            " book and write https://."
        )
    if not settings.TRUSTED_PROXIES:
        raise Wrong(
            "TRUSTED_PROXIES: is 0, so that the book never learns that somebody came by https, and leads them there"
            " again and again; set it to the number of proxies in front."
        )
    return f"{site_url()}; proxies in front that are believed: {settings.TRUSTED_PROXIES}."


def host() -> str:
    """Whether the name of the site is known."""
    name = urlsplit(site_url()).hostname or ""
    try:
        found = socket.getaddrinfo(name, None)
    except OSError as error:
        raise Wrong(
            f"The name {name} is not known here ({error.strerror}); enter it where your domain is kept."
        ) from error
    return f"{name} is {found[0][4][0]}."


def secrets() -> str:
    """Where the key comes from; that it is long enough is asked at every start."""
    kept = settings.DATA_DIR / "secret_key"
    if kept.exists() and kept.read_text() == settings.SECRET_KEY:
        return f"The key is kept in {kept}: keep a copy, without which no second step works in a book moved elsewhere."
    return "The key comes from SECRET_KEY."


def sender() -> str:
    """Who mail comes from."""
    address = parseaddr(settings.DEFAULT_FROM_EMAIL)[1]
    if settings.EMAIL_IS_SENT and address.endswith("@localhost"):
        raise Wrong(f"MAIL_FROM: {address} is no address that others can answer; most mail servers refuse it.")
    return f"Mail comes from {settings.DEFAULT_FROM_EMAIL}."
