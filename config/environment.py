"""Strict readers of the settings that come from the environment.

Each names the variable that it could not use and says what it takes, so that a typing slip stops the start instead of
causing odd behaviour later.
"""

import os
import re
import secrets
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from email.utils import getaddresses
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any
from urllib.parse import SplitResult, unquote, urlsplit

import environ
from django.http.request import validate_host

from config.refusal import CannotStart

_TRUE = {"1", "true", "yes", "on"}
_FALSE = {"0", "false", "no", "off"}
_DATABASE_SCHEMES = {"postgres", "postgresql", "sqlite"}
_BROKER_SCHEMES = {"redis", "rediss", "unix", "redis+socket"}
_MAIL_SCHEMES = {"smtp", "smtp+tls", "smtp+ssl"}
#: A store in clear is for one beside the book, on a network of their own.
_STORE_SCHEMES = {"s3": "https", "s3+http": "http"}
_BUCKET = re.compile(r"[a-z0-9][a-z0-9.-]{1,61}[a-z0-9]")
_FOLDER_IN_STORE = re.compile(r"([A-Za-z0-9_-][A-Za-z0-9._-]*(/[A-Za-z0-9_-][A-Za-z0-9._-]*)*)?")
#: What stores call the region that they do not have.
_REGION = "us-east-1"
#: A host as browsers send it: names of letters, digits and hyphens with dots between, or an IPv6 address.
_LABEL = r"[a-z0-9](?:[a-z0-9-]*[a-z0-9])?"
_HOST = re.compile(rf"{_LABEL}(?:\.{_LABEL})*|\[[0-9a-f:.]+\]", re.IGNORECASE)
_LOCAL_PART = re.compile(r"[^\s@<>()\[\],;:\\\"]+")
_THIS_MACHINE = ("localhost", "127.0.0.1", "[::1]")
_KEY_LENGTH, _KEY_VARIETY = 32, 8

#: IMMEDIATE takes the write lock at BEGIN; with DEFERRED two writers deadlock and one fails.
SQLITE_OPTIONS = {
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA foreign_keys=ON;",
}


def text(name: str, default: str = "") -> str:
    """The variable's text without surrounding spaces; ``default`` if unset or blank.

    Raises CannotStart for a line break or another character that cannot be printed: it came in by a slip, and some
    libraries leave it out without a word.
    """
    return _printable(name, os.environ.get(name, "").strip()) or default


def password(name: str) -> str:
    """The variable's text as it is, for a password may begin or end with a space; empty if unset. Raises as `text`."""
    return _printable(name, os.environ.get(name, ""))


def _printable(name: str, value: str) -> str:
    if not value.isprintable():
        raise CannotStart(f"{name}: holds a line break, or another character that cannot be printed.")
    return value


def flag(name: str, *, default: bool) -> bool:
    """A yes-or-no variable. Raises CannotStart for anything but the usual words."""
    value = text(name).lower()
    if not value:
        return default
    if value in _TRUE:
        return True
    if value in _FALSE:
        return False
    raise CannotStart(f"{name}: {value!r} is neither true nor false; use 1 or 0.")


def listed(name: str, default: list[str]) -> list[str]:
    """A comma-separated variable as a list without blanks."""
    return [part.strip() for part in text(name).split(",") if part.strip()] or default


def one_of(name: str, allowed: Sequence[str], *, default: str) -> str:
    """One of a few words, in capitals."""
    value = text(name, default).upper()
    if value not in allowed:
        raise CannotStart(f"{name}: {value!r} is not one of {', '.join(allowed)}.")
    return value


def count(name: str, *, most: int, default: int) -> int:
    """A small whole number from 0 to ``most``."""
    value = text(name)
    if not value:
        return default
    if not (value.isascii() and value.isdigit() and int(value) <= most):
        raise CannotStart(f"{name}: {value!r} is not a whole number from 0 to {most}.")
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
        raise CannotStart(f"{name}: is not an address like https://book.example.org.")
    if not _HOST.fullmatch(_host_of(parts)):
        raise CannotStart(f"{name}: its host is no name that a browser can ask for; use one like book.example.org.")
    return f"{parts.scheme}://{parts.netloc}"


