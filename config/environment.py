"""Strict readers of the settings that come from the environment.

Each names the variable it could not use and says what it would have taken, so that a typing slip stops
the start-up instead of showing up later as odd behaviour.
"""

import os
import secrets
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import environ
from django.core.exceptions import ImproperlyConfigured

_TRUE = {"1", "true", "yes", "on"}
_FALSE = {"0", "false", "no", "off"}
_DATABASE_SCHEMES = {"postgres", "postgresql", "sqlite"}
_MAIL_SCHEMES = {"smtp", "smtp+tls", "smtp+ssl"}

#: IMMEDIATE takes the write lock at BEGIN: with DEFERRED two writers deadlock and one of them fails.
SQLITE_OPTIONS = {
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA foreign_keys=ON;",
}


def text(name: str, default: str = "") -> str:
    """The variable's text without surrounding white space; ``default`` if unset or blank."""
    return os.environ.get(name, "").strip() or default


def flag(name: str, *, default: bool) -> bool:
    """A yes-or-no variable; anything but the usual words for either is an error."""
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


def site_url(name: str, default: str) -> str:
    """An http or https address without a path, as links in mails begin."""
    value = text(name, default).rstrip("/")
    parts = urlsplit(value)
    if parts.scheme not in {"http", "https"} or not parts.hostname or parts.path or parts.query:
        raise ImproperlyConfigured(f"{name}: {value!r} is not an address such as https://book.example.org.")
    return value


def database(name: str, sqlite_file: Path) -> dict[str, Any]:
    """Django's database settings from a postgres:// or sqlite:/// address; SQLite in a file if unset."""
    value = text(name, f"sqlite:///{sqlite_file}")
    _require_scheme(name, value, _DATABASE_SCHEMES)
    try:
        config: dict[str, Any] = dict(environ.Env.db_url_config(value))
    except ValueError as error:
        raise ImproperlyConfigured(f"{name}: cannot be read as a database address ({error}).") from error
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
        _require_scheme(name, value, {"redis", "rediss", "unix", "redis+socket"})
    return value


def mail(name: str) -> dict[str, Any]:
    """Django's mail settings from an smtp:// address; empty if unset."""
    value = text(name)
    if not value:
        return {}
    _require_scheme(name, value, _MAIL_SCHEMES)
    try:
        config: dict[str, Any] = dict(environ.Env.email_url_config(value))
    except ValueError as error:
        raise ImproperlyConfigured(f"{name}: cannot be read as a mail server address ({error}).") from error
    if not config.get("EMAIL_HOST"):
        raise ImproperlyConfigured(f"{name}: names no mail server; use smtp://HOST:PORT.")
    return {key: setting for key, setting in config.items() if key.startswith("EMAIL_")}


def secret_key(name: str, *, keep_in: Path, may_make: bool) -> str:
    """The signing key; where there is none, a first look makes one and keeps it in a private file."""
    value = text(name)
    if value:
        if len(value) < 32:
            raise ImproperlyConfigured(f"{name}: is shorter than 32 characters; use a long random text.")
        return value
    if not may_make:
        raise ImproperlyConfigured(f"{name}: is not set; a server that others reach needs a long random text.")
    if not keep_in.exists():
        keep_in.parent.mkdir(parents=True, exist_ok=True)
        keep_in.touch(mode=0o600)
        keep_in.write_text(secrets.token_urlsafe(48))
    return keep_in.read_text()


def _require_scheme(name: str, value: str, allowed: set[str]) -> None:
    scheme = value.partition(":")[0].lower()
    if scheme not in allowed or ":" not in value:
        # The value itself is not repeated: it may hold a password.
        raise ImproperlyConfigured(f"{name}: begins with none of {', '.join(sorted(s + '://' for s in allowed))}")
