"""Strict readers of the settings that come from the environment.

Each names the variable that it could not use and says what it takes, so that a typing slip stops the start instead of
causing odd behaviour later.
"""

import os
import secrets
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from urllib.parse import SplitResult, urlsplit

import environ
from django.core.exceptions import ImproperlyConfigured

_TRUE = {"1", "true", "yes", "on"}
_FALSE = {"0", "false", "no", "off"}
_DATABASE_SCHEMES = {"postgres", "postgresql", "sqlite"}
_BROKER_SCHEMES = {"redis", "rediss", "unix", "redis+socket"}
_MAIL_SCHEMES = {"smtp", "smtp+tls", "smtp+ssl"}

#: IMMEDIATE takes the write lock at BEGIN; with DEFERRED two writers deadlock and one fails.
SQLITE_OPTIONS = {
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA foreign_keys=ON;",
}


def text(name: str, default: str = "") -> str:
    """The variable's text without surrounding spaces; ``default`` if unset or blank."""
    return os.environ.get(name, "").strip() or default


def flag(name: str, *, default: bool) -> bool:
    """A yes-or-no variable. Raises ImproperlyConfigured for anything but the usual words."""
    value = text(name).lower()
    if not value:
        return default
    if value in _TRUE:
        return True
    if value in _FALSE:
        return False
    raise ImproperlyConfigured(f"{name}: {value!r} is neither true nor false; use 1 or 0.")


def listed(name: str, default: list[str]) -> list[str]:
    """A comma-separated variable as a list without blanks."""
    return [part.strip() for part in text(name).split(",") if part.strip()] or default


def one_of(name: str, allowed: Sequence[str], *, default: str) -> str:
    """One of a few words, in capitals."""
    value = text(name, default).upper()
    if value not in allowed:
        raise ImproperlyConfigured(f"{name}: {value!r} is not one of {', '.join(allowed)}.")
    return value


def count(name: str, *, most: int, default: int) -> int:
    """A small whole number from 0 to ``most``."""
    value = text(name)
    if not value:
        return default
    if not (value.isascii() and value.isdigit() and int(value) <= most):
        raise ImproperlyConfigured(f"{name}: {value!r} is not a whole number from 0 to {most}.")
    return int(value)


def site_url(name: str) -> str:
    """The http or https address that links in mails begin with, without a path; empty if unset."""
    value = text(name).rstrip("/")
    if not value:
        return ""
    parts = urlsplit(value)
    more_than_a_site = parts.path or parts.query or parts.fragment or parts.username or parts.password
    if parts.scheme not in {"http", "https"} or not parts.hostname or more_than_a_site or not _has_good_port(parts):
        # The value itself is not repeated: it may hold a password.
        raise ImproperlyConfigured(f"{name}: is not an address like https://book.example.org.")
    return f"{parts.scheme}://{parts.netloc}"


def database(name: str, sqlite_file: Path) -> dict[str, Any]:
    """Django's database settings from a postgres:// or sqlite:/// address; SQLite in a file if unset."""
    value = text(name, f"sqlite:///{sqlite_file}")
    parts = _checked(name, value, _DATABASE_SCHEMES)
    if parts.scheme == "sqlite" and parts.path in {"", "/"}:
        raise ImproperlyConfigured(f"{name}: names no file; use sqlite:////FOLDER/FILE.")
    config: dict[str, Any] = dict(environ.Env.db_url_config(value))
    if not config.get("NAME"):
        raise ImproperlyConfigured(f"{name}: names no database; end it with /NAME.")
    if config["ENGINE"].endswith("sqlite3"):
        config["OPTIONS"] = SQLITE_OPTIONS | config.get("OPTIONS", {})
    else:
        config["CONN_MAX_AGE"] = 60
        config["CONN_HEALTH_CHECKS"] = True
    return config


def broker(name: str) -> str:
    """The Redis address of the task queue and cache; empty if there is none (the embedded default)."""
    value = text(name)
    if value:
        _checked(name, value, _BROKER_SCHEMES)
    return value


def mail(name: str) -> dict[str, Any]:
    """Django's mail settings from an smtp:// address; empty if unset."""
    value = text(name)
    if not value:
        return {}
    parts = _checked(name, value, _MAIL_SCHEMES)
    if not parts.hostname:
        raise ImproperlyConfigured(f"{name}: names no mail server; use smtp://HOST:PORT.")
    if not parts.port:
        raise ImproperlyConfigured(f"{name}: names no port; use smtp://HOST:PORT.")
    config = dict(environ.Env.email_url_config(value))
    return {key: setting for key, setting in config.items() if key.startswith("EMAIL_")}


def folder(name: str) -> Path | None:
    """A folder by its whole path, which need not be there yet: it may be another machine's. None if unset."""
    value = text(name)
    if value and not value.startswith("/"):
        raise ImproperlyConfigured(f"{name}: {value!r} is not a whole path, such as /mnt/backups.")
    return Path(value) if value else None


def recipient(name: str) -> str:
    """The public key to which backups are sealed; empty if unset."""
    value = text(name)
    if not value:
        return ""
    # Imported only where a key is set.
    from pyrage import RecipientError, x25519

    try:
        x25519.Recipient.from_str(value)
    except RecipientError:
        # The value is not repeated: a secret key may stand there by mistake.
        raise ImproperlyConfigured(
            f"{name}: is not a public key like age1...; `manage.py backup --new-key PATH` makes one."
        ) from None
    return value


def secret_key(name: str, *, keep_in: Path, may_make: bool) -> str:
    """The signing key. If there is none and ``may_make``, one is made and kept in a private file."""
    value = text(name)
    if value:
        if len(value) < 32:
            raise ImproperlyConfigured(f"{name}: is shorter than 32 characters; use a long random text.")
        return value
    if not may_make:
        raise ImproperlyConfigured(f"{name}: is not set; a server that others can reach needs a long random text.")
    if not keep_in.exists():
        keep_in.parent.mkdir(parents=True, exist_ok=True)
        keep_in.touch(mode=0o600)
        keep_in.write_text(secrets.token_urlsafe(48))
    return keep_in.read_text()


def _checked(name: str, value: str, allowed: set[str]) -> SplitResult:
    """The parts of an address, checked for scheme and port. Errors never repeat it, because it may hold a password."""
    parts = urlsplit(value)
    if parts.scheme not in allowed or ":" not in value:
        raise ImproperlyConfigured(f"{name}: must begin with one of {', '.join(sorted(s + '://' for s in allowed))}")
    if not _has_good_port(parts):
        raise ImproperlyConfigured(
            f"{name}: its port is not a number up to 65535. In a password write %2F for / and %40 for @."
        )
    return parts


def _has_good_port(parts: SplitResult) -> bool:
    try:
        return parts.port is None or parts.port > 0
    except ValueError:
        return False