def hosts(name: str, *, site_url: str) -> list[str]:
    """The host names that the book answers to: this machine's and that of ``site_url`` if unset.

    A name that begins with a dot stands for all names that end with it.
    """
    own = _host_of(urlsplit(site_url))
    found = listed(name, [*_THIS_MACHINE, *([own] if own else [])])
    for host in found:
        if host == "*":
            raise CannotStart(f"{name}: * would answer to every name, also a forged one; list the names members type.")
        if not _HOST.fullmatch(host.removeprefix(".")):
            raise CannotStart(f"{name}: {host!r} is no host name; use names like book.example.org, with commas.")
    if own and not validate_host(own.lower(), found):
        raise CannotStart(f"{name}: lacks {own}, the host of SITE_URL, so that every page would be refused.")
    return found


def database(name: str, sqlite_file: Path, password: str = "") -> dict[str, Any]:
    """Django's database settings from a postgres:// or sqlite:/// address; SQLite in a file if unset.

    An address without a password takes ``password``, in which no character stands for another.
    """
    value = text(name, f"sqlite:///{sqlite_file}")
    parts = _checked(name, value, _DATABASE_SCHEMES)
    if parts.scheme == "sqlite" and parts.path in {"", "/"}:
        raise CannotStart(f"{name}: names no file; use sqlite:////FOLDER/FILE.")
    config: dict[str, Any] = dict(environ.Env.db_url_config(value))
    if not config.get("NAME"):
        raise CannotStart(f"{name}: names no database; end it with /NAME.")
    if config["ENGINE"].endswith("sqlite3"):
        config["OPTIONS"] = SQLITE_OPTIONS | config.get("OPTIONS", {})
    else:
        if password and parts.password:
            raise CannotStart(f"{name}: holds a password, and DATABASE_PASSWORD is set too; leave one of them out.")
        config["PASSWORD"] = password or config["PASSWORD"]
        config["ENGINE"] = "config.postgresql"
        config["CONN_MAX_AGE"] = 60
        config["CONN_HEALTH_CHECKS"] = True
    return config


def broker(name: str) -> str:
    """The Redis address of the task queue and cache; empty if there is none (the embedded default)."""
    value = text(name)
    if value:
        parts = _checked(name, value, _BROKER_SCHEMES)
        # Of a socket, the path is a file. Redis's own reader would take database 0 for a name that is no number.
        if parts.scheme in {"redis", "rediss"} and not re.fullmatch(r"(/[0-9]*)?", parts.path):
            raise CannotStart(f"{name}: its database is no number; end it with one, such as /0.")
    return value


def sender(name: str, default: str) -> str:
    """The one address that all mail comes from, with a name before it or without."""
    value = text(name, default)
    addresses = [address for _, address in getaddresses([value])]
    local, _, host = "".join(addresses).rpartition("@")
    # The reader supplies a bracket that is missing; mail servers do not.
    is_one = len(addresses) == 1 and value.count("<") == value.count(">")
    if not is_one or not _LOCAL_PART.fullmatch(local) or not _HOST.fullmatch(host):
        raise CannotStart(f"{name}: is not one address like Tuition Car Book <book@example.org>.")
    return value


def mail(name: str) -> dict[str, Any]:
    """Django's mail settings from an smtp:// address; empty if unset."""
    value = text(name)
    if not value:
        return {}
    parts = _checked(name, value, _MAIL_SCHEMES)
    if not parts.hostname:
        raise CannotStart(f"{name}: names no mail server; use smtp://HOST:PORT.")
    if not parts.port:
        raise CannotStart(f"{name}: names no port; use smtp://HOST:PORT.")
    config = dict(environ.Env.email_url_config(value))
    # The folder of mails that are written to files is not this address's to say.
    return {key: setting for key, setting in config.items() if key.startswith("EMAIL_") and key != "EMAIL_FILE_PATH"}


def folder(name: str) -> Path | None:
    """A folder by its whole path, which need not be there yet: it may be another machine's. None if unset."""
    value = text(name)
    if value and not value.startswith("/"):
        raise CannotStart(f"{name}: {value!r} is not a whole path, such as /mnt/book; nothing stands for ~ here.")
    return Path(value) if value else None


@dataclass(frozen=True)
class ObjectStore:
    """A bucket of an S3-compatible store, or a folder in one; the keys are never shown."""

    endpoint: str
    bucket: str
    folder: str
    region: str
    key: str = field(repr=False)
    secret: str = field(repr=False)

    def is_within(self, other: "ObjectStore") -> bool:
        """Whether all that is in this place is in the other too."""
        return f"{self}/".startswith(f"{other}/")

    def __str__(self) -> str:
        host = self.endpoint.partition("://")[2]
        return "/".join(filter(None, (f"s3://{host}", self.bucket, self.folder)))


