"""Logs without secrets: nobody who reads them can use another person's links, cookies or passwords.

Secrets are hidden when a record is made, so this holds for every handler: ours, gunicorn's and Celery's.
"""

import logging
import logging.config
import re
from typing import Any

HIDDEN = "[hidden]"
#: The paths that come before a secret in an address; a test compares them with the url patterns.
BEFORE_A_SECRET = (
    "invitation",
    "calendar",
    "put-right",
    "log-mail",
    "account/password/reset/key",
    "account/confirm-email",
)
#: In cookies and forms.
SECRET_NAMES = ("sessionid", "session_key", "csrftoken", "csrfmiddlewaretoken", "password", "password1", "password2")

_SLASH = r"(?:/|%(?:25)*2F)"  # plain, or percent-encoded once or more
_PATHS = "|".join(path.replace("/", _SLASH) for path in BEFORE_A_SECRET)
_IN_PATH = re.compile(rf"((?:(?<![\w-])|(?<=2F))(?:{_PATHS}){_SLASH})(?:(?!{_SLASH})[^?#&\s\"'<>\\])+", re.IGNORECASE)
_QUERY = re.compile(r"\?[^\s\"'<>?=]*=[^\s\"'<>]*")
_NAMED = re.compile(rf"\b({'|'.join(SECRET_NAMES)})([\"']?\s*[=:]\s*[\"']?)[^\s\"';&,}}]+", re.IGNORECASE)
#: Our tokens have at least this many characters; anything shorter is a name or an id.
_LONG = re.compile(r"[\w-]{40,}")


def blanked(line: str) -> str:
    """The line without secrets: those in addresses, query strings and cookies, and anything that looks random."""
    line = _QUERY.sub(f"?{HIDDEN}", line)
    line = _IN_PATH.sub(rf"\1{HIDDEN}", line)
    line = _NAMED.sub(rf"\1\2{HIDDEN}", line)
    return _LONG.sub(lambda found: HIDDEN if _looks_random(found[0]) else found[0], line)


def _looks_random(word: str) -> bool:
    """Whether a word has capitals, small letters and digits, as tokens have and names in a traceback do not."""
    return all(any(map(is_one, word)) for is_one in (str.isupper, str.islower, str.isdigit))


class BlankedRecord(logging.LogRecord):
    """A log record with the secrets hidden in its message and its traceback."""

    def getMessage(self) -> str:
        return blanked(super().getMessage())

    def __setattr__(self, name: str, value: object) -> None:
        is_text = name in {"exc_text", "stack_info"} and isinstance(value, str)
        super().__setattr__(name, blanked(str(value)) if is_text else value)


def configure(options: dict[str, Any]) -> None:
    """Set up logging from ``options`` (settings.LOGGING_CONFIG), with records that hide secrets."""
    logging.setLogRecordFactory(BlankedRecord)
    logging.config.dictConfig(options)


def options(*, level: str) -> dict[str, Any]:
    """What is written down, and how: settings.LOGGING."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {
            "line": {
                "format": "{asctime} {levelname} {name}: {message}",
                "style": "{",
                # With the UTC offset, because one hour in October comes twice.
                "datefmt": "%Y-%m-%dT%H:%M:%S%z",
            }
        },
        "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
        "loggers": {
            # They log dozens of lines for every PDF, with words of members whose characters a face lacks among them.
            "weasyprint": {"level": "ERROR"},
            "fontTools": {"level": "WARNING"},
            # Django's default would mail addresses and posted data to ADMINS.
            "django": {"handlers": [], "level": "INFO"},
        },
        "root": {
            "handlers": ["console"],
            "level": level,
        },
    }
