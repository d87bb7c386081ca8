"""The address at which members reach the book: every link in a mail or a calendar begins with it."""

import re
from pathlib import Path

from django.conf import settings
from django.urls import reverse

#: Where `serve` and `demo` listen unless they are told.
DEFAULT_HOST, DEFAULT_PORT = "127.0.0.1", 8000
_THIS_MACHINE = re.compile(r"localhost|127\..*|::1")
_ANY_ADDRESS = {"", "0.0.0.0", "::"}  # noqa: S104 - compared with, never listened at


def site_url() -> str:
    """SITE_URL where it is set; else where `serve` last listened; else this machine. No slash at its end."""
    return settings.SITE_URL or _served_at() or url_of(DEFAULT_HOST, DEFAULT_PORT)


def address_of(name: str, *arguments: object) -> str:
    """The whole address of a page of the book."""
    return site_url() + reverse(name, args=arguments)


def page(name: str, *arguments: object) -> str:
    """The path of a page that belongs to whichever app ``settings.PAGES`` names."""
    return reverse(settings.PAGES[name], args=arguments)


def remember_served_at(host: str, port: int) -> None:
    """Keep where the book is served, for whatever sends mail meanwhile in another process, and until it next is."""
    kept = _kept_in()
    fresh = kept.with_suffix(".new")
    fresh.write_text(url_of(host, port))
    fresh.replace(kept)


def url_of(host: str, port: int) -> str:
    """How the address begins of a site that listens at ``host``.

    This machine is called localhost, for a passkey is kept for a name; and a site that listens at every address
    of the machine goes by the first name it answers to.
    """
    if _THIS_MACHINE.fullmatch(host):
        host = "localhost"
    elif host in _ANY_ADDRESS:
        host = next((name for name in settings.ALLOWED_HOSTS if not name.startswith(("*", "."))), "localhost")
    elif ":" in host:
        host = f"[{host}]"
    return f"http://{host}" if port == 80 else f"http://{host}:{port}"


def _kept_in() -> Path:
    return Path(settings.DATA_DIR) / "served_at"


def _served_at() -> str:
    try:
        return _kept_in().read_text()
    except FileNotFoundError:
        return ""