def object_store(name: str) -> ObjectStore | None:
    """A place in an S3-compatible store, by s3://KEY:SECRET@HOST/BUCKET[/FOLDER][?region=NAME]; None if unset."""
    value = text(name)
    if not value:
        return None
    parts = _checked(name, value, set(_STORE_SCHEMES))
    bucket, _, folder = parts.path.strip("/").partition("/")
    region = re.fullmatch(r"(?:region=([a-z0-9-]+))?", parts.query)
    key, secret = unquote(parts.username or ""), unquote(parts.password or "")
    host = parts.netloc.rpartition("@")[2]
    if not (key and secret):
        raise CannotStart(f"{name}: lacks the key or its secret; use s3://KEY:SECRET@HOST/BUCKET.")
    if not _HOST.fullmatch(_host_of(urlsplit(f"//{host}"))) or not _BUCKET.fullmatch(bucket):
        raise CannotStart(f"{name}: names no host or no bucket; use s3://KEY:SECRET@HOST/BUCKET.")
    if region is None or parts.fragment or not _FOLDER_IN_STORE.fullmatch(folder):
        raise CannotStart(f"{name}: ends oddly; after the bucket come at most /FOLDER and ?region=NAME.")
    endpoint = f"{_STORE_SCHEMES[parts.scheme]}://{host}"
    return ObjectStore(endpoint, bucket, folder, region[1] or _REGION, key, secret)


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
        raise CannotStart(
            f"{name}: is not a public key like age1...; `manage.py backup --new-key PATH` makes one."
        ) from None
    return value


def web_hook(name: str) -> str:
    """The https address of a web hook, whose path may be a secret; empty if unset."""
    value = text(name)
    if not value:
        return ""
    try:
        parts = urlsplit(value)
        is_good = parts.scheme == "https" and _HOST.fullmatch(_host_of(parts)) and _has_good_port(parts)
    except ValueError:
        is_good = None
    # The value itself is not repeated. urlsplit leaves out no space.
    if not is_good or parts.username or parts.password or parts.fragment or " " in value or not value.isascii():
        raise CannotStart(f"{name}: is not an address like https://alarms.example.org/PATH, without name and password.")
    return value


def secret_key(name: str, *, keep_in: Path, may_make: bool) -> str:
    """The signing key. If there is none and ``may_make``, one is made and kept in a private file."""
    value = text(name)
    if not value and not may_make:
        raise CannotStart(f"{name}: is not set; a server that others can reach needs a long random text.")
    if not value:
        try:
            value = _kept_key(keep_in)
        except OSError as error:
            raise CannotStart(f"{name}: is not set, and none can be kept in {keep_in} ({error.strerror}).") from error
        name = f"{name}: is not set, and the one kept in {keep_in}"
    else:
        name = f"{name}:"
    if len(value) < _KEY_LENGTH:
        raise CannotStart(f"{name} is shorter than {_KEY_LENGTH} characters; use a long random text.")
    if len(set(value)) < _KEY_VARIETY:
        raise CannotStart(f"{name} has fewer than {_KEY_VARIETY} different characters; use a long random text.")
    return value


def _kept_key(keep_in: Path) -> str:
    if not keep_in.exists():
        keep_in.parent.mkdir(parents=True, exist_ok=True)
        # Whole from the start, because another process may read it at this moment, or make one of its own.
        with NamedTemporaryFile("w", dir=keep_in.parent, prefix=keep_in.name) as fresh:
            fresh.write(secrets.token_urlsafe(48))
            fresh.flush()
            with suppress(FileExistsError):
                os.link(fresh.name, keep_in)
    return keep_in.read_text()


def _checked(name: str, value: str, allowed: set[str]) -> SplitResult:
    """The parts of an address, checked for scheme and port. Errors never repeat it, because it may hold a password."""
    parts = urlsplit(value)
    if parts.scheme not in allowed or ":" not in value:
        raise CannotStart(f"{name}: must begin with one of {', '.join(sorted(s + '://' for s in allowed))}")
    if not _has_good_port(parts):
        raise CannotStart(
            f"{name}: its port is not a number up to 65535. In a password write %2F for /, %40 for @ and %23 for #."
        )
    return parts


def _has_good_port(parts: SplitResult) -> bool:
    try:
        return parts.port is None or parts.port > 0
    except ValueError:
        return False


def _host_of(parts: SplitResult) -> str:
    """The host as browsers send it: without a port, an IPv6 address in its brackets."""
    return re.sub(r":[0-9]*$", "", parts.netloc)
