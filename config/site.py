"""The book's own address, which every link in a mail or a calendar begins with."""

import re
from pathlib import Path
from urllib.parse import urlsplit

from django.conf import settings
from django.urls import reverse

#: Where `serve` and `demo` listen by default.
DEFAULT_HOST, DEFAULT_PORT = "127.0.0.1", 8000
_THIS_MACHINE = re.compile(r"localhost|127\..*|::1")
_ANY_ADDRESS = {"", "0.0.0.0", "::"}  # noqa: S104 - compared with, never listened on


def site_url() -> str:
    """SITE_URL if set, else where `serve` last listened, else this machine; without a slash at the end."""
    return settings.SITE_URL or _served_at() or url_of(DEFAULT_HOST, DEFAULT_PORT)


def is_this_machine() -> bool:
    """Whether the book's address is one that no other machine can open."""
    return bool(_THIS_MACHINE.fullmatch(urlsplit(site_url()).hostname or ""))


def address_of(name: str, *arguments: object) -> str:
    """The full address of a page of the book."""
    return site_url() + reverse(name, args=arguments)


def page(name: str, *arguments: object) -> str:
    """The path of the page that ``settings.PAGES`` has under this name."""
    return reverse(settings.PAGES[name], args=arguments)


def remember_served_at(host: str, port: int) -> None:
    """Write down where the book is served, for other processes that send mail."""
    kept = _kept_in()
    fresh = kept.with_suffix(".new")
    fresh.write_text(url_of(host, port))
    fresh.replace(kept)


def url_of(host: str, port: int) -> str:
    """The address of a site that listens on ``host``.

    This machine is called localhost, because a passkey is bound to a name. A site that listens on all addresses goes
    by the first name it answers to.
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
