"""Logs without secrets: nobody who reads them can use another person's links, cookies or passwords.

Secrets are hidden when a record is made, so this holds for every handler: ours, gunicorn's and Celery's.
"""

import json
import logging
import logging.config
import re
from typing import Any

from config.request_id import current_request_id

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
    """A log record with the id of the request it is about, and the secrets hidden in its message and its traceback."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.request_id = current_request_id() or "-"

    def getMessage(self) -> str:
        return blanked(super().getMessage())

    def __setattr__(self, name: str, value: object) -> None:
        is_text = name in {"exc_text", "stack_info"} and isinstance(value, str)
        super().__setattr__(name, blanked(str(value)) if is_text else value)


#: With the UTC offset, because one hour in October comes twice.
_MOMENT = "%Y-%m-%dT%H:%M:%S%z"
#: What some lines tell besides their message.
_DETAILS = ("method", "route", "status", "seconds")


class JsonLine(logging.Formatter):
    """A log record as a JSON object on one line, for programs that search logs."""

    def format(self, record: logging.LogRecord) -> str:
        """The object, with what the record has of a request."""
        told = {
            "at": self.formatTime(record, _MOMENT),
            "level": record.levelname,
            "logger": record.name,
            "request": getattr(record, "request_id", "-"),
            "message": record.getMessage(),
        }
        told |= {name: getattr(record, name) for name in _DETAILS if hasattr(record, name)}
        if record.exc_info and not record.exc_text:
            record.exc_text = self.formatException(record.exc_info)
        if record.exc_text:
            told["error"] = record.exc_text
        return json.dumps(told, ensure_ascii=False)


def formatter(form: str) -> logging.Formatter:
    """How a record is written: as a LINE for a reader, or as JSON."""
    if form == "JSON":
        return JsonLine()
    return logging.Formatter("{asctime} {levelname} {request_id} {name}: {message}", _MOMENT, style="{")


def configure(options: dict[str, Any]) -> None:
    """Set up logging from ``options`` (settings.LOGGING_CONFIG), with records that hide secrets."""
    logging.setLogRecordFactory(BlankedRecord)
    logging.config.dictConfig(options)


def options(*, level: str, form: str) -> dict[str, Any]:
    """What is written down, and how: settings.LOGGING. ``form`` is LINE, for a reader, or JSON."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"chosen": {"()": formatter, "form": form}},
        "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "chosen"}},
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
